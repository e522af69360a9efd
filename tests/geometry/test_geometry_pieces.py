"""What lies within a distance of a piece, against distances in the meridian plane worked out point by point."""

import math
import random

import pytest

from setwright.geometry.pieces import Meridian, Piece, thickened


def outline(piece: Piece, height: float) -> float:
    """The radius of a piece at a height, below 0 where it has none."""
    if not piece.z0 <= height <= piece.z1:
        return -1.0
    if piece.meridian is Meridian.ARC:
        return piece.e + math.sqrt(max(piece.rho**2 - (height - piece.f) ** 2, 0.0))
    share = (height - piece.z0) / (piece.z1 - piece.z0) if piece.z1 > piece.z0 else 0.0
    return piece.r0 + share * (piece.r1 - piece.r0)


def distance(piece: Piece, radius: float, height: float) -> float:
    """From a point to a piece, mm, by going along its outline in small steps."""
    steps = 4000
    best = math.inf
    for number in range(steps + 1):
        z = piece.z0 + (piece.z1 - piece.z0) * number / steps
        best = min(best, math.hypot(max(radius - outline(piece, z), 0.0), height - z))
    return best


PIECES = {
    "cylinder": Piece(Meridian.LINE, 0.0, 12.0, 5.0, 5.0),
    "point of a drill": Piece(Meridian.LINE, 0.0, 3.0, 0.0, 5.0),
    "dovetail": Piece(Meridian.LINE, 0.0, 6.0, 8.0, 3.0),
    "disc": Piece(Meridian.LINE, 4.0, 4.0, 6.0, 6.0),
    "ball": Piece(Meridian.ARC, 0.0, 5.0, 0.0, 5.0, 0.0, 5.0, 5.0),
    "round corner": Piece(Meridian.ARC, 0.0, 2.0, 6.0, 8.0, 6.0, 2.0, 2.0),
}


@pytest.mark.parametrize("piece", PIECES.values(), ids=PIECES)
@pytest.mark.parametrize("by", [0.05, 0.3, 4.0])
def test_inside_is_what_is_nearer_than_that(piece: Piece, by: float) -> None:
    chance = random.Random(7)
    more = thickened(piece, by)
    for _ in range(60):
        radius, height = chance.uniform(0.0, piece.widest + 2.0 * by), chance.uniform(piece.z0 - 2.0 * by, piece.z1 + 2.0 * by)
        away = distance(piece, radius, height)
        if abs(away - by) > 2e-3:
            assert any(outline(one, height) >= radius for one in more) == (away < by)


def test_roles_stay() -> None:
    assert {one.role for one in thickened(PIECES["ball"], 1.0)} == {PIECES["ball"].role}
