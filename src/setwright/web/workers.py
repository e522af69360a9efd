"""Long work in processes of their own: a bounded queue, a few workers, progress, and an end at any moment.

One thread of the server looks after each worker. A worker that dies or does not stop when asked is replaced.
"""

from __future__ import annotations

import contextlib
import enum
import logging
import multiprocessing
import os
import queue
import shutil
import signal
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any, Final

from setwright.base.errors import LimitReached, Problem
from setwright.record.calculations import CalculationState
from setwright.web.made import Made
from setwright.web.work import Task
from setwright.web.worker import Bounds, serve_tasks

__all__ = ["Outcome", "Process", "Serve", "Step", "Watched", "Workers", "ran_out", "scratch_folder"]

Serve = Callable[[Connection, Event, Bounds, str], None]
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
    """A task in the queue or at work, let go when it has ended. `steps` grows at its end only; old ones fall away."""

    key: int
    task: Task | None
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


@contextlib.contextmanager
def scratch_folder(place: Path) -> Iterator[Path]:
    """A folder for what the workers of this server write on the way, gone with it; what a server that was killed left behind goes
    now. Each server holds a lock on its own, so that none is taken from one that runs."""
    root = place / "scratch"
    root.mkdir(mode=0o700, exist_ok=True)
    with _locked(root):
        for left in root.iterdir():
            with contextlib.suppress(BlockingIOError), _locked(left, waits=False):
                shutil.rmtree(left, ignore_errors=True)
        own = Path(tempfile.mkdtemp(dir=root))
        lock = _locked(own)
        lock.__enter__()
    try:
        yield own
    finally:
        shutil.rmtree(own, ignore_errors=True)
        lock.__exit__(None, None, None)


@contextlib.contextmanager
def _locked(folder: Path, *, waits: bool = True) -> Iterator[None]:
    """A lock on a folder, which the system lets go of when this process ends. Raises BlockingIOError when another one has it."""
    try:
        import fcntl
    except ImportError:  # no such locks on this system
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
        yield
    finally:
        os.close(handle)


class Process:
    """One worker process, its pipe, and a folder of its own for what is written on the way, which goes when the process does."""

    def __init__(self, serve: Serve, bounds: Bounds, scratch: Path | None) -> None:
        context = multiprocessing.get_context("spawn")
        own, other = context.Pipe()
        self.pipe: Connection = own
        self.stop = context.Event()
        self._scratch = "" if scratch is None else tempfile.mkdtemp(dir=scratch)
        arguments = (other, self.stop, bounds, self._scratch)
        self._process = context.Process(target=serve, args=arguments, daemon=True, name="setwright-worker")
        self._process.start()
        other.close()

    def alive(self) -> bool:
        """Whether it can take work."""
        return self._process.is_alive()

    def end(self, *, patience_s: float = 0.0) -> int:
        """End it, at once or when it has not ended by itself so soon; its exit status, negative for the signal that ended it."""
        self.pipe.close()
        self._process.join(patience_s)
        if self._process.is_alive():
            self._process.kill()
        self._process.join()
        if self._scratch:
            shutil.rmtree(self._scratch, ignore_errors=True)
        return self._process.exitcode or 0


def ran_out(status: int, bounds: Bounds) -> Problem:
    """What is said of a worker that ended with this status in the middle of its work."""
    if status == -getattr(signal, "SIGXCPU", 0):
        return Problem(f"this took more than {bounds.processor_s:.0f} s of processor time", "the work was stopped",
                       "divide the program, or take out what goes round in it")  # fmt: skip
    memory = f"most often {bounds.memory / 1e9:.1f} GB of memory were not enough"
    return Problem("the worker ended in the middle of the work", memory,
                   "divide the program, try a coarser ray spacing, or take a computer with more memory")  # fmt: skip


class Workers:
    """A few workers and their queue. `serve` is what each runs in its process, `bounds` what one calculation may take, `scratch`
    where they may write on the way (None: where the system keeps such things)."""

    def __init__(
        self, *, count: int, waiting: int, bounds: Bounds, serve: Serve = serve_tasks, scratch: Path | None = None
    ) -> None:
        self._serve, self._bounds, self._scratch = serve, bounds, scratch
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
        process: Process | None = None
        while (watched := self._queue.get()) is not None:
            if self._closing.is_set():
                continue
            if process is None or not process.alive():
                if process is not None:
                    process.end()
                process = Process(self._serve, self._bounds, self._scratch)
            outcome = self._outcome(watched, process)
            if isinstance(outcome, _Lost):
                status = process.end(patience_s=_PATIENCE_S if outcome is _Lost.BY_ITSELF else 0.0)
                process, outcome = None, outcome.outcome(status, self._bounds)
            self._finish(watched, outcome)
        if process is not None:
            process.end()

    def _finish(self, watched: Watched, outcome: Outcome) -> None:
        try:
            watched.on_end(outcome)
        except Exception:  # noqa: BLE001  (the thread must go on to the next task)
            _log.exception("the end of calculation %s could not be recorded", watched.key)
        watched.task = None
        watched.ended.set()
        ended = [key for key, one in self._watched.items() if one.ended.is_set()]
        for key in ended[: -self._waiting or None]:
            self._watched.pop(key, None)

    def _outcome(self, watched: Watched, process: Process) -> Outcome | _Lost:
        """What became of it, or why the worker must be ended."""
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
                    if message[0] == "memory":
                        return _Lost.BY_ITSELF
                    if message[0] != "progress":
                        return _read(message)
                    watched.note(*message[1:])
                if watched.stop.is_set():
                    asked_to_stop = asked_to_stop or time.monotonic()
                    process.stop.set()
                    if self._closing.is_set() or time.monotonic() - asked_to_stop > _PATIENCE_S:
                        return _Lost.STOPPED
                elif time.monotonic() - watched.began > self._bounds.wall_s:
                    return _Lost.TOO_LONG
        except (EOFError, OSError):
            return _Lost.STOPPED if watched.stop.is_set() else _Lost.BY_ITSELF


class _Lost(enum.Enum):
    """Why a worker is gone in the middle of a calculation."""

    STOPPED = enum.auto()
    TOO_LONG = enum.auto()
    BY_ITSELF = enum.auto()

    def outcome(self, status: int, bounds: Bounds) -> Outcome:
        if self is _Lost.STOPPED:
            return Outcome(CalculationState.STOPPED)
        if self is _Lost.TOO_LONG:
            problem = Problem(f"this took longer than {bounds.wall_s / 60:.0f} min", "the work was stopped",
                              "try a coarser ray spacing, or fewer setups at once")  # fmt: skip
        else:
            problem = ran_out(status, bounds)
        return Outcome(CalculationState.BROKEN_OFF, problems=(problem,))


def _read(message: tuple[Any, ...]) -> Outcome:
    if message[0] == "made":
        return Outcome(CalculationState.DONE, made=message[1])
    if message[0] == "refused":
        return Outcome(CalculationState.REFUSED, problems=message[2])
    if message[0] == "stopped":
        return Outcome(CalculationState.STOPPED)
    _log.error("a worker met something it did not foresee:\n%s", message[1])
    problem = Problem("the calculation met something it did not foresee", remedy="the server's log has the details")
    return Outcome(CalculationState.BROKEN_OFF, problems=(problem,))
