"""The tool is fed far beside the blank as it is stated, or far below its underside.

What silence proves
    No feed motion below the blank's top brings the cutter beside it by more than 50 mm and twice the diameter, and none that goes
    over it takes the tip below its underside by more than the radius and 5 mm, along every side that is stated and not guessed.

Why it matters
    A path that goes on where there is no metal belongs to another blank or another zero; what is below the blank holds it.

How it decides
    The box of every feed motion against the blank's, on a pallet of the part it is nearest to. Sides that a draft guessed are left
    out, and a place that it guessed counts with all it may be. Below the underside it is a WARNING where the holding is only
    drafted: a draft puts its own out of the way, and the real one may stand there.

Blind spots
    A blank of another shape counts as the box about it. What goes out by less; motions above the top.

What to do
    Compare the blank's size with the program, and where zero lies on it; look at what stands there before running on.

Source
    Comparison of boxes; no source needed.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.moves import MoveKind, extent_of
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.model.job import BOX_FACES
from setwright.program.motions import programmed
from setwright.prove.case import ProveCase

META = Meta("cuts-outside-blank", Signal.CAUTION, brings=("tool-cuts-nothing",))

_BESIDE_MM: Final = 50.0
"""Beside the blank a cutter is brought in and run out by less, or by less than twice its diameter."""

_BELOW_MM: Final = 5.0
"""Below the underside a point or a corner goes by less than this and the radius."""

_SIDES: Final = ("left", "right", "front", "back")


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a tool and side, at the first motion that goes too far, with the distance of the one that goes furthest."""
    path = case.path
    if not len(path):
        return
    nothing = np.zeros(len(path), np.int32)
    low, high = extent_of(programmed(path, nothing, nothing.astype(np.bool_)))
    stations = np.array([state.tool for state in path.states], np.int64)[path.state]
    radius = np.array([_radius(case, state.tool) for state in path.states])[path.state]
    beside, under, top = _outside(case, low, high, radius)
    over = (beside + radius[:, None] < (high - low)[:, [0, 0, 1, 1]]).all(axis=1)  # the boxes share some place
    fed = (path.kind != MoveKind.RAPID) & (low[:, 2] < top - SAME_PLACE_MM)
    side, far = beside.argmax(axis=1), beside.max(axis=1)
    below = fed & over & (under > radius + _BELOW_MM)
    for station in np.unique(stations[fed]).tolist():
        mine = stations == station
        for number in range(len(_SIDES)):
            rows = np.flatnonzero(mine & fed & (side == number) & (far > np.maximum(_BESIDE_MM, 4.0 * radius)))
            if rows.size:
                yield _beside(case, rows, number, float(far[rows].max()))
        rows = np.flatnonzero(mine & below)
        if rows.size:
            yield _below(case, rows, under)


def _radius(case: ProveCase, station: int) -> float:
    assembly = case.kit.tools.get(station)
    return assembly.tool.diameter / 2 if assembly else 0.0


def _outside(
    case: ProveCase, low: NDArray[np.float64], high: NDArray[np.float64], radius: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """How far each motion reaches beside the four sides, (n, 4), and below the underside of the part it is nearest to, (n,), mm,
    negative for inside; and that part's top, (n,)."""
    least, greatest = _stated(case)
    beside, under, top = np.full((len(low), 4), np.inf), np.zeros(len(low)), np.zeros(len(low))
    for shift in np.array(case.kit.copies):
        one, other = least + shift, greatest + shift
        sides = (one[0] - low[:, 0], high[:, 0] - other[0], one[1] - low[:, 1], high[:, 1] - other[1])
        away = np.column_stack(sides) - radius[:, None]
        nearer = np.flatnonzero(away.max(axis=1) < beside.max(axis=1))
        beside[nearer], under[nearer], top[nearer] = away[nearer], one[2] - low[nearer, 2], other[2]
    return beside, under, top


def _stated(case: ProveCase) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest corner of the blank, with all the room a guessed place leaves; without end where a side is guessed."""
    low, high = (corner.astype(np.float64) for corner in case.kit.extent)
    for guess in case.kit.folder.job.guess:
        if guess.setup not in ("", case.kit.setup.name) or not guess.low or not guess.key.startswith("job.toml: setup.blank."):
            continue
        for face in guess.faces:
            axis, upper = divmod(BOX_FACES.index(face), 2)
            (high if upper else low)[axis] = np.inf if upper else -np.inf
        if guess.key.endswith(".corner"):
            now = np.array(case.kit.setup.blank.corner)
            low += np.minimum(np.array(guess.low) - now, 0.0)
            high += np.maximum(np.array(guess.high) - now, 0.0)
    return low, high


def _beside(case: ProveCase, rows: NDArray[np.intp], number: int, far: float) -> Finding:
    axis, upper = divmod(number, 2)
    edge = f"{'XY'[axis]}{case.length(float(case.kit.extent[upper][axis])).split()[0]}"
    text = f"{case.tool_name(int(rows[0]))} is fed {case.length(far, places=1)} beside the blank"
    text += f", whose {_SIDES[number]} side stands at {edge}"
    remedy = "compare the blank's size and where zero lies on it with the program: one of them belongs to another part"
    return case.finding(META.slug, META.signal, int(rows[0]), text, value=far, remedy=remedy)


def _below(case: ProveCase, rows: NDArray[np.intp], under: NDArray[np.float64]) -> Finding:
    drafted = case.kit.folder.job.guessed(case.kit.setup.name, "job.toml: setup.holding")
    deep, bottom = float(under[rows].max()), case.length(float(case.kit.extent[0][2])).split()[0]
    text = f"{case.tool_name(int(rows[0]))} is fed {case.length(deep, places=1)} below the underside of the blank"
    text += f", which lies at Z{bottom}"
    text += ", into whatever holds it there" if drafted else ""
    remedy = "compare the depth with the blank's thickness and with Z zero; leave that much room below it if it is meant so"
    return case.finding(META.slug, Signal.WARNING if drafted else META.signal, int(rows[0]), text, value=deep, remedy=remedy)
