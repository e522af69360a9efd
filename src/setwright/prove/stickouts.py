"""How short and how long each tool may stick out of its holder: tried by running the programs with other stick-outs.

A stick-out moves holder and spindle nose against the tip; the shape of the tool stays. Shorter, the holder comes down on part or
holding; longer, the spindle is sent beyond the top of its travel, the tip hangs lower where the program goes to a place of the
machine (home, tool change), or the tool bends beyond its share of the tolerance. Each end is halved down to `STEP_MM`: at the
stick-out told nothing is in the way, STEP_MM beyond it something is. All tools are tried in one run, since no tool's holder
changes what another one meets. The bending needs no run: it is that of the proof's load on a longer beam.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from setwright.geometry.moves import MoveKind
from setwright.geometry.pieces import Role
from setwright.geometry.profile import Assembly, assemble
from setwright.kit.registers import length_register
from setwright.kit.station import Kit
from setwright.model.job import SetupTool
from setwright.program.motions import moves_in_machine
from setwright.program.registers import Registers
from setwright.prove.case import BLANK
from setwright.prove.compute import PARTS, Progress, holding_contacts, overtravel, packed_bodies
from setwright.prove.load import bends_share, tightest_of
from setwright.prove.margin import spread_of
from setwright.prove.plunges import with_cores
from setwright.prove.reading import Held, held_for, interpret_setup
from setwright.prove.single_edge import with_edges
from setwright.prove.stage import cores_of, edges_of, hung_tools, tip_motions
from setwright.prove.station import Proof
from setwright.removal.cut import cut

__all__ = ["STEP_MM", "End", "StickOut", "stick_outs"]

STEP_MM: Final = 0.1
"""Between a stick-out at which nothing is in the way and one at which something is: as fine as a rule shows."""
_FARTHEST_MM: Final = 100.0
"""Nobody clamps a tool so much longer; of a tool whose length is not stated no more is tried."""
_SCREWED: Final = ("face mill", "slot mill")
"""Kinds that sit on an arbor: how far they stick out is their own."""
_ABOVE: Final = (PARTS[Role.HOLDER], PARTS[Role.NOSE])


@dataclass(frozen=True, slots=True)
class End:
    """One end of the stick-outs of a tool: `stickout` mm, the last at which nothing is in the way, and what is in the way beyond.

    `why`: "contact" (of `part` with `body`), "travel", "bends" (beyond its share of the tolerance), "flutes" (they would be in the
    holder), "length" (the tool's own), "tried" (nothing up to there), "nowhere" (something is in the way at every stick-out tried;
    `stickout` is the one stated). `file` and `line` of the first motion that meets it. `known_mm`: how far the setup may be off
    there, ±, so that much more is wanted.
    """

    stickout: float
    why: str
    part: str = ""
    body: str = ""
    file: str = ""
    line: int = 0
    known_mm: float = 0.0

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        return {"stickout_mm": self.stickout, "why": self.why, "part": self.part, "body": self.body, "file": self.file,
                "line": self.line, "plus_minus_mm": self.known_mm}  # fmt: skip


@dataclass(frozen=True, slots=True)
class StickOut:
    """A tool: how far it sticks out now, and between which ends it may; None where nothing can be said (see `open`)."""

    station: int
    now: float
    shortest: End | None
    longest: End | None
    open: str = ""

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        ends = {name: None if end is None else end.as_plain()
                for name, end in (("shortest", self.shortest), ("longest", self.longest))}  # fmt: skip
        return {"tool": self.station, "stickout_mm": self.now, **ends, "not_looked_at": self.open}


@dataclass(frozen=True, slots=True)
class _Meets:
    """What a tool meets first: see `End`; `key` tells one thing in the way from another."""

    why: str
    part: str
    body: str
    row: int
    rapid: bool

    @property
    def key(self) -> tuple[str, str, str, bool]:
        return self.why, self.part, self.body, self.rapid


def stick_outs(proof: Proof, *, progress: Progress | None = None) -> tuple[StickOut, ...]:
    """The stick-outs of every tool that the setup's programs use, in the order of their use; none for a proof that stopped."""
    if proof.stopped or not len(proof.moves):
        return ()
    return tuple(_Trials(proof, progress).found())


class _Trials:
    """Runs the programs of a proof with tools that stick out otherwise."""

    def __init__(self, proof: Proof, progress: Progress | None) -> None:
        self._proof, self._kit, self._truth = proof, proof.kit, proof.truth
        self._progress, self._runs = progress, 0
        self._held = held_for(proof.kit, proof.truth)
        path = proof.case.path
        used = [station for station in dict.fromkeys(state.tool for state in path.states) if station in proof.kit.tools]
        self._used = {station: proof.kit.tools[station] for station in used}
        self._now = self._run({})

    def found(self) -> list[StickOut]:
        """Each tool with its ends."""
        movable = {station: hung for station, hung in self._used.items() if _reason_not(hung) == ""}
        least = {station: max(piece.z1 for piece in hung.pieces if piece.role is Role.CUTTING) for station, hung in movable.items()}
        most = {station: hung.tool.length or hung.stickout + _FARTHEST_MM for station, hung in movable.items()}
        shortest = self._ends(least, most, below=True)
        longest = self._ends(most, least, below=False)
        told = []
        for station, hung in self._used.items():
            if station not in movable:
                told.append(StickOut(station, hung.stickout, None, None, _reason_not(hung)))
                continue
            end = self._not_bent(station, hung, longest[station])
            told.append(StickOut(station, hung.stickout, shortest[station], end))
        return told

    def _ends(self, toward: Mapping[int, float], other: Mapping[int, float], *, below: bool) -> dict[int, End]:
        """The end of each tool on one side, halved between a stick-out that goes and one that does not."""
        good, bad, found = dict[int, float](), dict[int, tuple[float, _Meets]](), dict[int, End]()
        outermost = self._run(toward)
        for station in toward:
            here, there = self._worst(self._now, station, below=below), self._worst(outermost, station, below=below)
            now = self._used[station].stickout
            if there is None and here is None:
                found[station] = self._free(station, toward[station], below=below)
            elif there is not None and here is None:
                good[station], bad[station] = now, (toward[station], there)
            elif here is not None:
                bad[station] = (now, here)
        blocked = [station for station in bad if station not in good]
        if blocked:
            back = self._run({station: other[station] for station in blocked})
            for station in blocked:
                still = self._worst(back, station, below=below)
                if still is None:
                    good[station] = other[station]
                else:
                    found[station] = self._end(station, self._used[station].stickout, bad.pop(station)[1], "nowhere")
        while open_ := [station for station in good if abs(bad[station][0] - good[station]) > STEP_MM]:
            middle = {station: (good[station] + bad[station][0]) / 2.0 for station in open_}
            tried = self._run(middle)
            for station in open_:
                met = self._worst(tried, station, below=below)
                if met is None:
                    good[station] = middle[station]
                else:
                    bad[station] = (middle[station], met)
        return found | {station: self._end(station, good[station], bad[station][1]) for station in good}

    def _free(self, station: int, at: float, *, below: bool) -> End:
        if below:
            return End(at, "flutes")
        return End(at, "tried" if self._used[station].tool.length is None else "length")

    def _end(self, station: int, at: float, met: _Meets, why: str = "") -> End:
        path, known = self._proof.case.path, 0.0
        bodies = {body.name: body for body in self._kit.placement.bodies}
        if met.why == "contact":
            body = bodies.get(met.body)
            corners = self._kit.extent if body is None else body.bounds()
            known = spread_of(self._kit, self._truth, corners, body=body, station=station).along((0.0, 0.0, 1.0))
        return End(at, why or met.why, met.part, met.body, path.files[int(path.file[met.row])], int(path.line[met.row]), known)

    def _worst(self, found: Mapping[int, list[_Meets]], station: int, *, below: bool) -> _Meets | None:
        """What is in the way of a tool on one side, the first of it in the program; None if nothing. Shorter: what holder and nose
        meet. Longer: travel, and what the tool meets that it does not meet as it is."""
        now = {one.key for one in self._now.get(station, [])}
        counted = [one for one in found.get(station, [])
                   if (one.part in _ABOVE if below else one.why == "travel" or (one.part not in _ABOVE and one.key not in now))]
        return min(counted, key=lambda one: one.row, default=None)

    def _run(self, stickouts: Mapping[int, float]) -> dict[int, list[_Meets]]:
        """What each tool meets, and whether it is sent beyond the top of the travel, with these stick-outs, the rest as it is."""
        self._runs += 1
        if self._progress is not None:
            self._progress("trying stick-outs", self._runs, max(24, self._runs))
        proof, kit = self._proof, _hung_otherwise(self._kit, stickouts)
        changes = {station: stickouts[station] - self._used[station].stickout for station in stickouts}
        lengths = {station: length + changes.get(station, 0.0) for station, length in self._truth.lengths.items()}
        truth = replace(self._truth, lengths=lengths)
        path = interpret_setup(kit, _held_otherwise(self._held, kit, changes)).path
        profile, (order, pieces) = proof.reading.profile, hung_tools(kit)
        moves = tip_motions(kit, truth, path, order, profile)
        edges = with_edges(moves, path, kit, truth, profile, edges_of(kit, order), shift_known=True)
        cutting, _ = with_cores(edges.moves, cores_of(kit, order))
        done = cut(proof.before, cutting, pieces)
        station_of = np.array([state.tool for state in path.states], np.int64)[path.state]
        found: dict[int, list[_Meets]] = {}
        for touch in done.contacts:
            rapid = bool(cutting.kind[touch.row] == MoveKind.RAPID)
            met = _Meets("contact", PARTS[touch.role], BLANK, touch.motion, rapid)
            found.setdefault(int(station_of[touch.motion]), []).append(met)
        for contact in holding_contacts(moves, pieces, packed_bodies(kit.placement.bodies)):
            met = _Meets("contact", contact.part, contact.body, contact.row, contact.rapid)
            found.setdefault(int(station_of[contact.row]), []).append(met)
        machine = moves_in_machine(path)
        for station in self._used:
            rows = machine[station_of[machine.ident] == station]
            for beyond in overtravel(rows, kit.machine)[1]:
                if beyond.axis == "Z" and beyond.limit_mm == kit.machine.travel.z[1]:
                    found.setdefault(station, []).append(_Meets("travel", "", "", beyond.row, rapid=False))
        return found

    def _not_bent(self, station: int, hung: Assembly, end: End) -> End:
        """The longer end, nearer where the tool would bend beyond its share of the tightest tolerance first."""
        load = self._proof.load
        one, tightest = None if load is None else load.of(station), tightest_of(self._proof.features)
        if one is None or one.bends_mm is None or tightest is None or end.why == "nowhere":
            return end
        low, high = 0.0, end.stickout
        if bends_share(one, hung, high, tightest[1]) <= 1.0:
            return end
        while high - low > STEP_MM / 2.0:
            middle = (low + high) / 2.0
            low, high = (middle, high) if bends_share(one, hung, middle, tightest[1]) <= 1.0 else (low, middle)
        path = self._proof.case.path
        row = one.bends_row
        return End(low, "bends", "", tightest[0], path.files[int(path.file[row])], int(path.line[row]))


def _reason_not(hung: Assembly) -> str:
    """Why nothing is said of a tool's stick-out; empty where it is."""
    if hung.tool.kind in _SCREWED:
        return "it sits on an arbor: its stick-out is its own"
    return "" if hung.has_holder else "its holder is not stated"


def _hung_otherwise(kit: Kit, stickouts: Mapping[int, float]) -> Kit:
    """The kit with other stick-outs; a tool's length changes by as much."""
    tools = dict(kit.tools)
    for station, stickout in stickouts.items():
        hung = tools[station]
        tools[station] = assemble(hung.tool, stickout=stickout, length=hung.length + stickout - hung.stickout, radius=hung.radius,
                                  nose=kit.machine.spindle.nose)  # fmt: skip
    return replace(kit, tools=tools)


def _held_otherwise(held: Held, kit: Kit, changes: Mapping[int, float]) -> Held:
    """What the control holds once the lengths that changed were measured again: in their registers, or in the zero of a setup whose
    zero is set with the tool's own tip."""
    rows = {tool.station: tool for tool in kit.setup.tool}
    if kit.setup.lengths == "registers":
        return replace(held, registers=_longer(held.registers, rows, changes))
    own = {station: _raised(registers, changes.get(station, 0.0)) for station, registers in held.own.items()}
    return replace(held, registers=next(iter(own.values())) if own else _raised(held.registers, next(iter(changes.values()), 0.0)),
                   own=own)  # fmt: skip


def _longer(registers: Registers, rows: Mapping[int, SetupTool], changes: Mapping[int, float]) -> Registers:
    lengths = dict(registers.lengths)
    for station, by in changes.items():
        number = length_register(rows[station])
        lengths[number] = lengths.get(number, 0.0) + by
    return replace(registers, lengths=lengths)


def _raised(registers: Registers, by: float) -> Registers:
    offsets = {name: replace(one, z=one.z + by) for name, one in registers.offsets.items()}
    return replace(registers, offsets=offsets)
