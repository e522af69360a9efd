"""A clamp or strap stands higher than the sheet says.

What happens
    A longer stud, a second nut, a thicker strap: whatever was at hand.

What it changes
    Everything of the holding that stands above the part is higher; here by 10 mm.

How often
    Some times in a hundred setups with loose clamps.

Where it can occur
    Setups with clamps, straps, studs above the part.

What gives it away
    The height over the part, by a rule.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.geometry.bodies import Body, BodyRole, BoxShape, CylinderShape
from setwright.geometry.frames import shifted
from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("clamp-higher", 0.01, "a setup", JUDGEMENT)


_HIGHER_MM = 10.0


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """One, where anything of the holding stands above the part."""
    top = float(case.kit.extent[1][2])
    if not any(body.role is BodyRole.HOLDING and float(body.bounds()[1][2]) > top for body in case.kit.placement.bodies):
        return

    def change(world: World) -> World:
        bodies = tuple(_higher(body, top) for body in world.kit.placement.bodies)
        return replace(world, kit=replace(world.kit, placement=replace(world.kit.placement, bodies=bodies)))

    words = f"what holds the part from above stands {case.length(_HIGHER_MM)} higher"
    yield Occurrence(META.slug, words, META.rate, "clamps", "take the studs and nuts of the sheet", change, _HIGHER_MM)


def _higher(body: Body, top: float) -> Body:
    """A box or cylinder that stands above the part, taller at its upper end; a mesh is moved up."""
    if body.role is not BodyRole.HOLDING or float(body.bounds()[1][2]) <= top:
        return body
    shape = body.shape
    if isinstance(shape, BoxShape):
        x, y, z = shape.high
        return replace(body, shape=replace(shape, high=(x, y, z + _HIGHER_MM)))
    if isinstance(shape, CylinderShape):
        return replace(body, shape=replace(shape, top=shape.top + _HIGHER_MM))
    return body.moved(shifted(0.0, 0.0, _HIGHER_MM))
