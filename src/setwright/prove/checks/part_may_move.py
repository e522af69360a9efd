"""The force of a cut may move the part in its vise.

What silence proves
    Of the mills that are modelled none pushes with more than friction between both jaws and the part bears, with a safety of
    two and a half, for the clamping force and friction that are stated or taken.

Why it matters
    A part that moves is scrap; one that comes out of the jaws breaks the tool and can be thrown. It can kill.

How it decides
    The force across the tool at its worst angle of the turn, against 2 mu F / 2.5: F the stated clamping force, or from the
    torque at the handle F = 2 pi eta T / p with an efficiency of 0.15 to 0.35; mu the stated friction, else 0.10 (0.06 to 0.15)
    of smooth jaws. WARNING where the likely force is beyond the likely hold, CAUTION where the least clamping and friction do
    not bear the greatest force even once. Error bound: a factor of two between a clean and a dry screw alone: an estimate only.

Blind spots
    Lift of the moving jaw, thin walls, soft parts, a part held by less than its own width, moments about the jaw's edge,
    interrupted cuts, clamps on a plate. A stop at the end of the part bears more than friction does; it is not counted.

What to do
    Clamp harder or on more height, put a stop in the way of the force, take less width or depth. The vise maker's manual, the
    shop's rules and a qualified person's judgement come first.

Source
    Coulomb friction; coefficients of two operating manuals of chucks.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.load import LoadCase, held_by

META = Meta("part-may-move", Signal.WARNING, needs=("load",))


def run(case: LoadCase) -> Iterator[Finding]:
    """One finding, for the tool that pushes most."""
    held = held_by(case.load)
    pushing = max(case.load.tools, key=lambda one: one.most_force, default=None)
    if held is None or pushing is None or not pushing.force.likely:
        return
    likely, least = held
    most = pushing.most_force * pushing.force.high / pushing.force.likely
    surely = pushing.most_force > likely
    if not surely and most <= least:
        return
    what = "pushes the part with about" if surely else "may push the part with up to"
    force, hold = (pushing.most_force, likely) if surely else (most, least)
    safe = ", a safety of 2.5 included" if surely else " at the least clamping and friction"
    text = (f"{case.tool_name(pushing.force_row)} {what} {_newtons(force)}, and friction in the jaws holds {_newtons(hold)}{safe}; "
            "a model's figures")  # fmt: skip
    yield case.finding(META.slug, META.signal if surely else Signal.CAUTION, pushing.force_row, text,
                       remedy="clamp harder or higher, put a stop in its way, or take less at once")  # fmt: skip


def _newtons(force: float) -> str:
    return f"{force / 1000.0:.1f} kN" if force >= 1000.0 else f"{force:.0f} N"
