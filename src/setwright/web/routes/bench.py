"""What the bench and the strip show of a proof: the metal at any moment, the tip's way, and what went on from motion to motion."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response

from setwright.base.errors import InputRefused
from setwright.record.artefacts import Artefact, artefacts, find_artefact
from setwright.record.jobs import find_revision
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.columns import COLUMNS_TYPE
from setwright.web.routes.common import BenchOf, JobName, SetupName, Short, ShortOf, setups_named
from setwright.web.signin import RecordOf, Viewer

__all__ = ["get_moment", "get_strip", "get_track", "router"]

router = APIRouter(tags=["bench"])
ProofNumber = Annotated[int | None, Query(alias="proof", description="A proof among the job's results; the newest if not given.")]
Motion = Annotated[int | None, Query(ge=-1, description="The last motion that has run; -1 for none, all if not given.")]
Triangles = Annotated[int | None, Query(ge=1, description="About how many triangles; all there are if not given.")]


@router.get("/api/jobs/{job}/moment", summary="The metal at a moment of a proof", response_class=Response)
def get_moment(
    record: RecordOf, bench: BenchOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None,
    proof: ProofNumber = None, motion: Motion = None, triangles: Triangles = None,
) -> Response:  # fmt: skip
    """Its surface in columns: `corners` (mm, in W), `triangles`, and the `motion` that cut each. With `triangles` a coarser one;
    the head says within which `bound_mm`."""
    inputs, named = _found(record, short, job, setup, proof)
    return _columns(bench.moment(inputs, named, row=motion, triangles=triangles), kept=proof is not None)


@router.get("/api/jobs/{job}/strip", summary="A proof from motion to motion, in columns", response_class=Response)
def get_strip(
    record: RecordOf, bench: BenchOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None,
    proof: ProofNumber = None,
) -> Response:
    """One row a motion: `kind` (0 rapid, 1 line, 2 arc), `tool`, `file` and `line`, `begin_s` and `end_s`, feed, speed, metal
    removed and its rate, and the least clearance to holding and table."""
    inputs, named = _found(record, short, job, setup, proof)
    return _columns(bench.columns(inputs, named, "strip"), kept=proof is not None)


@router.get("/api/jobs/{job}/track", summary="The way of the tool's tip over the part, in columns", response_class=Response)
def get_track(
    record: RecordOf, bench: BenchOf, short: ShortOf, _who: Viewer, job: JobName, setup: SetupName = None,
    proof: ProofNumber = None,
) -> Response:
    """One polyline in W: `point` (mm), the `motion` that reaches it, the `share` of that motion behind it, and whether it is
    `joined` to the point before."""
    inputs, named = _found(record, short, job, setup, proof)
    return _columns(bench.columns(inputs, named, "track"), kept=proof is not None)


def _columns(data: bytes, *, kept: bool) -> Response:
    """What is asked of a proof by its number never changes."""
    return Response(data, media_type=COLUMNS_TYPE, headers={"cache-control": "private, max-age=86400"} if kept else {})


def _found(record: Record, short: Short, job: str, setup: str | None, number: int | None) -> tuple[str, str]:
    """What the proof was made from, and which of its setups."""
    proof = _proof(record, job, number)
    known = [proof.setup] if proof.setup else setups_named(record, short, find_revision(record, job, number=proof.revision))
    if setup is not None and setup not in known:
        remedy = "it has " + ", ".join(f'"{one}"' for one in known)
        raise InputRefused.because(f'that proof has no setup "{setup}"', remedy=remedy, key="setup")
    return proof.inputs, known[0] if setup is None else setup


def _proof(record: Record, job: str, number: int | None) -> Artefact:
    if number is not None:
        found = find_artefact(record, job, number)
        if found.name != "proof.json":
            raise NotThere.because(f"result {number} is no proof", remedy="look at the job's results")
        return found
    newest = next((one for one in artefacts(record, job) if one.name == "proof.json"), None)
    if newest is None:
        raise NotThere.because(f'"{job}" has not been proved yet', remedy="prove it first")
    return newest
