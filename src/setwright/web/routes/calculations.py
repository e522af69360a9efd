"""Long work: asked for, watched, ended; its results; and the findings of the newest proof with what was said about them."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, Field

from setwright.base.errors import InputRefused
from setwright.record.artefacts import artefact_bytes, artefacts, find_artefact
from setwright.record.calculations import calculations, find_calculation
from setwright.record.entries import Kind, finding_name, standing
from setwright.record.jobs import find_revision
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.answers import said
from setwright.web.calculating import ask, stop, told
from setwright.web.route_card import is_current, latest_proof, latest_study, pictures_in, proof_numbered
from setwright.web.routes.common import BenchOf, JobName, RevisionNumber, ShortOf, WorkersOf, as_it_stands, audited, setups_named
from setwright.web.signin import RecordOf, Setter, Still, Viewer
from setwright.web.wire.calculations import CalculationNow, Calculations, CalculationSaid, Findings, Results
from setwright.web.wire.hover import HoverNow
from setwright.web.wire.proof import ProofNow

__all__ = [
    "CalculationAsked", "delete_calculation", "get_calculation", "get_calculation_events", "get_calculations", "get_findings",
    "get_hover", "get_picture", "get_proof", "get_result", "get_results", "post_calculation", "router",
]  # fmt: skip

router = APIRouter(tags=["calculations"])


class CalculationAsked(BaseModel, extra="forbid"):
    """Long work on the newest revision, or on the one named. What is left out takes the station's own choice."""

    station: str
    setup: str = ""
    revision: int | None = Field(default=None, ge=1)
    pitch_mm: float | None = Field(default=None, gt=0, le=100, allow_inf_nan=False)
    until: str | None = Field(default=None, max_length=500)
    nominal: bool = False
    paper: str | None = Field(default=None, max_length=20)
    units: str | None = Field(default=None, pattern="^(mm|inch)$")
    catch_percent: float | None = Field(default=None, gt=0, lt=100, allow_inf_nan=False)
    within_min: float | None = Field(default=None, gt=0, le=1000, allow_inf_nan=False)
    seen: list[Annotated[str, Field(max_length=200)]] | None = Field(default=None, min_length=1, max_length=50)
    suppose: list[Annotated[str, Field(max_length=200)]] | None = Field(default=None, min_length=1, max_length=20)


@router.post("/api/jobs/{job}/calculations", summary="Start a proof or print the sheets", response_model=CalculationSaid,
             status_code=202)  # fmt: skip
def post_calculation(
    record: RecordOf, workers: WorkersOf, bench: BenchOf, short: ShortOf, who: Setter, job: JobName, given: CalculationAsked
) -> Response:  # fmt: skip
    """`station` is "prove", "sheet", "piece" (what each register moves, for Piece and Run), "hover" (which slips could there be,
    and which checks catch them; with what was `seen`, which of them explains it) or "suppose" (what would happen then). Watch it at
    its address + /events."""
    found = find_revision(record, job, number=given.revision)
    known = setups_named(record, short, found)
    if given.setup and given.setup not in known:
        remedy = "the setups are: " + ", ".join(f'"{one}"' for one in known)
        raise InputRefused.because(f'no setup is called "{given.setup}"', remedy=remedy, key="setup")
    options = given.model_dump(exclude={"station", "setup", "revision"}, exclude_none=True)
    asked = ask(record, workers, bench, found, station=given.station, setup=given.setup, options=options, by=who.name,
                setups=known)  # fmt: skip
    audited(record, who, "calculation started", job, number=asked.id, station=given.station)
    return said(asked.as_plain(), status=202, headers={"Location": f"/api/calculations/{asked.id}"})


@router.get("/api/jobs/{job}/calculations", summary="The calculations of a job, the newest first", response_model=Calculations)
def get_calculations(record: RecordOf, _who: Viewer, job: JobName) -> Response:
    """Where each stands."""
    return said({"calculations": [one.as_plain() for one in calculations(record, job)]})


@router.get("/api/calculations/{number}", summary="One calculation", response_model=CalculationNow)
def get_calculation(record: RecordOf, workers: WorkersOf, _who: Viewer, number: int) -> Response:
    """Where it stands, and how far it is."""
    watched = workers.find(number)
    step = watched.steps[-1].as_plain() if watched is not None and watched.steps else None
    return said(find_calculation(record, number).as_plain() | {"step": step})


@router.delete("/api/calculations/{number}", summary="End a calculation", response_model=CalculationSaid)
def delete_calculation(record: RecordOf, workers: WorkersOf, who: Setter, number: int) -> Response:
    """Nothing half-done is kept."""
    ended = stop(record, workers, number)
    audited(record, who, "calculation stopped", ended.job, number=number)
    return said(ended.as_plain())


@router.get("/api/calculations/{number}/events", summary="Its steps as they happen", response_class=StreamingResponse)
def get_calculation_events(
    record: RecordOf, workers: WorkersOf, _who: Viewer, still: Still, number: int,
    last_event_id: Annotated[str | None, Header(description="The last event that was seen.")] = None,
) -> StreamingResponse:  # fmt: skip
    """Server-sent events: "step" with what is done, how much of it and the time left; at the end "ended" with the calculation."""
    find_calculation(record, number)
    after = int(last_event_id) if last_event_id and last_event_id.isdigit() else 0
    return StreamingResponse(told(record, workers, number, after=after, still=still), media_type="text/event-stream")


@router.get("/api/jobs/{job}/results", summary="What the stations made, the newest first", response_model=Results)
def get_results(
    record: RecordOf, _who: Viewer, job: JobName, number: RevisionNumber = None, station: str | None = None
) -> Response:
    """Of one revision or station, if asked for."""
    return said({"results": [one.as_plain() for one in artefacts(record, job, revision=number, station=station)]})


@router.get("/api/jobs/{job}/results/{result}", summary="One result: a proof's document, a sheet's PDF", response_class=Response)
def get_result(record: RecordOf, _who: Viewer, job: JobName, result: int) -> Response:
    """The bytes as they were made."""
    found = find_artefact(record, job, result)
    headers = {"content-disposition": f'inline; filename="{found.name}"', "x-sha256": found.sha256}
    if not found.name.isascii():
        headers["content-disposition"] = "inline"
    return Response(artefact_bytes(record, found), media_type=found.media_type, headers=headers)


@router.get("/api/jobs/{job}/proof", summary="The newest proof, or the one asked for", response_model=ProofNow)
def get_proof(
    record: RecordOf, _who: Viewer, job: JobName,
    result: Annotated[int | None, Query(alias="proof", description="A proof among the results; the newest if not given.")] = None,
) -> Response:  # fmt: skip
    """Its whole document. `proof` and `document` are null when nothing was proved yet."""

    def answer() -> tuple[Any, int]:
        newest = find_revision(record, job)
        found = latest_proof(record, job) if result is None else proof_numbered(record, job, result)
        if found is None:
            return {"proof": None, "current": False, "document": None}, newest.number
        current = is_current(record, found[0], newest)
        return {"proof": found[0].as_plain(), "current": current, "document": found[1]}, newest.number

    return as_it_stands(record, job, ("proof", result), answer)


@router.get("/api/jobs/{job}/pictures/{finding}", summary="A finding's place in section, drawn", response_class=Response)
def get_picture(
    record: RecordOf, _who: Viewer, job: JobName, finding: Annotated[str, Path(description="The finding's name.", max_length=300)],
    result: Annotated[int | None, Query(alias="proof", description="A proof among the results; the newest if not given.")] = None,
) -> Response:  # fmt: skip
    """SVG: what was left of the metal there, tool and holding, to scale."""
    proof = latest_proof(record, job) if result is None else proof_numbered(record, job, result)
    drawn = None if proof is None else pictures_in(record, proof[0], job).get(finding)
    if drawn is None:
        raise NotThere.because("there is no picture of that finding", remedy="look at the findings of the newest proof")
    headers = {} if result is None else {"cache-control": "private, max-age=86400"}
    return Response(drawn.encode(), media_type="image/svg+xml", headers=headers)


@router.get("/api/jobs/{job}/hover", summary="The newest study of slips and checks", response_model=HoverNow)
def get_hover(
    record: RecordOf, _who: Viewer, job: JobName,
    station: Annotated[str, Query(pattern="^(hover|suppose)$", description="suppose for the newest supposition.")] = "hover",
) -> Response:  # fmt: skip
    """Its whole document. `result` and `document` are null where there is none yet."""

    def answer() -> tuple[Any, int]:
        newest = find_revision(record, job)
        found = latest_study(record, job, station=station)
        if found is None:
            return {"result": None, "current": False, "document": None}, newest.number
        current = is_current(record, found[0], newest)
        return {"result": found[0].as_plain(), "current": current, "document": found[1]}, newest.number

    return as_it_stands(record, job, ("hover", station), answer)


@router.get("/api/jobs/{job}/findings", summary="The findings of the newest proof, worst first", response_model=Findings)
def get_findings(record: RecordOf, _who: Viewer, job: JobName) -> Response:
    """Each with its `name` and its acceptance, if there is one. `proof` is null when nothing was proved yet; `current` says whether
    it is of the newest revision."""
    return as_it_stands(record, job, "findings", lambda: _findings(record, job))


def _findings(record: Record, job: str) -> tuple[Any, int]:
    newest = find_revision(record, job)
    proof = latest_proof(record, job)
    if proof is None:
        return {"proof": None, "current": False, "verdict": "", "findings": []}, newest.number
    accepted = {one.entry.subject: one.as_plain() for one in standing(record, job, Kind.ACCEPTED)}
    found: list[dict[str, Any]] = []
    pictures = pictures_in(record, proof[0], job)
    for finding in proof[1]["findings"]:
        name = finding_name(finding)
        found.append(finding | {"name": name, "accepted": accepted.get(name), "pictured": name in pictures})
    answer = {"proof": proof[0].as_plain(), "current": is_current(record, proof[0], newest),
              "verdict": proof[1].get("verdict", ""), "findings": found}  # fmt: skip
    return answer, newest.number
