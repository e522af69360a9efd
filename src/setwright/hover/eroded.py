"""Cutters made smaller by a stated depth: what they still reach lies at least so deep inside what the real ones sweep.

With the cutter eroded by t, its sweep overlaps a solid only where the real sweep goes at least t into it. So "does this program cut
deeper than t into the finished part" is a question of contact, which is cheap, and answers with the first motion that does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role

__all__ = ["eroded", "eroded_table"]

_LEAST_SHARE = 0.5
"""No cutter loses more than this share of its radius: what is smaller than the depth asked for is asked for half its own size."""


def eroded(pieces: list[Piece], depth: float) -> list[Piece]:
    """The cutting pieces of one tool, smaller all round by `depth` (mm); the rest of the tool is left out."""
    cutting = [piece for piece in pieces if piece.role is Role.CUTTING]
    if not cutting:
        return []
    by = min(depth, _LEAST_SHARE * max(piece.widest for piece in cutting), _LEAST_SHARE * _height(cutting))
    if cutting[0].meridian is Meridian.ARC and cutting[0].rho > by:
        tip = cutting[0]
        smaller = replace(tip, z0=tip.z0 + by, r1=tip.r1 - by, rho=tip.rho - by)
        found = [smaller, *(_narrower(piece, by) for piece in cutting[1:])]
    else:
        found = _outline(cutting, by)
    return [piece for piece in found if piece.z1 > piece.z0 and piece.widest > 0.0]


def _height(cutting: list[Piece]) -> float:
    return max(piece.z1 for piece in cutting) - min(piece.z0 for piece in cutting)


def _narrower(piece: Piece, by: float) -> Piece:
    """A piece with every radius less by `by`."""
    return Piece(Meridian.LINE, piece.z0, piece.z1, max(piece.r0 - by, 0.0), max(piece.r1 - by, 0.0), role=piece.role)


def _outline(cutting: list[Piece], by: float) -> list[Piece]:
    """Pieces behind straight lines moved inward by `by`, each from where it meets the one below to where it meets the one above;
    they begin `by` above the tip. Where the outline is hollow that is less than eroded would be."""
    tip = min(piece.z0 for piece in cutting) + by
    lines = [_Line.behind(piece, by) for piece in cutting]
    ends = [piece.z1 for piece in cutting]
    for i, (below, above) in enumerate(pairwise(lines)):
        if below.slope > above.slope:
            ends[i] = (above.at_zero - below.at_zero) / (below.slope - above.slope)
    found, start = [], tip
    for line, end, piece in zip(lines, ends, cutting, strict=True):
        first = max(start, -line.at_zero / line.slope) if line.slope > 0.0 and line.at(start) < 0.0 else start
        if end > first:
            found.append(Piece(Meridian.LINE, first, end, max(line.at(first), 0.0), max(line.at(end), 0.0), role=piece.role))
            start = end
    return found


@dataclass(frozen=True, slots=True)
class _Line:
    """r = at_zero + slope · z, mm."""

    slope: float
    at_zero: float

    @classmethod
    def behind(cls, piece: Piece, by: float) -> _Line:
        """The meridian of a piece (of an arc, its chord) moved toward the axis by `by`."""
        slope = (piece.r1 - piece.r0) / (piece.z1 - piece.z0) if piece.z1 > piece.z0 else 0.0
        return cls(slope, piece.r0 - slope * piece.z0 - by * math.hypot(1.0, slope))

    def at(self, z: float) -> float:
        """The radius at a height."""
        return self.at_zero + self.slope * z


def eroded_table(tools: list[list[Piece]], depth: float) -> PieceTable:
    """Every tool's cutter eroded, in the same order."""
    return PieceTable.of([eroded(tool, depth) for tool in tools])
