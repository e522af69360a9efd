"""How short and long tools may stick out: each end tried by a whole proof on either side of it."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.machine import Travel
from setwright.prove.chain import blank_of, metal_extent, prove_job
from setwright.prove.load import with_load
from setwright.prove.station import Proof, prove
from setwright.prove.stickouts import STEP_MM, stick_outs

DEMOS = Path(str(files("setwright.demo")))
PITCH = 0.8


def proofs(name: str, *, lower_travel: float = 0.0, jaws_higher: float = 0.0) -> list[Proof]:
    """The setups of a bundled job, each on a machine whose spindle goes up less far and in a vise whose jaws stand higher."""
    folder = load_job(DEMOS / name)
    shop = folder.job.shop
    machines = {key: one.model_copy(update={"travel": Travel(x=one.travel.x, y=one.travel.y, z=(one.travel.z[0], one.travel.z[1] -
                                            lower_travel))}) for key, one in shop.machines.items()}  # fmt: skip
    holding = {key: one if one.vise is None else one.model_copy(update={"vise": one.vise.model_copy(
        update={"jaw_height": one.vise.jaw_height + jaws_higher})}) for key, one in shop.holding.items()}  # fmt: skip
    job = folder.job.model_copy(update={"shop": shop.model_copy(update={"machines": machines, "holding": holding})})
    folder = replace(folder, job=job)
    return prove_job(folder, list(job.setup), pitch_mm=PITCH)


def with_stick_outs(proof: Proof, stickouts: dict[int, float]) -> Proof:
    """The same setup proved whole with other stick-outs stated in the job, and lengths measured anew."""
    folder, setup = proof.kit.folder, proof.kit.setup
    rows = []
    for tool in setup.tool:
        by = stickouts.get(tool.station, tool.stickout) - tool.stickout
        preset = tool.preset if tool.preset.length is None else tool.preset.model_copy(update={"length": tool.preset.length + by})
        rows.append(tool.model_copy(update={"stickout": tool.stickout + by, "preset": preset}))
    changed = setup.model_copy(update={"tool": tuple(rows)})
    job = folder.job.model_copy(update={"setup": tuple(changed if one.name == setup.name else one for one in folder.job.setup)})
    blank = blank_of(replace(folder, job=job), changed, pitch_mm=PITCH)
    together: Kit = kit(replace(folder, job=job), changed, extent=None if blank is None else metal_extent(blank))
    return with_load(prove(together, nominal_truth(together), blank=blank, pitch_mm=PITCH, distances=False))


def in_the_way(proof: Proof, station: int, *, shorter: bool) -> set[str]:
    """What a proof finds in the way of a tool on one side."""
    path = proof.case.path
    tool_of = [path.states[int(state)].tool for state in path.state]
    found = set()
    for contact in proof.case.contacts:
        if tool_of[contact.row] == station and (contact.part in ("holder", "spindle nose")) is shorter:
            found.add("contact")
    if not shorter:
        found |= {"travel" for one in proof.case.overtravel if tool_of[one.row] == station and one.axis == "Z"}
        found |= {"bends" for one in proof.findings if one.slug == "tool-bends" and one.tool == station}
    return found


CASES = [("bearing-cap", 0.0, 0.0), ("bearing-cap", 60.0, 0.0), ("pintle", 0.0, 0.0), ("spacers", 0.0, 0.0), ("spacers", 80.0, 0.0)]


@pytest.mark.parametrize(("name", "lower", "higher"), CASES)
def test_either_side_of_each_end(name: str, lower: float, higher: float) -> None:
    """At the stick-out told nothing is in the way; a quarter of a millimetre beyond what was named is."""
    for proof in proofs(name, lower_travel=lower, jaws_higher=higher):
        told = [one for one in stick_outs(proof) if not one.open]
        assert told
        for shorter in (True, False):
            ends = {one.station: end for one in told if (end := one.shortest if shorter else one.longest) is not None}
            sound = {station: end for station, end in ends.items() if end.why in ("contact", "travel", "bends")}
            inside = with_stick_outs(proof, {station: end.stickout for station, end in ends.items() if end.why != "nowhere"})
            away = -2.5 * STEP_MM if shorter else 2.5 * STEP_MM
            outside = with_stick_outs(proof, {station: end.stickout + away for station, end in sound.items()})
            for station, end in ends.items():
                if end.why != "nowhere":
                    assert end.why not in in_the_way(inside, station, shorter=shorter)
            for station, end in sound.items():
                assert end.why in in_the_way(outside, station, shorter=shorter), (name, station, end)
