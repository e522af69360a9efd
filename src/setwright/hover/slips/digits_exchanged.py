"""Two neighbouring digits of a number are exchanged.

What happens
    304.86 is written down, 340.86 is typed.

What it changes
    The register is off by nine times some power of ten.

How often
    Some times in a thousand numbers.

Where it can occur
    Every number of five or six digits that is copied: work offsets and tool lengths. Of the ways to exchange two digits the
    largest shift and the least that reaches a tenth of a millimetre are followed; each stands for half of all.

What gives it away
    The register read back digit by digit; a difference that nine divides is the mark of it.

Source
    Orders of magnitude for copying, reading and reckoning: NUREG/CR-1278, chapter 20; they only weigh one slip against another.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import PRIOR, Occurrence, SlipCase, SlipMeta, split
from setwright.touch.mistakes import RATES, transposed

__all__ = ["META", "occurrences"]

META = SlipMeta("digits-exchanged", RATES["digits-exchanged"], "a number typed", PRIOR)


_LEAST_MM = 0.1


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """For every number the largest and the least telling exchange."""
    for typed in (*case.main_offset, *case.lengths):
        held = [float(text) * typed.per_unit() for text in transposed(typed.text())]
        telling = [value for value in held if abs(value - typed.value) >= _LEAST_MM]
        telling.sort(key=typed.off)
        chosen = list(dict.fromkeys([*telling[:1], *telling[-1:]]))
        for value in chosen:
            words = f"{typed.name} holds {typed.text(value)} for {typed.text()} {typed.unit}: two digits are exchanged"
            yield Occurrence(META.slug, words, split(META.rate, len(chosen)), typed.name, typed.again(), typed.holding(value),
                             value - typed.value)  # fmt: skip
