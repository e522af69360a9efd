"""What a distance question is asked about: moves, tools and bodies, as the arrays kernels read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import CHORD_SAGITTA_MM
from setwright.clearance.bodies import Bodies
from setwright.clearance.tree import Forest
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role

__all__ = ["GROUPS", "NOBODY", "Assemblies", "Scene", "Tracks", "scene_of", "tracks_of"]

GROUPS: Final[Mapping[str, tuple[Role, ...]]] = {
    "cutter": (Role.CUTTING,), "shank": (Role.NECK, Role.SHANK), "holder": (Role.HOLDER,), "spindle nose": (Role.NOSE,),
}  # fmt: skip
"""The groups of pieces told apart unless the caller says otherwise."""

NOBODY: Final = -1
"""Row, piece, solid or group where there is none."""


class Tracks(NamedTuple):
    """The arrays of `Moves` that say where which tool's tip goes; mm, rad."""

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    axis: NDArray[np.uint8]
    sweep: NDArray[np.float64]
    tool: NDArray[np.int32]


class Assemblies(NamedTuple):
    """The pieces of every tool as in `PieceTable`, and the group each belongs to (`NOBODY`: not looked at)."""

    meridian: NDArray[np.uint8]
    shape: NDArray[np.float64]
    first: NDArray[np.int64]
    group: NDArray[np.int64]


class Scene(NamedTuple):
    """Moves, tools and bodies in one frame; `sagitta` mm: how closely chords follow an arc where it matters."""

    tracks: Tracks
    pieces: Assemblies
    forest: Forest
    sagitta: float


def scene_of(moves: Moves, pieces: PieceTable, bodies: Bodies, groups: Mapping[str, Iterable[Role]], sagitta: float) -> Scene:
    """The scene, after a look at what could make it meaningless.

    Raises `InputRefused` for coordinates or dimensions that are not finite, a tool that is not in the table, a role in two
    groups, no group at all, a sagitta that is not above 0.
    """
    tracks, assemblies = tracks_of(moves, pieces, groups)
    if not sagitta > 0.0:
        raise InputRefused.because(f"chords with a sagitta of {sagitta} mm cannot follow an arc", why="it must be above 0",
                                   remedy=f"give a length in mm, for example {CHORD_SAGITTA_MM}")  # fmt: skip
    return Scene(tracks, assemblies, bodies.forest, float(sagitta))


def tracks_of(moves: Moves, pieces: PieceTable, groups: Mapping[str, Iterable[Role]]) -> tuple[Tracks, Assemblies]:
    """Moves and tools as the kernels read them. Raises InputRefused as `scene_of`."""
    _check(moves, pieces)
    tracks = Tracks(
        np.ascontiguousarray(moves.kind, np.uint8), np.ascontiguousarray(moves.start, np.float64),
        np.ascontiguousarray(moves.end, np.float64), np.ascontiguousarray(moves.centre, np.float64),
        np.ascontiguousarray(moves.axis, np.uint8), np.ascontiguousarray(moves.sweep, np.float64),
        np.ascontiguousarray(moves.tool, np.int32),
    )  # fmt: skip
    return tracks, _assemblies(pieces, groups)


def _assemblies(pieces: PieceTable, groups: Mapping[str, Iterable[Role]]) -> Assemblies:
    of_role = np.full(len(Role), NOBODY)
    for number, (name, roles) in enumerate(groups.items()):
        for role in roles:
            if of_role[role] != NOBODY:
                raise InputRefused.because(f"{role.name.lower()} pieces are in two groups", why="a piece counts once",
                                           remedy="name each role in one group only", key=name)  # fmt: skip
            of_role[role] = number
    if not groups:
        raise InputRefused.because("no group of pieces is to be looked at", remedy="name at least one group of roles")
    return Assemblies(np.ascontiguousarray(pieces.meridian, np.uint8), np.ascontiguousarray(pieces.shape, np.float64),
                      np.ascontiguousarray(pieces.first, np.int64), of_role[pieces.role])  # fmt: skip


def _check(moves: Moves, pieces: PieceTable) -> None:
    tools = pieces.first.size - 1
    strange = np.flatnonzero((moves.tool < 0) | (moves.tool >= tools))
    if strange.size:
        raise InputRefused.because(f"motion {moves.ident[strange[0]]} uses tool row {moves.tool[strange[0]]}",
                                   why=f"the table has {tools} tools", remedy="give every tool its pieces")  # fmt: skip
    strange = np.flatnonzero(moves.axis > 2)
    if strange.size:
        raise InputRefused.because(f"motion {moves.ident[strange[0]]} turns about axis {moves.axis[strange[0]]}",
                                   why="an arc turns about axis 0, 1 or 2 (X, Y, Z)", remedy="give one of them")  # fmt: skip
    for array in (moves.start, moves.end, moves.centre, moves.sweep[:, None]):
        bad = np.flatnonzero(~np.isfinite(array).all(axis=1))
        if bad.size:
            raise InputRefused.because(f"motion {moves.ident[bad[0]]} has a coordinate that is not a number",
                                       why="NaN or infinity cannot be placed", remedy="check the offsets it came from")  # fmt: skip
    if not np.isfinite(pieces.shape).all():
        raise InputRefused.because("a piece of a tool has a dimension that is not a number", remedy="check the tool's dimensions")
