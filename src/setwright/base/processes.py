"""Work shared among copies of this process, for work that is half Python and would wait for the interpreter on threads.

A copy is made by the system in a millisecond and has everything this process has; only the answers travel back. What is handed out
and how it is put together does not depend on how many copies there are.
"""

from __future__ import annotations

import os
import pickle
import signal
import sys
import warnings
from collections.abc import Callable, Iterator, Sequence
from multiprocessing.connection import Connection, Pipe, wait
from typing import NoReturn, TypeVar

from setwright.base.threads import inside_a_part, map_parts, take_whole, thread_count

__all__ = ["map_copies"]

T = TypeVar("T")
R = TypeVar("R")


def map_copies(work: Callable[[T], R], parts: Sequence[T], *, done: Callable[[], None] | None = None) -> list[R]:
    """`[work(part) for part in parts]`, on one copy of this process for each core; results, which must be possible to pickle, in
    the order of the parts. `done` is called here after each part, and what it raises ends the work.

    What `work` raises is raised here. A part whose copy is gone is done here. Where a process cannot be copied (the copy of one
    with a window or another system's libraries may hang, so it is done on Linux only), threads share the work instead.
    """
    count = 1 if inside_a_part() else min(thread_count(), len(parts))
    if count <= 1 or sys.platform != "linux":
        return map_parts(lambda part: _counted(work, part, done), parts)
    answers: dict[int, R] = {}
    copies: dict[Connection, int] = {}
    try:
        for _ in range(count):
            ours, pid = _copy(work, parts, list(copies))
            copies[ours] = pid
        _hand_out(copies, len(parts), answers, done)
    finally:
        for connection, pid in copies.items():
            connection.close()
            os.waitpid(pid, 0)
    return [answers[k] if k in answers else _counted(work, parts[k], done) for k in range(len(parts))]


def _counted(work: Callable[[T], R], part: T, done: Callable[[], None] | None) -> R:
    answer = work(part)
    if done is not None:
        done()
    return answer


def _hand_out(copies: dict[Connection, int], total: int, answers: dict[int, R], done: Callable[[], None] | None) -> None:
    """Give every copy its next part as soon as it has answered, until there is none left or no copy."""
    following = iter(range(total))
    open_ = {connection for connection in copies if _next_to(connection, following)}
    while open_:
        for connection in wait(list(open_)):
            if not isinstance(connection, Connection):
                raise AssertionError("only connections are waited for")
            try:
                number, good, answer = pickle.loads(connection.recv_bytes())
            except (EOFError, OSError):
                open_.discard(connection)
                continue
            if not good:
                raise answer
            answers[number] = answer
            if done is not None:
                done()
            if not _next_to(connection, following):
                open_.discard(connection)


def _next_to(connection: Connection, following: Iterator[int]) -> bool:
    """Send the next number; False if there is none or the copy is gone."""
    number = next(following, None)
    if number is None:
        return False
    try:
        connection.send(number)
    except OSError:
        return False
    return True


def _copy(work: Callable[[T], R], parts: Sequence[T], others: Sequence[Connection]) -> tuple[Connection, int]:
    """Start a copy: the connection to it and its number."""
    ours, theirs = Pipe()
    with warnings.catch_warnings():
        # Newer Pythons warn of other threads, whose locks a copy would find taken. A copy computes, and touches none of them.
        warnings.simplefilter("ignore", DeprecationWarning)
        pid = os.fork()
    if pid == 0:
        for connection in (ours, *others):  # or a copy would not see that this process is gone
            connection.close()
        _work_off(work, parts, theirs)
    theirs.close()
    return ours, pid


def _work_off(work: Callable[[T], R], parts: Sequence[T], connection: Connection) -> NoReturn:
    """What a copy does: answer numbers until there are no more. It never returns into what the process was doing."""
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        take_whole()
        while True:
            number = connection.recv()
            connection.send_bytes(_answered(work, parts[number], number))
    except (EOFError, OSError):
        pass
    finally:
        os._exit(0)


def _answered(work: Callable[[T], R], part: T, number: int) -> bytes:
    try:
        return pickle.dumps((number, True, work(part)))
    except Exception as found:  # noqa: BLE001 (raised again where the work was asked for)
        return pickle.dumps((number, False, found))
