"""Long work asked for, and what became of it, so that nobody waits for a calculation that a restart has ended."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import insert, select, update

from setwright.record import jobs
from setwright.record.chain import link
from setwright.record.refusals import NotThere
from setwright.record.schema import calculation, job, now
from setwright.record.store import Record

__all__ = ["Calculation", "CalculationState", "ask_calculation", "calculations", "end_calculation", "find_calculation",
           "interrupt_calculations", "start_calculation"]  # fmt: skip


class CalculationState(StrEnum):
    """Where it stands; the last four are ends."""

    WAITING = "waiting"
    WORKING = "working"
    DONE = "done"
    REFUSED = "refused"
    STOPPED = "stopped"
    BROKEN_OFF = "broken off"


_OPEN: Final = (CalculationState.WAITING.value, CalculationState.WORKING.value)


@dataclass(frozen=True, slots=True)
class Calculation:
    """One calculation. `artefact_id`: its result, when done; `said`: the problems it ended with, as plain findings."""

    id: int
    job: str
    revision: int
    station: str
    setup: str
    options: Mapping[str, Any]
    state: CalculationState
    artefact_id: int | None
    said: list[dict[str, Any]]
    by: str
    at: datetime.datetime
    ended_at: datetime.datetime | None

    @property
    def ended(self) -> bool:
        """Whether nothing more will happen."""
        return self.state.value not in _OPEN

    def as_plain(self) -> dict[str, Any]:
        """Plain data."""
        names = ("id", "job", "revision", "station", "setup", "artefact_id", "said", "by")
        ended = self.ended_at.isoformat() if self.ended_at else None
        return {name: getattr(self, name) for name in names} | {
            "options": dict(self.options), "state": self.state.value, "at": self.at.isoformat(), "ended_at": ended,
        }  # fmt: skip


def ask_calculation(
    record: Record, name: str, *, revision: int, station: str, setup: str, options: Mapping[str, Any], by: str
) -> Calculation:
    """Put a calculation on a revision into the queue."""
    about = jobs.find_revision(record, name, number=revision)
    row = {"job_id": about.job_id, "revision": revision, "station": station, "setup": setup, "options": dict(options), "by": by,
           "state": CalculationState.WAITING.value, "said": [], "at": now()}  # fmt: skip
    with record.writing() as connection:
        added = connection.execute(insert(calculation).values(row).returning(calculation.c.id)).one()
        link(connection, "calculation", id=added.id)
    return find_calculation(record, added.id)


def find_calculation(record: Record, number: int) -> Calculation:
    """One calculation. Raises NotThere."""
    found = _found(record, calculation.c.id == number)
    if not found:
        raise NotThere.because(f"there is no calculation {number}", remedy="start it again")
    return found[0]


def calculations(record: Record, name: str) -> list[Calculation]:
    """The calculations of a job, the newest first. Raises NotThere."""
    jobs.find_revision(record, name)
    return _found(record, job.c.name == name)


def _found(record: Record, which: Any) -> list[Calculation]:
    columns = [column for column in calculation.c if column.name != "job_id"]
    found = select(*columns, job.c.name.label("job")).join(job, job.c.id == calculation.c.job_id)
    with record.reading() as connection:
        rows = connection.execute(found.where(which).order_by(calculation.c.id.desc())).mappings().all()
    return [Calculation(**{**row, "state": CalculationState(row["state"])}) for row in rows]


def start_calculation(record: Record, number: int) -> bool:
    """Mark a waiting calculation as being worked on; false if it is not waiting any more."""
    waiting = (calculation.c.id == number, calculation.c.state == CalculationState.WAITING.value)
    with record.writing() as connection:
        done = connection.execute(update(calculation).where(*waiting).values(state=CalculationState.WORKING.value))
        if done.rowcount:
            link(connection, "calculation", id=number)
        return bool(done.rowcount)


def end_calculation(
    record: Record, number: int, state: CalculationState, *, artefact_id: int | None = None, said: Iterable[Mapping[str, Any]] = ()
) -> Calculation:
    """Say how a calculation ended; one that has ended stays as it ended."""
    going = (calculation.c.id == number, calculation.c.state.in_(_OPEN))
    values = {"state": state.value, "artefact_id": artefact_id, "said": [dict(one) for one in said], "ended_at": now()}
    with record.writing() as connection:
        if connection.execute(update(calculation).where(*going).values(values)).rowcount:
            link(connection, "calculation", id=number)
    return find_calculation(record, number)


def interrupt_calculations(record: Record) -> int:
    """Mark whatever was waiting or being worked on as broken off: what a server does first, since nobody works on it any more."""
    text = "the server was stopped before this was done"
    said = [{"slug": "broken-off", "signal": "NOTICE", "text": text, "remedy": "start it again"}]
    values = {"state": CalculationState.BROKEN_OFF.value, "said": said, "ended_at": now()}
    with record.writing() as connection:
        going = connection.scalars(select(calculation.c.id).where(calculation.c.state.in_(_OPEN)).order_by(calculation.c.id)).all()
        for number in going:
            connection.execute(update(calculation).where(calculation.c.id == number).values(values))
            link(connection, "calculation", id=number)
        return len(going)
