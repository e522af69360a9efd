"""The catalogue of slips: its shape, where slips occur, and that a slip changes a copy of the world and nothing else."""

from __future__ import annotations

import inspect
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from setwright.hover.course import course_of
from setwright.hover.study import doubles_of, occurrences_in, study
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.slips.case import SlipCase
from setwright.slips.catalogue import HEADINGS, Occurrence, Slip, slips
from setwright.slips.world import World, as_set, box_triangles, part_moved, part_turned
from tests.hover.by_hand import DEMOS
from tests.hover.plate import plate

SLIPS = slips()


@cache
def demo(name: str, setup: str) -> SlipCase:
    folder = load_job(DEMOS / name)
    together = kit(folder, folder.job.setup_named(setup))
    return course_of(as_set(together, nominal_truth(together))).case


def of(case: SlipCase, slug: str) -> list[Occurrence]:
    return [occurrence for occurrence in occurrences_in(case) if occurrence.slug == slug]


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip.slug)
def test_every_slip_has_its_headings_in_order_a_rate_and_its_source(slip: Slip) -> None:
    text = inspect.cleandoc(slip.page)
    places = [text.find(f"\n{heading}\n") for heading in HEADINGS]
    assert all(a < b for a, b in pairwise([0, *places]))
    assert 0.0 < slip.rate < 0.1
    assert slip.per
    assert slip.source
    assert slip.spread >= 1.0


def test_names_are_distinct() -> None:
    names = [slip.slug for slip in SLIPS]
    assert len(set(names)) == len(names) >= 69


def test_new_slips_are_there_and_old_double_names_are_gone() -> None:
    names = {slip.slug for slip in SLIPS}
    assert names >= {"finder-of-another-size", "tool-of-another-diameter", "lengths-exchanged", "control-in-other-unit",
                     "old-revision", "mirror-left", "scale-left", "rotation-left", "incremental-left"}  # fmt: skip
    assert not names & {"holding-elsewhere", "vise-not-true", "shift-left-in", "burr", "digit-mistyped", "opposite-face",
                        "not-seated"}  # fmt: skip


@pytest.mark.parametrize(("name", "setup"), [("bearing-cap", "first side"), ("pintle", "top"), ("spacers", "pallet")])
def test_a_slip_of_another_size_is_the_same_slip_with_its_own_number(name: str, setup: str) -> None:
    case = demo(name, setup)
    sized = [o for o in occurrences_in(case) if o.at is not None]
    assert {o.slug for o in sized} >= {"mistyped", "tool-pulled-out", "holder-not-seated", "external-offset-left"}
    for one in sized:
        twice = one.scaled(2.0)
        assert (twice.slug, twice.subject, twice.rate) == (one.slug, one.subject, one.rate)
        if one.size_mm is not None:
            assert twice.size_mm == pytest.approx(2.0 * one.size_mm)
        assert twice.words != one.words


def test_sizes_are_a_distribution_whose_whole_is_one() -> None:
    lifted = of(demo("bearing-cap", "first side"), "part-lifted")[0]
    shifted = of(demo("bearing-cap", "first side"), "mistyped")[0]
    grid = np.geomspace(0.0001, 10_000.0, 20_001)
    for one, ways in ((lifted, 1), (shifted, 2)):
        density = np.exp([one.log_density(float(times)) for times in grid])
        assert ways * np.trapezoid(density, grid) == pytest.approx(1.0, abs=0.0001)
    assert lifted.log_density(-1.0) == -np.inf
    # half of them lie below the stated size: the median of a log-normal
    below = grid[grid <= 1.0]
    assert np.trapezoid(np.exp([lifted.log_density(float(times)) for times in below]), below) == pytest.approx(0.5, abs=0.001)


LEAST = [("bearing-cap", "first side", 120), ("pintle", "top", 120), ("spacers", "pallet", 100)]


@pytest.mark.parametrize(("name", "setup", "least"), LEAST)
def test_demos_have_their_slips_with_words_and_rates(name: str, setup: str, least: int) -> None:
    found = occurrences_in(demo(name, setup))
    assert len(found) >= least
    assert len({occurrence.words for occurrence in found}) == len(found)
    for occurrence in found:
        assert occurrence.remedy
        assert 0.0 < occurrence.rate < 0.05
    assert sum(occurrence.rate for occurrence in found) < 1.0


def test_sizes_come_from_the_job() -> None:
    cap, pintle = demo("bearing-cap", "first side"), demo("pintle", "top")
    assert sorted(o.size_mm for o in of(cap, "half-not-taken")) == [-10.0, -10.0, 10.0, 10.0]  # bore 30, tip 10
    assert [o.size_mm for o in of(cap, "height-twice")] == [-50.0]
    assert [o.size_mm for o in of(cap, "datum-height-forgotten")] == [1.0]
    assert [o.size_mm for o in of(pintle, "radius-not-applied")] == pytest.approx([-2.54, 2.54])  # left, back; tip 0.200 in
    assert [o.size_mm for o in of(pintle, "wrong-face")] == pytest.approx([6.5 * 25.4, -2.0 * 25.4])
    assert not of(cap, "radius-not-applied")  # from a bore the radius cancels
    assert not of(cap, "block-delete-on")  # no such blocks
    assert {o.size_mm for o in of(demo("bearing-cap", "second side"), "other-parallels")} == {8.0, -14.0}


def test_registers_hold_what_the_words_say() -> None:
    case = demo("bearing-cap", "first side")
    good = case.world.registers
    swap = of(case, "axes-exchanged")[0].change(case.world).registers.offsets["G54"]
    assert (swap.x, swap.y) == pytest.approx((good.offsets["G54"].y, good.offsets["G54"].x))
    digits = of(case, "digits-exchanged")
    assert any("length 2 holds 311.482 for 131.482 mm" in o.words for o in digits)
    for o in digits:
        assert round((o.size_mm or 0.0) * 1000) % 9 == 0  # exchanged digits differ by nine times a power of ten


def test_a_zero_in_the_next_line_of_the_table_overwrites_what_stood_there() -> None:
    case = demo("spacers", "pallet")
    (beside,), good = of(case, "wrong-register"), case.world.registers.offsets
    held = beside.change(case.world).registers.offsets
    assert held["G55"] == good["G54"] != good["G55"]
    assert (held["G54"].x, held["G54"].y) == pytest.approx((case.last_job.x, case.last_job.y))
    assert all(held[name] == good[name] for name in ("G56", "G57", "G58", "G59"))
    assert "the numbers for G54 stand in G55" in beside.words
    (cap,) = of(demo("bearing-cap", "first side"), "wrong-register")
    assert cap.size_mm == of(demo("bearing-cap", "first side"), "left-from-before")[0].size_mm


def test_a_slip_leaves_the_world_it_is_given_alone() -> None:
    case = demo("bearing-cap", "first side")
    before = (case.world.registers, case.world.kit, case.world.truth, dict(case.world.sources))
    for occurrence in occurrences_in(case):
        occurrence.change(case.world)
    assert before == (case.world.registers, case.world.kit, case.world.truth, dict(case.world.sources))


def test_moving_the_part_moves_the_holding_the_other_way_in_its_frame() -> None:
    world = demo("bearing-cap", "first side").world
    moved = part_moved(world, (1.0, -2.0, 3.0))
    assert moved.truth.machine_from_work.shift - world.truth.machine_from_work.shift == pytest.approx([1.0, -2.0, 3.0])
    for before, after in zip(world.kit.placement.bodies, moved.kit.placement.bodies, strict=True):
        in_machine = [w.truth.machine_from_work.points(b.bounds()[0]) for w, b in ((world, before), (moved, after))]
        assert in_machine[0] == pytest.approx(in_machine[1])


def test_a_turned_part_turns_in_the_machine_about_the_zero() -> None:
    world = demo("bearing-cap", "first side").world
    turned = part_turned(world, 0.01)
    x, y, _ = turned.truth.machine_from_work.points(np.array([100.0, 0.0, 0.0])) - world.truth.machine_from_work.shift
    assert np.arctan2(y, x) == pytest.approx(0.01)


def test_triangles_of_a_box_enclose_its_volume_outward() -> None:
    a, b, c = np.moveaxis(box_triangles((1.0, 2.0, 3.0), (2.0, 4.0, 6.0)), 1, 0)
    assert np.einsum("ni,ni->n", a, np.cross(b, c)).sum() / 6.0 == pytest.approx(6.0)


def test_double_slips_have_both_rates_and_both_effects() -> None:
    case = demo("bearing-cap", "first side")
    singles = [o for o in occurrences_in(case) if o.slug in ("height-twice", "axes-exchanged")]
    (both,) = doubles_of(singles)
    assert both.rate == pytest.approx(singles[0].rate * singles[1].rate)
    at = both.change(case.world).registers.offsets["G54"]
    good = case.world.registers.offsets["G54"]
    assert (at.x, at.y, at.z) == pytest.approx((good.y, good.x, good.z - 50.0))


def small(tmp_path: Path) -> tuple[World, tuple[Occurrence, ...]]:
    world = plate(tmp_path)
    every = occurrences_in(course_of(world).case)
    return world, every[:: max(1, len(every) // 14)]


def test_study_does_not_depend_on_order_or_threads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    world, some = small(tmp_path)
    monkeypatch.setenv("SETWRIGHT_THREADS", "1")
    one = study(world, pitch_mm=2.0, occurrences=some).as_plain()
    monkeypatch.setenv("SETWRIGHT_THREADS", "2")
    two = study(world, pitch_mm=2.0, occurrences=some[::-1]).as_plain()
    assert one == two
    assert {slip["slug"] for slip in one["slips"]} == {occurrence.slug for occurrence in some}
    assert all({"slug", "outcome", "first_line", "probability"} <= set(slip) for slip in one["slips"])


def test_worlds_alike_are_followed_once_and_risks_add_up(tmp_path: Path) -> None:
    world, some = small(tmp_path)
    found = study(world, pitch_mm=2.0, occurrences=[*some, *some])
    assert found.followed <= len(some)
    assert sum(found.risk().values()) == pytest.approx(2 * sum(occurrence.rate for occurrence in some))
