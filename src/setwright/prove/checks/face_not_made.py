"""A face that the program should make is not there, is still the blank's skin, or lies in the air.

What silence proves
    Of every face stated as made by the program at least 98 % of the area lies within the blank's box and is cut by a motion, or
    gone. On part of a program it proves nothing.

Why it matters
    The tool passes over a blank that is too small, or the operation is missing: the face keeps its saw marks, and sizes measured
    from it are the blank's.

How it decides
    Every ray through the stated extent of a face stands for a piece of its area. On the pieces where no motion made the ray's end
    within 2 mm of the stated place, or where metal stands higher than that, nothing cuts the face; how far the blank's skin lies
    behind the stated plane says how much is missing. What is stated to lie beyond the box about the blank is not made either. Where
    no ray finds the face at all, metal that stands in front of it or is missing behind it, on more than 2 % of its area, says that
    it is not made; else it is undecided.

Blind spots
    Faces that are not stated; a strip narrower than the rays are apart. Metal that is gone from part of a face is for
    requirement-missed to tell.

What to do
    Check the blank's size and corner and where Z zero is; if the face is there before the program, state made = false.

Source
    Least squares on ray ends: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_share
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal, State
from setwright.prove.case import WHOLE_SHARE, ProveCase

META = Meta("face-not-made", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a face that is not cut, or cannot be found."""
    setup = case.kit.setup.name
    for face in case.unmade if case.whole else ():
        part = "" if face.share > WHOLE_SHARE else f" on {format_share(face.share)} of its area"
        if face.lost > 1.0 - WHOLE_SHARE:
            text = f"face “{face.name}” is not made: {face.why}"
            remedy = "look for the line that should cut it: left out, at another place or depth; or correct where it is stated"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=remedy)
        elif face.why:
            text = f"face “{face.name}” could not be found where it should be made: {face.why}"
            remedy = "check where the face is stated to lie; a face that is not found is not passed"
            yield Finding(slug=META.slug, signal=Signal.CAUTION, state=State.UNDECIDED, setup=setup, text=text, remedy=remedy)
        elif face.missing_mm > SAME_PLACE_MM:
            text = f"the blank is {case.length(face.missing_mm)} too small for face “{face.name}”{part}: the cut goes through air"
            text += f", and {face.beyond}" if face.beyond else ""
            remedy = "check the blank's size and corner, and where zero is on it"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=remedy, value=face.missing_mm,
                          unit="mm")  # fmt: skip
        elif face.beyond:
            text = f"face “{face.name}” is not made{part}: {face.beyond}"
            text += ", and elsewhere no line cuts it" if face.uncut > 1.0 - WHOLE_SHARE else ""
            remedy = "check the blank's size and corner and where zero is on it; or correct where the face is stated"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=remedy)
        else:
            text = f"no line cuts face “{face.name}”{part}: what is there is the blank's own metal"
            remedy = "add the cut, or state made = false if the face is there before the program"
            yield Finding(slug=META.slug, signal=META.signal, setup=setup, text=text, remedy=remedy)
