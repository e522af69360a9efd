"""From the study of slips to the suspects of the checks: which mistakes spoil the sheet too, and which the readings show
themselves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.estimate.outliers import CRITICAL, SHIFT_FOUND, check
from setwright.hover.matrix import Suspect
from setwright.hover.study import StudiedSlip
from setwright.program.registers import WorkOffset
from setwright.prove.reading import held_for
from setwright.slips.world import World
from setwright.touch.station import TouchResult

__all__ = ["known_from_readings", "suspects_of"]

_PART = 0.02
_AXES = ("x", "y", "z")


def suspects_of(slips: Sequence[StudiedSlip]) -> tuple[Suspect, ...]:
    """Every studied slip as the checks see it, in the same order."""
    return tuple(
        Suspect(
            slip.occurrence.slug, slip.occurrence.words, slip.occurrence.rate, slip.world, slip.consequence.outcome,
            misread=slip.occurrence.misread or _follows(slip.world),
            lost_row=slip.consequence.lost_row, lost_tool=slip.consequence.tool,
            remedy=slip.occurrence.remedy, hidden=slip.occurrence.hidden, occurrence=slip.occurrence,
        )
        for slip in slips
    )  # fmt: skip


def _follows(world: World) -> bool:
    """Whether the control holds just what fits this world: part or tool was wrong before it was measured, and the sheet follows."""
    fitting, held = held_for(world.kit, world.truth), world.registers
    return all(_same(getattr(fitting.registers, table), getattr(held, table)) for table in ("offsets", "lengths", "radii"))


def _same(fitting: Mapping[Any, Any], held: Mapping[Any, Any]) -> bool:
    """Offsets or numbers alike to the round-off of reckoning them again."""
    def values(entry: Any) -> list[float]:
        return [entry.x, entry.y, entry.z, entry.rotation] if isinstance(entry, WorkOffset) else [entry]

    return fitting.keys() == held.keys() and all(
        abs(a - b) <= SAME_PLACE_MM for key in fitting for a, b in zip(values(fitting[key]), values(held[key]), strict=True)
    )


def known_from_readings(slips: Sequence[StudiedSlip], touched: TouchResult | None, offset: str) -> NDArray[np.float64]:
    """(n,) the probability that the touch-off's own readings have contradicted each slip.

    Only for slips of one contact. An error of the offset by δ along an axis comes from an error e_i = δ/g_i of contact i, g_i being
    how far the offset follows that contact. The standardised residual of contact i is then normal with mean 4.132·e_i/m_i and
    standard deviation 1, m_i being the error that is found four times in five (Baarda 1968), and is called a blunder beyond 3.291.
    The contact that hides it best counts.
    """
    known = np.zeros(len(slips))
    if touched is None:
        return known
    solution = touched.solution
    looked = check(solution.fit)
    for i, slip in enumerate(slips):
        axis = slip.occurrence.subject.removeprefix(f"{offset} ").lower()
        row = solution.unknowns.row(axis) if axis in _AXES else None
        if not slip.occurrence.one_contact or row is None or slip.occurrence.size_mm is None:
            continue
        gain = np.abs(solution.fit.gain[row])
        part = gain > _PART * gain.max(initial=0.0)
        if part.any():
            mean = SHIFT_FOUND * abs(slip.occurrence.size_mm) / gain[part] / looked.least_found[part]
            known[i] = float((ndtr(mean - CRITICAL) + ndtr(-mean - CRITICAL)).min())
    return known
