"""The worker processes: each takes one piece of work after the other from its pipe, within limits, and says what became of it.

A calculation's messages up the pipe: ("progress", what, done, total), then one of ("made", list of Made), ("refused", kind,
problems), ("stopped",), ("memory",), ("broken", text). A short call's: ("ready",) once at the start, then for each call one of
("made", value), ("refused", kind, problems), ("memory",), ("broken", text), or ("last", one of these). After "memory" and "last"
the process ends.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import math
import os
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any, Final

from setwright.base.errors import Cancelled, InputRefused
from setwright.web.remembered import forget_old
from setwright.web.work import Task, do

__all__ = ["Bounds", "give_back", "held_memory", "serve_calls", "serve_tasks", "within"]

_OFTEN_S: Final = 0.1
_IDLE_S: Final = 60.0
_KEEPS: Final = 300_000_000
"""Bytes that a process for short calls may have more than at its start when a call is done; one that has more is made anew."""
_CALL_NICE, _TASK_NICE = 1, 5
"""How far the workers stand back where processors are short: answers that need no worker come first, calculations last."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """What one piece of work may take: seconds of processor time in all threads, seconds by the clock, bytes of memory more than
    the process has at its start. Processor time and memory are bounded where the system can do that (not on Windows)."""

    processor_s: float
    wall_s: float
    memory: int


def serve_tasks(pipe: Connection, stop: Event, bounds: Bounds, scratch: str) -> None:
    """Calculations, until the pipe ends. `stop` is set by the other side to end the one at hand; `scratch`: the folder for what is
    written on the way."""
    _stand_back(_TASK_NICE, scratch)
    while True:
        try:
            task: Task = pipe.recv()
        except (EOFError, OSError):
            return
        with within(bounds):
            said = _outcome(task, pipe, stop)
        pipe.send(said)
        if said[0] == "memory":
            return
        del task, said
        give_back()


def serve_calls(pipe: Connection, stop: Event, bounds: Bounds, scratch: str) -> None:
    """Short calls, until the pipe ends; `stop` is for calculations."""
    del stop
    _stand_back(_CALL_NICE, scratch)
    from setwright.web.short import warm_up

    warm_up()
    pipe.send(("ready",))
    at_start = held_memory()
    while True:
        try:
            while not pipe.poll(_IDLE_S):
                forget_old()
            function, arguments = pipe.recv()
        except (EOFError, OSError):
            return
        with within(bounds):
            said = _called(function, arguments)
        if held_memory() - at_start > _KEEPS:
            give_back()
        full = said[0] == "memory" or held_memory() - at_start > _KEEPS
        pipe.send(("last", said) if full else said)
        if full:
            return


def _stand_back(nice: int, scratch: str) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to the server, which ends its workers itself
    tempfile.tempdir = scratch or None
    if hasattr(os, "nice"):
        os.nice(nice)


@contextlib.contextmanager
def within(bounds: Bounds) -> Iterator[None]:
    """Bound this process for the work in the block: memory beyond the limit is a MemoryError, processor time beyond it its end."""
    try:
        import resource
    except ImportError:  # no such bounds on this system
        yield
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    used = resource.getrusage(resource.RUSAGE_SELF)
    limits = {resource.RLIMIT_CPU: math.ceil(used.ru_utime + used.ru_stime + bounds.processor_s),
              resource.RLIMIT_DATA: held_memory() + bounds.memory}  # fmt: skip
    for kind, most in limits.items():
        resource.setrlimit(kind, (most, resource.getrlimit(kind)[1]))
    try:
        yield
    finally:
        for kind in limits:
            resource.setrlimit(kind, (resource.getrlimit(kind)[1],) * 2)


def held_memory() -> int:
    """Bytes of data this process has, as the system counts them for its limit; 0 where it does not say."""
    try:
        status = Path("/proc/self/status").read_text(encoding="ascii")
    except OSError:
        return 0
    return next((int(line.split()[1]) * 1024 for line in status.splitlines() if line.startswith("VmData:")), 0)


def give_back() -> None:
    """Let go of what the work before left, and return it to the system: what points at itself in a circle stays until somebody
    looks, however large its arrays are, and the C library keeps what was freed between pieces in use."""
    gc.collect()
    if sys.platform == "linux":
        with contextlib.suppress(AttributeError):  # another C library
            ctypes.CDLL(None).malloc_trim(0)


def _called(function: Callable[..., Any], arguments: tuple[Any, ...]) -> tuple[Any, ...]:
    try:
        return ("made", function(*arguments))
    except InputRefused as refusal:
        return ("refused", type(refusal), refusal.problems)
    except MemoryError:
        return ("memory",)
    except Cancelled:
        return ("stopped",)
    except Exception:  # noqa: BLE001  (whatever it is, the other side must hear of it)
        return ("broken", traceback.format_exc())


def _outcome(task: Task, pipe: Connection, stop: Event) -> tuple[Any, ...]:
    last = 0.0

    def progress(what: str, done: int, total: int) -> None:
        nonlocal last
        if stop.is_set():
            raise Cancelled
        if time.monotonic() - last >= _OFTEN_S or done >= total:
            last = time.monotonic()
            pipe.send(("progress", what, done, total))

    return _called(do, (task, progress))
