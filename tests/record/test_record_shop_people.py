"""The shop's library, the people, and the calculations that were asked for."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import pytest
from sqlalchemy import event

from setwright.base.errors import InputRefused
from setwright.record.calculations import (
    CalculationState,
    ask_calculation,
    calculations,
    end_calculation,
    find_calculation,
    interrupt_calculations,
    start_calculation,
)
from setwright.record.folder import JobFiles
from setwright.record.jobs import add_job
from setwright.record.people import (
    Role,
    add_person,
    audit_lines,
    change_person,
    close_sessions,
    count_try,
    find_person,
    forget_tries,
    note_audit,
    open_session,
    people,
    session_person,
)
from setwright.record.refusals import AlreadyThere, NotThere, Stale
from setwright.record.schema import now
from setwright.record.shop import find_thing, jobs_that_differ, put_thing, take_out_thing, thing_bytes, thing_revisions, things
from setwright.record.store import Record

TOOL = b'name = "end mill 10"\nkind = "end mill"\ndiameter = 10\nflute_length = 22\n'
HOUR = datetime.timedelta(hours=1)


def test_a_thing_of_the_shop_and_its_revisions(record: Record) -> None:
    put_thing(record, "tools", "em10", TOOL, based_on=0, by="Ada")
    second = put_thing(record, "tools", "em10", TOOL.replace(b"22", b"25"), based_on=1, by="Ben", note="reground")
    assert (second.number, second.by, second.note) == (2, "Ben", "reground")
    assert thing_bytes(record, thing_revisions(record, "tools", "em10")[0]) == TOOL
    with pytest.raises(Stale):
        put_thing(record, "tools", "em10", TOOL, based_on=1, by="Ada")
    take_out_thing(record, "tools", "em10", based_on=2, by="Ada")
    assert things(record) == []
    with pytest.raises(NotThere):
        find_thing(record, "tools", "em10")
    with pytest.raises(NotThere):
        thing_bytes(record, thing_revisions(record, "tools", "em10")[-1])
    assert put_thing(record, "tools", "em10", TOOL, based_on=3, by="Ada").number == 4


@pytest.mark.parametrize(
    ("kind", "name", "data", "wanted"),
    [
        ("tools", "em10", TOOL.replace(b"diameter", b"diametre"), r"tools/em10\.toml:3:1"),
        ("tools", "../em10", TOOL, "cannot be the name"),
        ("chairs", "em10", TOOL, "machines, holding, tools, instruments"),
        ("tools", "em10", b"\xff", "UTF-8"),
    ],
)
def test_what_is_no_thing_is_refused(record: Record, kind: str, name: str, data: bytes, wanted: str) -> None:
    with pytest.raises(InputRefused, match=wanted):
        put_thing(record, kind, name, data, based_on=0, by="Ada")
    assert things(record) == []


def test_jobs_whose_tools_are_not_those_of_the_shop(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    text = cap.files["shop/tools/end-mill-16.toml"]
    put_thing(record, "tools", "end-mill-16", text, based_on=0, by="Ada")
    assert jobs_that_differ(record) == {}
    put_thing(record, "tools", "end-mill-16", text + b"\n# worn\n", based_on=1, by="Ada")
    assert jobs_that_differ(record) == {"cap": ["shop/tools/end-mill-16.toml"]}


def test_the_shop_is_held_against_all_jobs_in_as_many_questions_as_against_one(record: Record, cap: JobFiles) -> None:
    put_thing(record, "tools", "end-mill-16", cap.files["shop/tools/end-mill-16.toml"] + b"\n# worn\n", based_on=0, by="Ada")
    asked: list[str] = []
    event.listen(record.engine, "before_cursor_execute", lambda *said: asked.append(said[2]))
    counts = []
    for name in ("one", "two", "three"):
        add_job(record, cap, name=name, by="Ada")
        asked.clear()
        assert name in jobs_that_differ(record)
        counts.append(len(asked))
    assert len(set(counts)) == 1
    assert sorted(jobs_that_differ(record)) == ["one", "three", "two"]


def test_people_and_roles(record: Record) -> None:
    add_person(record, " Lea  Marten ", role=Role.LEAD, secret="hash")
    assert find_person(record, "lea marten").name == "Lea Marten"
    with pytest.raises(AlreadyThere):
        add_person(record, "LEA MARTEN", role=Role.VIEWER, secret="")
    with pytest.raises(InputRefused, match="cannot be a person's name"):
        add_person(record, "\x07", role=Role.VIEWER, secret="")
    assert "secret" not in find_person(record, "Lea Marten").as_plain()
    assert change_person(record, "Lea Marten", role=Role.SETTER).role is Role.SETTER
    assert [role.may(Role.SETTER) for role in Role] == [False, True, True, True]


def test_the_last_administrator_stays(record: Record) -> None:
    add_person(record, "Ada", role=Role.ADMINISTRATOR, secret="")
    for change in ({"role": Role.LEAD}, {"active": False}):
        with pytest.raises(InputRefused, match="is the last administrator"):
            change_person(record, "Ada", **change)  # type: ignore[arg-type]
    assert find_person(record, "Ada").role is Role.ADMINISTRATOR
    add_person(record, "Ben", role=Role.ADMINISTRATOR, secret="")
    assert not change_person(record, "Ada", active=False).active
    assert [one.name for one in people(record)] == ["Ada", "Ben"]


def test_sessions_end(record: Record) -> None:
    ada = add_person(record, "Ada", role=Role.SETTER, secret="")
    for token, ends in (("a", HOUR), ("b", HOUR), ("c", -HOUR)):
        open_session(record, ada, token * 64, ends_at=now() + ends)

    def held() -> list[str]:
        return [token for token in "abc" if session_person(record, token * 64, idle=HOUR)]

    assert held() == ["a", "b"]
    assert session_person(record, "a" * 64, idle=datetime.timedelta(0)) is None
    close_sessions(record, token="a" * 64)
    assert held() == ["b"]
    change_person(record, "Ada", secret="new")
    assert held() == []
    open_session(record, ada, "d" * 64, ends_at=now() + HOUR)
    close_sessions(record, who=ada)
    assert session_person(record, "d" * 64, idle=HOUR) is None


def test_the_audit(record: Record) -> None:
    for number in range(3):
        note_audit(record, "sign-in refused", by="Ada", subject="Ada", address=f"10.0.0.{number % 2}", detail={"try": number})
    assert [line.detail["try"] for line in audit_lines(record, most=2)] == [2, 1]
    assert [line.detail["try"] for line in audit_lines(record, before=audit_lines(record)[1].id)] == [0]


def _may_try(record: Record, name: str = "Ada", *, address: str = "10.0.0.1", since: datetime.timedelta = HOUR) -> bool:
    return count_try(record, name, address=address, most_here=3, most=5, since=now() - since)


def test_tries_to_sign_in_are_counted_by_name_and_address(record: Record) -> None:
    assert [_may_try(record) for _ in range(4)] == [True, True, True, False]
    assert [_may_try(record, address="10.0.0.2") for _ in range(3)] == [True, True, False]  # five from everywhere
    assert _may_try(record, "Ben")  # nobody else at that address is shut out
    assert not _may_try(record, " ADA ")
    assert forget_tries(record, "ada", address="10.0.0.2") == 2
    assert [_may_try(record), _may_try(record, address="10.0.0.2")] == [False, True]
    assert forget_tries(record, "Ada") == 4
    assert _may_try(record)
    assert _may_try(record, since=-HOUR)  # what lies outside the window does not count


@pytest.mark.parametrize("name", ["\u0410da", "Ada\u200b", "A\u00addа", "12", "Lea \u041carten", "\u202eadA"])
def test_a_name_that_cannot_be_read_out_is_refused(record: Record, name: str) -> None:
    with pytest.raises(InputRefused):
        add_person(record, name, role=Role.SETTER, secret="")
    assert people(record) == []


@pytest.mark.parametrize(
    ("name", "like"),
    [("Lea Marten", "LEA  marten"), ("Lea Marten", "Léa Marten"), ("Bill", "BiII"), ("Tom O", "Tom 0"), ("Ada", "\uff21da"),
     ("Ace", "\u0410\u0441\u0435"), ("Ina", "lna"), ("Vic", "V\u0131c"), ("Sam", "Sarn"), ("Wim", "VVim"), ("Jon", "J\u00f8n"),
     ("Ada", "\u0251da")],
)  # fmt: skip
def test_two_names_that_look_alike_are_one(record: Record, name: str, like: str) -> None:
    add_person(record, name, role=Role.SETTER, secret="")
    with pytest.raises(AlreadyThere, match="in the record already"):
        add_person(record, like, role=Role.SETTER, secret="")
    assert len(people(record)) == 1


def _at_once(*work: Callable[[], object]) -> list[object]:
    """What each returned or raised, all begun together."""
    gate = threading.Barrier(len(work))

    def one(do: Callable[[], object]) -> object:
        gate.wait()
        try:
            return do()
        except InputRefused as refusal:
            return refusal

    with ThreadPoolExecutor(len(work)) as pool:
        return [done.result() for done in [pool.submit(one, do) for do in work]]


def test_of_twenty_who_add_one_name_at_once_one_does(record: Record) -> None:
    names = ["Lea", "LEA", "lea", "Léa", "leA"] * 4
    ended = _at_once(*(partial(add_person, record, name, role=Role.SETTER, secret="") for name in names))
    assert sum(isinstance(one, AlreadyThere) for one in ended) == len(names) - 1
    assert len(people(record)) == 1


def test_two_administrators_who_demote_each_other_at_once_leave_one(record: Record) -> None:
    for round_ in range(10):
        for name in (f"Ada {'a' * round_}", f"Ben {'a' * round_}"):
            add_person(record, name, role=Role.ADMINISTRATOR, secret="")
        leading = [one.name for one in people(record) if one.role is Role.ADMINISTRATOR and one.active]
        _at_once(*(partial(change_person, record, name, active=False) for name in leading))
        assert sum(one.role is Role.ADMINISTRATOR and one.active for one in people(record)) == 1


def test_of_twenty_tries_at_once_as_many_are_made_as_one_by_one(record: Record) -> None:
    assert sum(map(bool, _at_once(*[partial(_may_try, record)] * 20))) == 3


def test_a_calculation_ends_once(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    asked = {"revision": 1, "station": "prove", "setup": "", "options": {"pitch_mm": 1.0}, "by": "Ada"}
    first, second, third = (ask_calculation(record, "cap", **asked) for _ in range(3))  # type: ignore[arg-type]
    assert first.state is CalculationState.WAITING
    assert start_calculation(record, first.id)
    assert not start_calculation(record, first.id)
    assert end_calculation(record, first.id, CalculationState.STOPPED).state is CalculationState.STOPPED
    assert end_calculation(record, first.id, CalculationState.DONE).state is CalculationState.STOPPED
    start_calculation(record, second.id)
    assert interrupt_calculations(record) == 2
    states = [one.state for one in calculations(record, "cap")]
    assert states == [CalculationState.BROKEN_OFF, CalculationState.BROKEN_OFF, CalculationState.STOPPED]
    assert find_calculation(record, third.id).said[0]["text"] == "the server was stopped before this was done"
    assert find_calculation(record, second.id).ended
