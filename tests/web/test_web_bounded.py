"""Short work in processes of their own: each limit is an answer in words, nobody else waits, and who leaves ends it."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi import FastAPI

from setwright.base.errors import InputRefused, LimitReached, SetwrightError
from setwright.record.refusals import NotThere
from setwright.web.bounded import Bounded
from setwright.web.refusals import Busy, Left
from setwright.web.remembered import remembered
from setwright.web.worker import Bounds
from setwright.web.workers import scratch_folder
from tests.web.workbench import Person, readers, refused, running

ENDLESS = b"%\nO1\nG21 G17 G90 G54\nT1 M6\nS3000 M3\nG0 X0 Y0 Z5\nG1 Z-1 F200\nN10 G1 X10\nX0\nM99 P10\n%\n"


def spin(started: str) -> None:
    Path(started).touch()
    while True:
        pass


def wait(started: str) -> None:
    Path(started).touch()
    time.sleep(3600)


def fill() -> int:
    return len(bytearray(400_000_000))


def keep() -> int:
    held.append(bytearray(os.urandom(1) * 350_000_000))
    return os.getpid()


def go_round() -> int:
    circle: list[object] = [bytearray(os.urandom(1) * 350_000_000)]
    circle.append(circle)  # nothing holds it but itself
    return os.getpid()


held: list[bytearray] = []


def refuse() -> None:
    raise NotThere.because("there is no tool 7", remedy="put one in")


def fail() -> None:
    raise ZeroDivisionError("secret detail")


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bounded]:
    """One process, with limits small enough to be reached."""
    made = Bounded(count=1, waiting=2, bounds=Bounds(processor_s=1.0, wall_s=20.0, memory=300_000_000))
    yield made
    made.close()


def test_processor_time_has_a_limit_and_the_next_call_is_answered(short: Bounded, tmp_path: Path) -> None:
    with pytest.raises(LimitReached, match=r"more than 1 s of processor time.*divide the program"):
        short.call(spin, str(tmp_path / "started"))
    assert (tmp_path / "started").exists()
    assert short.call(os.getpid) != os.getpid()


def test_memory_has_a_limit_and_the_next_call_is_answered(short: Bounded) -> None:
    with pytest.raises(LimitReached, match=r"more than 0.3 GB of memory"):
        short.call(fill)
    assert short.call(len, b"abc") == 3


def test_time_by_the_clock_has_a_limit(tmp_path: Path) -> None:
    hasty = Bounded(count=1, waiting=1, bounds=Bounds(processor_s=60.0, wall_s=0.0, memory=10**9))
    hasty._bounds = Bounds(processor_s=60.0, wall_s=60.0, memory=10**9)
    hasty.call(len, b"")
    hasty._bounds = Bounds(processor_s=60.0, wall_s=0.2, memory=10**9)
    with pytest.raises(LimitReached, match="this took longer than 0 s"):
        hasty.call(wait, str(tmp_path / "started"))
    hasty.close()


def test_what_is_refused_there_is_refused_here_and_a_fault_is_told_as_one(short: Bounded) -> None:
    with pytest.raises(NotThere, match="there is no tool 7, put one in"):
        short.call(refuse)
    with pytest.raises(SetwrightError) as fault:
        short.call(fail)
    assert not isinstance(fault.value, InputRefused)
    assert "secret" not in str(fault.value)


def test_a_process_that_keeps_too_much_is_made_anew() -> None:
    roomy = Bounded(count=1, waiting=2, bounds=Bounds(processor_s=60.0, wall_s=60.0, memory=10**9))
    first = roomy.call(keep)
    assert roomy.call(os.getpid) != first
    roomy.close()


def test_what_only_holds_itself_is_let_go_and_the_process_goes_on() -> None:
    calls = Bounded(count=1, waiting=4, bounds=Bounds(processor_s=60.0, wall_s=60.0, memory=1_000_000_000))
    try:
        assert calls.call(go_round) == calls.call(os.getpid)
    finally:
        calls.close()


def test_who_leaves_ends_the_work_and_nobody_waits_for_ever(short: Bounded, tmp_path: Path) -> None:
    before = short.call(os.getpid)
    started = tmp_path / "started"
    with pytest.raises(Left):
        short.call(wait, str(started), gone=started.exists)
    assert short.call(os.getpid) != before


def test_only_so_many_wait(tmp_path: Path) -> None:
    few = Bounded(count=1, waiting=1, bounds=Bounds(processor_s=60.0, wall_s=60.0, memory=10**9))
    enough = threading.Event()
    with ThreadPoolExecutor(2) as pool:
        at_work = pool.submit(few.call, wait, str(tmp_path / "a"), gone=enough.is_set)
        while not (tmp_path / "a").exists():
            assert not at_work.done()
        waiting = pool.submit(few.call, len, b"")
        while not few._waiting:
            assert not waiting.done()
        with pytest.raises(Busy, match="1 others wait"):
            few.call(len, b"")
        enough.set()
        assert waiting.result() == 0
        with pytest.raises(Left):
            at_work.result()
    few.close()


def test_who_waits_for_one_who_left_works_it_out_instead() -> None:
    begun, left = threading.Event(), threading.Event()

    def leaves() -> int:
        begun.set()
        assert left.wait(10.0)
        raise Left.because("gone")

    with ThreadPoolExecutor(2) as pool:
        first = pool.submit(remembered, "left", leaves, size=int)
        assert begun.wait(10.0)
        second = pool.submit(remembered, "left", lambda: 5, size=int)
        left.set()
        assert second.result() == 5
        with pytest.raises(Left):
            first.result()


def test_an_endless_program_is_drafted_up_to_where_it_goes_round(ada: Person) -> None:
    answer = ada.ask("POST", "/api/jobs", files=[("programs", ("round.nc", ENDLESS))])
    assert answer.status_code == 201, answer.text
    said = ada.read("/api/jobs/round/read")["findings"]
    assert any("does not end" in one["text"] and "round.nc:10" in one["text"] for one in said)


def test_reading_at_its_limit_is_an_answer_in_words_and_other_requests_are_answered(
    app: FastAPI, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    ada, sam = Person(app), Person(app)
    monkeypatch.setattr("setwright.web.routes.jobs.drafted", spin_sources)
    monkeypatch.setattr(app.state, "bounded", Bounded(count=1, waiting=2, bounds=Bounds(1.0, 60.0, 10**9)))
    with ThreadPoolExecutor(1) as pool:
        name = f"{tmp_path.name}.nc"
        slow = pool.submit(ada.ask, "POST", "/api/jobs", files=[("programs", (name, str(tmp_path).encode()))])
        while not (tmp_path / "started").exists():
            assert sam.read("/api/jobs")["jobs"][0]["name"] == "cap"
        refused(slow.result(), 413, "more than 1 s of processor time", "divide the program")
    assert len(sam.read("/api/jobs")["jobs"]) == 1
    app.state.bounded.close()


def test_two_texts_that_take_hours_to_put_together_are_refused_in_words(app: FastAPI, monkeypatch: pytest.MonkeyPatch) -> None:
    """A few lines again and again: which of them was kept is nearly endless to find out."""
    base = "".join(f"{'ab'[n % 2]}\n" for n in range(2400))
    mine = "y\n" + "".join(f"{'ba'[n // 2 % 2]}\n" for n in range(2400)) + "y\n"
    other = "t\n" + "".join(f"{'abb'[n % 3]}\n" for n in range(2400)) + "t\n"
    ada = Person(app)
    for number, text in enumerate((base, other), 1):
        made = ada.ask("PUT", "/api/jobs/cap/file?path=note.txt", based_on=number, content=text)
        assert made.status_code == 200, made.text
    hasty = Bounded(count=1, waiting=2, bounds=Bounds(2.0, 60.0, 10**9))
    monkeypatch.setattr(app.state, "bounded", hasty)
    answer = ada.ask("PUT", "/api/jobs/cap/file?path=note.txt", based_on=2, content=mine)
    refused(answer, 413, "more than 2 s of processor time")
    assert ada.ask("GET", "/api/jobs/cap/file?path=note.txt").content.decode() == other
    hasty.close()


def spin_sources(sources: list[tuple[str, bytes]]) -> None:
    spin(str(Path(sources[0][1].decode()) / "started"))


def test_what_a_killed_server_left_behind_goes_and_what_runs_stays(tmp_path: Path) -> None:
    left = tmp_path / "scratch" / "left"
    left.mkdir(parents=True)
    (left / "job.step").write_bytes(b"x")
    with scratch_folder(tmp_path) as own:
        assert not left.exists()
        with scratch_folder(tmp_path) as another:
            assert own.exists()
            assert another != own
    assert list((tmp_path / "scratch").iterdir()) == []


def test_a_calculation_has_limits_in_words(tmp_path: Path) -> None:
    with running(tmp_path / "record", calculation=Bounds(60.0, 0.0, 10**9)) as app:
        assert readers() is app.state.bounded
        ada = Person(app)
        made = ada.ask("POST", "/api/jobs", files=[("programs", ("a.nc", ENDLESS.replace(b"M99 P10", b"M30")))]).json()
        where = f"/api/jobs/{made['revision']['job']}/calculations"
        asked = ada.ask("POST", where, json={"station": "prove", "until": "deaf"}).json()
        with ada.client.stream("GET", f"/api/calculations/{asked['id']}/events") as stream:
            last = [line for line in stream.iter_lines() if line.startswith("data: ")][-1]
        assert '"broken off"' in last
        assert "longer than 0 min" in last
