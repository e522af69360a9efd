"""Piece and Run over HTTP: how features follow registers is long work, done once and kept; what follows from measured values is
then an answer at once, whatever is measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.units import format_length
from setwright.jobfolder.document import decode
from setwright.jobfolder.load import setup_numbered
from setwright.jobfolder.measured import MEASURED_FILE, TYPED, measurable, measured_in
from setwright.kit.station import Kit
from setwright.model.answer import document, refusal_findings
from setwright.model.finding import Finding, Signal, State
from setwright.model.measurement import Measured, Measurement
from setwright.model.requirement import Size
from setwright.piece.plan import plan
from setwright.record.blobs import Blobs
from setwright.record.jobs import Revision
from setwright.record.measured import add_measured, remove_measured
from setwright.sheet.picture import touch_picture
from setwright.web.answers import JSON_TYPE, encoded
from setwright.web.made import Made
from setwright.web.touching import together_of

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.piece.influence import Influence
    from setwright.prove.station import Proof

__all__ = ["INFLUENCE", "Known", "checked_lines", "influence_in", "influence_plain", "influences", "measured_document",
           "measured_words"]  # fmt: skip

INFLUENCE: Final = "influence.json"
"""How features follow registers, as it is kept."""

Known = Mapping[str, Mapping[str, Any]]
"""What was worked out of each setup: documents of `influence_plain` by its name."""

Progress = Callable[[str, int, int], None]


def influences(folder: JobFolder, proofs: Sequence[Proof], *, pitch_mm: float | None, progress: Progress) -> Made:
    """What a worker does for Piece and Run: every register of every proved setup moved, and the part measured again."""
    from setwright.piece.influence import influence_of
    from setwright.slips.world import as_set

    found = []
    for proof in proofs:
        world = as_set(proof.kit, proof.truth, metal=None if proof.kit.blank is not None else proof.before)
        found.append(influence_plain(influence_of(world, pitch_mm=pitch_mm, progress=progress), proof.truth.doubts))
    return Made(INFLUENCE, JSON_TYPE, encoded({"job": folder.name, "setups": found}))


def influence_plain(influence: Influence, doubts: Sequence[Finding]) -> dict[str, Any]:
    """Everything of it but the kit as plain data, every number whole; `doubts`: what Touch leaves open."""
    return {
        "setup": influence.kit.setup.name, "doubts": [asdict(doubt) for doubt in doubts],
        "places": [asdict(place) for place in influence.places],
        "causes": [{"name": cause.name, "standard": cause.standard, "station": cause.station, "unit": cause.unit,
                    "typed": None if cause.typed is None else asdict(cause.typed)} for cause in influence.causes],
        "matrix": influence.matrix.tolist(), "others": [[words, row.tolist()] for words, row in influence.others],
        "left_out": [list(one) for one in influence.left_out],
    }  # fmt: skip


def influence_in(kit: Kit, plain: Mapping[str, Any]) -> Influence:
    """The same out of plain data, for the kit it was found with."""
    from setwright.piece.influence import Cause, Influence, Place
    from setwright.slips.case import Typed

    places = tuple(Place(**{**one, "limits": Size(**one["limits"])}) for one in plain["places"])
    causes = tuple(Cause(one["name"], None if one["typed"] is None else Typed(**one["typed"]), one["standard"], one["station"],
                         unit=one["unit"]) for one in plain["causes"])  # fmt: skip
    matrix = np.array(plain["matrix"], np.float64).reshape(len(places), len(causes))
    others = tuple((words, np.array(row, np.float64)) for words, row in plain["others"])
    return Influence(kit, places, causes, matrix, others, tuple((name, why) for name, why in plain["left_out"]))


def measured_document(
    station: str, blobs: Blobs, found: Revision, known: Known, setup: str | None, units: str | None
) -> dict[str, Any]:  # fmt: skip
    """The document of "piece" or "run": of every setup what there is to measure, what was measured, and what follows from it as
    far as it was worked out. What is wrong with the measured values is told."""
    together = together_of(blobs, found)
    shown = units or ("inch" if together.folder.job.units == "in" else "mm")
    measured, problems = _measured(together.folder, blobs, found, known)
    answers = [_of_setup(station, together.kit(one.name), measured, known.get(one.name), shown)
               for one in setup_numbered(together.folder.job, setup)]  # fmt: skip
    findings = [*problems, *(finding for _, told in answers for finding in told)]
    body = {**({"refused": True} if problems else {}), "setups": [said for said, _ in answers]}
    return document(station, body, job=found.job, units=shown, findings=findings)


def measured_words(blobs: Blobs, found: Revision, known: Known) -> dict[str, tuple[str, bool]]:
    """What Piece and Run say on the route card, each with whether somebody must look at it."""
    said = {}
    for station in ("piece", "run"):
        told = measured_document(station, blobs, found, known, None, None)
        answers = [one for one in told["setups"] if one["answer"]]
        text = " ".join(one["answer"] if len(told["setups"]) == 1 else f"{one['setup']}: {one['answer']}" for one in answers)
        look = bool(told.get("refused")) or any(one["signal"] in ("DANGER", "WARNING") for one in told["findings"])
        said[station] = text, look
    return said


def _measured(folder: JobFolder, blobs: Blobs, found: Revision, known: Known) -> tuple[Measured | None, list[Finding]]:
    digest = found.files.get(found.at_home(MEASURED_FILE))
    if digest is None:
        return None, []
    try:
        return measured_in(folder, blobs.get(digest), registers=_registers(known)), []
    except InputRefused as refusal:
        return None, refusal_findings(refusal.problems)


def _registers(known: Known) -> dict[str, list[str]] | None:
    """The registers a person may have typed at, by setup, as far as they are known."""
    names = {setup: [cause["name"] for cause in plain["causes"] if cause["typed"] is not None] for setup, plain in known.items()}
    found = {setup: [*own, *(f"{name} wear" for name in own)] for setup, own in names.items()}
    return found or None


def _of_setup(station: str, kit: Kit, measured: Measured | None, plain: Mapping[str, Any] | None,
              units: str) -> tuple[dict[str, Any], list[Finding]]:  # fmt: skip
    """One setup: its part of the document, and what is found."""
    name = kit.setup.name
    pieces = measured.pieces(name) if measured is not None else ()
    body: dict[str, Any] = {
        "setup": name, "plan": [one.as_plain(units) for one in plan(kit, measured)], "pieces": list(pieces),
        "lines": _lines(kit, measured, units), "picture": touch_picture(kit, None), "worked_out": plain is not None,
        "copies": [list(shift) for shift in kit.setup.shifts.values()], "answer": "", "told": None,
    }  # fmt: skip
    values = [] if measured is None else [one for one in measured.measurements if one.setup == name]
    if measured is None or not values or plain is None:
        if values and station == "piece":
            body["answer"] = "Measured; what each register moves is not worked out yet."
        elif station == "piece":
            body["answer"] = "No piece was measured yet."
        return body, []
    told, findings = _followed(station, influence_in(kit, plain), measured, units)
    doubts = [_finding(one) for one in plain["doubts"]]
    answer = told["headline"] if told is not None else f"{findings[0].text}."
    return body | {"told": told, "answer": answer}, [*doubts, *findings]


def _followed(station: str, influence: Influence, measured: Measured, units: str) -> tuple[dict[str, Any] | None, list[Finding]]:
    """What a station says of measured values, and what is found; None with why where they cannot be followed."""
    from setwright.piece.station import advise_piece
    from setwright.piece.words import piece_plain
    from setwright.run.station import run
    from setwright.run.words import run_plain

    try:
        if station == "piece":
            advised = advise_piece(influence, measured, units=units)
            return piece_plain(advised, units), list(advised.findings)
        ran = run(influence, measured, units=units)
    except InputRefused as refusal:
        return None, refusal_findings(refusal.problems)
    return run_plain(ran, units), list(ran.findings)


def _lines(kit: Kit, measured: Measured | None, units: str) -> list[dict[str, Any]]:
    """What was written of a setup, line by line in the order of the file; `gauge` "typed" for what was typed into a register."""
    if measured is None:
        return []
    names, setup = measurable(kit.setup), kit.setup.name

    def said(one: Measurement) -> str:
        angle = names[one.feature][0].angle is not None
        return f"{math.degrees(one.value):.3f} deg" if angle else format_length(one.value, units)

    values = [{"line": one.span.line, "piece": one.piece, "feature": one.feature, "gauge": one.gauge, "said": said(one),
               "when": None if one.when is None else one.when.isoformat()} for one in measured.measurements if one.setup == setup]
    typed = [{"line": one.span.line, "piece": one.piece, "feature": one.register, "gauge": TYPED,
              "said": format_length(one.by, units, signed=True), "when": None} for one in measured.typings if one.setup == setup]
    return sorted([*values, *typed], key=lambda one: one["line"])


def _finding(plain: Mapping[str, Any]) -> Finding:
    kept = {key: value for key, value in plain.items() if key not in ("signal", "state", "brings")}
    return Finding(**kept, signal=Signal(plain["signal"]), state=State(plain["state"]), brings=tuple(plain["brings"]))


def checked_lines(
    blobs: Blobs, found: Revision, known: Known, rows: Sequence[Mapping[str, str]] | None, line: int | None
) -> bytes:
    """The measured.csv with `rows` added, or without `line`. Raises InputRefused where it could not be read then."""
    together = together_of(blobs, found)
    digest, job = found.files.get(found.at_home(MEASURED_FILE)), together.folder.job
    data = b"" if digest is None else blobs.get(digest)
    decode(data, shown=MEASURED_FILE)  # refuses what is no text
    text = data.decode("utf-8")  # a byte-order mark stays
    if rows is not None:
        text = add_measured(text, rows, units=job.units, setups=len(job.setup))
        measured_in(together.folder, text.encode(), registers=_registers(known))
    else:
        text = remove_measured(text, line or 0)
    return text.encode()
