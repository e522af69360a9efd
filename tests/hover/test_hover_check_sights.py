"""What is seen in a check, against displacements put in by hand: closed form throughout."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from setwright.geometry.frames import turned_about_z
from setwright.hover.check_sights import SIGHTS, Looked
from setwright.model.setup_check import CATEGORIES, NUMBERS
from setwright.slips.world import World, offset_moved, part_moved, tool_hung
from tests.hover.bench_setups import Bench, bench

G54 = Looked(2, "G54")


def seen(of: Bench, world: World, what: str, looked: Looked = G54) -> float:
    value = of.sheet.see(what, world, looked)
    assert isinstance(value, float)
    return value


def change(of: Bench, world: World, what: str, looked: Looked = G54) -> float:
    """How much more is seen than the sheet says."""
    return seen(of, world, what, looked) - seen(of, of.world, what, looked)


def test_every_sight_a_check_may_name_can_be_seen() -> None:
    assert set(SIGHTS) == {*NUMBERS, *CATEGORIES}


def test_in_a_good_setup_the_tip_stands_where_the_sheet_says() -> None:
    cap = bench("bearing-cap")
    assert seen(cap, cap.world, "tip over datum, x") == pytest.approx(0.0, abs=1e-9)
    assert seen(cap, cap.world, "tip over top, z") == pytest.approx(25.0, abs=1e-9)
    assert seen(cap, cap.world, "datum touched again, y") == pytest.approx(0.0, abs=1e-9)
    assert seen(cap, cap.world, "blank size, x") == pytest.approx(124.0)
    assert seen(cap, cap.world, "stick-out") == 42.0


def test_a_register_five_too_far_brings_the_tip_five_too_far_and_the_display_five_short() -> None:
    cap = bench("bearing-cap")
    wrong = offset_moved(cap.world, "G54", (5.0, 0.0, 0.0))
    assert change(cap, wrong, "tip over datum, x") == pytest.approx(5.0, abs=1e-4)  # turned with the part: 0.2 mrad
    assert change(cap, wrong, "tip over far corner, x") == pytest.approx(5.0, abs=1e-4)
    assert change(cap, wrong, "datum touched again, x") == pytest.approx(-5.0)
    assert change(cap, wrong, "tip over top, z") == pytest.approx(0.0, abs=1e-9)
    assert cap.sheet.see("offset register", wrong, G54) != cap.sheet.see("offset register", cap.world, G54)


def test_a_turn_left_in_the_control_is_seen_at_the_corner_and_not_over_the_datum() -> None:
    cap = bench("bearing-cap")
    turned = replace(cap.world, left_turn=math.radians(2.0))
    corner = np.array([62.0, 42.0])
    moved = turned_about_z(math.radians(2.0)).points([*corner, 0.0])[:2] - corner
    assert change(cap, turned, "tip over datum, x") == pytest.approx(0.0, abs=1e-9)
    assert abs(change(cap, turned, "tip over far corner, x")) == pytest.approx(abs(moved[0]), rel=0.01)
    assert abs(change(cap, turned, "tip over far corner, y")) == pytest.approx(abs(moved[1]), rel=0.01)
    assert cap.sheet.see("shifts in force", turned, G54) != cap.sheet.see("shifts in force", cap.world, G54)


def test_a_tool_pulled_out_three_comes_three_lower_and_only_that_tool() -> None:
    cap = bench("bearing-cap")
    hung = cap.world.kit.tools[2]
    out = tool_hung(cap.world, 2, replace(hung, stickout=hung.stickout + 3.0, length=hung.length + 3.0))
    assert change(cap, out, "tip over top, z") == pytest.approx(-3.0 + cap.world.truth.lengths[2] - hung.length)
    assert change(cap, out, "tip over top, z", Looked(3, "G54")) == 0.0
    assert change(cap, out, "stick-out") == 3.0
    assert cap.sheet.see("length register", out, G54) == cap.sheet.see("length register", cap.world, G54)


def test_a_blank_not_down_two_millimetres_is_felt_at_the_parallels_and_seen_under_the_tip() -> None:
    cap = bench("bearing-cap")
    up = part_moved(cap.world, (0.0, 0.0, 2.0))
    assert cap.sheet.see("parallels", cap.world, G54) == "tight"
    assert cap.sheet.see("parallels", up, G54) == "can be moved"
    assert change(cap, up, "tip over top, z") == pytest.approx(-2.0)
    assert change(cap, up, "top over holding, z") == pytest.approx(2.0)


def test_a_part_pushed_along_the_jaw_is_seen_over_the_datum_and_by_rule() -> None:
    cap = bench("bearing-cap")
    along = part_moved(cap.world, (3.0, 0.0, 0.0))
    assert change(cap, along, "tip over datum, x") == pytest.approx(-3.0, abs=1e-4)
    assert change(cap, along, "end over holding, x") == pytest.approx(3.0, abs=1e-4)
    assert cap.sheet.see("end over holding, y", along, G54) is None


def test_at_the_hold_point_a_wrong_length_shows_and_a_common_shift_of_all_tools_does_not() -> None:
    cap = bench("bearing-cap")
    second = Looked(2, "G54", next(hold for hold in cap.holds if hold.station == 2))
    first = Looked(1, "G54", next(hold for hold in cap.holds if hold.station == 1))
    lower = offset_moved(cap.world, "G54", (0.0, 0.0, -2.0))
    # the face under tool 2 was cut by tool 1, which stood 2 mm lower too
    assert change(cap, lower, "tip at hold point, z", second) == pytest.approx(0.0, abs=1e-9)
    assert change(cap, lower, "tip at hold point, z", first) == pytest.approx(-2.0)
    lengths = dict(cap.world.registers.lengths) | {2: cap.world.registers.lengths[2] + 1.5}
    longer = cap.world.with_registers(lambda registers: replace(registers, lengths=lengths))
    assert change(cap, longer, "tip at hold point, z", second) == pytest.approx(1.5)
    assert change(cap, longer, "tip at hold point, z", first) == 0.0


def test_the_display_at_the_hold_point_tells_another_program_and_no_register() -> None:
    cap = bench("bearing-cap")
    looked = Looked(2, "G54", next(hold for hold in cap.holds if hold.station == 2))
    right = cap.sheet.see("display at hold point", cap.world, looked)
    wrong = offset_moved(cap.world, "G54", (0.0, 0.0, -2.0))
    assert cap.sheet.see("display at hold point", wrong, looked) == right
    name, text = next(iter(cap.world.sources.items()))
    again = replace(cap.world, sources={name: text + b"\n"})
    assert cap.sheet.see("display at hold point", again, looked) == right
    other = replace(cap.world, sources={name: text.replace(b"Z3.\n", b"Z4.\n", 1)})
    assert cap.sheet.see("display at hold point", other, looked) != right
    assert cap.sheet.see("program head", other, looked) == cap.sheet.see("program head", cap.world, looked)
    assert cap.sheet.see("program whole", other, looked) != cap.sheet.see("program whole", cap.world, looked)
    header = replace(cap.world, sources={name: text.replace(b"REV C", b"REV B")})
    assert cap.sheet.see("program head", header, looked) != cap.sheet.see("program head", cap.world, looked)


def test_the_height_taken_from_the_pallet_is_looked_at_there() -> None:
    spacers = bench("spacers")
    assert spacers.sheet.on_holding == (False, False, True)
    up = part_moved(spacers.world, (0.0, 0.0, 0.5))
    assert change(spacers, up, "tip over height face, z") == pytest.approx(0.0, abs=1e-9)
    assert change(spacers, up, "tip over top, z") == pytest.approx(-0.5)
    assert bench("pintle").sheet.see("tip over height face, z", bench("pintle").world, G54) is None


def test_every_place_of_a_pallet_has_its_own_register_and_its_own_datum() -> None:
    spacers = bench("spacers")
    wrong = offset_moved(spacers.world, "G57", (0.0, 4.0, 0.0))
    assert change(spacers, wrong, "tip over datum, y", Looked(1, "G57")) == pytest.approx(4.0, abs=1e-4)
    assert change(spacers, wrong, "tip over datum, y", Looked(1, "G54")) == 0.0


def test_a_wrong_reading_is_on_the_sheet_as_well_and_reading_back_finds_nothing() -> None:
    cap = bench("bearing-cap")
    wrong = offset_moved(cap.world, "G54", (5.0, 0.0, 0.0))
    printed = replace(G54, printed=wrong.registers)
    assert cap.sheet.see("offset register", cap.world, printed) == cap.sheet.see("offset register", wrong, G54)
