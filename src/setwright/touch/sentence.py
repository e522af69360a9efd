"""The answer of Touch in one sentence."""

from __future__ import annotations

from setwright.slips.catalogue import UNLISTED
from setwright.touch.doubts import Outlier
from setwright.touch.station import TouchResult

__all__ = ["sentence"]

_PROBABLE = 0.5
_WORTH_SAYING = 0.05


def sentence(result: TouchResult, units: str = "mm") -> str:
    """What matters most: an axis nothing fixes, else a slip or a reading that does not fit, else how much there is to type.

    Figures in `units`.
    """
    if result.open_axes:
        open_one = result.determined[result.open_axes[0]].text
        return f"{open_one[:1].upper()}{open_one[1:]}."
    found = result.diagnosis
    if found.none < _PROBABLE:
        answers = [(one.probability, one.words) for one in found.ranked] + [(found.unlisted, UNLISTED)]
        (_, first), *others = sorted(answers, key=lambda one: -one[0])
        rivals = [words for share, words in others if share >= _WORTH_SAYING][:1]
        if found.settled or not rivals:
            return f"Something does not fit: {first}."
        apart = f" To tell them apart {found.apart}." if found.apart else ""
        return f"Something does not fit: {first}, or {rivals[0]}.{apart}"
    if result.outliers:
        worst: Outlier = max(result.outliers, key=lambda one: abs(one.w))
        return f"One reading does not fit: {worst.text(units)}."
    count = len(result.keystrokes(units))
    return f"The readings agree. {'One number' if count == 1 else f'{count} numbers'} to type, and to read back."
