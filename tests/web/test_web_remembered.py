"""What is worked out once: by one asker while the others wait, never again after that, and not at all where it failed."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from setwright.base.errors import InputRefused
from setwright.web import remembered as room
from setwright.web.remembered import Packed, remembered


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
