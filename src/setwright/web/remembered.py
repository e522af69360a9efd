"""What follows from a job's record alone is worked out once and remembered for a while: many tablets ask for the same.

Keys are digests of what it is made from, so that nothing remembered can be out of date. Who asks while it is being worked out waits
for it instead of working it out a second time. What is remembered has a bound in bytes and in age; each process has its own.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, Final, TypeVar, cast

from setwright.web.refusals import Left

__all__ = ["Packed", "forget_old", "held_bytes", "remembered"]

Value = TypeVar("Value")
_MOST: Final = 128
_ROOM: Final = 60_000_000
"""Bytes of all that is remembered."""
_AGE_S: Final = 900.0
"""How long something is remembered that nobody asks for."""


@dataclass(frozen=True, slots=True)
class Packed:
    """An answer as it goes over the wire."""

    data: bytes
    headers: Mapping[str, str]

    @property
    def size(self) -> int:
        """Bytes it takes."""
        return len(self.data)


@dataclass(slots=True)
class _Held:
    """Something remembered: what it takes in bytes, and when it was asked for last."""

    promise: Future[Any]
    size: int
    used: float


_held: OrderedDict[Hashable, _Held] = OrderedDict()
_newest: OrderedDict[Hashable, Hashable] = OrderedDict()
"""The key of the newest answer to a question, where one answer takes the place of the one before."""
_lock = threading.Lock()


def remembered(
    key: Hashable, make: Callable[[], Value], *, size: Callable[[Value], int], question: Hashable | None = None
) -> Value:
    """What `make` gave for this key before, else what it gives now; what was asked for longest ago goes first. Never change it.

    `size`: how many bytes it takes; `question`: what it answers, where nobody will ask for the answer before it any more. What
    `make` raises is raised to everybody who waits for it, and not remembered; who waits for one who has left works it out instead.
    """
    while True:
        with _lock:
            found = _held.get(key)
            ours = found is None
            if found is None:
                found = _held[key] = _Held(Future(), 0, 0.0)
                _forget_before(question, key)
            _held.move_to_end(key)
            found.used = time.monotonic()
        if ours:
            _work_out(found, key, make, size)
        try:
            return cast(Value, found.promise.result())
        except Left:
            if ours:
                raise


def forget_old() -> None:
    """Let go of what nobody has asked for lately."""
    with _lock:
        _make_room()


def held_bytes() -> int:
    """Bytes of all that is remembered."""
    with _lock:
        return sum(one.size for one in _held.values())


def _forget_before(question: Hashable | None, key: Hashable) -> None:
    if question is None:
        return
    old = _newest.pop(question, None)
    if old in _held and _held[old].promise.done():
        del _held[old]
    _newest[question] = key  # behind the others
    while len(_newest) > _MOST:
        _newest.popitem(last=False)


def _work_out(held: _Held, key: Hashable, make: Callable[[], Any], size: Callable[[Any], int]) -> None:
    try:
        made = make()
        held.size = size(made)
        held.promise.set_result(made)
    except BaseException as error:  # noqa: BLE001  (whatever it is, those who wait must hear of it)
        with _lock:
            _held.pop(key, None)
        held.promise.set_exception(error)
    with _lock:
        _make_room()


def _make_room() -> None:
    """Keys stand in the order in which they were asked for; what is still being worked out stays."""
    done = [(key, held) for key, held in _held.items() if held.promise.done()]
    many, large = len(done), sum(held.size for _, held in done)
    oldest = time.monotonic() - _AGE_S
    for key, held in done:
        if many <= _MOST and large <= _ROOM and held.used > oldest:
            return
        del _held[key]
        many, large = many - 1, large - held.size
