"""Other readings of a text: the first motion that differs, under each."""

from __future__ import annotations

import pytest

from setwright.base.span import Span
from setwright.program.infer import infer
from setwright.program.interpret import Interpreted, interpret
from setwright.program.profile import Profile, behaviours
from setwright.program.readings import Ambiguity, Difference, choices, first_difference, other_readings
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source
from tests.program.compare import read

PLACED = Registers(offsets={"G54": WorkOffset(-300.0, -200.0, -400.0)}, lengths={1: 90.0, 2: 140.0})


def others(text: str, behaviour: str, **stated: str) -> dict[str, Difference | None]:
    profile = Profile(**stated)

    def run(with_profile: Profile) -> Interpreted:
        return interpret([Source("t.nc", text)], profile=with_profile, registers=PLACED)

    doubt = Ambiguity(behaviour, choices(behaviour), getattr(profile, behaviour), "", Span("t.nc", 1))
    found = other_readings([doubt], profile=profile, taken=run(profile), read=run)
    assert all((one.behaviour, one.taken) == (behaviour, getattr(profile, behaviour)) for one in found)
    return {one.reading: one.difference for one in found}


def test_numbers_without_a_point():
    found = others("G21 G90 G0 Z2.5\nX5 Y10.\nM30", "decimal")
    assert found == {"least increment": Difference("t.nc", 2, "line 2 goes at rapid to X5.000 Y10.000 Z2.500 mm",
                                                   "line 2 goes at rapid to X0.005 Y10.000 Z2.500 mm")}  # fmt: skip


def test_a_reading_that_moves_nothing_otherwise_is_no_difference():
    assert others("G21 G90 G0 X5. Y10.\nM30", "decimal") == {"least increment": None}
    assert others("G21 G90 T1 M6\nG0 X5. Y10.\nM30", "change_motion") == {"Z home": None, "all home": None}


def test_a_register_that_another_reading_takes():
    text = "G21 G90 T1 M6\nG0 G43 H2 Z9.\nG49\nT2 M6\nG0 G43 Z5.\nM30"
    found = others(text, "length_without_h", length_without_h="current tool")
    assert found["last H"] is None  # H2 either way
    # the tip is told to Z5: with H2 (140 mm) the gauge line is at -400 + 140 + 5, without a length at -400 + 5
    to = "line 5 goes at rapid to X300.000 Y200.000 Z5.000 mm with"
    assert found["zero"] == Difference("t.nc", 5, f"{to} H2 (spindle at machine Z-255.000)",
                                       f"{to} H0 (spindle at machine Z-395.000)")  # fmt: skip


def test_a_motion_that_only_one_reading_makes():
    text = "G21 G90 S1 M3 F9. G0 Z9.\nT1 M6\nM30"
    assert others(text, "change_motion")["Z home"] == Difference(
        "t.nc", 2, "no further move is made", "line 2 first goes at rapid to the reference point"
    )


def test_a_reading_under_which_the_control_stops_does_no_harm():
    found = others("G21 G90 T1 M6\nG0 X5.\nG43 Z5.\nM30", "length_without_h", length_without_h="zero")
    assert found["last H"] is None
    assert found["current tool"] is not None
    assert found["current tool"].other.endswith("with H1 (spindle at machine Z-305.000)")


def test_arcs_differ_by_their_centre_alone():
    one = read("G21 G90 S1 M3 G1 F9. X10.\nG2 X20. I5. J0.")
    two = read("G21 G90 S1 M3 G1 F9. X10.\nG2 X20. R20.")
    found = first_difference(one, two)
    assert found is not None
    assert found.line == 2
    assert found.taken == "line 2 feeds in an arc to X20.000 Y0.000 Z0.000 mm"
    assert first_difference(one, one) is None


def test_the_readings_of_a_behaviour_are_its_values_that_move_something():
    assert choices("change_motion") == ("stays", "Z home", "all home")
    assert choices("length_without_h") == ("current tool", "last H", "zero")
    assert choices("first_motion") == ("G0", "G1")
    assert choices("rapid") == ("straight", "dog-leg")
    assert choices("arc_mismatch_mm") == choices("machine_functions") == choices("no such thing") == ()
    assert {b.name for b in behaviours() if len(choices(b.name)) > 1} >= {"units", "decimal", "arc_centre", "cycle_words"}


@pytest.mark.parametrize("behaviour", [b.name for b in behaviours() if len(choices(b.name)) > 1])
def test_every_reading_of_every_behaviour_can_be_tried(behaviour):
    found = others("G21 G90 S1 M3 T1 M6\nG0 X5. Z9.\nG1 Z-1. F9.\nM30", behaviour)
    assert set(found) == set(choices(behaviour)) - {getattr(Profile(), behaviour)}


ALONE = "G21 G90 G54\nT1 M6\nS1000 M3\nG0 X0. Y0. Z10.\nG43 H1\nG91\nG1 Z-12. F100.\nX50.\nG0 Z12.\nG90 Z100.\nM30\n"


@pytest.mark.parametrize(
    ("text", "taken"),
    [(ALONE, "yes"), (ALONE.replace(" Z10.", ""), "no"), (ALONE.replace("G43 H1", "G43 H1 Z10."), None),
     (ALONE.replace("G91\n", "Z10.\nG91\n"), None), (ALONE.replace("G91\n", "G91 G28 Z0\n"), None)],
)  # fmt: skip
def test_g43_by_itself_before_an_incremental_z_is_a_doubt(text: str, taken: str | None) -> None:
    found = [one for one in infer([Source("p.nc", text)]).ambiguities if one.behaviour == "length_change_moves"]
    assert [one.taken for one in found] == ([] if taken is None else [taken])
    if found:
        assert found[0].readings == ("no", "yes")
        assert "G43 stands by itself in line 5" in found[0].text


@pytest.mark.parametrize(
    ("text", "taken", "doubtful"),
    [("G90\nG1 Z-5. F500.\nX12.\n", "mm", True), ("G90\nG1 Z-.25 F10.\nX2.5\n", "inch", True),
     ("(1/4 IN ENDMILL)\nG90\nG1 Z-5. F500.\nX12.\n", "mm", True), ("(1/4 IN ENDMILL)\nG90\nG1 Z-.25 F10.\nX2.5\n", "inch", False),
     ("G90\nG1 Z-1. F800.\nX12.\n", "mm", True), ("G20\nG1 Z-5. F500.\nX12.\n", "mm", False)],
)  # fmt: skip
def test_a_unit_that_nothing_states_is_the_plausible_one_and_a_doubt(text: str, taken: str, doubtful: bool) -> None:
    found = infer([Source("p.nc", "S1000 M3\n" + text + "M30\n")])
    assert found.profile.units == taken
    assert ("units" in {one.behaviour for one in found.ambiguities}) == doubtful
