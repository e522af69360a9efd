"""What is worked out once: by one asker while the others wait, never again after that, and not at all where it failed."""

from __future__ import annotations

import json
import threading
import tracemalloc
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest

from setwright.base.errors import InputRefused
from setwright.web import remembered as room
from setwright.web.remembered import Packed, forget_old, held_bytes, remembered
from setwright.web.route_card import _PARSED


def test_many_who_ask_at_once_have_it_worked_out_once() -> None:
    made: list[int] = []
    begun, go_on = threading.Event(), threading.Event()

    def make() -> int:
        begun.set()
        made.append(7)
        assert go_on.wait(10.0)
        return len(made)

    with ThreadPoolExecutor(8) as pool:
        answers = [pool.submit(remembered, "at once", make, size=int)]
        assert begun.wait(10.0)
        answers += [pool.submit(remembered, "at once", make, size=int) for _ in range(7)]
        go_on.set()
        assert [answer.result() for answer in answers] == [1] * 8
    assert made == [7]


def test_what_failed_is_tried_again() -> None:
    def fail() -> int:
        raise InputRefused.because("no readings")

    with pytest.raises(InputRefused, match="no readings"):
        remembered("fails at first", fail, size=int)
    assert remembered("fails at first", lambda: 3, size=int) == 3


def test_the_oldest_answers_go_when_the_room_is_full(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "_ROOM", 100)
    for number in range(4):
        remembered(("large", number), lambda: Packed(b"x" * 40, {}), size=lambda made: made.size)
    made: list[int] = []

    def again(number: int) -> None:
        def make() -> Packed:
            made.append(number)
            return Packed(b"x" * 40, {})

        remembered(("large", number), make, size=lambda made: made.size)

    for number in (3, 2, 1):
        again(number)
    assert made == [1], "two of 40 bytes fit into 100, the third did not"


def test_what_is_remembered_stays_within_its_room_and_does_not_grow_old(monkeypatch: pytest.MonkeyPatch) -> None:
    at = [1000.0]
    monkeypatch.setattr(room, "time", SimpleNamespace(monotonic=lambda: at[0]))
    monkeypatch.setattr(room, "_held", OrderedDict())
    document = json.dumps([{"text": "holder passes the jaw", "line": number, "value": 1.25} for number in range(2000)])
    tracemalloc.start()
    for number in range(300):
        remembered(("result", number), lambda: json.loads(document), size=lambda _: _PARSED * len(document))
        assert held_bytes() <= room._ROOM
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert held < 1.2 * room._ROOM, "what it says it takes is no less than what it takes"
    at[0] += room._AGE_S - 1.0
    remembered(("result", 299), lambda: None, size=lambda _: 0)
    at[0] += 2.0
    forget_old()
    assert list(room._held) == [("result", 299)]
