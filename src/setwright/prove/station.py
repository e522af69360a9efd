"""Prove: what the program will do to the metal in this setup, traced to its lines."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable
from setwright.kit.findings import kit_findings
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.check import run_checks
from setwright.model.finding import Finding, worst_first
from setwright.program.motions import moves_in_machine
from setwright.program.path import in_order
from setwright.prove.bench import COURSE_WITHIN_MM, Cutter, Shown, removed_metal, shown_of
from setwright.prove.case import Feature, Nearness, Possible, ProveCase, Rest
from setwright.prove.closer import Closer
from setwright.prove.compute import (
    Progress,
    Travel,
    blank_contacts,
    holding_contacts,
    nearness,
    overtravel,
    packed_bodies,
    with_causes,
)  # fmt: skip
from setwright.prove.depths import DeepCut, deep_cuts, deep_holes
from setwright.prove.features import faces_not_there, measure_requirements, unmade_faces
from setwright.prove.grip import grip_losses
from setwright.prove.margin import spread_of
from setwright.prove.motions import several_ways
from setwright.prove.parting import fallen, parted
from setwright.prove.plausible import asked_contacts, asked_pieces
from setwright.prove.plunges import with_cores
from setwright.prove.possible import metal_nearness, possible_with_holding, possible_with_metal, skin_of
from setwright.prove.rates import rates_of, with_twins
from setwright.prove.raw import raw_faces
from setwright.prove.reading import Held, read_setup
from setwright.prove.single_edge import settled, shift_is_known, with_edges
from setwright.prove.stage import blank_field, cores_of, edges_of, hung_tools, rapids_known, tip_motions
from setwright.prove.thin import thin_places
from setwright.prove.wanted import against_wanted
from setwright.read.station import Reading
from setwright.read.timing import Timing
from setwright.removal.cut import Cut, cut
from setwright.removal.field import Field
from setwright.removal.ready import Ready
from setwright.removal.volumes import Volume

if TYPE_CHECKING:
    from setwright.prove.load import Load

__all__ = ["Proof", "Taken", "prove"]


@dataclass(frozen=True, slots=True)
class Taken:
    """What went through the metal, for what asks later how: motions with the cores and edges that go before them (`before_own`,
    bool (n,)), their pieces; what each removed, mm³ float64 (n,), and as each bundle has it, (3, n)."""

    moves: Moves
    pieces: PieceTable
    before_own: NDArray[np.bool_]
    removed: NDArray[np.float64]
    by_bundle: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Proof:
    """The proof of one setup. Lengths mm, volumes mm³, positions in W.

    `before` and `after`: the metal as a field of rays. `rates`: greatest removal of a motion by station, mm³/min. `stopped`:
    what could not be read, empty for a whole proof; everything else then holds only up to there. `rests_on`: the guesses of a
    drafted job on which it rests. `shown`: what the bench shows on the way, if that was asked for. `load`: see prove.load, None
    where nobody asked. `blank_open`: what nobody has measured of a blank that an earlier setup leaves, in words.
    """

    kit: Kit
    truth: Truth
    reading: Reading
    moves: Moves = field(repr=False)
    before: Field = field(repr=False)
    after: Field = field(repr=False)
    case: ProveCase = field(repr=False)
    removed: Mapping[int, float]
    blank: Volume
    rest: Volume
    travel: Travel
    rates: Mapping[int, float]
    grid_mm: float
    elapsed_s: float
    rests_on: tuple[Rest, ...]
    findings: tuple[Finding, ...]
    shown: Shown | None = field(default=None, repr=False)
    part: Ready | None = field(default=None, repr=False)
    taken: Taken | None = field(default=None, repr=False)
    load: Load | None = field(default=None, repr=False)
    blank_open: str = ""

    @property
    def stopped(self) -> tuple[Problem, ...]:
        """What the proof stops at."""
        return self.reading.problems

    @property
    def timing(self) -> Timing:
        """Time in all, by tool and by row."""
        return self.reading.timing

    @property
    def features(self) -> tuple[Feature, ...]:
        """Requirements as they come out on the simulated part."""
        return self.case.features


def prove(
    kit: Kit,
    truth: Truth,
    *,
    held: Held | None = None,
    blank: Field | None = None,
    pitch_mm: float | None = None,
    until: tuple[str, int] | None = None,
    bench: bool = False,
    cutter: Cutter = cut,
    measured: Ready | None = None,
    distances: bool = True,
    progress: Progress | None = None,
) -> Proof:
    """Prove one setup on the given truth. `held`: what the control holds and runs, by default what fits the truth. `blank` is the
    metal an earlier setup left, for a setup whose blank comes from it. `bench`: keep the metal on the way and the clearance from
    motion to motion; the answer is the same. `cutter`: what removes the metal where the bench wants nothing kept. `measured`: the
    part of an earlier proof, whose measurements are taken over where the metal is the same. `distances`: find the least distances
    of what does not meet; without them no close pass is told, and of what may meet no narrower gap than its place shows.

    Raises InputRefused when the program asks for what the kit does not have (a tool, an offset, a register) or cannot be read at
    all. What cannot be read inside the program stops the proof there and is in `stopped`.
    """
    began = time.perf_counter()
    reading = read_setup(kit, truth, held=held, until=until)
    _refuse_missing(kit, reading)
    path = reading.interpreted.path
    order, pieces = hung_tools(kit)
    moves = tip_motions(kit, truth, path, order, reading.profile)
    before = blank if blank is not None else blank_field(kit, pitch_mm)
    edges = with_edges(moves, path, kit, truth, reading.profile, edges_of(kit, order),
                       shift_known=shift_is_known(kit, reading.interpreted))  # fmt: skip
    cutting, core = with_cores(edges.moves, cores_of(kit, order))
    before_own = core.copy()  # of a core or an edge alone, whose own motion follows
    before_own[~core] = edges.extra
    done, run = removed_metal(before, cutting, pieces, bench=bench, cutter=cutter,
                              progress=_named(progress, "removing metal"))  # fmt: skip
    bodies = kit.placement.bodies
    packed = packed_bodies(bodies)
    known = rapids_known(kit, reading.profile)
    several = np.zeros(len(moves), np.bool_) if known else several_ways(moves)
    of_cutting = (several[edges.origin] & ~edges.standing)[np.cumsum(~core) - ~core]
    in_metal = blank_contacts(done, cutting, several=of_cutting, doubts=edges.doubts)
    in_metal, plunged = with_causes(in_metal, done, cutting, core, pieces, several=of_cutting, doubts=edges.doubts)
    in_metal = asked_contacts(settled(in_metal, path), kit, before, cutting, pieces, several=of_cutting, doubts=edges.doubts)
    contacts = [*in_metal, *holding_contacts(moves, pieces, packed, several=several, progress=progress)]
    travel, beyond = overtravel(moves_in_machine(path), kit.machine)
    stations = np.array([state.tool for state in path.states], np.int64)[path.state]
    removed_by_motion = done.by_bundle.mean(axis=0)  # so that the tools' volumes add up to the part's
    removed = _by_tool(stations[done.motion], removed_by_motion)
    part = Ready(done.field, before=measured)
    features = measure_requirements(kit, part, closer=Closer(before, cutting, pieces))
    whole = until is None and not reading.problems
    features = features if whole else tuple(feature.so_far() for feature in features)
    spreads = [[spread_of(kit, truth, body.bounds(), body=body, station=station) for body in bodies] for station in order]
    near, course = nearness(moves, pieces, packed, spreads, course_within=COURSE_WITHIN_MM if bench else 0.0,
                            progress=progress) if distances or bench else ([], None)  # fmt: skip
    likely = edges.moves[~edges.doubtful] if edges.doubtful.any() else edges.moves
    skin = skin_of(likely, pieces, kit, truth, order, tool=moves.tool[edges.origin][~edges.doubtful])
    possible = [*possible_with_holding(moves, pieces, packed, spreads, near, contacts),
                *possible_with_metal(before, likely, pieces, skin, contacts)]  # fmt: skip
    near = _told([*near, *metal_nearness(before, likely, pieces, skin, contacts)], possible, stations) if distances else near
    loose = tuple(piece if piece.held else fallen(piece, before, cutting, pieces, bodies)
                  for piece in parted(before, done.field, bodies))  # fmt: skip
    case = ProveCase(
        kit, truth, path, reading.lines, tuple(contacts), tuple(possible), tuple(near), tuple(beyond), features,
        plunges=plunged, deep_holes=deep_holes(done, cutting, order, kit.tools),
        deep_cuts=_deep_cuts(kit, done, cutting, order), thin=thin_places(done.field, kit.setup.at_least),
        no_datum=faces_not_there(kit, Ready(before), part), parted=asked_pieces(loose, kit, before, cutting, pieces),
        grip_losses=grip_losses(before, done.field, bodies), unmade=(unmade := unmade_faces(kit, part)),
        raw=raw_faces(kit, truth, before, done.field, part, unmade=unmade), wanted=against_wanted(kit, done.field), whole=whole,
        removed_by_tool=removed, time_by_tool=reading.timing.by_tool,
    )  # fmt: skip
    part.forget_before()
    findings = _findings(kit, truth, reading, case)
    removed_by_row = with_twins(before_own, removed_by_motion)
    return Proof(
        kit, truth, reading, moves, before, done.field, case, removed, before.volume(), done.field.volume(), travel,
        _rates(kit, moves, pieces, removed_by_row, reading.timing, order, float(before.grid.pitch.max())),
        float(before.grid.pitch.max()), time.perf_counter() - began, _rests_on(kit), tuple(worst_first(findings)),
        shown_of(done, removed_by_motion, moves, course, run, rows=len(path)), part,
        Taken(cutting, pieces, before_own, done.removed, done.by_bundle),
    )  # fmt: skip


def _findings(kit: Kit, truth: Truth, reading: Reading, case: ProveCase) -> list[Finding]:
    """What the kit, the truth, the reading and the checks say, each named by the setup it is of."""
    found = [*kit_findings(kit), *truth.doubts, *reading.findings,
             *run_checks("setwright.prove.checks", case, missing=_missing(kit), without=("load",))]  # fmt: skip
    return [replace(finding, setup=finding.setup or kit.setup.name) for finding in found]


def _named(progress: Progress | None, what: str) -> Callable[[int, int], None] | None:
    return None if progress is None else lambda done, total: progress(what, done, total)


def _told(near: Sequence[Nearness], possible: Sequence[Possible], stations: NDArray[np.int64]) -> list[Nearness]:
    """The least distance of each body and part, and what is in doubt as it is found: of one tool that stands for its least."""
    doubtful = [one.nearness for one in possible]
    found = {(one.body, one.part, int(stations[one.row])): one for one in [*near, *doubtful]}
    least: dict[tuple[str, str], Nearness] = {}
    for one in found.values():
        key = (one.body, one.part)
        least[key] = min(least.get(key, one), one, key=lambda each: each.least_mm)
    return [*least.values(), *(one for one in doubtful if one not in least.values())]


def _rates(kit: Kit, moves: Moves, pieces: PieceTable, removed: NDArray[np.float64], timing: Timing, order: Mapping[int, int],
           pitch_mm: float) -> dict[int, float]:  # fmt: skip
    """The greatest metal removal of each tool, mm³/min, by station; empty where the time is not known."""
    if timing.total_s is None:
        return {}
    top = float(kit.extent[1][2]) + max(copy[2] for copy in kit.copies)
    rates = rates_of(moves, pieces, removed, minutes=timing.by_row / 60.0, axial=np.zeros(len(moves)), top_mm=top,
                     pitch_mm=pitch_mm).most()
    return {station: rates.get(order[station], 0.0) for station in timing.by_tool}


def _deep_cuts(kit: Kit, done: Cut, moves: Moves, order: Mapping[int, int]) -> tuple[DeepCut, ...]:
    planned = {tool.station: tool.deepest_cut for tool in kit.setup.tool if tool.deepest_cut is not None}
    return deep_cuts(done, moves, order, kit.tools, planned, top_mm=float(kit.extent[1][2]), varies_mm=float(kit.sides_vary[2, 1]))


def _by_tool(stations: NDArray[np.int64], removed: NDArray[np.float64]) -> dict[int, float]:
    return {station: float(removed[stations == station].sum()) for station in in_order(stations)}


def _refuse_missing(kit: Kit, reading: Reading) -> None:
    """Everything the program asks for that the kit does not have."""
    problems = []
    read_path = reading.interpreted.path
    for tool in reading.interpreted.tools:
        if tool.number not in kit.tools:
            name = read_path.files[tool.file]
            span = _line_span(reading, name, tool.line)
            known = ", ".join(f"T{station}" for station in sorted(kit.tools)) or "none"
            what = f"tool {tool.number} is called but is not in the kit of setup “{kit.setup.name}”"
            remedy = f"add [[setup.tool]] with station = {tool.number} to job.toml"
            problems.append(Problem(what, f"the kit has {known}", remedy, span))
    for register in reading.interpreted.missing:
        problems.append(_missing_register(register, kit, reading))
    if problems:
        raise InputRefused(problems)


def _line_span(reading: Reading, file: str, line: int) -> Span:
    lines = reading.lines[file]
    text = lines[line - 1] if 0 < line <= len(lines) else ""
    return Span(file, line, len(text) - len(text.lstrip()) + 1, max(1, len(text.strip())), text)


def _missing_register(register: str, kit: Kit, reading: Reading) -> Problem:
    """A register the program uses though nothing gives its value, with the first line that uses it."""
    path = reading.interpreted.path
    rows = np.zeros(0, np.intp)
    if register.startswith("G5"):
        used = np.array([frame.offset == register for frame in path.frames])[path.frame]
        rows = np.flatnonzero(used)
        what, why = f"offset {register} is used", f"nothing says where it is: setup “{kit.setup.name}” states {kit.setup.offset}"
        remedy = f'write shifts = {{ {register} = [x, y, z] }} in the setup, or offset = "{register}"'
    else:
        kind = "length_register" if register.startswith("H") else "radius_register"
        used = np.array([f"{register[:1]}{getattr(state, kind)}" == register for state in path.states])[path.state]
        rows = np.flatnonzero(used)
        what, why = f"register {register} is used", "no tool of the kit has it"
        remedy = f"write {kind} = {register[1:]} at the tool it belongs to, or correct the program"
    row = int(rows[0]) if rows.size else 0
    span = _line_span(reading, path.files[int(path.file[row])], int(path.line[row])) if len(path) else None
    return Problem(what, why, remedy, span)


def _missing(kit: Kit) -> dict[str, str]:
    """Inputs of checks that are not there, in words."""
    if kit.placement.placed:
        return {}
    return {"place": "nothing says where the holding stands on the table (place in [setup.holding])"}


def _rests_on(kit: Kit) -> tuple[Rest, ...]:
    folder = kit.folder
    guesses = [guess for guess in folder.job.guess if guess.setup in ("", kit.setup.name)]
    places = [folder.answered_at(guess) for guess in guesses]
    return tuple(Rest(guess.what, span.file, span.line) for guess, span in zip(guesses, places, strict=True))
