"""Long work in processes of their own: a bounded queue, a few workers, progress, and an end at any moment.

One thread of the server looks after each worker. A worker that dies or does not stop when asked is replaced.
"""

from __future__ import annotations

import logging
import multiprocessing
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import Any, Final

from setwright.base.errors import LimitReached, Problem
from setwright.record.calculations import CalculationState
from setwright.web.made import Made
from setwright.web.work import Task
from setwright.web.worker import serve_tasks

__all__ = ["Outcome", "Serve", "Step", "Watched", "Workers"]

Serve = Callable[[Connection, Event], None]
_log = logging.getLogger("setwright.web")
_POLL_S: Final = 0.05
_PATIENCE_S: Final = 3.0
_MOST_STEPS: Final = 500


@dataclass(frozen=True, slots=True)
class Step:
    """How far a calculation is: what is being done, parts done and in all, seconds since it began and still to go (if known)."""

    number: int
    what: str
    done: int
    total: int
    elapsed_s: float
    left_s: float | None

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        return {name: getattr(self, name) for name in ("what", "done", "total", "elapsed_s", "left_s")}


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a task."""

    state: CalculationState
    made: list[Made] = field(default_factory=list)
    problems: tuple[Problem, ...] = ()


@dataclass(slots=True)
class Watched:
    """A task in the queue or at work. `steps` grows at its end only; old ones fall away."""

    key: int
    task: Task
    on_start: Callable[[], bool]
    on_end: Callable[[Outcome], None]
    steps: list[Step] = field(default_factory=list)
    stop: threading.Event = field(default_factory=threading.Event)
    ended: threading.Event = field(default_factory=threading.Event)
    began: float = 0.0
    part: tuple[str, float] = ("", 0.0)

    def note(self, what: str, done: int, total: int) -> None:
        """Add a step; the time left is that of the part at hand, by its rate so far."""
        at = time.monotonic()
        if self.part[0] != what:
            self.part = (what, at)
        took = at - self.part[1]
        left = took * (total - done) / done if done > 0 and took > _POLL_S else None
        number = self.steps[-1].number + 1 if self.steps else 1
        self.steps.append(Step(number, what, done, total, at - self.began, left))
        del self.steps[:-_MOST_STEPS]


class _Process:
    """One worker process and its pipe."""

    def __init__(self, serve: Serve) -> None:
        context = multiprocessing.get_context("spawn")
        own, other = context.Pipe()
        self.pipe: Connection = own
        self.stop = context.Event()
        self._process = context.Process(target=serve, args=(other, self.stop), daemon=True, name="setwright-worker")
        self._process.start()
        other.close()

    def alive(self) -> bool:
        return self._process.is_alive()

    def end(self) -> None:
        self.pipe.close()
        if self._process.is_alive():
            self._process.kill()
        self._process.join()


class Workers:
    """A few workers and their queue. `serve` is what each runs in its process."""

    def __init__(self, *, count: int, waiting: int, serve: Serve = serve_tasks) -> None:
        self._serve = serve
        self._queue: queue.Queue[Watched | None] = queue.Queue()
        self._waiting = waiting
        self._watched: dict[int, Watched] = {}
        self._closing = threading.Event()
        self._threads = [threading.Thread(target=self._look_after, name=f"worker-{n}", daemon=True) for n in range(count)]
        for thread in self._threads:
            thread.start()

    def put(self, watched: Watched) -> None:
        """Queue a task. Raises LimitReached when too many are waiting."""
        if self._queue.qsize() >= self._waiting:
            raise LimitReached.because(f"{self._waiting} calculations are waiting already", remedy="stop some of them, or wait")
        self._watched[watched.key] = watched
        self._queue.put(watched)

    def find(self, key: int) -> Watched | None:
        """A task that waits or is at work, or ended a short while ago."""
        return self._watched.get(key)

    def stop(self, key: int) -> None:
        """End a task, waiting or at work."""
        watched = self._watched.get(key)
        if watched is not None:
            watched.stop.set()

    def close(self) -> None:
        """End everything."""
        self._closing.set()
        for watched in list(self._watched.values()):
            watched.stop.set()
        for _ in self._threads:
            self._queue.put(None)
        for thread in self._threads:
            thread.join()

    def _look_after(self) -> None:
        process: _Process | None = None
        while (watched := self._queue.get()) is not None:
            if self._closing.is_set():
                continue
            if process is None or not process.alive():
                process = _Process(self._serve)
            outcome = self._outcome(watched, process)
            if outcome is None:
                process.end()
                process, outcome = None, Outcome(CalculationState.STOPPED)
            self._finish(watched, outcome)
        if process is not None:
            process.end()

    def _finish(self, watched: Watched, outcome: Outcome) -> None:
        try:
            watched.on_end(outcome)
        except Exception:  # noqa: BLE001  (the thread must go on to the next task)
            _log.exception("the end of calculation %s could not be recorded", watched.key)
        watched.ended.set()
        ended = [key for key, one in self._watched.items() if one.ended.is_set()]
        for key in ended[: -self._waiting or None]:
            self._watched.pop(key, None)

    def _outcome(self, watched: Watched, process: _Process) -> Outcome | None:
        """What became of it; None if the worker had to be ended."""
        if watched.stop.is_set() or not watched.on_start():
            return Outcome(CalculationState.STOPPED)
        process.stop.clear()
        watched.began = time.monotonic()
        asked_to_stop = 0.0
        try:
            process.pipe.send(watched.task)
            while True:
                if process.pipe.poll(_POLL_S):
                    message = process.pipe.recv()
                    if message[0] != "progress":
                        return _read(message)
                    watched.note(*message[1:])
                if watched.stop.is_set():
                    asked_to_stop = asked_to_stop or time.monotonic()
                    process.stop.set()
                    if self._closing.is_set() or time.monotonic() - asked_to_stop > _PATIENCE_S:
                        return None
        except (EOFError, OSError):
            problem = Problem("the worker ended in the middle of the work", "most often the memory was not enough",
                              "try a coarser ray spacing, or a computer with more memory")  # fmt: skip
            return None if watched.stop.is_set() else Outcome(CalculationState.BROKEN_OFF, problems=(problem,))


def _read(message: tuple[Any, ...]) -> Outcome:
    if message[0] == "made":
        return Outcome(CalculationState.DONE, made=message[1])
    if message[0] == "refused":
        return Outcome(CalculationState.REFUSED, problems=message[1])
    if message[0] == "stopped":
        return Outcome(CalculationState.STOPPED)
    _log.error("a worker met something it did not foresee:\n%s", message[1])
    problem = Problem("the calculation met something it did not foresee", remedy="the server's log has the details")
    return Outcome(CalculationState.BROKEN_OFF, problems=(problem,))
