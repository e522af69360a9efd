"""The kit as plain data."""

from __future__ import annotations

from typing import Any

from setwright.kit.registers import control_registers, length_register, nominal_truth, radius_register
from setwright.kit.station import Kit

__all__ = ["plain"]


def plain(kit: Kit) -> dict[str, Any]:
    """Bodies (mm, in W), tools, and the registers that fit if everything stands as expected."""
    low, high = kit.extent
    registers = control_registers(kit, nominal_truth(kit))
    return {
        "setup": kit.setup.name,
        "machine": kit.machine.name,
        "blank": {"min": low.tolist(), "max": high.tolist()},
        "bodies": [{"name": body.name, "role": body.role.value, "min": bounds[0].tolist(), "max": bounds[1].tolist()}
                   for body in kit.placement.bodies for bounds in [body.bounds()]],
        "tools": [
            {
                "station": tool.station, "name": kit.tools[tool.station].tool.name, "kind": kit.tools[tool.station].tool.kind,
                "diameter_mm": 2.0 * kit.tools[tool.station].radius, "stickout_mm": kit.tools[tool.station].stickout,
                "length_mm": kit.tools[tool.station].length, "length_register": length_register(tool),
                "radius_register": radius_register(tool),
            }
            for tool in kit.setup.tool
        ],
        "expected_offsets": {name: [offset.x, offset.y, offset.z] for name, offset in registers.offsets.items()},
        "place_known": kit.placement.placed,
    }  # fmt: skip
