"""Z is set on the wrong face.

What happens
    The tip is brought down on the jaw or the clamp beside the part, or the program's zero is at the bottom and Z was set on the
    top, or the other way round.

What it changes
    Z is off by the height between the two faces: by the blank's height, or from its top to the top of the holding.

How often
    Once or twice in a thousand setups.

Where it can occur
    Every setup.

What gives it away
    The tip brought over the part at a round height, against a rule or block.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.geometry.bodies import BodyRole
from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split

__all__ = ["META", "occurrences"]

META = SlipMeta("wrong-face-for-height", 0.002, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """The blank's other end; the top of the holding."""
    low, high = case.kit.extent
    height = float(high[2] - low[2])
    tops = [float(body.bounds()[1][2]) for body in case.kit.placement.bodies if body.role is BodyRole.HOLDING]
    lower = float(high[2]) - max(tops, default=float(low[2]))
    ways = [(-height, "the face under the part was set as its top"), (height, "its top was set as the face under the part")]
    if abs(lower) > 0.0 and tops:
        ways.append((-lower, "it was set on the highest place of the holding instead of the top"))
    for by, why in ways:
        words = f"{case.height_register} is {case.length(abs(by))} too {'low' if by < 0 else 'high'}: {why}"
        yield Occurrence(META.slug, words, split(META.rate, len(ways)), case.height_register,
                         f"touch “{case.kit.setup.datum.z.face}” and type it anew", case.height_off(by), by)  # fmt: skip
