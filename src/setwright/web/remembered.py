"""What follows from a job's record alone is worked out once and remembered for a while: many tablets ask for the same.

Keys are digests of what it is made from, so that nothing remembered can be out of date. Who asks while it is being worked out waits
for it instead of working it out a second time.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, Final, TypeVar, cast

__all__ = ["Packed", "remembered"]

Value = TypeVar("Value")
_MOST: Final = 128
_ROOM: Final = 100_000_000
"""Bytes of what is remembered; what does not say its size is bounded by its number."""


@dataclass(frozen=True, slots=True)
class Packed:
    """An answer as it goes over the wire."""

    data: bytes
    headers: Mapping[str, str]


_held: OrderedDict[Hashable, Future[Any]] = OrderedDict()
_sizes: dict[Hashable, int] = {}
_lock = threading.Lock()


def remembered(key: Hashable, make: Callable[[], Value], *, size: Callable[[Value], int] | None = None) -> Value:
    """What `make` gave for this key before, else what it gives now; what was asked for longest ago goes first. Never change it.

    `size`: how many bytes it takes, where that can be many; of a packed answer they are known. What `make` raises is raised to
    everybody who waits for it, and not remembered.
    """
    with _lock:
        found = _held.get(key)
        ours = found is None
        if found is None:
            found = _held[key] = Future()
            _sizes[key] = 0
        _held.move_to_end(key)
    if ours:
        _work_out(found, key, make, size)
    return cast(Value, found.result())


def _work_out(promise: Future[Any], key: Hashable, make: Callable[[], Any], size: Callable[[Any], int] | None) -> None:
    try:
        made = make()
        _sizes[key] = len(made.data) if isinstance(made, Packed) else size(made) if size is not None else 0
        promise.set_result(made)
    except BaseException as error:  # noqa: BLE001  (whatever it is, those who wait must hear of it)
        with _lock:
            _held.pop(key, None)
            _sizes.pop(key, None)
        promise.set_exception(error)
    with _lock:
        _make_room()


def _make_room() -> None:
    done = [(key, _sizes[key]) for key, promise in _held.items() if promise.done()]
    many, large = len(done), sum(size for _, size in done)
    for key, size in done[:-1]:
        if many <= _MOST and large <= _ROOM:
            return
        del _held[key], _sizes[key]
        many, large = many - 1, large - size
