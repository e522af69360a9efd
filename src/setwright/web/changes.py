"""A job's changes as they happen, for everybody who looks at it: the record is asked once for all of them."""

from __future__ import annotations

import json
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Any, Final

import anyio
from anyio.to_thread import run_sync

from setwright.base.errors import InputRefused
from setwright.record.stamp import stamp_of
from setwright.record.store import Record

__all__ = ["Changes"]

_EACH_S: Final = 1.0
_STILL_S: Final = 3.0


class Changes:
    """The changes of every job of a record, looked for every `each_s` seconds as long as somebody listens."""

    def __init__(self, record: Record, *, each_s: float = _EACH_S) -> None:
        self._record = record
        self._each_s = each_s
        self._seen: dict[str, tuple[float, dict[str, Any]]] = {}
        self._asking: dict[str, anyio.Lock] = {}

    async def of(self, job: str, still: Callable[[], Awaitable[bool]]) -> AsyncIterator[str]:
        """Server-sent events: one whenever somebody changed the job, stated something about it, or something was made of it.
        They end soon after whoever listens may not any more (`still`)."""
        last: dict[str, Any] | None = None
        asked = time.monotonic()
        while True:
            if time.monotonic() - asked > _STILL_S:
                asked = time.monotonic()
                if not await still():
                    return
            try:
                now = await self._state(job)
            except InputRefused:  # the database is busy or away: the browser asks again by itself
                return
            if now != last:
                last = now
                yield f"event: changed\ndata: {json.dumps(now)}\n\n"
            else:
                yield ": still here\n\n"
            await anyio.sleep(self._each_s)

    async def _state(self, job: str) -> dict[str, Any]:
        """What the job's record is known by, at most half a turn old."""
        async with self._asking.setdefault(job, anyio.Lock()):
            at, state = self._seen.get(job, (0.0, {}))
            if not state or time.monotonic() - at >= self._each_s / 2.0:
                stamp = await run_sync(stamp_of, self._record, job)
                state = {"revision": stamp.revision, "statements": stamp.statements, "results": stamp.results, "by": stamp.by}
                self._seen[job] = time.monotonic(), state
            return state
