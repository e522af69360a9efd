"""Pieces cut loose from a plate 100 x 50 x 20 in a vise: volume, place and line by hand."""

import re

import numpy as np
import pytest

from setwright.geometry.bodies import Body, BodyRole, BoxShape, MeshShape
from setwright.geometry.pieces import PieceTable
from setwright.model.finding import Signal
from setwright.prove.parting import fallen, parted
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from tests.prove.conftest import Proving, said
from tests.removal.common import cylinder, moves

SLUG = "cut-loose"


def around(depth: str, last: str) -> str:
    """A square path of 30 about (50, 25) with an end mill 10; it leaves 20 x 20 inside. The last side is line 13."""
    return f"G0 X35. Y10.\nZ5.\nG1 Z{depth} F300.\nX65.\nY40.\nX35.\nY{last}\nG0 Z5."


def test_a_slug_cut_free_is_named_with_its_volume_and_the_line_that_frees_it(proving: Proving) -> None:
    proof = proving(around("-20.5", "10."))
    finding, = said(proof, SLUG)
    assert (finding.signal, finding.line) == (Signal.DANGER, 13)
    piece, = proof.case.parted
    assert piece.volume == pytest.approx(20 * 20 * 20, abs=1e-6)
    assert np.allclose(piece.middle, (50, 25, -10), atol=0.01)
    assert np.allclose(piece.size, (20, 20, 20), atol=0.01)
    assert not piece.held
    assert re.search(r"8\.000 cm³", finding.text)


@pytest.mark.parametrize("moves", [around("-19.7", "10."), around("-20.5", "22.")], ids=["floor of 0.3", "bridge of 2"])
def test_a_floor_or_a_bridge_holds_it(proving: Proving, moves: str) -> None:
    assert said(proving(moves), SLUG) == []


def test_two_halves_that_are_both_clamped(proving: Proving) -> None:
    """A slot right across at X60: 55 and 35 long remain, both between the jaws."""
    proof = proving("G0 X60. Y-10.\nZ-20.5\nG1 Y60. F300.")
    finding, = said(proof, SLUG)
    assert (finding.signal, finding.line) == (Signal.CAUTION, 9)
    assert proof.case.parted[0].volume == pytest.approx(35 * 50 * 20, rel=0.001)


def test_blanks_that_begin_apart_are_not_parted() -> None:
    two = field_of([BoxShape((0, 0, 0), (10, 10, 5)), BoxShape((15, 0, 0), (25, 10, 5))], pitch_mm=0.5)
    assert parted(two, two, []) == ()


def test_a_body_on_one_side_does_not_hold_a_piece_and_two_opposite_ones_do() -> None:
    whole = field_of(BoxShape((0, 0, 0), (20, 10, 10)), pitch_mm=1.0)
    apart = field_of([BoxShape((0, 0, 0), (10, 10, 10)), BoxShape((13, 0, 0), (20, 10, 10))], pitch_mm=1.0)
    behind = Body("behind", BodyRole.HOLDING, BoxShape((14, 10, 2), (18, 15, 8)))
    in_front = Body("in front", BodyRole.HOLDING, BoxShape((14, -5, 2), (18, 0, 8)))
    beside = Body("beside", BodyRole.HOLDING, BoxShape((20, 0, 2), (25, 10, 8)))
    for bodies in ([behind], [behind, beside]):  # nothing holds any of them
        assert [piece.volume for piece in parted(whole, apart, bodies)] == pytest.approx([1000, 700], abs=1e-6)
    larger, = parted(whole, apart, [behind, in_front])  # the smaller is clamped, it is the larger that is loose
    assert (larger.held, larger.volume) == (False, pytest.approx(1000, abs=1e-6))


def test_a_wall_thinner_than_the_pitch_still_joins() -> None:
    """Two blocks 3 apart, joined by a wall 0.2 thick that rays along X and Z, 1 mm apart, pass by: those along Y cross it."""
    whole = field_of(BoxShape((0, 0, 0), (20, 10, 10)), pitch_mm=1.0)
    blocks = [BoxShape((0, 0, 0), (10, 10, 10)), BoxShape((13, 0, 0), (20, 10, 10))]
    wall = BoxShape((10, 4.6, 0), (13, 4.8, 10))
    apart, = parted(whole, field_of(blocks, pitch_mm=1.0), [])
    assert apart.volume == pytest.approx(700, abs=1e-6)
    assert parted(whole, field_of([*blocks, wall], pitch_mm=1.0), []) == ()
    between_rays = BoxShape((10, 4.6, 4.6), (13, 4.8, 4.8))
    assert len(parted(whole, field_of([*blocks, between_rays], pitch_mm=1.0), [])) == 1  # the stated blind spot


def blocks_as_one(*corners: tuple[tuple[float, float, float], tuple[float, float, float]]) -> Body:
    """One body of the holding, a mesh of several boxes."""
    sides = [(0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4), (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6),
             (1, 3, 5), (3, 7, 5)]  # fmt: skip
    found = []
    for low, high in corners:
        points = np.array([[(low, high)[n >> axis & 1][axis] for axis in range(3)] for n in range(8)], np.float64)
        found.append(points[np.array(sides)])
    return Body("blocks", BodyRole.HOLDING, MeshShape(np.concatenate(found)))


@pytest.mark.parametrize("pitch", [0.1, 0.5, 1.0])
def test_a_piece_between_blocks_that_do_not_touch_it_is_loose_and_between_blocks_that_do_is_held(pitch: float) -> None:
    """Blocks of one mesh 50 apart, the piece of 7 x 10 x 10 in the box about both. What is held stays, the other is loose."""
    whole = field_of(BoxShape((0, 0, 0), (20, 10, 10)), pitch_mm=pitch)
    apart = field_of([BoxShape((0, 0, 0), (10, 10, 10)), BoxShape((13, 0, 0), (20, 10, 10))], pitch_mm=pitch)
    far = blocks_as_one(((13, -30, 2), (20, -20, 8)), ((13, 30, 2), (20, 40, 8)))
    near = blocks_as_one(((13, -10, 2), (20, 0, 8)), ((13, 10, 2), (20, 20, 8)))
    for bodies, middles in ((far, [5.0, 16.5]), (near, [5.0])):
        loose = parted(whole, apart, [bodies])
        assert not any(piece.held for piece in loose)
        assert [piece.middle[0] for piece in loose] == pytest.approx(middles, abs=0.01)


def test_a_program_that_runs_on_into_a_loose_piece_says_where_it_strikes_it(proving: Proving) -> None:
    """The slug is free in line 13; line 16 mills across it."""
    finding, = said(proving(around("-20.5", "10.") + "\nX20. Y25.\nG1 Z-3.\nX70."), SLUG)
    assert finding.line == 13
    assert "T1 end mill 10 strikes it in line 17" in finding.text
    assert "strikes" not in said(proving(around("-20.5", "10.")), SLUG)[0].text


SLOTS = ("line", (20.0, -5.0, -1.0), (20.0, 25.0, -1.0)), ("line", (40.0, -5.0, -1.0), (40.0, 25.0, -1.0))
"""A cutter of 4 right through a bar 60 x 20 x 10, first at X20, then at X40: pieces from X0 to X18, to X38 from X22, to X60 from
X42."""


def loose_of(bodies: list[Body], pitch: float = 0.5) -> list[tuple[float, int]]:
    """Where the loose pieces of the bar lie along X, and the motion that frees each."""
    bar = field_of(BoxShape((0, 0, 0), (60, 20, 10)), pitch_mm=pitch)
    way, table = moves(*SLOTS), PieceTable.of([[cylinder(2.0)]])
    found = [fallen(piece, bar, way, table, bodies) for piece in parted(bar, cut(bar, way, table).field, bodies) if not piece.held]
    return sorted((round(piece.middle[0], 2), piece.row) for piece in found)


@pytest.mark.parametrize("pitch", [0.3, 0.5, 1.0])
def test_where_nothing_holds_a_piece_any_more_every_piece_is_loose_in_its_place(pitch: float) -> None:
    """Blocks at both ends press the bar together; the first cut takes the pressure off all of it."""
    ends = [Body(name, BodyRole.HOLDING, BoxShape((x, 5, 2), (x + 10, 15, 8))) for name, x in (("left", -10), ("right", 60))]
    assert loose_of(ends, pitch) == [(9.0, 0), (30.0, 0), (51.0, 0)]


def test_what_is_still_held_stays_and_where_nobody_says_what_holds_the_largest_does() -> None:
    jaws = [Body(name, BodyRole.HOLDING, BoxShape((25, y, 2), (35, y + 10, 8))) for name, y in (("front", -10), ("back", 20))]
    assert loose_of(jaws) == [(9.0, 0), (51.0, 1)]
    assert len(loose_of([])) == 2
    assert len(loose_of([Body("fixture plate", BodyRole.HOLDING, BoxShape((0, 0, -9), (60, 20, 0)))])) == 2


def test_bodies_that_never_held_the_blank_hold_none_of_its_pieces() -> None:
    """Nothing touches it: the first cut parts it."""
    far = [Body("far", BodyRole.HOLDING, BoxShape((100, 0, 0), (110, 10, 10)))]
    assert [row for _, row in loose_of(far)] == [0, 0, 0]
