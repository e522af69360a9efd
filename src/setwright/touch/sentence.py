"""The answer of Touch in one sentence."""

from __future__ import annotations

from setwright.touch.doubts import Outlier
from setwright.touch.station import TouchResult

__all__ = ["sentence"]

_PROBABLE = 0.5


def sentence(result: TouchResult, units: str = "mm") -> str:
    """What matters most: an axis nothing fixes, else a slip or a reading that does not fit, else how much there is to type.

    Figures in `units`.
    """
    if result.open_axes:
        open_one = result.determined[result.open_axes[0]].text
        return f"{open_one[:1].upper()}{open_one[1:]}."
    slip = result.diagnosis.ranked[0] if result.diagnosis.ranked else None
    if slip is not None and slip.probability > _PROBABLE:
        return f"Something does not fit: {slip.words}."
    if result.outliers:
        worst: Outlier = max(result.outliers, key=lambda one: abs(one.w))
        return f"One reading does not fit: {worst.text(units)}."
    count = len(result.keystrokes(units))
    return f"The readings agree. {'One number' if count == 1 else f'{count} numbers'} to type, and to read back."
