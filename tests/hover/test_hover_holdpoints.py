"""Hold points of the bundled jobs, worked out by hand from their programs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from setwright.hover.check_list import checks_here
from setwright.hover.check_sights import Sheet
from setwright.hover.holdpoints import CLEARANCE, HoldPoint, hold_points
from setwright.hover.matrix import Suspect, matrix_of
from setwright.hover.outcome import Outcome
from setwright.jobfolder.load import load_job
from setwright.prove.chain import prove_job
from setwright.prove.reading import held_for
from setwright.prove.station import Proof
from setwright.slips.world import as_set
from tests.hover.bench_setups import bench
from tests.hover.plate import plate
from tests.oracle import naive_interpreter as naive

FIRST_SIDE = {
    # station: block, Z shown before, Z to go, height of the tip over what surface
    # the blank's top lies at Z+1, the face mill takes it to Z0, the end mill the seat to Z-12.515
    1: ("Z5.", 50.0, -45.0, 49.0, "the blank's top", None),
    2: ("Z3.", 50.0, -47.0, 50.0, "the face T1 cut", 1),
    3: ("G98 G85 Z-32. R-11.5 F150.", 50.0, -61.5, 62.515, "the face T2 cut", 2),
    4: ("G99 G81 Z-4. R2. F400.", 50.0, -48.0, 50.0, "the face T1 cut", 1),
    5: ("G99 G83 Z-32.5 R2. Q7. F700.", 50.0, -48.0, 50.0, "the face T1 cut", 1),
}


def held(job: str, station: int) -> HoldPoint:
    return next(hold for hold in bench(job).holds if hold.station == station)


@pytest.mark.parametrize("station", FIRST_SIDE)
def test_block_way_to_go_and_height_of_every_tool(station: int) -> None:
    block, shows, to_go, height, surface, maker = FIRST_SIDE[station]
    hold = held("bearing-cap", station)
    assert hold.text == block
    assert hold.shows[2] == pytest.approx(shows)
    assert hold.to_go == pytest.approx((0.0, 0.0, to_go))
    assert hold.height == pytest.approx(height, abs=0.001)
    assert (hold.surface, hold.made_by) == (surface, maker)
    assert hold.offset == "G54"


def test_a_tool_beside_the_blank_is_measured_to_the_nearest_metal() -> None:
    # the face mill, radius 25, waits at X-90: 3 mm before the blank's end at X-62, to the nearest ray
    assert held("bearing-cap", 1).beside == pytest.approx(3.0, abs=0.51)
    # the end mill, radius 8, waits over the middle of bore A, diameter 30
    assert held("bearing-cap", 2).beside == pytest.approx(7.0, abs=0.51)
    assert held("bearing-cap", 4).beside == 0.0


def test_hold_points_come_in_the_order_of_the_program() -> None:
    for job in ("bearing-cap", "pintle", "spacers"):
        holds = bench(job).holds
        assert [hold.row for hold in holds] == sorted(hold.row for hold in holds)
        assert len(holds) == len(bench(job).proof.kit.tools)


def test_a_hold_point_of_an_inch_job_speaks_inches_when_asked() -> None:
    said = held("pintle", 4).as_plain("inch")
    assert said["block"] == "Z0.1"
    assert said["to_go"] == pytest.approx({"x": 0.0, "y": 0.0, "z": -1.15})
    assert said["height"] == pytest.approx(1.25, abs=0.0001)
    assert held("pintle", 4).as_plain()["height"] == pytest.approx(31.75, abs=0.001)


# --- where a rule reaches, and what the control shows there ----------------------------------------------------------------------

FROM_HOME = ("%", "O1", "G21 G17 G90 G54", "T1 M6", "S5000 M3", "G0 X-10. Y20.", "G43 H1 Z5.", "Z-5.", "G1 X70. F500.", "G0 Z50.",
             "M30", "%")  # fmt: skip
"""Down from the home of Z to 5 mm over the plate in the very block that makes the length active."""

LENGTH_LATE = ("%", "O1", "G21 G17 G90 G54", "T1 M6", "S5000 M3", "G0 X-10. Y20.", "G43 H1 Z80.", "G49", "G43 H1 Z5.", "Z-5.",
               "G1 X70. F500.", "G0 Z50.", "M30", "%")  # fmt: skip
"""The length is switched off 80 mm over the plate and on again in the block that comes down."""


def on_plate(at: Path, lines: tuple[str, ...]) -> tuple[Proof, HoldPoint]:
    plate(at, lines=lines)
    folder = load_job(at)
    proof = prove_job(folder, [folder.job.setup[0]], pitch_mm=2.0)[0]
    (hold,) = hold_points(proof)
    return proof, hold


def displayed(proof: Proof, gauge_z: float, *, length_active: bool) -> float:
    """Z on the screen with the gauge line at a machine position: less the work offset, and less the length once it is active."""
    held = proof.kit.machine
    assert held.control.lengths == "from gauge line"
    z = held_for(proof.kit, proof.truth).registers
    return gauge_z - z.offsets["G54"].z - (z.lengths[1] if length_active else 0.0)


def test_a_block_that_comes_from_home_is_held_within_where_a_rule_reaches(tmp_path: Path) -> None:
    proof, hold = on_plate(tmp_path, FROM_HOME)
    assert hold.text == "G43 H1 Z5."
    assert hold.within
    assert hold.height == pytest.approx(CLEARANCE)
    assert hold.shows[2] == pytest.approx(50.0)  # the blank's top is Z0
    assert hold.to_go == pytest.approx((0.0, 0.0, -45.0))
    # where the gauge line then stands in the machine: tip and length over the top of the plate
    top = float(proof.truth.machine_from_work.points(np.array([0.0, 0.0, 0.0]))[2])
    gauge = top + 50.0 + proof.truth.lengths[1]
    assert displayed(proof, gauge, length_active=True) == pytest.approx(hold.shows[2])


def test_before_a_block_that_switches_the_length_on_the_control_shows_the_gauge_line(tmp_path: Path) -> None:
    proof, hold = on_plate(tmp_path, LENGTH_LATE)
    assert hold.text == "G43 H1 Z5."
    assert hold.within  # not before it: the length is not active there
    assert hold.shows[2] == pytest.approx(50.0)
    low = [line.replace("Z80.", "Z40.") for line in LENGTH_LATE]
    proof, hold = on_plate(tmp_path, tuple(low))
    assert not hold.within  # it begins below the clearance height: before it, with what the control shows there
    top = float(proof.truth.machine_from_work.points(np.array([0.0, 0.0, 0.0]))[2])
    gauge = top + 40.0 + proof.truth.lengths[1]
    assert displayed(proof, gauge, length_active=False) == pytest.approx(hold.shows[2])
    assert hold.at[2] == pytest.approx(40.0)
    assert hold.to_go == pytest.approx((0.0, 0.0, -35.0))
    assert hold.height == pytest.approx(40.0)


@pytest.mark.parametrize("job", ["bearing-cap", "pintle", "spacers"])
def test_what_the_control_shows_brings_the_tip_where_it_is_said_to_stand(job: str) -> None:
    """Gauge line = shown + offset + length register; tip = gauge line less the true length; seen from the part's own frame."""
    of = bench(job)
    held, truth = of.world.registers, of.world.truth
    for hold in of.holds:
        offset, length = held.offsets[hold.offset], held.lengths[hold.station]
        gauge = np.add(hold.at, [offset.x, offset.y, offset.z + length])
        turn, zero = truth.machine_from_work.rotation, truth.machine_from_work.shift
        assert turn.T @ (gauge - [0.0, 0.0, truth.lengths[hold.station]] - zero) == pytest.approx(hold.tip, abs=0.001)


@pytest.mark.parametrize(("job", "number"), [("bearing-cap", 0), ("bearing-cap", 1), ("pintle", 0)])
def test_what_the_control_shows_is_where_an_independent_reader_stands(job: str, number: int) -> None:
    """The reader knows nothing of the package; it reads the program up to the hold's block, and then with it."""
    of = bench(job, number)
    (name,) = of.proof.kit.setup.programs
    lines = of.world.sources[name].decode("latin-1").splitlines()
    inch = of.proof.kit.folder.job.units == "in"
    for hold in of.holds:
        before, after = (naive.read("\n".join([*lines[:upto], "M30"]), inch=inch, z_home_at=("M6",))[-1] for upto in
                         (hold.line - 1, hold.line))  # fmt: skip
        end = [float(value) for value in before[1]]
        if not hold.within:
            assert hold.shows[:2] == pytest.approx(end[:2], abs=0.0001)
        down = [value + go for value, go in zip(hold.at, hold.to_go, strict=True)]
        assert down[:2] == pytest.approx([float(value) for value in after[1]][:2], abs=0.0001)
        if "G8" not in hold.text:  # a cycle's block ends where it began; its way down is its R
            assert down[2] == pytest.approx(float(after[1][2]), abs=0.0001)


def test_a_hold_within_a_block_comes_too_late_for_a_tip_that_is_in_the_part_by_then(tmp_path: Path) -> None:
    proof, hold = on_plate(tmp_path, FROM_HOME)
    sheet = Sheet(as_set(proof.kit, proof.truth))
    checks = checks_here(sheet, [1], [hold])
    held = next(j for j, check in enumerate(checks) if check.slug == "held-and-measured")
    # 40 mm too low the tip stands 10 mm over the plate when it is stopped; 60 mm too low it is 10 mm in it
    lower = [Suspect("low", f"{by} mm too low", 0.01, sheet.world.with_length(1, -by), Outcome.CRASH, lost_row=hold.row,
                     lost_tool=1) for by in (40.0, 60.0)]  # fmt: skip
    found = matrix_of(sheet, lower, checks)
    assert found.shown[:, held] == pytest.approx([0.997, 0.997], abs=0.001)
    assert found.caught[0, held] > 0.99
    assert found.caught[1, held] == 0.0
