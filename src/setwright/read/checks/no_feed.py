"""A tool is fed before any feed is given, with F0, or with a feed a turn while the spindle stands.

What silence proves
    Every feed motion has a feed above 0 of this program's own.

Why it matters
    The control stops there with an alarm, or goes on with the feed that the program before it left.

How it decides
    The feed in force in every feed motion; exact.

Blind spots
    A feed that is far too large or too small is a matter of `speed-or-feed-far-off`.

What to do
    Write F in the block of the first feed motion.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("no-feed", Signal.WARNING)


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding a reason, at the first motion it stops."""
    path = case.path
    a_turn = np.array([state.feed_mode == "per revolution" for state in path.states])[path.state]
    without = case.feeding & ~(path.feed > 0.0)
    never = without & np.isnan(path.feed)
    standing = without & a_turn & ~never
    for rows, what, remedy in (
        (never, "there is no F before the first cutting move", "write F in this block: the control stops here or uses an old feed"),
        (standing, "the feed is per turn (G95) and the spindle stands: nothing moves", "start the spindle before, or write G94"),
        (without & ~never & ~standing, "F0 is in force in a cutting move", "write the feed that is meant"),
    ):
        if rows.any():
            row = int(np.flatnonzero(rows)[0])
            count = int(rows.sum())
            more = f" ({count} moves in all)" if count > 1 else ""
            yield case.finding(META.slug, META.signal, case.row_span(row), f"{what}{more}", tool=int(case.station[row]),
                               remedy=remedy)  # fmt: skip
