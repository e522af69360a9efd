"""Work shared among threads so that the answer never depends on how many there are.

The work is cut into parts by its own structure (tiles of rays, never "as many as there are cores"); a thread takes whole
parts, every part writes only its own memory, and the caller combines the parts in their own order.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Thread, local
from typing import TypeVar

__all__ = ["inside_a_part", "map_parts", "take_whole", "thread_count"]

_THREAD = local()
T = TypeVar("T")
R = TypeVar("R")


def thread_count() -> int:
    """Threads to use: $SETWRIGHT_THREADS, else the cores this process may run on."""
    wanted = os.environ.get("SETWRIGHT_THREADS", "")
    if wanted.isdigit() and int(wanted) > 0:
        return int(wanted)
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else (os.cpu_count() or 1)


def map_parts(work: Callable[[T], R], parts: Sequence[T]) -> list[R]:
    """`[work(part) for part in parts]`, on several threads when there are several; results in the order of the parts.

    Work that shares out work of its own, inside a part, does that on its own thread: the cores are taken already.
    """
    count = 1 if inside_a_part() else min(thread_count(), len(parts))
    if count <= 1:
        return [work(part) for part in parts]
    following, answers, raised = iter(range(len(parts))), dict[int, R](), dict[int, BaseException]()

    def take() -> None:
        with _taking_whole():
            for number in following:
                try:
                    answers[number] = work(parts[number])
                except BaseException as error:  # noqa: BLE001  (whatever it is, the caller must hear of it)
                    raised[number] = error
                    deque(following, maxlen=0)  # nothing more is begun

    others = [Thread(target=take) for _ in range(count - 1)]
    for other in others:
        other.start()
    take()
    for other in others:
        other.join()
    if raised:
        raise raised[min(raised)]  # parts are begun in their order, so the first that fails is always among them
    return [answers[number] for number in range(len(parts))]


def inside_a_part() -> bool:
    """Whether this thread is doing a part of shared work already."""
    return getattr(_THREAD, "works", False)


def take_whole() -> None:
    """From now on this thread shares out nothing."""
    _THREAD.works = True


@contextmanager
def _taking_whole() -> Iterator[None]:
    before = inside_a_part()
    take_whole()
    try:
        yield
    finally:
        _THREAD.works = before
