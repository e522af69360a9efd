"""One thing of the shop by itself, as it is drawn while its numbers are being typed."""

from __future__ import annotations

from typing import Any

import numpy as np

from setwright.geometry.bodies import Body, BodyRole
from setwright.geometry.profile import Assembly, assemble, cutting_pieces
from setwright.kit.placement import place_kit
from setwright.model.holding import Against, Holding, SetupHolding
from setwright.model.job import Setup
from setwright.model.tool import Tool
from setwright.read.station import ORDINARY

__all__ = ["holding_alone", "tool_alone"]

_ABOVE_FLUTES = 1.2


def tool_alone(tool: Tool) -> Assembly:
    """A tool held as short as it can be and still cut with all of its flutes, a fifth to spare. Raises InputRefused."""
    top = max(piece.z1 for piece in cutting_pieces(tool))
    stickout = max(top, tool.flute_length) * _ABOVE_FLUTES
    if tool.length is not None:
        stickout = min(stickout, tool.length)
    return assemble(tool, stickout=stickout, length=None if tool.holder else stickout)


def holding_alone(holding: Holding) -> tuple[Body, ...]:
    """What holds, around a part as long as its jaws and half as wide as it opens (a plate: as large as itself), whose middle is the
    origin. Raises InputRefused."""
    parallels = 0.0
    low, high = np.array([-50.0, -50.0, 0.0]), np.array([50.0, 50.0, 20.0])
    if holding.vise is not None:
        half = np.array([holding.vise.jaw_width, holding.vise.opening / 2]) / 2
        parallels = holding.vise.jaw_height / 2
        low, high = np.array([*-half, 0.0]), np.array([*half, holding.vise.jaw_height])
    elif holding.plate is not None:
        size = np.array(holding.plate.size) / 2
        low, high = np.array([*-size, 0.0]), np.array([*size, 10.0])
    stated = SetupHolding(use="it", fixed_jaw=Against(against="back"), parallels=parallels)
    only_held: dict[str, Any] = {"holding": stated}
    setup = Setup.model_construct(**only_held)
    placed = place_kit(setup, holding, ORDINARY, (low, high), {})
    return tuple(body for body in placed.bodies if body.role is not BodyRole.TABLE)
