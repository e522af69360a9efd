"""The computation behind a proof: metal removed, contacts with metal and holding, nearness, travel."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.clearance import Bodies, Box, Cylinder, Mesh, contact_verdicts, find_contacts, least_clearance
from setwright.clearance.bodies import Shape
from setwright.clearance.push import Verdict
from setwright.clearance.scene import GROUPS
from setwright.geometry.bodies import Body, BoxShape, CylinderShape
from setwright.geometry.moves import MoveKind, Moves, extent_of
from setwright.geometry.pieces import PieceTable, Role
from setwright.model.machine import Machine
from setwright.prove.case import BLANK, Contact, Nearness, Overtravel
from setwright.removal.contact import Contact as Touch
from setwright.removal.cut import Cut

__all__ = ["PARTS", "Progress", "Travel", "blank_contacts", "holding_contacts", "nearness", "overtravel", "packed_bodies"]

Progress = Callable[[str, int, int], None]
"""Called with what is being done, parts done and parts in all; may raise Cancelled."""

PARTS: Final = {Role.CUTTING: "cutter", Role.NECK: "neck", Role.SHANK: "shank", Role.HOLDER: "holder", Role.NOSE: "spindle nose"}
"""What a part of the tool is called, by its role."""


def blank_contacts(cut: Cut, moves: Moves) -> list[Contact]:
    """What met the metal and must not, grouped by tool, part and kind of motion."""
    groups: dict[tuple[int, Role, bool], list[Touch]] = {}
    for touch in cut.contacts:
        rapid = bool(moves.kind[touch.row] == MoveKind.RAPID)
        groups.setdefault((int(moves.tool[touch.row]), touch.role, rapid), []).append(touch)
    found = []
    for (_, role, rapid), touches in groups.items():
        deepest = max(touches, key=lambda touch: touch.depth)
        count = len({touch.motion for touch in touches})
        found.append(Contact(BLANK, PARTS[role], touches[0].motion, deepest.motion, deepest.depth, count, deepest.at, rapid,
                             touches[0].cutting))  # fmt: skip
    return sorted(found, key=lambda contact: contact.row)


def _shape(body: Body) -> Shape:
    shape = body.shape
    if isinstance(shape, BoxShape):
        return Box(shape.low, shape.high)
    if isinstance(shape, CylinderShape):
        return Cylinder(*shape.centre, shape.radius, shape.bottom, shape.top)
    return Mesh(shape.triangles)


def packed_bodies(bodies: Sequence[Body]) -> Bodies:
    """Bodies as the clearance room takes them."""
    return Bodies.of({body.name: _shape(body) for body in bodies})


def holding_contacts(moves: Moves, pieces: PieceTable, bodies: Bodies, *, progress: Progress | None = None) -> list[Contact]:
    """What meets the holding or the table (see packed_bodies), grouped by tool, part, body and kind of motion."""
    verdict = contact_verdicts(moves, pieces, bodies, progress=_named(progress, "contact with the holding"))
    hit = (verdict == Verdict.CONTACT).any(axis=(1, 2))
    found = []
    for tool in np.unique(moves.tool[hit]).tolist():
        for rapid in (True, False):
            these = moves[hit & (moves.tool == tool) & ((moves.kind == MoveKind.RAPID) == rapid)]
            if len(these):
                found += _grouped(these, pieces, bodies, rapid=rapid)
    return sorted(found, key=lambda contact: (contact.row, contact.body))


def _grouped(moves: Moves, pieces: PieceTable, bodies: Bodies, *, rapid: bool) -> list[Contact]:
    table = find_contacts(moves, pieces, bodies)
    found = []
    for body, group in np.argwhere(table.count > 0).tolist():
        first, deepest = int(table.first[body, group]), int(table.deepest[body, group])
        rows = np.unique(moves.ident[table.verdict[:, body, group] == Verdict.CONTACT])
        x, y, z = table.place[body, group].tolist()
        depth = float(table.depth[body, group])
        found.append(Contact(table.bodies[body], table.groups[group], int(moves.ident[first]), int(moves.ident[deepest]), depth,
                             int(rows.size), (x, y, z), rapid, bool(moves.cuts[first])))  # fmt: skip
    return found


def nearness(
    moves: Moves, pieces: PieceTable, bodies: Bodies, *, course_within: float = 0.0, progress: Progress | None = None
) -> tuple[list[Nearness], NDArray[np.float64] | None]:
    """Least distance between each body and each group of the tool's parts, over the whole program.

    Where `course_within` (mm) is above 0 also a lower bound of the distance to any body in each motion, float64 (motions,), up to
    that distance: a value equal to it means "at least that".
    """
    groups: Mapping[str, Iterable[Role]] = GROUPS
    table = least_clearance(moves, pieces, bodies, groups=groups, course_within=course_within,
                            progress=_named(progress, "clearance to the holding"))  # fmt: skip
    found = []
    for body, name in enumerate(table.bodies):
        for group, part in enumerate(table.groups):
            if table.ident[body, group] >= 0:
                least, most = float(table.lower[body, group]), float(table.upper[body, group])
                points = [_three(nearest[body, group]) for nearest in (table.on_tool, table.on_body)]
                found.append(Nearness(name, part, least, most, int(table.ident[body, group]), points[0], points[1]))
    return found, None if table.course is None else table.course.min(axis=1, initial=course_within)


def _three(point: NDArray[np.float64]) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return x, y, z


def _named(progress: Progress | None, what: str) -> Callable[[int, int], None] | None:
    return None if progress is None else lambda done, total: progress(what, done, total)


@dataclass(frozen=True, slots=True)
class Travel:
    """Least and greatest machine position of each axis over the program, float64 (3,) each, mm."""

    low: NDArray[np.float64]
    high: NDArray[np.float64]


def overtravel(moves_in_machine: Moves, machine: Machine) -> tuple[Travel, list[Overtravel]]:
    """Where the gauge point is sent, and every end of travel it is sent beyond (with the first row that does)."""
    low, high = extent_of(moves_in_machine)
    if not len(moves_in_machine):
        return Travel(np.zeros(3), np.zeros(3)), []
    found = []
    travel = machine.travel
    for axis, (name, (least, greatest)) in enumerate((("X", travel.x), ("Y", travel.y), ("Z", travel.z))):
        ends = ((low[:, axis], least - low[:, axis], least), (high[:, axis], high[:, axis] - greatest, greatest))
        for wanted, beyond, limit in ends:
            over = np.flatnonzero(beyond > SAME_PLACE_MM)
            if over.size:
                worst = int(over[np.argmax(beyond[over])])
                row = int(moves_in_machine.ident[over[0]])
                found.append(Overtravel(name, float(beyond[worst]), float(limit), float(wanted[worst]), row))
    return Travel(low.min(axis=0), high.max(axis=0)), found
