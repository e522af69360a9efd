"""A requirement of the drawing does not come out on the simulated part.

What silence proves
    Every requirement that could be measured on the simulated part lies within its limits, at every place of its faces where a ray
    ends, for the offsets and tool sizes of this proof; and at least 98 % of the stated area of its faces is there. It says nothing
    of deflection, wear and heat.

Why it matters
    A part that is wrong in the computer is wrong on the machine. A bore whose upper millimetre is right does not take its bearing.

How it decides
    Every ray through the stated extent of a face stands for a piece of its area. Where it ends within 2 mm of the stated place on
    metal that faces as stated, it says at which level the face is there. The size is fitted to all these ends; least and greatest
    are what the places give that differ most: of a diameter twice the distance from the fitted axis, of a position the axis of
    slices of the depth, of a distance the levels of both faces, ray by ray where the same rays meet both. One of the three outside
    the limits by more than the bound is missed. So is a face of which more than 2 % stands proud or is cut away by more than 2 mm,
    be it the whole face. One whose bound reaches across a limit, or that leans on more than 2 % of its area, is undecided. The
    bound is that of round-off and of chords that stand for arcs.

    What other stated faces take out of a face is no part of it: a bore that goes into the metal behind it, a boss that stands on
    it, a smaller face that looks the same way from another level. What else the drawing takes out is said by open = [...] at the
    face, a part of a circle by arc = [from, to].

Blind spots
    Deflection, run-out, wear, heat; faces outside the extent stated for them; a strip of a face narrower than the rays are apart.

What to do
    Compare the line that cuts the face with the drawing; check radius registers and the nominal offsets. Where the drawing takes
    something out of the face, or the face is stated larger than it is drawn, correct its extent or state open.

Source
    Least squares on ray ends: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_size
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal, State
from setwright.prove.case import WHOLE_SHARE, Feature, ProveCase

META = Meta("requirement-missed", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a requirement that is missed, or cannot be decided."""
    setup = case.kit.setup.name
    for feature in case.features:
        if feature.simulated is None and feature.state == "out":
            text = f"“{feature.name}” does not come out: {feature.why}"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=_remedy(feature))
        elif feature.simulated is None or feature.deviation is None:
            text = f"“{feature.name}” could not be measured: {feature.why}"
            remedy = "check where the face is stated to lie; an unmeasured requirement is not passed"
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, setup=setup, text=text, remedy=remedy)
        elif feature.state == "undecided":
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, setup=setup,
                          text=f"“{feature.name}” comes out at {_open(feature, case)}", remedy=_remedy(feature))  # fmt: skip
        elif feature.state == "out":
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=f"“{feature.name}” {_missed(feature, case)}",
                          remedy=_remedy(feature), value=feature.deviation, unit=feature.unit)  # fmt: skip


def _open(feature: Feature, case: ProveCase) -> str:
    """Why it cannot be told."""
    size = _shown(feature, feature.simulated or 0.0, case)
    if feature.found < WHOLE_SHARE:
        return f"{size}, but {feature.why}"
    return f"{size.split()[0]} ± {_shown(feature, feature.bound_mm, case)}: too near its limit to tell"


def _missed(feature: Feature, case: ProveCase) -> str:
    size, telling, beyond = feature.simulated or 0.0, feature.telling or 0.0, feature.beyond_mm or 0.0
    if beyond <= max(feature.bound_mm, 0.0):
        return f"comes out at {_shown(feature, size, case)}, but {feature.why}"
    way = "below" if telling < feature.size.nominal + feature.size.lower else "above"
    where = ""
    if feature.uneven:
        where = f"{_shown(feature, size, case)} as a whole, but at its {'least' if telling < size else 'greatest'} at "
    why = f": {feature.why}" if feature.why else ""
    return (f"comes out at {where}{_shown(feature, telling, case)}, {_shown(feature, beyond, case)} {way} the limits "
            f"{_limits(feature, case)}{why}")  # fmt: skip


def _remedy(feature: Feature) -> str:
    if feature.found < WHOLE_SHARE:
        return ("compare what cuts the face with the drawing; if it is drawn smaller, or something is taken out of it, state its "
                "extent so, or open = [...] at the face")  # fmt: skip
    if feature.state == "undecided":
        return "give a finer --pitch; if that changes nothing, see whether all of its face is cut, and by one tool"
    return "compare the line that cuts it with the drawing; check the tool's registers"


def _shown(feature: Feature, value: float, case: ProveCase) -> str:
    return f"{value:.3f}°" if feature.unit == "deg" else case.length(value)


def _limits(feature: Feature, case: ProveCase) -> str:
    size = feature.size
    if feature.unit == "deg":
        return f"{size.nominal:g} {size.upper:+g}/{size.lower:+g}"
    units = case.kit.folder.units
    nominal, upper, lower = (format_size(value + 0.0, units).split()[0] for value in (size.nominal, size.upper, size.lower))
    return f"{nominal} {_signed(upper)}/{_signed(lower)}"


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"
