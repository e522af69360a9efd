"""The route card: the seven stations of a job, each open, signed, or needing a look, with its one sentence."""

from __future__ import annotations

import json
from typing import Any, Final

from setwright.record.artefacts import Artefact, artefact_bytes, artefacts, find_artefact
from setwright.record.entries import STATIONS, Kind, standing
from setwright.record.jobs import Revision
from setwright.record.refusals import NotThere
from setwright.record.store import Record
from setwright.web.remembered import remembered

__all__ = ["latest_proof", "proof_numbered", "route_card"]

_PROOF: Final = "proof.json"
_OPEN: Final = "open"
_SIGNED: Final = "signed"
_LOOK: Final = "needs a look"


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


def _document(record: Record, proof: Artefact) -> dict[str, Any]:
    def read() -> dict[str, Any]:
        document: dict[str, Any] = json.loads(artefact_bytes(record, proof))
        return document

    return remembered(("proof", proof.sha256), read)


def route_card(record: Record, newest: Revision) -> list[dict[str, Any]]:
    """The stations in their order: `state` "open", "signed" or "needs a look"; `text` its sentence; who signed, when."""
    signed: dict[str, list[Any]] = {}
    for one in standing(record, newest.job, Kind.SIGNED):
        signed.setdefault(one.entry.subject, []).append(one)
    proof = latest_proof(record, newest.job)
    return [_station(name, signed.get(name, []), proof, newest) for name in STATIONS]


def _station(name: str, signed: list[Any], proof: tuple[Artefact, dict[str, Any]] | None, newest: Revision) -> dict[str, Any]:
    fallen = [one for one in signed if not one.stands]
    state = _LOOK if fallen else _SIGNED if signed else _OPEN
    text = fallen[0].why if fallen else ""
    if name == "prove" and proof is not None:
        of = proof[0].revision
        text = str(proof[1].get("verdict", "")) + ("" if of == newest.number else f" (of revision {of}; the job has changed since)")
        worst = {finding.get("signal") for finding in proof[1].get("findings", [])}
        if of != newest.number or "DANGER" in worst or proof[1].get("refused"):
            state = _LOOK
    names = [{"by": one.entry.by, "at": one.entry.at.isoformat(), "setup": one.entry.setup, "stands": one.stands} for one in signed]
    return {"station": name, "state": state, "text": text, "signed": names}
