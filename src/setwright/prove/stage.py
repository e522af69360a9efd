"""What a proof runs: the tools as rows of pieces, their motions over the part, the blank as a field of rays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from setwright.base.errors import InputRefused, LimitReached
from setwright.base.span import Span
from setwright.geometry.bodies import Body, MeshShape
from setwright.geometry.frames import shifted
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.program.path import Path
from setwright.program.profile import Profile
from setwright.prove.motions import moves_over_part, with_dog_legs
from setwright.prove.plunges import core_of
from setwright.prove.single_edge import STANDING_ROWS, standing_pieces
from setwright.removal.field import Field, field_of

__all__ = ["blank_field", "cores_of", "default_pitch", "edges_of", "hung_tools", "rapids_known", "same_blank", "tip_motions"]

_FINEST, _COARSEST = 0.1, 0.5
_RAYS_ACROSS = 40


def default_pitch(kit: Kit) -> float:
    """Ray spacing fine enough for the blank's least dimension, between 0.1 and 0.5 mm (features do not depend on it)."""
    least = float(np.min(kit.extent[1] - kit.extent[0]))
    return min(max(least / _RAYS_ACROSS, _FINEST), _COARSEST)


def hung_tools(kit: Kit) -> tuple[dict[int, int], PieceTable]:
    """Every tool's row in a table of pieces, by station, and the table; the empty spindle is station 0 if no tool is.

    Behind the tools stand the cores of those that do not cut at their centre, in the order of `cores_of`, and what stands of
    single-edged ones, as in `edges_of`.
    """
    nose = kit.machine.spindle.nose
    bare = [Piece(Meridian.LINE, 0.0, nose.length, nose.diameter / 2, nose.diameter / 2, role=Role.NOSE)]
    stations = list(dict.fromkeys([0, *sorted(kit.tools)]))
    hung = [list(kit.tools[station].pieces) if station in kit.tools else bare for station in stations]
    order = {station: row for row, station in enumerate(stations)}
    cores = [core_of(kit.tools[station]) for station in _blunt(kit, order)]
    standing = [row for station in edges_of(kit, order) for row in standing_pieces(kit.tools[station])]
    return order, PieceTable.of([*hung, *cores, *standing])


def _blunt(kit: Kit, order: Mapping[int, int]) -> list[int]:
    """Stations of the tools that do not cut at their centre, as they stand in the table."""
    return [station for station in order if station in kit.tools and not kit.tools[station].tool.cuts_at_centre]


def cores_of(kit: Kit, order: Mapping[int, int]) -> dict[int, int]:
    """The row of a tool's core by the row of the tool."""
    return {order[station]: len(order) + number for number, station in enumerate(_blunt(kit, order))}


def edges_of(kit: Kit, order: Mapping[int, int]) -> dict[int, int]:
    """The first row of `standing_pieces` by station, of single-edged tools."""
    single = [station for station in order if station in kit.tools and kit.tools[station].tool.single_edged]
    begin = len(order) + len(_blunt(kit, order))
    return {station: begin + STANDING_ROWS * number for number, station in enumerate(single)}


def tip_motions(kit: Kit, truth: Truth, path: Path, order: Mapping[int, int], profile: Profile) -> Moves:
    """Motions over the part; rapids as the control may run them: both ways unless `rapids_known`."""
    right = np.array([station not in kit.tools or kit.tools[station].tool.hand == "right" for station in order])
    moves = moves_over_part(path, truth, order, right_hand=right)
    known = rapids_known(kit, profile)
    if known and profile.rapid == "straight":
        return moves
    rapid = kit.machine.rapid
    return with_dog_legs(moves, (rapid.x, rapid.y, rapid.z), straight=not known)


def rapids_known(kit: Kit, profile: Profile) -> bool:
    """Whether the machine's own file says how its rapids run; what a profile brings along by itself is no evidence for that."""
    return "rapid" in kit.machine.control.behaviours and profile.rapid != "unknown"


def same_blank(kit: Kit, other: Kit) -> bool:
    """Whether two kits begin with the same solids, number for number, and so at one pitch with the same rays."""
    if kit.blank is None or other.blank is None:
        return False
    return kit.copies == other.copies and (kit.blank is other.blank or _same_solid(kit.blank, other.blank))


def _same_solid(a: Body, b: Body) -> bool:
    if isinstance(a.shape, MeshShape):
        return isinstance(b.shape, MeshShape) and np.array_equal(a.shape.triangles, b.shape.triangles)
    return not isinstance(b.shape, MeshShape) and a.shape == b.shape


def blank_field(kit: Kit, pitch_mm: float | None) -> Field:
    """The stated blank, every copy of it, as a field of rays, `default_pitch` apart unless said. Raises InputRefused where an
    earlier setup leaves it, and for a blank or a pitch that cannot be computed with, LimitReached for too many rays."""
    if kit.blank is None:
        raise InputRefused.because(f'the blank of setup "{kit.setup.name}" is what an earlier setup leaves',
                                   remedy="prove the earlier setup first")  # fmt: skip
    shapes = [kit.blank.moved(shifted(*copy)).shape for copy in kit.copies]
    try:
        return field_of(shapes, pitch_mm=default_pitch(kit) if pitch_mm is None else pitch_mm)
    except LimitReached:
        raise
    except InputRefused as refusal:
        if kit.setup.blank.mesh is None:
            raise
        place = Span(kit.setup.blank.mesh)
        raise InputRefused(replace(problem, span=problem.span or place) for problem in refusal.problems) from refusal
