"""What a slip leads to, on a plate with one slot where every number is known by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import setwright.demo
from setwright.hover.consequence import consequence_of, contact_of, followed
from setwright.hover.happening import overloads
from setwright.hover.outcome import Outcome
from setwright.hover.reference import Reference, reference_of
from setwright.hover.study import occurrences_in
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.prove.rates import Rates
from setwright.prove.stage import same_blank
from setwright.slips.changes import blank_grown, hung_by
from setwright.slips.world import World, as_set, offset_moved, part_moved, set_up_as
from tests.hover.plate import LINES, plate

PITCH = 1.0


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> tuple[World, Reference]:
    world = plate(tmp_path_factory.mktemp("plate"))
    return world, reference_of(world, pitch_mm=PITCH)


def test_without_a_slip_nothing_happens(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(world, reference)
    assert (found.outcome, found.row, found.lost_row) == (Outcome.HARMLESS, -1, -1)
    assert reference.tight_mm == pytest.approx(0.025)  # half of the half-width of 5.0 ±0.05


HEIGHTS = [(-0.5, Outcome.SCRAP, 5.5), (0.5, Outcome.REWORK, 4.5), (-0.04, Outcome.HARMLESS, 0.0), (-0.06, Outcome.SCRAP, 5.06),
           (0.06, Outcome.REWORK, 4.94)]  # fmt: skip


@pytest.mark.parametrize(("dz", "outcome", "depth"), HEIGHTS)
def test_height_of_the_zero_becomes_depth(good: tuple[World, Reference], dz: float, outcome: Outcome, depth: float) -> None:
    world, reference = good
    found = consequence_of(offset_moved(world, "G54", (0.0, 0.0, dz)), reference)
    assert found.outcome is outcome
    if depth:
        assert found.requirement == "depth"
        assert found.value_mm == pytest.approx(abs(depth - 5.0) - 0.05, abs=1e-6)
        assert found.line == 9


def test_unrecoverable_moment_is_the_cut_and_rework_has_none(good: tuple[World, Reference]) -> None:
    world, reference = good
    assert consequence_of(offset_moved(world, "G54", (0.0, 0.0, -0.5)), reference).lost_line == 9
    assert consequence_of(offset_moved(world, "G54", (0.0, 0.0, 0.5)), reference).lost_line == 0


def test_rapid_into_the_plate_is_a_crash_with_depth_and_speed(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(offset_moved(world, "G54", (8.0, 0.0, 0.0)), reference)  # the rapid down ends 3 mm inside the left face
    assert (found.outcome, found.line, found.lost_line, found.body, found.part) == (Outcome.CRASH, 8, 8, "blank", "cutter")
    assert found.value_mm == pytest.approx(3.0, abs=PITCH)
    assert found.speed_mm_min == pytest.approx(world.kit.machine.rapid.z)


def test_tool_down_on_the_jaw_is_a_crash_even_where_metal_is_spoiled_before(good: tuple[World, Reference]) -> None:
    world, reference = good
    low = offset_moved(world, "G54", (0.0, 17.0, -6.0))  # slot at Z-11 and Y37: 2 mm of the cutter over the fixed jaw, 1 mm deep
    found = consequence_of(low, reference)
    assert (found.outcome, found.body) == (Outcome.CRASH, "fixed jaw")
    assert contact_of(low).line == found.line
    assert found.line == 8  # the jaw is wider than the plate: the rapid beside it comes down on the jaw already


def test_contact_alone_says_nothing_of_the_metal(good: tuple[World, Reference]) -> None:
    world, _ = good
    assert contact_of(world).outcome is Outcome.UNDECIDED
    assert "metal" in contact_of(world).text


def test_part_elsewhere_is_scrap_by_the_wall(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(part_moved(world, (0.0, -0.3, 0.0)), reference)  # the slot's back wall comes to 25.3 from the front
    assert (found.outcome, found.requirement) == (Outcome.SCRAP, "wall to front")
    assert found.value_mm == pytest.approx(0.2, abs=1e-6)


def test_a_wall_with_metal_left_is_rework(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(part_moved(world, (0.0, 0.3, 0.0)), reference)  # 24.7, and the wall can still be cut to 25.0
    assert (found.outcome, found.requirement) == (Outcome.REWORK, "wall to front")


def test_tool_longer_than_its_register_cuts_deeper(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(hung_by(1, stickout=0.2, length=0.2)(world), reference)
    assert (found.outcome, found.value_mm) == (Outcome.SCRAP, pytest.approx(0.15, abs=1e-6))


def test_blank_too_low_leaves_nothing_to_put_right(good: tuple[World, Reference]) -> None:
    world, reference = good
    lower = blank_grown(world, 2, -0.2)
    assert lower is not None
    found = consequence_of(lower(world), reference)
    assert (found.outcome, found.requirement) == (Outcome.SCRAP, "depth")  # 4.8 deep, and no metal to make it up


def test_end_of_travel_stops_before_anything_is_spoiled(good: tuple[World, Reference]) -> None:
    world, reference = good
    found = consequence_of(offset_moved(world, "G54", (500.0, 0.0, 0.0)), reference)
    assert (found.outcome, found.lost_line) == (Outcome.HARMLESS, 0)
    assert "beyond its travel" in found.stopped


def test_spindle_the_wrong_way_breaks_the_tool(tmp_path: Path) -> None:
    lines = tuple("S5000 M4" if line == "S5000 M3" else line for line in LINES)
    good = plate(tmp_path / "good")
    reference = reference_of(good, pitch_mm=PITCH)
    wrong = plate(tmp_path / "wrong", lines=lines)
    found = consequence_of(wrong, reference)
    assert (found.outcome, found.line, found.tool) == (Outcome.BROKEN, 9, 1)


def test_three_times_the_metal_breaks_the_tool(tmp_path: Path) -> None:
    good = plate(tmp_path)
    reference = reference_of(good, pitch_mm=PITCH)
    found = consequence_of(offset_moved(good, "G54", (0.0, 0.0, -4.0)), reference)  # 9 deep: 1.8 times the metal
    assert found.outcome is Outcome.SCRAP
    assert reference.most[1] == pytest.approx(500.0 * 50.0, rel=0.4)  # 10 wide, 5 deep, at 500 mm/min, and the way in and out


def test_things_put_together_anew_begin_with_the_same_metal(good: tuple[World, Reference], tmp_path: Path) -> None:
    """A blank of the same numbers needs no rays of its own; a higher one does."""
    world, reference = good
    anew = set_up_as(plate(tmp_path), world.kit.setup)
    higher = blank_grown(world, 2, 0.5)
    assert anew.kit.blank is not world.kit.blank
    assert higher is not None
    assert followed(anew, reference).after is reference.part
    assert same_blank(anew.kit, world.kit)
    assert not same_blank(higher(world).kit, world.kit)


def test_of_equals_the_first_is_named() -> None:
    """With the part turned about the middle between two holes, both are off by the same, but for round-off."""
    folder = load_job(Path(setwright.demo.__file__).parent / "bearing-cap")
    together = kit(folder, folder.job.setup[0])
    world = as_set(together, nominal_truth(together))
    reference = reference_of(world)
    turned = [slip for slip in occurrences_in(reference.course.case) if slip.slug == "holding-not-true"]
    assert {consequence_of(slip.change(world), reference).requirement for slip in turned} == {"hole 1 position"}


@pytest.mark.parametrize(("rate", "breaks"), [(290.0, []), (310.0, [2])])
def test_a_tool_breaks_at_three_times_the_metal_that_it_ever_gets(rate: float, breaks: list[int]) -> None:
    load = Rates(np.array([1, 2]), np.array([4, 4]), np.array([100.0, rate]), np.array([6.0, 6.0]))
    assert [one.row for one in overloads(load, {4: 100.0}, {4: 5.0})] == breaks
    assert not list(overloads(load, {4: 100.0}, {4: 7.0})), "it is not in so deep"
