"""How features follow registers, against the closed forms: positions by one, widths by two radii, depths by Z and length."""

import numpy as np
import pytest

from setwright.piece.influence import Influence

EXACT = 1e-6


def row(influence: Influence, name: str) -> dict[str, float]:
    """The row of a place by cause, without what does not move it."""
    values = influence.matrix[influence.rows([name])[0]]
    return {cause.name: float(value) for cause, value in zip(influence.causes, values, strict=True) if abs(value) > EXACT}


@pytest.mark.parametrize(("hole", "x", "y"), [(1, -46.0, -26.0), (2, 46.0, -26.0), (3, 46.0, 26.0), (4, -46.0, 26.0)])
def test_a_centre_moves_with_the_offset_and_turns_about_the_zero(cap: Influence, hole: int, x: float, y: float) -> None:
    # the part turned counter-clockwise under the program: the holes lie turned clockwise in it
    assert row(cap, f"hole {hole} position x") == pytest.approx({"G54 X": 1.0, "direction of the part": y}, abs=EXACT)
    assert row(cap, f"hole {hole} position y") == pytest.approx({"G54 Y": 1.0, "direction of the part": -x}, abs=EXACT)


def test_sizes_of_compensated_walls_move_by_two_radii(cap: Influence) -> None:
    internal, external = {"radius 2": -2.0}, {"radius 2": 2.0}
    assert row(cap, "seat diameter") == pytest.approx(internal, abs=EXACT)
    assert row(cap, "width of slot")["radius 2"] == pytest.approx(-2.0, abs=EXACT)
    assert row(cap, "width of step") == pytest.approx(external, abs=EXACT)


def test_a_tool_without_compensation_makes_its_own_size_and_no_register_does(cap: Influence) -> None:
    assert row(cap, "shaft bore diameter") == pytest.approx({"diameter of T3": 1.0}, abs=EXACT)
    assert row(cap, "hole 1 diameter") == pytest.approx({"diameter of T5": 1.0}, abs=EXACT)


def test_a_depth_between_two_tools_moves_with_both_lengths_and_not_with_z(cap: Influence) -> None:
    for name in ("depth of seat", "depth of slot"):
        assert row(cap, name) == pytest.approx({"length 1": 1.0, "length 2": -1.0}, abs=EXACT)


def test_a_length_over_a_face_of_the_blank_moves_with_z_and_the_length_of_its_tool(spacers: Influence) -> None:
    assert row(spacers, "length") == pytest.approx({"G54 Z": 1.0, "length 1": 1.0}, abs=EXACT)
    assert row(spacers, "length (G57)") == pytest.approx({"G57 Z": 1.0, "length 1": 1.0}, abs=EXACT)
    # G59 lies 200 to the right of the zero that a turned pallet turns about
    assert row(spacers, "bore to outside (G59) y") == pytest.approx({"G59 Y": 1.0, "direction of the part": -200.0}, abs=EXACT)


def test_registers_are_inseparable_exactly_where_theory_says(cap: Influence, spacers: Influence) -> None:
    every = range(len(cap.places))
    groups = [dict(one.share) for one in cap.blind(list(every))]
    assert groups == [pytest.approx({"length 1": 1.0, "length 2": 1.0})]
    assert set(cap.unseen(list(every))) == {"G54 Z", "length 3", "length 4", "length 5"}
    # one part of the pallet: Z of its offset and the one length; all six parts: the length against all six Z together
    one = [dict(found.share) for found in spacers.blind(spacers.rows(["length"]))]
    assert one == [pytest.approx({"G54 Z": 1.0, "length 1": -1.0})]
    lengths = [place.name for place in spacers.places if place.requirement.startswith("length")]
    many = [dict(found.share) for found in spacers.blind(spacers.rows(lengths))]
    wanted = {f"G5{n} Z": 1.0 for n in range(4, 10)} | {"length 1": -1.0}
    assert many == [pytest.approx(wanted)]


def test_what_would_tell_two_registers_apart_is_named(cap: Influence, spacers: Influence) -> None:
    apart = cap.blind(cap.rows(["depth of seat"]))[0].apart
    assert "from the blank's bottom face" in apart
    # another part of the pallet has an offset of its own: if it comes out long as well, it is the tool
    assert spacers.blind(spacers.rows(["length"]))[0].apart == "length (G55)"


def test_two_holes_on_a_line_leave_the_direction_to_the_offset(cap: Influence) -> None:
    """Rank of the rows by hand: one x coordinate shows X only."""
    rows = cap.rows(["seat to datum A x", "seat to datum A y"])
    assert np.linalg.matrix_rank(cap.matrix[rows], tol=EXACT) == 2
    assert set(cap.unseen(rows)) == {cause.name for cause in cap.causes if cause.typed is not None} - {"G54 X", "G54 Y"}


def test_a_simulated_feature_is_what_the_program_says(cap: Influence) -> None:
    made = {place.name: place.simulated for place in cap.places}
    wanted = {"depth of seat": 12.515, "seat diameter": 52.015, "width of slot": 20.025, "hole 3 position x": 46.0}
    assert {name: made[name] for name in wanted} == pytest.approx(wanted, abs=EXACT)
