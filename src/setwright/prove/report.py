"""The answer of Prove as plain data with the keys other programs rely on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from setwright.model.finding import Signal, State
from setwright.prove.case import Contact, Feature, Overtravel
from setwright.prove.load import ToolLoad
from setwright.prove.station import Proof
from setwright.prove.verdict import verdict
from setwright.prove.wanted import Compared

__all__ = ["plain", "plain_job"]


def plain_job(proofs: Sequence[Proof], units: str) -> dict[str, Any]:
    """Several setups as one document: lists joined, volumes and times added up, and each setup by itself under `setups`."""
    setups = [plain(proof, units) for proof in proofs]
    worst = [setup for _, setup in sorted(zip(map(_rank, proofs), setups, strict=True), key=lambda pair: pair[0])]
    lists = ("open", "rests_on", "contacts", "clearance", "overtravel", "features", "load")
    joined = {key: [item for setup in setups for item in setup[key]] for key in lists}
    removed: dict[str, float] = {}
    for setup in setups:
        for tool, volume in setup["removed_by_tool"].items():
            removed[tool] = removed.get(tool, 0.0) + volume
    total = [setup["time_s"] for setup in setups]
    return {
        "verdict": setups[0]["verdict"] if len(setups) == 1 else " ".join(f"{s['setup']}: {s['verdict']}" for s in worst),
        "blank_mm3": setups[0]["blank_mm3"], "removed_mm3": sum(setup["removed_mm3"] for setup in setups),
        "removed_by_tool": removed, "discretisation_mm3": max(setup["discretisation_mm3"] for setup in setups),
        **joined, "wanted": _worse([setup["wanted"] for setup in setups if setup["wanted"] is not None]),
        "time_s": None if None in total else sum(total), "grid_mm": max(setup["grid_mm"] for setup in setups),
        "elapsed_s": sum(setup["elapsed_s"] for setup in setups),
        "setups": setups,
    }  # fmt: skip


def _rank(proof: Proof) -> int:
    """How bad a setup is, 0 the worst: the one that matters is told first."""
    found = [finding.signal.rank for finding in proof.findings if finding.state is State.FOUND]
    return min([*found, *([Signal.DANGER.rank] if proof.stopped else [])], default=Signal.NOTICE.rank + 1)


def _worse(compared: Sequence[dict[str, Any]]) -> dict[str, Any] | None:
    """The comparison with the greatest deviation; None if no setup states a wanted shape."""
    return max(compared, key=lambda one: max(one["cut_into_mm"], one["left_mm"]), default=None)


def plain(proof: Proof, units: str) -> dict[str, Any]:
    """One setup. Keys with a unit in their name are in that unit; features are in `units`."""
    per = 25.4 if units in ("in", "inch") else 1.0
    rows, said, name = _Rows(proof), verdict(proof), proof.kit.setup.name
    return {
        "setup": name,
        "verdict": said.text,
        "open": [{"text": one.text, "file": one.file, "line": one.line, "setup": name} for one in said.open],
        "rests_on": [{"guess": rest.guess, "file": rest.file, "line": rest.line, "decides": rest.decides, "how": rest.how,
                      "setup": name} for rest in said.rests_on],
        "offsets_from": proof.truth.source,
        "stopped_at": str(proof.stopped[-1].span) if proof.stopped and proof.stopped[-1].span else None,
        "blank_mm3": proof.blank.value,
        "removed_mm3": proof.blank.value - proof.rest.value,
        "removed_by_tool": {str(tool): volume for tool, volume in proof.removed.items()},
        "discretisation_mm3": proof.rest.bound + proof.blank.bound,
        "disagreement_mm3": proof.rest.disagreement + proof.blank.disagreement,
        "contacts": [rows.contact(contact) for contact in proof.case.contacts],
        "clearance": [
            {"bodies": [near.part, near.body], "least_mm": near.least_mm, "at_most_mm": near.at_most_mm,
             "plus_minus_mm": near.known_mm, "margin_mm": near.least_mm - near.known_mm, "on_tool": list(near.on_tool),
             "on_body": list(near.on_body), **rows.place(near.row)}
            for near in proof.case.nearness
        ],
        "overtravel": [rows.overtravel(beyond) for beyond in proof.case.overtravel],
        "features": [_feature(feature, name, per) for feature in proof.features],
        "wanted": None if proof.case.wanted is None else rows.wanted(proof.case.wanted),
        "load": [_load(proof, tool, rate) for tool, rate in proof.rates.items() if tool in proof.kit.tools],
        "load_rests_on": None if proof.load is None else proof.load.as_plain(),
        "time_s": proof.timing.total_s,
        "time_uncertainty_s": proof.timing.within_s,
        "time_by_tool": {str(tool): seconds for tool, seconds in proof.timing.by_tool.items()},
        "travel": {"min": proof.travel.low.tolist(), "max": proof.travel.high.tolist()},
        "grid_mm": proof.grid_mm,
        "elapsed_s": proof.elapsed_s,
        "programs": dict(proof.reading.digests),
    }


def _load(proof: Proof, tool: int, rate: float) -> dict[str, Any]:
    """What a tool takes; all but its removal None where no load was computed for it."""
    one = None if proof.load is None else proof.load.of(tool)
    said = dict.fromkeys(ToolLoad.keys()) if one is None else one.as_plain()
    return {**said, "tool": tool, "mrr_mm3_min": rate}


def _feature(feature: Feature, setup: str, per: float) -> dict[str, Any]:
    per = per if feature.unit == "mm" else 1.0

    def shown(value: float | None) -> float | None:
        return None if value is None else value / per

    return {
        "name": feature.name, "setup": setup, "nominal": feature.size.nominal / per, "simulated": shown(feature.simulated),
        "deviation": shown(feature.deviation),
        "tolerance": [feature.size.lower / per, feature.size.upper / per] if feature.toleranced else None,
        "bound": feature.bound_mm / per, "found": feature.found, "least": shown(feature.least), "greatest": shown(feature.greatest),
        "state": feature.state, "why": feature.why, "unit": feature.unit if feature.unit != "mm" or per == 1.0 else "in",
    }  # fmt: skip


class _Rows:
    """Path rows as places in the program."""

    def __init__(self, proof: Proof) -> None:
        self._case = proof.case
        self._path = proof.reading.interpreted.path

    def place(self, row: int) -> dict[str, Any]:
        file = self._path.files[int(self._path.file[row])]
        return {"file": file, "line": self._case.line_at(row), "tool": self._case.station_at(row), "motion": row,
                "setup": self._case.kit.setup.name}  # fmt: skip

    def contact(self, contact: Contact) -> dict[str, Any]:
        at = [value if math.isfinite(value) else None for value in contact.at]
        deepest = self._case.line_at(contact.deepest_row)
        return {"bodies": [contact.part, contact.body], "depth_mm": contact.depth_mm, "at": at, "rapid": contact.rapid,
                "way": contact.way, "motions": contact.count, "deepest_line": deepest, **self.place(contact.row)}  # fmt: skip

    def overtravel(self, beyond: Overtravel) -> dict[str, Any]:
        return {"axis": beyond.axis, "beyond_mm": beyond.beyond_mm, "limit_mm": beyond.limit_mm, "wanted_mm": beyond.wanted_mm,
                **self.place(beyond.row)}  # fmt: skip

    def wanted(self, compared: Compared) -> dict[str, Any]:
        """Place and line are those of the greater deviation; None where there is none, or no line made it."""
        deviations = [one for one in (compared.cut_into, compared.left) if one is not None]
        worse = max(deviations, key=lambda one: one.depth_mm, default=None)
        return {
            "within_mm": compared.within_mm,
            "cut_into_mm": compared.cut_into.depth_mm if compared.cut_into else 0.0,
            "left_mm": compared.left.depth_mm if compared.left else 0.0,
            "bound_mm": compared.bound_mm,
            "at": list(worse.at) if worse else None,
            "line": self._case.line_at(worse.row) if worse and worse.row >= 0 else None,
        }
