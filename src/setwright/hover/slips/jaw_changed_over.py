"""The vise stands the other way round: fixed jaw and moving jaw are exchanged.

What happens
    The vise was turned about for another job; the part sits against the other jaw.

What it changes
    Vise body and jaws lie on the other side; the part's place follows its size.

How often
    Once in a thousand setups.

Where it can occur
    Setups in a vise.

What gives it away
    A look.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.geometry.bodies import BodyRole
from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World, set_up_as
from setwright.kit.placement import Placement
from setwright.kit.station import Kit
from setwright.model.holding import Against

__all__ = ["META", "occurrences"]

META = SlipMeta("jaw-changed-over", 0.001, "a setup", JUDGEMENT)


_OTHER = {"back": "front", "front": "back", "left": "right", "right": "left"}


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, in a vise; the part lies in the same place, its zero was set so."""
    setup = case.kit.setup
    jaw = setup.holding.fixed_jaw
    against = jaw.against if jaw is not None else "back"
    if case.in_vise and against in _OTHER:
        other = (jaw or Against(against="back")).model_copy(update={"against": _OTHER[against]})
        turned = setup.model_copy(update={"holding": setup.holding.model_copy(update={"fixed_jaw": other})})

        def change(world: World) -> World:
            there = set_up_as(world, turned)
            return replace(there, truth=world.truth, kit=replace(there.kit, placement=_same_place(there.kit, world.kit)))

        words = f"the fixed jaw is at the {_OTHER[against]} instead of the {against}"
        yield Occurrence(META.slug, words, META.rate, "vise", "turn the vise about and set the zero anew", change, rebuilds=True)


def _same_place(there: Kit, before: Kit) -> Placement:
    """The bodies of one kit with the part where it is in the other; the table stays in the machine."""
    table = [body for body in before.placement.bodies if body.role is BodyRole.TABLE]
    rest = [body for body in there.placement.bodies if body.role is not BodyRole.TABLE]
    return replace(before.placement, bodies=(*rest, *table))
