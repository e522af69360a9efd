"""The load of many cells at once, and of the worst of each tool in full: from immersion maps to power, torque, forces and chips."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.load.forces import Coefficients, Immersed, specific_force
from setwright.model.material import EdgeForces, Material, MaterialGroup

__all__ = ["Band", "CellLoads", "Cutting", "cell_loads", "immersed_of", "sets_of"]

Floats = NDArray[np.float64]

_VOLUME, _INTO, _PER_RADIUS, _UP, _ANGLE = range(5)  # the moments of removal.engagement
_COVERAGE: Final = 2.0
_CHIP_SHARE: Final = 0.02
_THINNEST_INTO: Final = 0.0001


@dataclass(frozen=True, slots=True)
class Band:
    """A figure of a model: `likely`, and between which two it lies with about 95 %."""

    low: float
    likely: float
    high: float

    def times(self, factor: float) -> Band:
        """Each of them times a factor above 0."""
        return Band(self.low * factor, self.likely * factor, self.high * factor)


@dataclass(frozen=True, slots=True)
class Cutting:
    """What a material takes: the likely set of coefficients, by Kienzle; `others`: further measured sets; one standard deviation of
    kc11 and of mc as shares, of the material and of the shares off the work and along the axis."""

    likely: Coefficients
    others: tuple[Coefficients, ...]
    spread: float
    mc_spread: float
    share_spread: float

    def band(self, chip_mm: float) -> tuple[float, float]:
        """Factors on the likely force at a chip's thickness, from the spread of the coefficients and from the other sets."""
        chip = max(chip_mm, 0.001)
        u = math.hypot(self.spread, self.likely.mc * self.mc_spread * math.log(chip))
        own = float(self.likely.along(np.array([chip]))[0][0])
        sets = [1.0, *(float(one.along(np.array([chip]))[0][0]) / own for one in self.others)]
        return min(sets) * max(1.0 - _COVERAGE * u, 0.1), max(sets) * (1.0 + _COVERAGE * u)


def sets_of(material: Material, group: MaterialGroup | None) -> Cutting | None:
    """The coefficients of a material; None where its cutting force is not known."""
    kc11, mc = material.kc11_n_mm2, material.mc
    if kc11 is None or mc is None or group is None:
        return None
    likely = Coefficients(kc11.value, mc.value, group.off_work_share.value, group.axial_share.value)
    share = max(group.off_work_share.spread, group.axial_share.spread)
    return Cutting(likely, tuple(map(_edge_set, material.edge_forces)), kc11.spread, mc.spread, share)


def _edge_set(one: EdgeForces) -> Coefficients:
    return Coefficients(cut=one.cut_n_mm2, edge=one.edge_n_mm)


@dataclass(frozen=True, slots=True)
class CellLoads:
    """Likely loads of cells, float64 (cells,): power kW, torque N·m, force across the axis (mean over a turn), of it along the
    motion and to its left, thrust along the axis N; thickest and mean chip mm; width of the cut mm; removal mm³/min."""

    power: Floats
    torque: Floats
    across: Floats
    along: Floats
    aside: Floats
    thrust: Floats
    thickest: Floats
    mean_chip: Floats
    rate: Floats


def cell_loads(
    moments: Floats, length: Floats, *, feed: Floats, rpm: Floats, feed_tooth: Floats, what: Coefficients
) -> CellLoads:
    """Loads of cells by their immersion map (cells, sectors + 1, 5; see removal.engagement), way (mm), feed (mm/min), speed, feed a
    tooth (mm). What the bottom meets gives power, torque and thrust, and no force across: it lies around the axis."""
    volume = moments[:, :, _VOLUME]
    into = np.clip(np.divide(moments[:, :, _INTO], volume, out=np.zeros_like(volume), where=volume > 0.0), _THINNEST_INTO, 1.0)
    chip = feed_tooth[:, None] * into
    force = specific_force(chip, what.kc11, what.mc)
    per_min = np.divide(feed, length, out=np.zeros_like(feed), where=length > 0.0)
    power = (force * volume).sum(axis=1) * per_min / 60e6
    torque = np.divide(9549.0 * power, rpm, out=np.zeros_like(power), where=rpm > 0.0)
    # the mean over a turn: each element acts for its share of the turn, dV / (2 pi r) for a feed a turn and 1 mm of way
    turn = np.divide(per_min, rpm, out=np.zeros_like(feed), where=rpm > 0.0)[:, None] / (2.0 * math.pi)
    t = force * moments[:, :, _PER_RADIUS] * turn
    r, a = what.off_work * t, what.axial * t
    lift = np.divide(moments[:, :, _UP], volume, out=np.zeros_like(volume), where=volume > 0.0)
    flat = np.sqrt(np.clip(1.0 - lift**2, 0.0, 1.0))
    angle = np.divide(moments[:, :, _ANGLE], volume, out=np.zeros_like(volume), where=volume > 0.0)
    side = np.s_[:, :-1]
    x = (-t * np.cos(angle) - r * flat * np.sin(angle))[side].sum(axis=1)
    y = (t * np.sin(angle) - r * flat * np.cos(angle))[side].sum(axis=1)
    thrust = (r * np.maximum(-lift, 0.0)).sum(axis=1) + a[side].sum(axis=1)
    counts = volume > _CHIP_SHARE * volume.sum(axis=1, keepdims=True)
    total = volume.sum(axis=1)
    mean = np.divide((chip * volume).sum(axis=1), total, out=np.zeros_like(total), where=total > 0.0)
    thickest = np.where(counts, chip, 0.0).max(axis=1, initial=0.0)
    return CellLoads(power, torque, np.hypot(x, y), x, y, thrust, thickest, mean, total * per_min)


def immersed_of(moments: Floats, length: float, radius: float) -> Immersed:
    """The side of a cylinder as `turned` takes it, from one cell (sectors + 1, 5)."""
    n = moments.shape[0] - 1
    edges = np.linspace(0.0, math.pi, n + 1)
    begin, end = edges[:-1], edges[1:]
    volume = moments[:-1, _VOLUME]
    into = np.divide(moments[:-1, _INTO], volume, out=np.zeros_like(volume), where=volume > 0.0)
    middle = np.sin(0.5 * (begin + end))
    level = np.clip(np.divide(into, middle, out=np.zeros_like(into), where=middle > 0.0), 0.0, 1.0)
    swept = length * radius * (np.cos(begin) - np.cos(end)) * np.where(level > 0.0, level, 1.0)
    return Immersed(begin, end, volume / swept, np.where(volume > 0.0, into, middle), radius)

