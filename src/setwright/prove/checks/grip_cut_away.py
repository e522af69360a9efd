"""The program cuts away metal that the jaws press on.

What silence proves
    Of the blank's face against each jaw of the vise no more than a fifth is cut away.

Why it matters
    The vise was closed on that metal: with it gone the part sits loose, tips or springs out.

How it decides
    The ray ends that lie on a jaw's face before and after the program, each counting for one cell of the rays.

Blind spots
    Metal taken out between the jaws that leaves thin walls under clamping force. Holding that is no vise.

What to do
    Grip where the program does not cut, or cut less deep; turn the part over for the rest.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_area, format_share
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import ProveCase

META = Meta("grip-cut-away", Signal.WARNING)
MOST_LOST = 0.2


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a jaw."""
    for loss in case.grip_losses:
        if loss.share > MOST_LOST:
            left = format_area(loss.after_mm2, case.kit.folder.units)
            text = f"{format_share(loss.share)} of the face against the {loss.jaw} is cut away, {left} are left"
            remedy = "grip where nothing is cut away, or cut less deep here and turn the part over for the rest"
            if loss.row >= 0:
                yield case.finding(META.slug, META.signal, loss.row, text, body=loss.jaw, remedy=remedy)
            else:
                yield Finding(slug=META.slug, signal=META.signal, text=text, body=loss.jaw, remedy=remedy)
