"""Short work on what people send: reading, drafting, comparing, in a few processes that are ready before anybody asks.

Each call has a limit of processor time, memory and time by the clock. A process that reaches one is ended and another is started
in its place; so it is when whoever asked has left. Nothing of it keeps the server itself from answering.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import deque
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final, TypeVar

from setwright.base.errors import InputRefused, LimitReached, SetwrightError
from setwright.web.refusals import Busy, Left
from setwright.web.worker import Bounds, serve_calls
from setwright.web.workers import Process, Serve, ran_out

__all__ = ["Bounded", "stays"]

R = TypeVar("R")
_POLL_S: Final = 0.1
_PATIENCE_S: Final = 3.0
_PATIENT_S: Final = 300.0
"""How long a call waits for a process: the very first one may have to wait until the kernels are compiled."""
_NEAR: Final = 16
_log = logging.getLogger("setwright.web")


def stays() -> bool:
    """Nobody who could leave."""
    return False


class _Hand:
    """A process for short calls, whether it is ready, and what it was asked about lately and may still remember."""

    def __init__(self, serve: Serve, bounds: Bounds, scratch: Path | None) -> None:
        self.process = Process(serve, bounds, scratch)
        self.near: deque[str] = deque(maxlen=_NEAR)
        self._ready = False

    @property
    def pipe(self) -> Connection:
        return self.process.pipe

    def ready(self) -> bool:
        """Whether it has read in what it needs. Raises EOFError when it ended over that."""
        if not self._ready and self.pipe.poll():
            self._ready = self.pipe.recv() == ("ready",)
        return self._ready


class Bounded:
    """A few processes for short calls. `bounds`: what one call may take; `waiting`: how many more may wait for one; `scratch`:
    where they may write on the way. Safe to be used by several threads at once."""

    def __init__(
        self, *, count: int, waiting: int, bounds: Bounds, scratch: Path | None = None, serve: Serve = serve_calls
    ) -> None:
        self._bounds, self._scratch, self._serve = bounds, scratch, serve
        self._free = threading.Condition()
        self._most_waiting, self._waiting = waiting, 0
        self._closed = False
        self._idle = [self._another() for _ in range(count)]

    def call(
        self, function: Callable[..., R], /, *arguments: Any, near: str = "", gone: Callable[[], bool] = stays
    ) -> R:
        """What the function returns, a function of a module with arguments that can be sent; what it refuses is refused here.

        `near`: what it is about: a process that was asked about the same lately is taken rather than another. `gone`: whether
        whoever asks has left. Raises LimitReached, Busy, Left; SetwrightError for what was not foreseen.
        """
        hand = self._taken(near, gone)
        whole = False
        try:
            hand.pipe.send((function, arguments))
            said = self._heard(hand, gone)
            whole = said[0] != "last"
            hand.near.append(near)
        except (EOFError, OSError):
            raise LimitReached(ran_out(hand.process.end(patience_s=_PATIENCE_S), self._bounds)) from None
        finally:
            self._give_back(hand if whole else None, hand)
        result: R = self._read(said if whole else said[1])
        return result

    def close(self) -> None:
        """End the processes that are free; one at work ends with its call."""
        with self._free:
            self._closed = True
            idle, self._idle = self._idle, []
        for hand in idle:
            hand.process.end()

    def _another(self) -> _Hand:
        return _Hand(self._serve, self._bounds, self._scratch)

    def _taken(self, near: str, gone: Callable[[], bool]) -> _Hand:
        began = time.monotonic()
        with self._free:
            if self._waiting >= self._most_waiting:
                raise _busy(self._waiting)
            self._waiting += 1
            try:
                while (hand := self._choose(near)) is None:
                    if self._closed:
                        raise SetwrightError("the server is being stopped")
                    if time.monotonic() - began > _PATIENT_S:
                        raise _busy(self._waiting)
                    self._free.wait(_POLL_S)
                    if gone():
                        raise _left()
                return hand
            finally:
                self._waiting -= 1

    def _choose(self, near: str) -> _Hand | None:
        for hand in list(self._idle):
            try:
                hand.ready()
            except (EOFError, OSError):
                self._idle.remove(hand)
                hand.process.end()
                self._idle.append(self._another())
        ready = [hand for hand in self._idle if hand.ready()]
        if not ready:
            return None
        hand = next((one for one in ready if near in one.near), ready[0])
        self._idle.remove(hand)
        return hand

    def _heard(self, hand: _Hand, gone: Callable[[], bool]) -> tuple[Any, ...]:
        until = time.monotonic() + self._bounds.wall_s
        while not hand.pipe.poll(_POLL_S):
            if gone():
                raise _left()
            if time.monotonic() > until:
                raise LimitReached.because(f"this took longer than {self._bounds.wall_s:.0f} s", why="the work was stopped",
                                           remedy="divide the program, or take it in with: setwright record import")  # fmt: skip
        said: tuple[Any, ...] = hand.pipe.recv()
        return said

    def _give_back(self, hand: _Hand | None, before: _Hand) -> None:
        """Put a process back, or another in its place."""
        if hand is None or self._closed:
            before.process.end()
            hand = None if self._closed else self._another()
        with self._free:
            if hand is not None:
                self._idle.append(hand)
            self._free.notify()

    def _read(self, said: tuple[Any, ...]) -> Any:
        if said[0] == "made":
            return said[1]
        if said[0] == "refused":
            kind: type[InputRefused] = said[1]
            raise kind(said[2])
        if said[0] == "memory":
            much = f"this takes more than {self._bounds.memory / 1e9:.1f} GB of memory"
            raise LimitReached.because(much, why="the work was stopped", remedy="divide the program, or make the file smaller")
        _log.error("a process for short work met something it did not foresee:\n%s", said[1])
        raise SetwrightError("the server met something it did not foresee")


def _busy(waiting: int) -> InputRefused:
    return Busy.because(f"{waiting} others wait for their programs to be read", remedy="try again in a moment")


def _left() -> InputRefused:
    return Left.because("whoever asked has left", remedy="ask again")
