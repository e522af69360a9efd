"""What a proof should take as true: the readings where they fix the place, else what the kit expects, and why."""

from __future__ import annotations

from dataclasses import dataclass, replace

from setwright.kit.registers import Truth, nominal_truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.touch.checks import axis_not_found
from setwright.touch.station import TouchResult, Wanted, touch

__all__ = ["Measured", "truth_of"]


@dataclass(frozen=True, slots=True)
class Measured:
    """The truth, with what is in doubt about it, and the touch-off it comes from (None without readings)."""

    truth: Truth
    result: TouchResult | None


def truth_of(kit: Kit, *, nominal: bool = False) -> Measured:
    """The truth for a proof of this setup; with `nominal` as the kit expects it, whatever was read."""
    name = kit.setup.name
    if nominal or not any(contact.setup == name for contact in kit.folder.job.readings.contact):
        return Measured(nominal_truth(kit), None)
    result = touch(kit, wanted=Wanted.AS_FAR, units=kit.folder.units)
    if not result.open_axes:
        return Measured(result.truth(), result)
    axes = ", ".join(axis.upper() for axis in result.open_axes)
    text = f"the readings do not fix {axes}; proved on the expected place instead"
    aside = Finding(slug="readings-incomplete", signal=Signal.CAUTION, setup=name, text=text,
                    remedy="see at station Touch what is missing")  # fmt: skip
    others = (finding for finding in result.findings if finding.slug != axis_not_found.META.slug)
    return Measured(replace(nominal_truth(kit), doubts=(aside, *others)), result)
