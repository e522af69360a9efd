"""The metal at one moment of the program, and which line made a place of its surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from setwright.base.errors import InputRefused
from setwright.prove.station import Proof
from setwright.removal.field import ACROSS, BLANK, Field
from setwright.removal.volumes import Volume

__all__ = ["MadeBy", "Moment", "made_by", "moment_before"]


@dataclass(frozen=True, slots=True)
class Moment:
    """The metal just before the first motion of line `line` of `file` (or of the next line that moves), in W.

    `above_mm`: how far the tip then stands above the metal under its axis, negative inside; None where there is none. `removes`:
    mm³ the line's motions take. `clears_mm`: a lower bound of the distance to holding and table while they run, up to
    COURSE_WITHIN_MM; 0 if something is touched.
    """

    file: str
    line: int
    row: int
    metal: Field = field(repr=False)
    rest: Volume
    above_mm: float | None
    removes: float
    clears_mm: float


@dataclass(frozen=True, slots=True)
class MadeBy:
    """The place of the surface nearest to a point, and what made it: path row, file and line; row BLANK, no file and line 0 for the
    blank's own skin. `away_mm`: from the point asked for."""

    at: tuple[float, float, float]
    away_mm: float
    row: int
    file: str
    line: int


def moment_before(proof: Proof, place: tuple[str, int]) -> Moment:
    """The moment before a line, (file, line). The proof must have been run with `bench`. Raises InputRefused if nothing moves
    in or after that line."""
    if proof.shown is None:
        raise ValueError("the proof kept nothing on the way: prove with bench=True")
    path = proof.reading.interpreted.path
    file, line = place
    known = path.files.index(file) if file in path.files else -1
    later = np.flatnonzero((path.file == known) & (path.line >= line))
    if later.size == 0:
        raise InputRefused.because(f"nothing moves in {file} from line {line} on", remedy="name an earlier line")
    row = int(later[0])
    metal = proof.shown.after_row(row - 1)
    same = (path.file == known) & (path.line == path.line[row])
    first = int(np.searchsorted(proof.moves.ident, row))
    tip = proof.moves.start[min(first, len(proof.moves) - 1)]
    return Moment(
        file, int(path.line[row]), row, metal, metal.volume(), _above(metal, tip.tolist()), float(proof.shown.removed[same].sum()),
        float(proof.shown.clearance[same].min()),
    )  # fmt: skip


def _above(metal: Field, tip: Sequence[float]) -> float | None:
    """From the tip down to the metal on the ray nearest its axis; None where that ray has none or runs beside the blank."""
    grid, bundle = metal.grid, metal.bundles[2]
    number = [int(np.rint((tip[axis] - grid.first[axis]) / grid.pitch[axis])) for axis in ACROSS[2]]
    if not all(0 <= n < int(grid.count[axis]) for n, axis in zip(number, ACROSS[2], strict=True)):
        return None
    u, v = number
    for tile in bundle.tiles:
        if tile.u0 <= u < tile.u0 + tile.nu and tile.v0 <= v < tile.v0 + tile.nv:
            ray = (v - tile.v0) * tile.nu + u - tile.u0
            ends = tile.ends[ray, : tile.count[ray]]
            low = ends[ends[:, 0] < tip[2]]
            return float(tip[2] - low[-1, 1]) if len(low) else None
    raise AssertionError("a ray lies in no tile")


def made_by(proof: Proof, metal: Field, point: Sequence[float]) -> MadeBy:
    """What made the surface nearest to a point of W (mm): the nearest ray end of all three bundles. Raises InputRefused for no
    metal."""
    wanted = np.asarray(point, np.float64)
    best = (np.inf, wanted, BLANK)
    for axis in range(3):
        places, rays = metal.points(axis)
        flat = places.reshape(-1, 3)
        if not len(flat):
            continue
        square = np.square(flat - wanted).sum(axis=1)
        k = int(square.argmin())
        if square[k] < best[0]:
            best = (float(square[k]), flat[k], int(rays.ident.ravel()[k]))
    if not np.isfinite(best[0]):
        raise InputRefused.because("no metal is left", remedy="ask for an earlier moment")
    path = proof.reading.interpreted.path
    row = best[2] if 0 <= best[2] < len(path) else BLANK
    file = path.files[int(path.file[row])] if row != BLANK else ""
    x, y, z = best[1].tolist()
    return MadeBy((x, y, z), float(np.sqrt(best[0])), row, file, int(path.line[row]) if row != BLANK else 0)
