"""What a proof should take as true: the readings where they fix the place, else what the kit expects, and why."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.kit.registers import Truth, nominal_truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.touch.station import TouchResult, Wanted, touch

__all__ = ["Measured", "truth_of"]


@dataclass(frozen=True, slots=True)
class Measured:
    """The truth, the touch-off it comes from (None without readings), and what is to be said of readings that do not suffice."""

    truth: Truth
    result: TouchResult | None
    findings: tuple[Finding, ...] = ()


def truth_of(kit: Kit, *, nominal: bool = False) -> Measured:
    """The truth for a proof of this setup; with `nominal` as the kit expects it, whatever was read."""
    name = kit.setup.name
    if nominal or not any(contact.setup == name for contact in kit.folder.job.readings.contact):
        return Measured(nominal_truth(kit), None)
    result = touch(kit, wanted=Wanted.AS_FAR)
    if not result.open_axes:
        return Measured(result.truth(), result)
    axes = ", ".join(axis.upper() for axis in result.open_axes)
    text = f"the readings do not fix {axes}; proved on the expected place instead"
    finding = Finding(slug="readings-incomplete", signal=Signal.CAUTION, setup=name, text=text,
                      remedy="see at station Touch what is missing")  # fmt: skip
    return Measured(nominal_truth(kit), result, (finding,))
