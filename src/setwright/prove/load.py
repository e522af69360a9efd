"""The cutting load of a proof: what each motion takes off, turned into chips, force, power and bending, tool by tool.

A figure here is a model's, with the band of its coefficients; it is for comparing and for finding what is far off, not a promise.
What is not known (material, teeth, the spindle's curve, how hard the vise clamps) is named as not looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import TINY
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.profile import Assembly
from setwright.kit.station import Kit
from setwright.load.forces import Coefficients, drilled_handbook, tap_torque_nm, turned
from setwright.load.limits import (
    CLAMP_SAFETY,
    FLUTED_SHARE,
    FRICTION,
    YOUNG_N_MM2,
    BeamStep,
    Curve,
    Held,
    deflection_mm,
    vise_force_n,
)  # fmt: skip
from setwright.load.materials import NamedMaterial, known_material, unsure_of
from setwright.load.tools import Band, CellLoads, Cutting, cell_loads, immersed_of, sets_of
from setwright.model.check import run_checks
from setwright.model.finding import worst_first
from setwright.model.tool import Tool
from setwright.prove.case import Feature, ProveCase
from setwright.prove.station import Proof, Taken
from setwright.removal.engagement import VOLUME, Engagement, cells_of, engagement_of, lengths_of

__all__ = ["CAUTION", "THICK", "THIN", "FeedAdvice", "Load", "LoadCase", "Peck", "Rows", "ToolLoad", "bends_share", "held_by",
           "tightest_of", "usual_chip", "with_load"]  # fmt: skip

CAUTION: Final = "a model's figures, from tables of materials with their spread: no permission to run at a limit"

THICK: Final = 2.5
THIN: Final = 0.4
"""A chip is far off beyond these shares of the usual: the usual is unverified."""

_BENDS: Final = 1.0 / 3.0
"""A tool may bend by this share of the tightest tolerance."""

_MILLS: Final = ("end mill", "bull-nose mill", "ball mill", "face mill", "slot mill", "chamfer mill")
_DRILLS: Final = ("drill", "spot drill", "centre drill")
_THRUST_AT_MOST: Final = 2.5
"""A chisel edge makes the thrust of a drill up to this many times what its lips take."""
_EFFICIENCY: Final = (0.15, 0.25, 0.35)
_FORMING_TAP: Final = 1.2
_WORST: Final = 12
_CELL_WAY: Final = 0.25
"""Loads are means over a way of this share of the tool's diameter, so that they do not hang on the distance of the rays."""
_SIZES: Final = (2.0, 25.0)
_START_DIAMETER: Final = 10.0
_FLUTES_STATED: Final = "flutes"
_NOISE_SHARE: Final = 0.001
"""A cell with less than this share of its tool's fullest one is no cut; a way down this straight is straight."""
_UNSEEN_SHARE: Final = 0.02
"""From this share of a tool's metal on it is said that the rays lie too far apart for some of its cuts."""

Floats = NDArray[np.float64]
_SMOOTH: Final = Band(FRICTION[1], FRICTION[0], FRICTION[2])


@dataclass(frozen=True, slots=True)
class Rows:
    """Likely load by path row, float64 (rows,), for the strip and the bench; nan where nothing was computed: power kW, torque N·m,
    force across the tool N, thickest chip mm."""

    power: Floats
    torque: Floats
    force: Floats
    chip: Floats


@dataclass(frozen=True, slots=True)
class Peck:
    """The deepest hole that one tool drills in one go: its row, depth and diameter, mm."""

    station: int
    row: int
    depth_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class FeedAdvice:
    """The feed that would bring a load that is far off back to its band: from `feed` to `to`, mm/min, in `row`; `why`; what it
    would save in time, s (less than nothing: what it would cost, and spare the tool). Shown only, never written into a program."""

    row: int
    feed: float
    to: float
    why: str
    saves_s: float


@dataclass(frozen=True, slots=True)
class ToolLoad:
    """One tool. `power`, `torque`, `force` (across), `thrust`: the greatest over the program, mean over a turn, each with its row;
    `most_force`: the greatest at any angle of the turn, with straight edges at the worst; `mean_kw` over its cutting, `energy_kj`.
    `chip_mm`: the thickest chip of the cut in which half of its metal goes; `thickest_mm`, of all; each with its row. `bends_mm`
    with its row, where a surface of the part is made, by its side force, `bends_most_mm` at the worst angle, the force acting
    `bends_above_mm` over the tip; `bound`: what the engagement may be off for the distance of the rays, as a share. `limit_kw`:
    what the spindle gives at the speed of the greatest power, `short_kw` for a short load; None where that is not stated.
    """

    station: int
    kind: str
    power: Band
    power_row: int
    torque: Band
    force: Band
    force_row: int
    most_force: float
    thrust: Band
    thrust_row: int
    mean_kw: float
    energy_kj: float
    chip_mm: float
    chip_row: int
    thickest_mm: float
    thickest_row: int
    rpm: float
    bound: float
    limit_kw: float | None = None
    short_kw: float | None = None
    bends_mm: float | None = None
    bends_most_mm: float | None = None
    bends_row: int = -1
    bends_above_mm: float = 0.0
    advice: FeedAdvice | None = None

    @staticmethod
    def keys() -> tuple[str, ...]:
        """The keys of `as_plain`."""
        return ("tool", "peak_kw", "peak_kw_band", "peak_torque_nm", "peak_torque_nm_band", "peak_force_n", "peak_force_n_band",
                "force_at_any_angle_n", "peak_thrust_n", "peak_thrust_n_band", "mean_kw", "energy_kj", "chip_mm",
                "thickest_chip_mm", "bends_mm", "spindle_kw", "spindle_short_kw", "engagement_bound", "advice")  # fmt: skip

    def as_plain(self) -> dict[str, Any]:
        """For the document."""
        return {
            "tool": self.station, "peak_kw": self.power.likely, "peak_kw_band": [self.power.low, self.power.high],
            "peak_torque_nm": self.torque.likely, "peak_torque_nm_band": [self.torque.low, self.torque.high],
            "peak_force_n": self.force.likely, "peak_force_n_band": [self.force.low, self.force.high],
            "force_at_any_angle_n": self.most_force, "peak_thrust_n": self.thrust.likely,
            "peak_thrust_n_band": [self.thrust.low, self.thrust.high], "mean_kw": self.mean_kw, "energy_kj": self.energy_kj,
            "chip_mm": self.chip_mm, "thickest_chip_mm": self.thickest_mm, "bends_mm": self.bends_mm,
            "spindle_kw": self.limit_kw, "spindle_short_kw": self.short_kw, "engagement_bound": self.bound,
            "advice": None if self.advice is None else {"feed_mm_min": self.advice.feed, "to_mm_min": self.advice.to,
                                                        "why": self.advice.why, "saves_s": self.advice.saves_s},
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Load:
    """The load of a setup. `material`: None where nobody states it. `open`: what was not looked at, in words; `clamp`: how hard the
    part is held, N, None where that is not known; `friction`: least, taken, most."""

    tools: tuple[ToolLoad, ...] = ()
    pecks: tuple[Peck, ...] = ()
    material: NamedMaterial | None = None
    open: tuple[str, ...] = ()
    clamp: Band | None = None
    friction: Band = _SMOOTH
    rows: Rows | None = field(default=None, repr=False)

    def of(self, station: int) -> ToolLoad | None:
        """The load of one tool."""
        return next((one for one in self.tools if one.station == station), None)

    def as_plain(self) -> dict[str, Any]:
        """What it rests on, for the document."""
        known = self.material
        return {"material": None if known is None else known.material.name, "grade_stated": known is not None and known.stated,
                "unsure": [] if known is None else list(unsure_of(known.material)), "not_looked_at": list(self.open),
                "clamp_n": None if self.clamp is None else [self.clamp.low, self.clamp.likely, self.clamp.high],
                "caution": CAUTION}  # fmt: skip


@dataclass(frozen=True)
class LoadCase(ProveCase):
    """What the checks of load look at."""

    load: Load = field(default_factory=Load)


def with_load(proof: Proof) -> Proof:
    """The proof with its load and what the checks of load find."""
    if proof.taken is None or not len(proof.moves):
        return proof
    load = _load_of(proof, proof.taken)
    fields = {name: getattr(proof.case, name) for name in ProveCase.__dataclass_fields__}
    found = run_checks("setwright.prove.checks", LoadCase(**fields, load=load), missing={}, only="load")
    placed = [replace(one, setup=one.setup or proof.kit.setup.name) for one in found]
    return replace(proof, load=load, findings=tuple(worst_first([*proof.findings, *placed])))


@dataclass(frozen=True, slots=True)
class _Run:
    """Cells with what the control does there, arrays (cells,): station, path row, feed mm/min, speed rpm, factor to the exact
    volume, what the rays' distance may do to it; `unseen`: removed there, and no upright ray met it, mm³ (by the first cell of a
    motion)."""

    engagement: Engagement
    station: NDArray[np.int64]
    row: NDArray[np.int64]
    feed: Floats
    rpm: Floats
    exact: Floats
    bound: Floats
    unseen: Floats


def _load_of(proof: Proof, taken: Taken) -> Load:
    kit = proof.kit
    known = known_material(kit.folder.job.job.material, kit.folder.job.shop.materials)
    cutting = None if known is None else sets_of(known.material, known.group)
    pecks = tuple(_pecks(proof, taken))
    words = list(_unknown(kit, proof, known, cutting))
    clamp, friction = _clamping(kit)
    if cutting is None or known is None:
        return Load(pecks=pecks, material=known, open=tuple(words), clamp=clamp, friction=friction)
    run = _run_of(proof, taken)
    tools, rows = [], Rows(*(np.full(len(proof.case.path), np.nan) for _ in range(4)))
    for station in dict.fromkeys(run.station.tolist()):
        hung = kit.tools.get(station)
        if hung is None or not _modelled(hung.tool):
            continue
        one = _tool_load(proof, run, station, hung, known, cutting, rows)
        if one is None:
            words.append(f"the cutting load of T{station} (none of its cuts could be worked out)")
            continue
        tools.append(one)
        unseen = run.unseen[run.station == station].sum() / max(proof.removed.get(station, 0.0), TINY)
        if unseen > _UNSEEN_SHARE:
            words.append(f"{unseen:.0%} of what T{station} takes off (cuts thinner than the rays lie apart)")
    return Load(tuple(tools), pecks, known, tuple(words), clamp, friction, rows)


def _modelled(tool: Tool) -> bool:
    return (tool.kind in _MILLS or tool.kind in _DRILLS or tool.kind == "tap") and \
        (tool.kind not in _MILLS or _FLUTES_STATED in tool.model_fields_set)  # fmt: skip


def _unknown(kit: Kit, proof: Proof, known: NamedMaterial | None, cutting: Cutting | None) -> Iterator[str]:
    """What was not looked at, each with what would answer it."""
    stated = kit.folder.job.job.material
    if known is None:
        yield f"the cutting load (nothing is known of “{stated}” as a material)" if stated else \
            "the cutting load (the job's material is not stated)"  # fmt: skip
        return
    if cutting is None:
        yield f"the cutting load (no cutting force is known of {known.material.name})"
        return
    used = [station for station in proof.removed if station in kit.tools]
    for station in used:
        tool = kit.tools[station].tool
        if not _modelled(tool):
            why = "its teeth are not stated" if tool.kind in _MILLS else f"a {tool.kind} is not modelled"
            yield f"the cutting load of T{station} ({why})"
    spindle = kit.machine.spindle
    if not spindle.curve and spindle.power is None:
        yield "whether the spindle has the power (its power is not stated)"
    elif not spindle.curve and spindle.torque is None:
        yield "whether the spindle has the torque at low speed (its torque is not stated)"
    if kit.setup.holding.fixed_jaw is not None and _clamping(kit)[0] is None:
        yield "whether the vise holds the part (how hard it clamps is not stated)"


def _run_of(proof: Proof, taken: Taken) -> _Run:
    path, moves, kit_tools = proof.case.path, taken.moves, proof.kit.tools
    state = path.state[moves.ident]
    rpm = np.abs(np.array([one.spindle_rpm for one in path.states]))[state]
    feed = np.nan_to_num(path.feed[moves.ident])
    breaks = np.ones(len(moves), np.bool_)
    breaks[1:] = (rpm[1:] != rpm[:-1]) | (feed[1:] != feed[:-1])
    stations = np.array([one.tool for one in path.states], np.int64)[state]
    width = {station: 2.0 * hung.radius for station, hung in kit_tools.items()}
    way = _CELL_WAY * np.array([width.get(one, 0.0) for one in stations.tolist()])
    cells = cells_of(moves, way_mm=way, pitch_mm=proof.grid_mm, breaks=breaks, twin=taken.before_own)
    met = engagement_of(proof.before, moves, taken.pieces, cells)
    rays, exact, spread = np.zeros(cells.length.size), np.zeros(cells.length.size), np.zeros(cells.length.size)
    rows = np.flatnonzero(cells.count > 0)
    lead, apart = cells.first[rows], taken.by_bundle[:, rows].max(axis=0) - taken.by_bundle[:, rows].min(axis=0)
    for to, values in ((rays, met.along[rows]), (exact, taken.removed[rows]), (spread, apart)):
        np.add.at(to, lead, values)
    unseen = np.where(rays > 0.0, 0.0, exact)
    # the cells of one long motion share what its first one says
    many, first = cells.count[rows], cells.first[rows]
    for a, n in zip(first[many > 1].tolist(), many[many > 1].tolist(), strict=True):
        for to in (rays, exact, spread):
            to[a : a + n] = to[a]
    factor = np.divide(exact, rays, out=np.ones(rays.size), where=rays > 0.0)
    volume = met.moments[:, :, VOLUME].sum(axis=1)
    # half a ray distance at the border of the map, of its width; and how far the three bundles disagree
    border = np.divide(0.5 * proof.grid_mm * cells.length * met.deepest, volume, out=np.zeros(rays.size), where=volume > 0.0)
    bound = border + np.divide(spread, exact, out=np.zeros(rays.size), where=exact > 0.0)
    at = cells.motion
    return _Run(met, stations[at], moves.ident[at].astype(np.int64), feed[at], rpm[at], np.clip(factor, 0.2, 5.0), bound, unseen)


def _tool_load(
    proof: Proof, run: _Run, station: int, hung: Assembly, known: NamedMaterial, cutting: Cutting, rows: Rows
) -> ToolLoad | None:
    tool = hung.tool
    mine = np.flatnonzero((run.station == station) & (run.rpm > 0.0) & (run.feed > 0.0))
    volume = run.engagement.moments[mine, :, VOLUME].sum(axis=1)
    mine = mine[volume > 0.0]
    if not mine.size and tool.kind != "tap":
        return None
    if tool.kind == "tap":
        return _tap_load(proof, station, hung, known)
    teeth = tool.flutes if tool.kind in _MILLS else 2
    moments = run.engagement.moments[mine] * run.exact[mine][:, None, None]
    length, feed, rpm = run.engagement.cells.length[mine], run.feed[mine], run.rpm[mine]
    loads = cell_loads(moments, length, feed=feed, rpm=rpm, feed_tooth=feed / rpm / teeth, what=cutting.likely)
    _to_rows(rows, run.row[mine], loads)
    volume = moments[:, :, VOLUME].sum(axis=1)
    ends = np.flatnonzero(volume >= _NOISE_SHARE * volume.max())
    best = {name: int(ends[np.argmax(getattr(loads, name)[ends])]) for name in ("power", "across", "thrust", "thickest")}
    order = np.argsort(loads.thickest)
    half = int(order[np.searchsorted(np.cumsum(volume[order]), volume.sum() / 2.0)])
    spindle = _curve(proof.kit)
    k = best["power"]
    factors = cutting.band(float(loads.mean_chip[k]))
    limit = None if spindle is None else spindle.power_kw(float(rpm[k]))
    minutes = np.divide(length, feed)
    energy = float((loads.power * minutes).sum()) * 60.0
    powered = Band(factors[0] * loads.power[k], float(loads.power[k]), factors[1] * loads.power[k])
    side = cutting.band(float(loads.mean_chip[best["across"]]))
    most = _most_force(run, mine, moments, loads, hung, teeth, cutting.likely) if tool.kind in _MILLS else 0.0
    thrust = _thrust(tool, hung, known, loads, best["thrust"], feed, rpm, cutting)
    one = ToolLoad(
        station, tool.kind, powered, int(run.row[mine][k]), _band(float(loads.torque[ends].max()), factors),
        _band(float(loads.across[best["across"]]), side), int(run.row[mine][best["across"]]),
        max(most, float(loads.across[best["across"]])), thrust, int(run.row[mine][best["thrust"]]),
        energy / float(minutes.sum()) / 60.0, energy, float(loads.thickest[half]), int(run.row[mine][half]),
        float(loads.thickest[best["thickest"]]), int(run.row[mine][best["thickest"]]), float(rpm[k]), float(run.bound[mine][k]),
        limit, None if limit is None or spindle is None else limit * spindle.short,
    )  # fmt: skip
    if tool.kind not in _MILLS:
        return one
    one = replace(one, advice=_advice(one, known, hung, proof, cutting.likely.mc, float(minutes.sum()) * 60.0))
    return _bent(proof, one, run.row[mine], loads, hung, run.engagement.deepest[mine])


def _band(likely: float, factors: tuple[float, float]) -> Band:
    return Band(factors[0] * likely, likely, factors[1] * likely)


def _to_rows(rows: Rows, at: NDArray[np.int64], loads: CellLoads) -> None:
    for to, values in ((rows.power, loads.power), (rows.torque, loads.torque), (rows.force, loads.across),
                       (rows.chip, loads.thickest)):  # fmt: skip
        np.fmax.at(to, at, values)


def _most_force(
    run: _Run, mine: NDArray[np.intp], moments: Floats, loads: CellLoads, hung: Assembly, teeth: int, what: Coefficients
) -> float:
    """The greatest force across the axis at any angle of the turn, over the cells with the greatest mean."""
    found = [0.0]
    for k in np.argsort(loads.across)[::-1][:_WORST].tolist():
        side = immersed_of(moments[k], float(run.engagement.cells.length[mine[k]]), hung.radius)
        tooth = float(run.feed[mine[k]] / run.rpm[mine[k]] / teeth)
        found.append(turned(side, what, teeth=teeth, feed_tooth=tooth, rpm=float(run.rpm[mine[k]]),
                            helix=hung.tool.helix or 0.0).most_across)  # fmt: skip
    return max(found)


def _thrust(
    tool: Tool, hung: Assembly, known: NamedMaterial, loads: CellLoads, k: int, feed: Floats, rpm: Floats, cutting: Cutting
) -> Band:
    """Along the axis. Of a drill the lips alone are the least; the handbook's formula, where the material has its figure, is the
    greatest, else what a chisel edge may add."""
    low, high = cutting.band(float(loads.mean_chip[k]))
    likely = float(loads.thrust[k])
    share = 1.0 + 2.0 * cutting.share_spread
    if tool.kind not in _DRILLS:
        return Band(low * likely / share, likely, high * likely * share)
    turn, figure = float(feed[k] / rpm[k]), known.material.drilling_n_mm2
    most = _THRUST_AT_MOST * likely if figure is None else drilled_handbook(2.0 * hung.radius, turn, figure.value).thrust
    return Band(low * likely, max(likely, most / 2.0), high * max(most, likely))


def _tap_load(proof: Proof, station: int, hung: Assembly, known: NamedMaterial) -> ToolLoad | None:
    """A tap by its formula: its thread is full wherever it goes in."""
    tool, path = hung.tool, proof.case.path
    own = known.material.tapping_kc_n_mm2 or (known.group.tapping_kc_n_mm2 if known.group is not None else None)
    rpm = np.abs(np.array([one.spindle_rpm for one in path.states]))[path.state]
    at = np.array([one.tool for one in path.states], np.int64)[path.state]
    rows = np.flatnonzero((at == station) & (path.kind != MoveKind.RAPID) & (rpm > 0.0))
    if own is None or tool.pitch is None or not rows.size:
        return None
    row = int(rows[np.argmax(rpm[rows])])
    torque = tap_torque_nm(2.0 * hung.radius, tool.pitch, own.value)
    band = Band(torque * (1.0 - 2.0 * own.spread), torque * _FORMING_TAP, torque * 2.0 * (1.0 + 2.0 * own.spread))
    power = band.times(float(rpm[row]) / 9549.0)
    none, spindle = Band(0.0, 0.0, 0.0), _curve(proof.kit)
    limit = None if spindle is None else spindle.power_kw(float(rpm[row]))
    return ToolLoad(station, tool.kind, power, row, band, none, row, 0.0, none, row, power.likely, 0.0, 0.0, row, 0.0, row,
                    float(rpm[row]), 0.0, limit, None if limit is None or spindle is None else limit * spindle.short)  # fmt: skip


def _curve(kit: Kit) -> Curve | None:
    """The spindle's curve, as far as it is stated; None without a power."""
    spindle = kit.machine.spindle
    if spindle.curve:
        return Curve(spindle.curve, _short(spindle.short_power, max(kw for _, kw in spindle.curve)))
    if spindle.power is None or spindle.torque is None:
        return None if spindle.power is None else Curve(((1.0, spindle.power), (spindle.max_speed, spindle.power)))
    base = 9549.0 * spindle.power / spindle.torque
    points = ((base, spindle.power), (max(spindle.max_speed, base + 1.0), spindle.power))
    return Curve(points, _short(spindle.short_power, spindle.power))


def _short(short: float | None, power: float) -> float:
    return max(1.0, short / power) if short is not None else 1.0


def _advice(one: ToolLoad, known: NamedMaterial, hung: Assembly, proof: Proof, mc: float, seconds: float) -> FeedAdvice | None:
    """The feed for a mill whose power or chip is far off; power goes with the feed to 1 - mc, the chip with the feed itself."""
    usual, path = usual_chip(known, hung), proof.case.path
    most = one.short_kw or one.limit_kw
    bears = math.inf if most is None or one.power.likely <= 0.0 else (most / one.power.likely) ** (1.0 / (1.0 - mc))
    if bears < 1.0:
        row, factor, why = one.power_row, bears, "the spindle's power"
    elif usual is not None and one.thickest_mm > THICK * usual[1]:
        row, factor, why = one.thickest_row, usual[1] / one.thickest_mm, "the thickest usual chip"
    elif usual is not None and 0.0 < one.chip_mm < THIN * usual[0]:
        row, factor, why = one.chip_row, min(usual[0] / one.chip_mm, bears), "the thinnest usual chip"
    else:
        return None
    feed = float(path.feed[row])
    to = min(feed * factor, proof.kit.machine.max_feed)
    return FeedAdvice(row, feed, to, why, seconds * (1.0 - feed / to))


def usual_chip(known: NamedMaterial, hung: Assembly) -> tuple[float, float] | None:
    """Between which thicknesses a mill's chip usually lies, mm; None for other tools and for chamfers, where it does not matter."""
    if known.group is None or hung.tool.kind not in _MILLS or hung.tool.kind == "chamfer mill":
        return None
    size = min(max(2.0 * hung.radius, _SIZES[0]), _SIZES[1]) / _START_DIAMETER
    return known.group.tooth_feed_mm.low * size, known.group.tooth_feed_mm.high * size


# --- bending -----------------------------------------------------------------------------------------------------------------


def _bent(
    proof: Proof, one: ToolLoad, at: NDArray[np.int64], loads: CellLoads, hung: Assembly, deepest: Floats
) -> ToolLoad:
    """With the greatest bending where the tool makes a surface that stays."""
    final = np.isin(at, _surfaces(proof))
    steps, young = _beam(hung.tool, hung.radius, hung.stickout), _young(hung.tool)
    if not final.any() or not steps:
        return one
    rows = np.flatnonzero(final)
    k = int(rows[np.argmax(np.abs(loads.aside[rows]))])
    above = min(deepest[k] / 2.0, sum(step.length for step in steps))
    each = deflection_mm(steps, 1.0, young, above_tip_mm=float(above))
    likely, ratio = each * abs(float(loads.aside[k])), one.most_force / max(one.force.likely, 1.0)
    return replace(one, bends_mm=likely, bends_most_mm=likely * max(ratio, 1.0), bends_row=int(at[k]),
                   bends_above_mm=float(above))  # fmt: skip


def tightest_of(features: Sequence[Feature]) -> tuple[str, float] | None:
    """The requirement with the narrowest limits, and how wide they are, mm; None where no length is toleranced."""
    widths = {one.name: one.size.upper - one.size.lower for one in features if one.toleranced and one.unit == "mm"}
    return min(widths.items(), key=lambda item: item[1]) if widths else None


def bends_share(one: ToolLoad, hung: Assembly, stickout: float, width_mm: float) -> float:
    """How much a mill that sticks out so far bends by the force of `one`, over what it may: its share of limits `width_mm` wide."""
    if one.bends_mm is None:
        return 0.0
    here, there = (deflection_mm(_beam(hung.tool, hung.radius, length), 1.0, _young(hung.tool), above_tip_mm=one.bends_above_mm)
                   for length in (hung.stickout, stickout))  # fmt: skip
    return one.bends_mm * there / here / (_BENDS * width_mm)


def _surfaces(proof: Proof) -> NDArray[np.int64]:
    """Path rows that made a surface which is there at the end."""
    idents = [tile.ident[np.arange(tile.ident.shape[1]) < tile.count[:, None]].ravel()
              for bundle in proof.after.bundles for tile in bundle.tiles]  # fmt: skip
    return np.unique(np.concatenate(idents)).astype(np.int64)


def _beam(tool: Tool, radius: float, stickout: float) -> list[BeamStep]:
    """The tool from its holder down to the tip, fluted parts as FLUTED_SHARE of their diameter."""
    body = (tool.shank.diameter if tool.shank is not None else tool.diameter)
    above = stickout - tool.flute_length
    shank = [BeamStep(above, body)] if above > 0.0 else []
    return [*shank, BeamStep(min(tool.flute_length, stickout), FLUTED_SHARE * 2.0 * radius)]


def _young(tool: Tool) -> float:
    """Carbide where the file says solid carbide; steel, the softer, for all else."""
    words = tool.material.lower()
    return YOUNG_N_MM2["carbide" if "carbide" in words and "insert" not in words else "steel"][0]


# --- holding and holes -------------------------------------------------------------------------------------------------------


def _clamping(kit: Kit) -> tuple[Band | None, Band]:
    """How hard a vise holds, N, and its friction."""
    holding = kit.folder.job.shop.holding[kit.setup.holding.use]
    vise = holding.vise if kit.setup.holding.fixed_jaw is not None else None
    friction = _SMOOTH
    if vise is None:
        return None, friction
    if vise.friction is not None:
        friction = Band(vise.friction, vise.friction, vise.friction)
    if vise.clamp_force_kn is not None:
        force = 1000.0 * vise.clamp_force_kn
        return Band(0.8 * force, force, 1.2 * force), friction
    if vise.screw_lead is None or kit.setup.holding.tightened is None:
        return None, friction
    tight = kit.setup.holding.tightened
    return Band(*(vise_force_n(tight, vise.screw_lead, eta) for eta in _EFFICIENCY)), friction


def held_by(load: Load) -> tuple[float, float] | None:
    """What friction bears, N, at the likely clamping and at the least of everything; None where the clamping is not known."""
    if load.clamp is None:
        return None
    return (Held(load.clamp.likely, load.friction.likely).most_n() / CLAMP_SAFETY,
            Held(load.clamp.low, load.friction.low).most_n())  # fmt: skip


def _pecks(proof: Proof, taken: Taken) -> Iterator[Peck]:
    """For each drill the longest way down through metal in one motion, once it goes deeper than its own diameter."""
    moves, path = taken.moves, proof.case.path
    stations = np.array([one.tool for one in path.states], np.int64)[path.state][moves.ident]
    down = _downward(moves) & (taken.removed > 0.0) & ~taken.before_own
    for station, hung in proof.kit.tools.items():
        rows = np.flatnonzero(down & (stations == station))
        if hung.tool.kind != "drill" or not rows.size:
            continue
        area = np.pi * hung.radius**2
        depth = np.minimum(lengths_of(moves[rows]), taken.removed[rows] / area)
        k = int(np.argmax(depth))
        yield Peck(station, int(moves.ident[rows[k]]), float(depth[k]), 2.0 * hung.radius)


def _downward(moves: Moves) -> NDArray[np.bool_]:
    way = moves.end - moves.start
    level = np.hypot(way[:, 0], way[:, 1])
    return np.asarray((moves.kind == MoveKind.LINE) & (level <= np.abs(way[:, 2]) * _NOISE_SHARE) & (way[:, 2] < 0.0))
