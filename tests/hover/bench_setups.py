"""The bundled jobs put together once for the tests of the checks: proof, sheet, hold points, checks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import setwright.demo
from setwright.hover.check_list import CheckHere, checks_here
from setwright.hover.check_sights import Sheet
from setwright.hover.holdpoints import HoldPoint, hold_points
from setwright.jobfolder.load import load_job
from setwright.prove.chain import prove_job
from setwright.prove.station import Proof
from setwright.slips.world import World, as_set
from setwright.touch.measured import truth_of

DEMO = Path(setwright.demo.__file__).parent


@dataclass(frozen=True)
class Bench:
    """One setup ready to be checked."""

    proof: Proof
    sheet: Sheet
    holds: tuple[HoldPoint, ...]
    checks: tuple[CheckHere, ...]

    @property
    def world(self) -> World:
        """As it should be."""
        return self.sheet.world

    def check(self, name: str) -> int:
        """The place of a check among the checks."""
        return [check.name for check in self.checks].index(name)


@cache
def bench(job: str, number: int = 0) -> Bench:
    """Setup `number` of a bundled job, on its measured offsets."""
    folder = load_job(DEMO / job)
    setup = folder.job.setup[number]
    proof = prove_job(folder, [setup], truth_of=lambda kit: truth_of(kit).truth, pitch_mm=0.5)[0]
    holds = hold_points(proof)
    sheet = Sheet(as_set(proof.kit, proof.truth, metal=proof.before))
    tools = [tool.number for tool in proof.reading.interpreted.tools]
    return Bench(proof, sheet, holds, checks_here(sheet, tools, holds))
