"""A face is cut on the blank as stated, and may stay raw on the blank as it comes: it may end lower than the cut.

What silence proves
    Every flat face stated as made, and every side of the blank that is cut on all of its area, is cut at least as deep as the
    blank may end lower there, on 98 % of its area; or face-not-made says that it is not cut at all.

Why it matters
    A saw leaves one blank longer and the next one shorter. On the short one the cutter passes through air and the face keeps its
    saw marks, and no size taken from it holds.

How it decides
    Each side of the blank is taken to lie lower by what the blank varies along that axis, and by twice the combined standard
    uncertainty of the measured place, of the angle times the distance from the datum, of tool lengths and radii, each in its own
    direction. A face from which zero is taken lies where it was touched: there the blank does not vary. Where less than that was
    cut off a ray's skin, the face may stay raw.

Blind spots
    Round and leaning faces. A blank whose variation is not stated. Of unstated faces those that are meant to be cut on part of a
    side only.

What to do
    Order the blank larger, set it so that more is cut off this side, or measure this blank and state what it varies.

Source
    Combined and expanded uncertainty: JCGM 100:2008, 5.1.2 and 6.2.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_share
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, WHOLE_SHARE, ProveCase

META = Meta("may-stay-raw", Signal.WARNING)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a face."""
    for face in case.raw if case.whole else ():
        part = "" if face.share > WHOLE_SHARE else f" on {format_share(face.share)} of its area"
        named = face.name if face.name.endswith(" of the blank") else f"face “{face.name}”"
        text = f"{named} may stay raw{part}: the blank may end {case.length(face.lower_mm)} below the cut"
        remedy = "order the blank larger or cut more off this side; or measure this blank and state what it varies"
        if face.row < 0:
            yield Finding(slug=META.slug, signal=META.signal, setup=case.kit.setup.name, text=text, remedy=remedy, body=BLANK,
                          value=face.lower_mm, unit="mm")  # fmt: skip
        else:
            yield case.finding(META.slug, META.signal, face.row, text, remedy=remedy, value=face.lower_mm)
