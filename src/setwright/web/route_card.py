"""The route card: the seven stations of a job, each open, signed, or needing a look, with its one sentence."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from setwright.jobfolder.measured import MEASURED_FILE
from setwright.record.artefacts import Artefact, artefact_bytes, artefacts, find_artefact
from setwright.record.entries import STATIONS, Kind, Standing, standing
from setwright.record.jobs import Revision, find_revision
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.measuring import INFLUENCE
from setwright.web.remembered import remembered
from setwright.web.short import CardWords
from setwright.web.work import PICTURES

__all__ = ["is_current", "known_influences", "latest_proof", "latest_study", "pictures_in", "proof_numbered", "route_card"]

_PROOF: Final = "proof.json"
_OPEN: Final = "open"
_SIGNED: Final = "signed"
_LOOK: Final = "needs a look"
_PARSED: Final = 10
"""Bytes that a parsed document takes for each byte of its text, at most."""


def latest_proof(record: Record, job: str, *, revision: int | None = None) -> tuple[Artefact, dict[str, Any]] | None:
    """The newest proof of a job (of one revision if given) and its document; None if there is none."""
    for one in artefacts(record, job, revision=revision):
        if one.name == _PROOF:
            return one, _document(record, one)
    return None


def proof_numbered(record: Record, job: str, number: int) -> tuple[Artefact, dict[str, Any]]:
    """A proof among a job's results, and its document. Raises NotThere."""
    found = find_artefact(record, job, number)
    if found.name != _PROOF:
        raise NotThere.because(f"result {number} is no proof", remedy="look at the job's results")
    return found, _document(record, found)


def pictures_in(record: Record, proof: Artefact, job: str) -> dict[str, str]:
    """The pictures of a proof's findings: SVG by the finding's name."""
    kept = (one for one in artefacts(record, job, revision=proof.revision) if (one.name, one.inputs) == (PICTURES, proof.inputs))
    found = next(kept, None)
    return {} if found is None else _document(record, found)


def latest_study(record: Record, job: str, *, station: str = "hover") -> tuple[Artefact, dict[str, Any]] | None:
    """The newest study of slips (or with `station` "suppose" the newest supposition) and its document; None if there is none.

    Setups studied one by one on one revision are told together.
    """
    found = [one for one in artefacts(record, job, station=station) if one.media_type == "application/json"]
    if not found:
        return None
    newest = found[0]
    if station != "hover":
        return newest, _document(record, newest)
    setups: dict[str, Any] = {}
    findings: list[Any] = []
    for one in found:
        if one.revision == newest.revision:
            document = _document(record, one)
            fresh = {setup["setup"]: setup for setup in document["setups"] if setup["setup"] not in setups}
            own = (finding for finding in document["findings"] if finding["setup"] in fresh or not setups)
            findings += [finding | {"told_with": None} for finding in own]  # numbers of one document mean nothing in another
            setups |= fresh
    return newest, {**_document(record, newest), "setups": list(setups.values()), "findings": findings}


def is_current(record: Record, made: Artefact, newest: Revision) -> bool:
    """Whether a result is of the newest revision, or of one that differs from it in nothing but what was measured of pieces."""
    if made.revision == newest.number:
        return True
    of = find_revision(record, newest.job, number=made.revision)
    return of.digest_without(MEASURED_FILE) == newest.digest_without(MEASURED_FILE)


def known_influences(record: Record, newest: Revision) -> tuple[tuple[str, ...], dict[str, dict[str, Any]]]:
    """What was worked out of each setup for this revision, the newest of each: digests of the results, and documents by setup."""
    marks: list[str] = []
    known: dict[str, dict[str, Any]] = {}
    for one in artefacts(record, newest.job, station="piece"):
        if one.name == INFLUENCE and is_current(record, one, newest):
            marks.append(one.sha256)
            for setup in _document(record, one)["setups"]:
                known.setdefault(setup["setup"], setup)
    return tuple(marks), known


def _ticked_as(check: dict[str, Any]) -> str:
    """The name under which a check of the plan is ticked: with its tool or offset, where it is made for several."""
    return f"{check['name']}, {check['on']}" if check.get("on") else str(check["name"])


def _document(record: Record, proof: Artefact) -> dict[str, Any]:
    def read() -> tuple[dict[str, Any], int]:
        data = artefact_bytes(record, proof)
        return json.loads(data), _PARSED * len(data)

    return remembered(("result", proof.sha256), read, size=lambda made: made[1])[0]


def route_card(record: Record, newest: Revision, words: CardWords) -> list[dict[str, Any]]:
    """The stations in their order: `state` "open", "signed" or "needs a look"; `text` its sentence; who signed, when. `words`: what
    the stations say that answer at once."""
    signed: dict[str, list[Standing]] = {}
    for one in standing(record, newest.job, Kind.SIGNED):
        signed.setdefault(one.entry.subject, []).append(one)
    said = _Said(record, newest, words, latest_proof(record, newest.job))
    return [_station(name, signed.get(name, []), said) for name in STATIONS]


def _station(name: str, signed: list[Standing], said: _Said) -> dict[str, Any]:
    text, look = said.of(name)
    fallen = [one for one in signed if not one.stands]
    state = _LOOK if fallen or look else _SIGNED if signed else _OPEN
    if fallen:
        text = f"The signature fell: {fallen[0].why}. {text}".strip()
    names = [{"by": one.entry.by, "at": one.entry.at.isoformat(), "setup": one.entry.setup, "stands": one.stands} for one in signed]
    return {"station": name, "state": state, "text": text, "signed": names}


@dataclass(frozen=True, slots=True)
class _Said:
    """What the stations say of a job now: each in one sentence, with whether somebody must look at it."""

    record: Record
    newest: Revision
    words: CardWords
    proof: tuple[Artefact, dict[str, Any]] | None

    def of(self, station: str) -> tuple[str, bool]:
        at_once = {"kit": self.words.kit, "touch": self.words.touch, **self.words.measured}
        if station in at_once:
            return at_once[station]
        says = {"prove": self.prove, "hover": self.hover}.get(station)
        return ("", False) if says is None else says()

    def prove(self) -> tuple[str, bool]:
        if self.proof is None:
            return "Not proved yet.", False
        of, document = self.proof[0].revision, self.proof[1]
        old = not is_current(self.record, self.proof[0], self.newest)
        text = str(document.get("verdict", "")) + (f" (of revision {of}; the job has changed since)" if old else "")
        worst = {finding.get("signal") for finding in document.get("findings", [])}
        return text, old or "DANGER" in worst or bool(document.get("refused"))

    def hover(self) -> tuple[str, bool]:
        study = latest_study(self.record, self.newest.job)
        if study is None:
            return ("No slip was followed yet." if self.proof else "No slip was followed yet: prove the job first."), False
        if not is_current(self.record, study[0], self.newest):
            return f"The slips were followed for revision {study[0].revision}; the job has changed since.", True
        ticked = {(one.entry.setup, one.entry.subject) for one in standing(self.record, self.newest.job, Kind.CHECK) if one.stands}
        checks = [(setup["setup"], check) for setup in study[1]["setups"] for check in setup["checks"]]
        left = [check for setup, check in checks if (setup, _ticked_as(check)) not in ticked]
        return " ".join([_checks_said(len(checks), left), *self._not_followed(study[1])]), False

    def _not_followed(self, document: dict[str, Any]) -> list[str]:
        """What there is to say of setups whose slips nobody has followed for this revision."""
        followed = {setup["setup"] for setup in document["setups"]}
        return [f"The slips of “{setup}” were not followed yet." for setup in self.words.setups if setup not in followed]


def _checks_said(count: int, left: list[dict[str, Any]]) -> str:
    """How far a plan of so many checks is done; `left`: those that are not."""
    if count == 0:
        return "The plan asks for no check."
    if not left:
        return f"All {count} checks of the plan are done."
    minutes = sum(float(check["minutes"]) for check in left)
    return f"{count - len(left)} of {count} checks of the plan are done; the rest takes about {minutes:.0f} min."
