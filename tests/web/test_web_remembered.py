"""What is worked out once: by one asker while the others wait, never again after that, and not at all where it failed."""

from __future__ import annotations

import json
import threading
import tracemalloc
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace
from typing import Any

import pytest
from fastapi import FastAPI

from setwright.base.errors import InputRefused
from setwright.web import remembered as room
from setwright.web.remembered import Packed, forget_old, held_bytes, remembered
from setwright.web.route_card import _PARSED
from tests.web.workbench import Person


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


def test_an_answer_takes_the_place_of_the_one_before_it() -> None:
    for stamp in range(5):
        remembered(("statements", stamp), lambda: Packed(b"x" * 40, {}), size=lambda made: made.size, question="what was stated")
    assert [key for key in room._held if isinstance(key, tuple) and key[0] == "statements"] == [("statements", 4)]
    assert len(room._newest) <= room._MOST


def test_what_follows_from_the_files_is_not_worked_out_anew_for_a_remark(shop: FastAPI, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    call = shop.state.bounded.call

    def counted(function: Callable[..., Any], *arguments: Any, **named: Any) -> Any:
        asked.append(function.__name__)
        return call(function, *arguments, **named)

    monkeypatch.setattr(shop.state.bounded, "call", counted)
    monkeypatch.setattr(room, "_held", OrderedDict())  # other tests of this process asked for the same files
    sam = Person(shop, "Sam")
    for text in ("the vise is clean", "and the jaws"):
        before = sam.read("/api/jobs/cap")
        assert sam.ask("POST", "/api/jobs/cap/remarks", based_on=1, json={"text": text}).is_success
        assert sam.read("/api/jobs/cap")["route_card"] == before["route_card"]
    assert asked.count("card_words") == asked.count("document_said") == 1
