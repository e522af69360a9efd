"""What follows from a revision's bytes alone is worked out once and remembered for a while: many tablets ask for the same.

Keys are digests of what it is made from, so that nothing remembered can be out of date.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any, Final, TypeVar, cast

__all__ = ["remembered"]

Value = TypeVar("Value")
_MOST: Final = 64
_held: OrderedDict[Hashable, Any] = OrderedDict()
_lock = threading.Lock()


def remembered(key: Hashable, make: Callable[[], Value]) -> Value:
    """What `make` gave for this key before, else what it gives now; what was asked for longest ago goes first. Never change it."""
    with _lock:
        if key in _held:
            _held.move_to_end(key)
            return cast(Value, _held[key])
    made = make()
    with _lock:
        _held[key] = made
        while len(_held) > _MOST:
            _held.popitem(last=False)
    return made
