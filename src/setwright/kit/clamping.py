"""Strap clamps and stops as bodies, from the few numbers a setter measures on them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.units import format_size
from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape
from setwright.model.holding import SetupHolding, Stop, StrapClamp

__all__ = ["clamps_and_stops"]

Corner = NDArray[np.float64]
_WAY = {"left": (0, -1), "right": (0, 1), "front": (1, -1), "back": (1, 1)}
"""Side → axis and way from the part towards it."""

_NUT = 2.0
"""Width of nut and washer, in bolt diameters."""

_HEEL = 0.2
"""Share of the strap's length that rests on the heel."""

_PIN = 12.0


def clamps_and_stops(stated: SetupHolding, blank: tuple[Corner, Corner], units: str = "mm") -> list[Body]:
    """Bodies in W of every clamp and stop of a setup. `blank`: least and greatest corner of its box in W, mm; they stand at the
    height of what carries the blank or its parallels.

    Raises InputRefused for a clamp that does not press on the blank or whose bolt would go through it, and a stop beside its face.
    """
    ground = float(blank[0][2]) - stated.parallels
    bodies = [body for clamp in stated.clamps for body in _clamp(clamp, blank, ground, units)]
    return bodies + [_stop(stop, blank, ground, units) for stop in stated.stops]


def _clamp(clamp: StrapClamp, blank: tuple[Corner, Corner], ground: float, units: str) -> Iterator[Body]:
    low, high = blank
    axis, way = _WAY[clamp.from_]
    top = float(high[2]) if clamp.top is None else clamp.top
    toe = np.array(clamp.at)
    _require_pressing(clamp, low, high, top, ground, units)
    upper = top + clamp.thickness
    yield _along(clamp.name, toe, axis, way, 0.0, clamp.length, clamp.width, top, upper)
    yield _along(f"{clamp.name}, heel", toe, axis, way, (1.0 - _HEEL) * clamp.length, clamp.length, clamp.width, ground, top)
    bolt = toe.copy()
    bolt[axis] += way * clamp.bolt_at
    nut_top = upper + min(clamp.bolt, clamp.bolt_above)
    yield _upright(f"{clamp.name}, bolt", bolt, clamp.bolt, ground, upper + clamp.bolt_above)
    yield _upright(f"{clamp.name}, nut", bolt, _NUT * clamp.bolt, upper, nut_top)


def _require_pressing(clamp: StrapClamp, low: Corner, high: Corner, top: float, ground: float, units: str) -> None:
    (x, y), key = clamp.at, "holding.clamps"

    def bare(mm: float) -> str:
        return format_size(float(mm), units).split()[0]

    if not ((low[:2] < clamp.at) & (clamp.at < high[:2])).all():
        raise InputRefused.because(
            f'clamp "{clamp.name}" presses at X{bare(x)} Y{bare(y)}, beside the blank',
            why=f"the blank reaches from X{bare(low[0])} Y{bare(low[1])} to X{bare(high[0])} Y{bare(high[1])}",
            remedy="at is the middle of the toe's front edge, over the part", key=key,
        )  # fmt: skip
    if not ground < top <= high[2]:
        raise InputRefused.because(
            f'clamp "{clamp.name}" presses at Z{bare(top)}',
            why=f"the blank's top is Z{bare(high[2])}, it stands on Z{bare(ground)}",
            remedy="top is the height of the face it presses on, in the program's Z", key=key,
        )  # fmt: skip
    axis, way = _WAY[clamp.from_]
    reach = (high[axis] - clamp.at[axis]) if way > 0 else (clamp.at[axis] - low[axis])
    if clamp.bolt_at - clamp.bolt / 2 < reach:
        raise InputRefused.because(
            f'the bolt of clamp "{clamp.name}" would go through the blank',
            why=f"the toe reaches {format_size(float(reach), units)} over it, the bolt stands "
                f"{format_size(clamp.bolt_at, units)} behind the toe's edge",
            remedy="make bolt_at larger or put the toe nearer the edge; a bolt through a hole is written as a cylinder", key=key,
        )  # fmt: skip


def _stop(stop: Stop, blank: tuple[Corner, Corner], ground: float, units: str) -> Body:
    low, high = blank
    axis, way = _WAY[stop.against]
    along = 1 - axis
    length = float(high[along] - low[along])
    at = length / 2 if stop.at is None else stop.at
    across = stop.square or stop.diameter or _PIN
    if not -across / 2 < at < length + across / 2:
        raise InputRefused.because(
            f'stop "{stop.name}" stands {format_size(at, units)} along the {stop.against} face',
            why=f"that face is {format_size(length, units)} long",
            remedy="at runs from the face's left or front end", key="holding.stops",
        )  # fmt: skip
    centre = np.zeros(2)
    centre[axis] = (high[axis] if way > 0 else low[axis]) + way * across / 2
    centre[along] = low[along] + at
    top = float(low[2]) + stop.height
    if stop.square is None:
        return _upright(stop.name, centre, across, ground, top)
    half = stop.square / 2
    return _box(stop.name, [*(centre - half).tolist(), ground], [*(centre + half).tolist(), top])


def _along(
    name: str, toe: NDArray[np.float64], axis: int, way: int, begin: float, end: float, width: float, bottom: float, top: float
) -> Body:
    """A box from `begin` to `end` behind the toe's edge."""
    low, high = np.zeros(3), np.zeros(3)
    low[axis], high[axis] = sorted((toe[axis] + way * begin, toe[axis] + way * end))
    low[1 - axis], high[1 - axis] = toe[1 - axis] - width / 2, toe[1 - axis] + width / 2
    low[2], high[2] = bottom, top
    return _box(name, low.tolist(), high.tolist())


def _box(name: str, low: list[float], high: list[float]) -> Body:
    return Body(name, BodyRole.HOLDING, BoxShape((low[0], low[1], low[2]), (high[0], high[1], high[2])))


def _upright(name: str, centre: NDArray[np.float64], diameter: float, bottom: float, top: float) -> Body:
    return Body(name, BodyRole.HOLDING, CylinderShape((float(centre[0]), float(centre[1])), diameter / 2, bottom, top))
