"""The computation behind a proof: metal removed, contacts with metal and holding, nearness, travel."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
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
from setwright.prove.margin import Spread
from setwright.prove.plunges import Plunge, plunges
from setwright.removal.contact import Contact as Touch
from setwright.removal.cut import Cut, cut

__all__ = ["NO_DOUBTS", "PARTS", "Progress", "Travel", "blank_contacts", "holding_contacts", "nearness", "overtravel",
           "packed_bodies", "way_of", "with_causes"]  # fmt: skip

Progress = Callable[[str, int, int], None]
"""Called with what is being done, parts done and parts in all; may raise Cancelled."""

NO_DOUBTS: Final[Mapping[tuple[int, Role], str]] = MappingProxyType({})
"""No contact hangs on anything."""

PARTS: Final = {Role.CUTTING: "cutter", Role.NECK: "neck", Role.SHANK: "shank", Role.HOLDER: "holder", Role.NOSE: "spindle nose"}
"""What a part of the tool is called, by its role."""


def with_causes(
    found: list[Contact], done: Cut, moves: Moves, core: NDArray[np.bool_], pieces: PieceTable, *, several: NDArray[np.bool_],
    doubts: Mapping[tuple[int, Role], str] = NO_DOUBTS,
) -> tuple[list[Contact], tuple[Plunge, ...]]:  # fmt: skip
    """`blank_contacts` and `plunges` without those that follow from another. Where a tool is pushed through metal without cutting
    it, whatever only meets the metal that it left follows from that: the rest is what a run finds in which that tool cuts."""
    met = plunges(done, moves, core)
    pushed = [one for one in found if one.part == "cutter" and not one.rapid and not one.turning]
    if not pushed:
        return found, met
    tools = [int(moves.tool[np.searchsorted(moves.ident, one.row)]) for one in pushed]
    cuts = moves.cuts | (np.isin(moves.tool, tools) & (moves.kind != MoveKind.RAPID))
    meant = cut(done.before, replace(moves, cuts=cuts), pieces)
    left, still = blank_contacts(meant, moves, several=several, doubts=doubts), plunges(meant, moves, core)
    own = {_key(one, moves) for one in left}
    gone = [one.row for one in found if one not in pushed and _key(one, moves) not in own]
    rows = {one.row for one in still}
    pushed[0] = replace(pushed[0], follows=tuple(sorted([*gone, *(one.row for one in met if one.row not in rows)])))
    return sorted([*pushed, *left], key=lambda contact: contact.row), still


def _key(one: Contact, moves: Moves) -> tuple[int, str, bool]:
    return int(moves.tool[np.searchsorted(moves.ident, one.row)]), one.part, one.rapid


def way_of(rows: NDArray[np.intp], moves: Moves, several: NDArray[np.bool_]) -> str:
    """How rapids must run for what happens in `rows`: "" if it happens in a motion whichever way it runs, else "straight", "bent"
    or "one way" where it takes the one in one motion and the other in another."""
    begins = np.ones(len(moves), np.bool_)
    begins[1:] = np.diff(moves.ident) != 0
    straight, legs = moves.ident[rows[begins[rows]]], moves.ident[rows[~begins[rows]]]
    if not several[rows].all() or np.isin(straight, legs).any():
        return ""
    return "one way" if straight.size and legs.size else "straight" if straight.size else "bent"


def blank_contacts(
    done: Cut, moves: Moves, *, several: NDArray[np.bool_] | None = None, doubts: Mapping[tuple[int, Role], str] = NO_DOUBTS
) -> list[Contact]:
    """What met the metal and must not, grouped by tool, part and kind of motion; `done` is the cut of `moves`. `several` bool
    (rows,): rows of rapids that may run either way (see motions.several_ways), none unless said; `doubts`: what a
    contact hangs on, by row of the piece table and role."""
    every = np.zeros(len(moves), np.bool_) if several is None else several
    groups: dict[tuple[int, Role, bool], list[Touch]] = {}
    for touch in done.contacts:
        rapid = bool(moves.kind[touch.row] == MoveKind.RAPID)
        groups.setdefault((int(moves.tool[touch.row]), touch.role, rapid), []).append(touch)
    found = []
    for (tool, role, rapid), touches in groups.items():
        deepest = max(touches, key=lambda touch: touch.depth)
        count = len({touch.motion for touch in touches})
        way = way_of(np.array([touch.row for touch in touches]), moves, every)
        found.append(Contact(BLANK, PARTS[role], touches[0].motion, deepest.motion, deepest.depth, count, deepest.at, rapid,
                             touches[0].cutting, way, doubt=doubts.get((tool, role), "")))  # fmt: skip
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


def holding_contacts(
    moves: Moves, pieces: PieceTable, bodies: Bodies, *, several: NDArray[np.bool_] | None = None,
    progress: Progress | None = None
) -> list[Contact]:
    """What meets the holding or the table (see packed_bodies), grouped by tool, part, body and kind of motion; `several` as in
    `blank_contacts`."""
    verdict = contact_verdicts(moves, pieces, bodies, progress=_named(progress, "contact with the holding"))
    hit = (verdict == Verdict.CONTACT).any(axis=(1, 2))
    several = np.zeros(len(moves), np.bool_) if several is None else several
    found = []
    for tool in np.unique(moves.tool[hit]).tolist():
        for rapid in (True, False):
            rows = np.flatnonzero(hit & (moves.tool == tool) & ((moves.kind == MoveKind.RAPID) == rapid))
            if rows.size:
                found += _grouped(moves, rows, pieces, bodies, several, rapid=rapid)
    return sorted(found, key=lambda contact: (contact.row, contact.body))


def _grouped(
    every: Moves, chosen: NDArray[np.intp], pieces: PieceTable, bodies: Bodies, several: NDArray[np.bool_], *, rapid: bool
) -> list[Contact]:
    moves = every[chosen]
    table = find_contacts(moves, pieces, bodies)
    found = []
    for body, group in np.argwhere(table.count > 0).tolist():
        first, deepest = int(table.first[body, group]), int(table.deepest[body, group])
        meets = np.flatnonzero(table.verdict[:, body, group] == Verdict.CONTACT)
        rows, way = np.unique(moves.ident[meets]), way_of(chosen[meets], every, several)
        x, y, z = table.place[body, group].tolist()
        depth = float(table.depth[body, group])
        found.append(Contact(table.bodies[body], table.groups[group], int(moves.ident[first]), int(moves.ident[deepest]), depth,
                             int(rows.size), (x, y, z), rapid, bool(moves.cuts[first]), way))  # fmt: skip
    return found


def nearness(
    moves: Moves, pieces: PieceTable, bodies: Bodies, spreads: Sequence[Sequence[Spread]], *, course_within: float = 0.0,
    progress: Progress | None = None
) -> tuple[list[Nearness], NDArray[np.float64] | None]:
    """Least distance between each body and each group of the tool's parts, over the whole program; `spreads`: by row of the
    tool, of each body.

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
                tool, solid = (_three(nearest[body, group]) for nearest in (table.on_tool, table.on_body))
                own = spreads[int(moves.tool[table.row[body, group]])][body]
                known = own.along([a - b for a, b in zip(tool, solid, strict=True)])
                found.append(Nearness(name, part, least, most, int(table.ident[body, group]), tool, solid, known))
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
