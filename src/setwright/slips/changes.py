"""Changes of a world that slips are made of: blank turned or of another size, tool hung otherwise, all put together anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.geometry.bodies import Body, BoxShape, CylinderShape, MeshShape
from setwright.geometry.frames import quarter_turns
from setwright.geometry.profile import assemble
from setwright.kit.registers import length_register
from setwright.model.job import Setup, Turn
from setwright.prove.chain import metal_extent
from setwright.removal.field import Field
from setwright.removal.turn import turned
from setwright.slips.world import World, set_up_as, tool_hung

__all__ = ["Change", "blank_grown", "blank_turned", "hung_by", "reset"]

Change = Callable[[World], World]


def reset(setup: Setup) -> Change:
    """Everything put together as this document says; the control keeps what it holds."""
    return lambda world: set_up_as(world, setup)


def hung_by(
    station: int, *, stickout: float = 0.0, length: float = 0.0, radius: float = 0.0, measured: bool = False
) -> Change:
    """A tool hung otherwise than meant: farther out of its holder, longer from the gauge line, larger (mm each). `measured`: its
    length register was measured on it as it hangs."""

    def change(world: World) -> World:
        was = world.kit.tools[station]
        hung = assemble(was.tool, stickout=was.stickout + stickout, length=world.truth.lengths[station] + length,
                        radius=world.truth.radii[station] + radius, nose=world.kit.machine.spindle.nose)  # fmt: skip
        changed = tool_hung(world, station, hung)
        if not measured:
            return changed
        number = next(length_register(tool) for tool in world.kit.setup.tool if tool.station == station)
        return changed.with_length(number, length)

    return change


def blank_turned(world: World, about: str, words: str) -> Change | None:
    """The blank turned half round about an axis through its middle; None where that leaves the same metal."""
    half = quarter_turns((Turn.model_validate({"about": about, "by": 180}),))
    if world.metal is not None:
        metal = _metal_turned(world.metal, half)
        if _same(metal, world.metal):
            return None
        return lambda here: replace(here, metal=metal, lies=words)
    blank = world.kit.blank
    if blank is None or not isinstance(blank.shape, MeshShape) or _looks_the_same(blank.shape, half):
        return None
    middle = blank.bounds()[0] + blank.bounds()[1]  # twice
    other = Body(blank.name, blank.role, MeshShape((blank.shape.triangles - middle / 2) @ half.T + middle / 2))
    return lambda here: replace(here, kit=replace(here.kit, blank=other), lies=words)


def _metal_turned(metal: Field, half: NDArray[np.int64]) -> Field:
    """Turned and put back to where its least corner was."""
    lying = turned(metal, half)
    return turned(lying, np.eye(3), shift=(metal_extent(metal)[0] - metal_extent(lying)[0]).tolist())


def _same(a: Field, b: Field) -> bool:
    """Whether two fields on alike boxes are the same metal; a ray beside a wall may differ, whole faces may not."""
    return all(abs(x.length - y.length) <= SAME_PLACE_MM for x, y in zip(a.bundles, b.bundles, strict=True)) and all(
        np.array_equal(x.rays().ray, y.rays().ray) and np.allclose(x.rays().ends, y.rays().ends, rtol=0.0, atol=SAME_PLACE_MM)
        for x, y in zip(a.bundles, b.bundles, strict=True)
    )


def _looks_the_same(shape: MeshShape, half: NDArray[np.int64]) -> bool:
    """Whether a mesh has the same corners after the turn about the middle of its box."""
    points = shape.triangles.reshape(-1, 3)
    about = (points.min(axis=0) + points.max(axis=0)) / 2
    before = np.unique(np.rint((points - about) / _LOOK_MM), axis=0)
    after = np.unique(np.rint((points - about) @ half.T / _LOOK_MM), axis=0)
    return np.array_equal(before, after)


_LOOK_MM = 0.05
"""Corners of a mesh closer than this are alike: a round bore is a polygon that need not have a corner on both sides."""


def blank_grown(world: World, axis: int, by: float) -> Change | None:
    """The blank longer by `by` (mm, negative: shorter) at one end of an axis: on top, or away from the stop or fixed jaw; None for
    metal that an earlier setup left."""
    blank = world.kit.blank
    if blank is None:
        return None
    low = axis != 2 and _held_high(world.kit.setup, axis)
    shape = _grown(blank.shape, axis, by, low=low)
    body = Body(blank.name, blank.role, shape)
    return lambda here: replace(here, kit=replace(here.kit, blank=body, extent=body.bounds()))


def _held_high(setup: Setup, axis: int) -> bool:
    """Whether the blank's greater end along an axis is the one that is located."""
    located = [held.against for held in (setup.holding.fixed_jaw, setup.holding.end_stop) if held is not None]
    return ("right", "back")[axis] in located


def _grown(shape: BoxShape | CylinderShape | MeshShape, axis: int, by: float, *, low: bool) -> BoxShape | CylinderShape | MeshShape:
    if isinstance(shape, BoxShape):
        corners = [list(shape.low), list(shape.high)]
        corners[0 if low else 1][axis] += -by if low else by
        (a, b, c), (d, e, f) = corners
        return BoxShape((a, b, c), (d, e, f))
    if isinstance(shape, CylinderShape):
        if axis == 2:
            return CylinderShape(shape.centre, shape.radius, shape.bottom, shape.top + by)
        return CylinderShape(shape.centre, shape.radius + by / 2, shape.bottom, shape.top)
    triangles = shape.triangles.copy()
    along = triangles[:, :, axis]
    end = along.min() if low else along.max()
    along[np.abs(along - end) <= SAME_PLACE_MM] += -by if low else by
    return MeshShape(triangles)
