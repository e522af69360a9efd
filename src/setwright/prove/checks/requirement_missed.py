"""A requirement of the drawing does not come out on the simulated part.

What silence proves
    Every requirement that could be measured on the simulated part lies within its limits, for the offsets and tool sizes of this
    proof. It says nothing of deflection, wear and heat.

Why it matters
    A part that is wrong in the computer is wrong on the machine.

How it decides
    The feature is fitted to exact ray ends on the simulated part, with its own error bound. Outside the limits by more than the
    bound is missed; one whose bound reaches across a limit, or whose face is not there, is undecided.

Blind spots
    Deflection, run-out, wear, heat; faces outside the region stated for them.

What to do
    Compare the line that cuts the face with the drawing; check radius registers and the nominal offsets.

Source
    Least squares on ray ends: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal, State
from setwright.prove.case import ProveCase

META = Meta("requirement-missed", Signal.WARNING)
_UNIT = {"mm": "mm", "deg": "°"}


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a requirement that is missed, or cannot be decided."""
    setup = case.kit.setup.name
    for feature in case.features:
        if feature.simulated is None or feature.deviation is None:
            text = f"“{feature.name}” could not be measured: {feature.why}"
            remedy = "check where the face is stated to lie; an unmeasured requirement is not passed"
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, setup=setup, text=text, remedy=remedy)
            continue
        if feature.state == "undecided":
            unit = _UNIT[feature.unit]
            out = f"{feature.simulated:.3f} ± {feature.bound_mm:.3f} {unit}"
            text = f"“{feature.name}” comes out at {out}: too near its limit to tell"
            remedy = "give a finer --pitch; if that changes nothing, see whether all of its face is cut, and by one tool"
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, setup=setup, text=text, remedy=remedy)
        elif feature.state == "out" and feature.beyond_mm is not None:
            limits = f"{feature.size.nominal:g} {feature.size.upper:+g}/{feature.size.lower:+g}"
            way = "below" if feature.deviation < feature.size.lower else "above"
            unit = _UNIT[feature.unit]
            out = f"{feature.simulated:.3f} {unit}, {feature.beyond_mm:.3f} {unit} {way} the limits {limits}"
            text = f"“{feature.name}” comes out at {out}"
            remedy = "compare the line that cuts it with the drawing; check the tool's registers"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=remedy, value=feature.deviation,
                          unit=feature.unit)  # fmt: skip
