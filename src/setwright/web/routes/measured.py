"""Piece and Run, and the measured values they live from."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, Field

from setwright.jobfolder.measured import MEASURED_FILE
from setwright.record.jobs import Revision, find_revision, revise
from setwright.record.store import Record
from setwright.web.answers import encoded, remembered_answer, said
from setwright.web.measuring import checked_lines, measured_document
from setwright.web.route_card import known_influences
from setwright.web.routes.common import (
    MOST_NUMBER,
    BasedOn,
    JobName,
    RevisionNumber,
    SetupName,
    Short,
    ShortOf,
    UnitsName,
    audited,
    etag,
)
from setwright.web.signin import RecordOf, Setter, Viewer, Who
from setwright.web.wire.jobs import Revised
from setwright.web.wire.measured import PieceAnswer, RunAnswer

__all__ = ["MeasuredGiven", "MeasuredLine", "delete_measured", "get_piece", "get_run", "post_measured", "router"]

router = APIRouter(tags=["stations"])
Cell = Annotated[str, Field(max_length=300)]


class MeasuredLine(BaseModel, extra="forbid"):
    """One line of measured.csv: a value of a feature with a gauge of the shop, or with the gauge "typed" by how much the register
    `feature` was changed before the piece. `unit`: mm, in, deg; "" for the job's own."""

    piece: Cell
    setup: Cell
    feature: Cell
    value: Cell
    unit: Annotated[str, Field(max_length=10)] = ""
    gauge: Cell
    time: Annotated[str, Field(max_length=40)] = ""


class MeasuredGiven(BaseModel, extra="forbid"):
    """What was measured or typed, kept together or not at all."""

    lines: Annotated[list[MeasuredLine], Field(min_length=1, max_length=500)]


@router.get("/api/jobs/{job}/piece", summary="Piece: the first piece is measured, what now?", response_model=PieceAnswer)
def get_piece(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None,
    units: UnitsName = None,
) -> Response:  # fmt: skip
    """What to measure, what was measured, and what to type after it, as far as it was worked out what each register moves (a
    calculation of the station "piece")."""
    return _answer("piece", record, short, find_revision(record, job, number=number), setup, units)


@router.get("/api/jobs/{job}/run", summary="Run: does it stay good?", response_model=RunAnswer)
def get_run(
    record: RecordOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None, number: RevisionNumber = None,
    units: UnitsName = None,
) -> Response:  # fmt: skip
    """When to measure next, how the tools wear, whether the process is stable."""
    return _answer("run", record, short, find_revision(record, job, number=number), setup, units)


def _answer(station: str, record: Record, short: Short, found: Revision, setup: str | None, units: str | None) -> Response:
    marks, known = known_influences(record, found)
    key = (station, found.job, found.digest, found.home, marks, setup, units)

    def answer() -> bytes:
        return encoded(short(measured_document, station, record.blobs, found, known, setup, units, near=found.job))

    return remembered_answer(key, answer, headers=etag(found.number))


@router.post("/api/jobs/{job}/measured", summary="Add what was measured or typed", response_model=Revised, status_code=201)
def post_measured(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, based_on: BasedOn, given: MeasuredGiven
) -> Response:
    """Every other byte of measured.csv stays; a line that would not be understood is refused, and nothing is written."""
    found = find_revision(record, job)
    rows = [line.model_dump() for line in given.lines]
    data = short(checked_lines, record.blobs, found, known_influences(record, found)[1], rows, None, near=job)
    measured = sum(line.gauge != "typed" for line in given.lines)
    note = f"{measured} measured" if measured else "typed into the control"
    return _kept(record, short, who, found, based_on, data, note, status=201)


@router.delete("/api/jobs/{job}/measured/{line}", summary="Take a measured line out", response_model=Revised)
def delete_measured(
    record: RecordOf, short: ShortOf, who: Setter, job: JobName, based_on: BasedOn,
    line: Annotated[int, Path(ge=1, le=MOST_NUMBER, description="The line of measured.csv, from 1.")],
) -> Response:  # fmt: skip
    """It stays in the earlier revisions."""
    found = find_revision(record, job)
    data = short(checked_lines, record.blobs, found, {}, None, line, near=job)
    return _kept(record, short, who, found, based_on, data, "measured line taken out")


def _kept(record: Record, short: Short, who: Who, found: Revision, based_on: int, data: bytes, note: str, *,
          status: int = 200) -> Response:  # fmt: skip
    path = found.at_home(MEASURED_FILE)
    made = revise(record, found.job, {path: data}, based_on=based_on, by=who.name, note=note, read=short.reads)
    audited(record, who, note, found.job, revision=made.number)
    return said({"revision": made.as_plain(), "others": []}, status=status, headers=etag(made.number))
