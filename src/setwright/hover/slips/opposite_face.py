"""The opposite face of the part is taken for the zero.

What happens
    The stop and the program are on the left, the finder was set on the right; the same at the back and in front.

What it changes
    The zero is one blank's width off.

How often
    About once in a thousand edges.

Where it can occur
    Wherever X or Y of the zero comes from one flat face of the part.

What gives it away
    A look: the tip stands over the wrong end. The register differs by the blank's width from the one before.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta

__all__ = ["META", "occurrences"]

META = SlipMeta("opposite-face", 0.001, "an edge found", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One for each of X and Y found from one flat face."""
    size = case.kit.extent[1] - case.kit.extent[0]
    for face in case.datum:
        if face.kind == "flat":
            letter = "XY"[face.axis]
            off = -face.side * float(size[face.axis])
            name = f"{case.kit.setup.offset} {letter}"
            words = f"{name} is off by the part's size, {case.length(abs(off))}: the other face was touched"
            yield Occurrence(META.slug, words, META.rate, name, f"touch “{face.name}” and type it anew",
                             case.offset_off(case.along(face.axis, off)), off)  # fmt: skip
