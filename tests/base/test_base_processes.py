"""Work on copies of this process gives what the work itself gives, whatever becomes of the copies."""

import os
import signal

import pytest

from setwright.base.errors import InputRefused
from setwright.base.processes import map_copies
from setwright.base.threads import map_parts

HERE = os.getpid()


@pytest.fixture(params=["1", "2", "5"])
def copies(request, monkeypatch):
    monkeypatch.setenv("SETWRIGHT_THREADS", request.param)
    return int(request.param)


def test_answers_stand_in_the_order_of_the_parts(copies):
    assert map_copies(lambda k: k * k, range(40)) == [k * k for k in range(40)]


def test_nothing_to_do_gives_nothing(copies):
    assert map_copies(lambda k: k, []) == []


def test_work_is_done_elsewhere_and_changes_nothing_here(monkeypatch):
    monkeypatch.setenv("SETWRIGHT_THREADS", "2")
    kept = []

    def work(k):
        kept.append(k)
        return os.getpid()

    workers = set(map_copies(work, range(20)))
    assert HERE not in workers
    assert kept == []


def test_each_part_is_counted_here(copies):
    counted = []
    map_copies(lambda k: k, range(7), done=lambda: counted.append(os.getpid()))
    assert counted == [HERE] * 7


def test_a_refusal_is_raised_here(copies):
    def work(k):
        if k == 3:
            raise InputRefused.because("no such thing", remedy="take another")
        return k

    with pytest.raises(InputRefused) as refused:
        map_copies(work, range(6))
    assert [problem.what for problem in refused.value.problems] == ["no such thing"]


def test_what_counting_raises_ends_the_work(copies):
    def stop():
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        map_copies(lambda k: k, range(6), done=stop)


def test_parts_of_a_copy_that_is_killed_are_done_here(monkeypatch):
    monkeypatch.setenv("SETWRIGHT_THREADS", "2")

    def work(k):
        if k % 5 == 2 and os.getpid() != HERE:
            os.kill(os.getpid(), signal.SIGKILL)
        return k, os.getpid()

    answers = map_copies(work, range(12))
    assert [k for k, _ in answers] == list(range(12))
    assert (2, HERE) in answers


def test_no_copy_is_left_behind(monkeypatch):
    monkeypatch.setenv("SETWRIGHT_THREADS", "3")
    workers = set(map_copies(lambda _: os.getpid(), range(9)))
    for worker in workers:
        with pytest.raises(ProcessLookupError):
            os.kill(worker, 0)


def test_shared_work_inside_a_part_stays_in_its_copy(monkeypatch):
    monkeypatch.setenv("SETWRIGHT_THREADS", "2")

    def work(k):
        return os.getpid(), map_copies(lambda _: os.getpid(), range(3)), map_parts(lambda _: os.getpid(), range(3))

    for own, copies, threads in map_copies(work, range(4)):
        assert {own, *copies, *threads} == {own}


def test_on_threads_the_first_part_that_fails_is_told_and_no_more_are_begun(copies):
    begun = []

    def work(k):
        begun.append(k)
        if k >= 3:
            raise InputRefused.because(f"part {k}")
        return k

    with pytest.raises(InputRefused, match="part 3"):
        map_parts(work, range(100))
    assert max(begun) < 3 + copies + 3
    assert map_parts(lambda k: k * k, range(40)) == [k * k for k in range(40)]
