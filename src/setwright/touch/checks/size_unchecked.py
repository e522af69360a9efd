"""The size of the tip, or of what stood under it, is checked by no reading.

What silence proves
    Readings that bear on a size (both sides of a width or bore that is known, two tools over one setter) agree with what was
    written.

Why it matters
    A finder of 10 mm that is really 8 gives an offset wrong by a whole millimetre, as sharp as a right one.

How it decides
    The size enters as an unknown with its stated uncertainty, wide where nobody stated one. It is unchecked when the solution
    follows the statement and not the readings, and the numbers to type follow it.

Blind spots
    A part that is off by as much as the tip.

What to do
    Touch both sides of a ring, a bore or a width you know, once: the size then shows in the readings.

Source
    JCGM 100, 4.3: what is stated, not measured, has its own uncertainty.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_length
from setwright.kit.instrument import find_instrument
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("size-unchecked", Signal.NOTICE)

_UNMOVED = 0.9
_WORTH_SAYING_MM = 0.01


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding an instrument whose tip bears on X or Y unchecked; a caution where nobody measured it."""
    solution, shop = case.solution, case.setting.kit.folder.job.shop.instruments
    by_name = {found.name: found for found in (find_instrument(shop, contact.with_) for contact in case.setting.contacts)}
    own = [entry for entry in case.entries if entry.register == case.setting.kit.setup.offset and entry.axis in ("X", "Y")]
    for j, unknown in enumerate(solution.unknowns):
        if not unknown.name.startswith("tip of ") or unknown.known is None or solution.fit.prior_share[j] < _UNMOVED:
            continue
        instrument = by_name[unknown.name.removeprefix("tip of ")]
        bears = {e.axis: sum(c.share for c in e.estimate.contributions if c.source == unknown.source) for e in own}
        named = [axis for axis, share in bears.items() if share > 0.0]
        if not named or instrument.tip_diameter == 0.0:
            continue
        guess = instrument.tip_uncertainty <= 0.0 or instrument.name in case.setting.basis.guessed
        size, wide = format_length(instrument.tip_diameter, case.units), format_length(2.0 * unknown.known.standard, case.units)
        by = f"; nobody measured it, ± {wide} is taken" if guess and unknown.known.standard > _WORTH_SAYING_MM else ""
        text = f"the tip's size itself is unchecked: the {size} of the {instrument.name} go into {' and '.join(named)}{by}"
        yield case.finding(META.slug, Signal.CAUTION if guess else META.signal, text, remedy="touch both sides of a width you know",
                           value=max(bears.values()))  # fmt: skip
