"""The worker process: takes one task after the other from its pipe, and says how far it is and what became of it.

Messages up the pipe: ("progress", what, done, total), then one of ("made", list of Made), ("refused", problems),
("stopped",), ("broken", text).
"""

from __future__ import annotations

import signal
import time
import traceback
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import Any, Final

from setwright.base.errors import Cancelled, InputRefused
from setwright.web.work import Task, do

__all__ = ["serve_tasks"]

_OFTEN_S: Final = 0.1


def serve_tasks(pipe: Connection, stop: Event) -> None:
    """Work until the pipe ends. `stop` is set by the other side to end the task at hand."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to the server, which ends its workers itself
    while True:
        try:
            task: Task = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(_outcome(task, pipe, stop))


def _outcome(task: Task, pipe: Connection, stop: Event) -> tuple[Any, ...]:
    last = 0.0

    def progress(what: str, done: int, total: int) -> None:
        nonlocal last
        if stop.is_set():
            raise Cancelled
        if time.monotonic() - last >= _OFTEN_S or done >= total:
            last = time.monotonic()
            pipe.send(("progress", what, done, total))

    try:
        return ("made", do(task, progress))
    except InputRefused as refusal:
        return ("refused", refusal.problems)
    except Cancelled:
        return ("stopped",)
    except Exception:  # noqa: BLE001  (whatever it is, the other side must hear of it)
        return ("broken", traceback.format_exc())
