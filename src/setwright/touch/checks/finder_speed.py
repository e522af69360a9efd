"""A finder turned faster than the machine's set-up mode allows, or is not safe at the speed the program calls.

What silence proves
    No contact was made faster than the set-up mode of the machine allows, and the program calls no speed that a finder used here
    would not stand.

Why it matters
    A finder left in the spindle when the program starts flies apart; a spindle faster than set-up mode means that the guard was
    open without its protection.

How it decides
    The speed written at each contact is compared with the machine's set-up mode; the highest S word of the programs outside
    comments with the rated speed of each finder in use (a finder that must stand still is rated at none).

Blind spots
    Contacts without a speed; speeds that a program works out from variables.

What to do
    Take the finder out of the spindle before the program runs; touch at a speed the set-up mode allows.

Source
    The maker's rating of the finder; ISO 16090-1 for set-up mode.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from setwright.kit.instrument import find_instrument
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("finder-speed", Signal.CAUTION)

_COMMENT = re.compile(rb"\([^)\r\n]*(?:\)|(?=[\r\n])|$)|;[^\r\n]*")
_CALLED = re.compile(rb"(?<![A-Z#\[])S\s*(\d+(?:\.\d*)?)")
_IN_SPINDLE = ("mechanical edge finder", "electronic finder", "3D indicator", "touch-trigger probe", "coaxial indicator",
               "test indicator")  # fmt: skip


def run(case: TouchCase) -> Iterator[Finding]:
    """One finding for contacts that were too fast; one a finder that the program would overspeed."""
    kit = case.setting.kit
    limit = kit.machine.setup_mode.max_speed
    made = [(number, contact.speed or 0.0) for number, contact in enumerate(case.setting.contacts)]
    fast = [(number, speed) for number, speed in made if limit is not None and speed > limit]
    if fast and limit is not None:
        names, most = ", ".join(str(number + 1) for number, _ in fast), max(speed for _, speed in fast)
        text = f"contact {names} ran at up to {most:.0f} rpm; set-up mode of {kit.machine.name} allows {limit:.0f} rpm"
        yield case.finding(META.slug, Signal.WARNING, text, remedy="close the guard, or touch at a lower speed",
                           value=most, unit="rpm")  # fmt: skip
    fastest = max((float(word) for text in kit.texts.values() for word in
                   _CALLED.findall(_COMMENT.sub(b" ", text.upper()))), default=0.0)  # fmt: skip
    for name in sorted({contact.with_ for contact in case.setting.contacts}):
        finder = find_instrument(kit.folder.job.shop.instruments, name)
        rated = 0.0 if finder.stands_still else finder.rated_speed
        if finder.kind in _IN_SPINDLE and rated is not None and fastest > rated:
            stands = f"is rated {rated:.0f} rpm" if rated else "must stand still"
            text = f"the program calls {fastest:.0f} rpm, and the {finder.name} {stands}"
            yield case.finding(META.slug, Signal.NOTICE, text, remedy="take it out of the spindle before the program runs",
                               value=fastest, unit="rpm")  # fmt: skip
