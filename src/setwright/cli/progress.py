"""A bar for anything that takes longer than a second: what is being done, how far, how fast, how long still."""

from __future__ import annotations

import time
from types import TracebackType
from typing import Self

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn, TimeRemainingColumn

__all__ = ["Bar"]

_PATIENCE_S = 1.0


class Bar:
    """Called with (what, done, total); shows itself once the work has taken a second, and cleans up after itself."""

    def __init__(self, console: Console, *, quiet: bool = False) -> None:
        self._console = console
        self._quiet = quiet
        self._began = time.monotonic()
        self._progress: Progress | None = None
        self._tasks: dict[str, TaskID] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None) -> None:
        if self._progress is not None:
            self._progress.stop()

    def __call__(self, what: str, done: int, total: int) -> None:
        if self._quiet or not self._console.is_terminal or time.monotonic() - self._began < _PATIENCE_S:
            return
        if self._progress is None:
            columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
            self._progress = Progress(*columns, console=self._console, transient=True)
            self._progress.start()
        if what not in self._tasks:
            self._tasks[what] = self._progress.add_task(what, total=total)
        self._progress.update(self._tasks[what], completed=done, total=total)
