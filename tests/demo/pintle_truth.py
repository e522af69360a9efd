"""Where the pintle plate really stood, and the readings a setter would have written down there. Inches, by plain arithmetic.

The bar's back and left faces are touched, the back one twice. A point (x, y, z) of the work frame W stands at
M = (X0 + x cos a - y sin a, Y0 + x sin a + y cos a, Z0 + z); a tool of length L whose tip is there shows Z0 + z + L.
"""

from __future__ import annotations

import math
from random import Random

SEED = 3107
STEP = 0.0005
"""The last step of the handwheel at every contact."""
REPEATABILITY = 0.0002
FEEL = 0.0004
FINDER_RADIUS = 0.10005
FINDER_LENGTH = 4.1
BLOCK = 1.00001
ORIGIN = (-19.9631, -10.0417, -22.1239)
ANGLE = -0.0004
LEFT_FACE, BACK_FACE = -3.25, 1.0
LENGTHS = {1: 4.3518, 2: 5.8487, 3: 7.3496, 4: 5.1502, 5: 6.3533}

_HEAD = """\
# Readings written down at Mill 5: machine position on the display when the edge finder kicked, or the gauge block just slid.
# The last step of the handwheel was 0.0005 in at every contact.
format = 1
units = "in"
"""


def readings_text() -> str:
    """The file readings.toml."""
    chance = Random(SEED)
    c, s = math.cos(ANGLE), math.sin(ANGLE)
    height = round(ORIGIN[2] - 0.2 + FINDER_LENGTH, 2)
    parts = [_HEAD, "# the left face, in front of the stop, and the back face between stop and strap, twice\n"]
    y = round(ORIGIN[1] - 0.6, 2)  # the finder moves along X at this height of Y
    across = LEFT_FACE - FINDER_RADIUS
    part_y = (y - ORIGIN[1] - across * s) / c
    x = ORIGIN[0] + across * c - part_y * s + chance.gauss(0.0, REPEATABILITY)
    parts.append(_contact("left", "+X", (_stepped(x, 1), y, height), 0))
    for number, along in enumerate((-1.2, 1.2), 1):
        x = round(ORIGIN[0] + along, 2)
        across = BACK_FACE + FINDER_RADIUS
        part_x = (x - ORIGIN[0] + across * s) / c
        y = ORIGIN[1] + part_x * s + across * c + chance.gauss(0.0, REPEATABILITY)
        parts.append(_contact("back", "-Y", (x, _stepped(y, -1), height), number))
    parts.append("# every tool over the gauge block on the bar's top, raised until the block slid under it\n")
    for number, (tool, length) in enumerate(LENGTHS.items(), 3):
        z = ORIGIN[2] + BLOCK + length + chance.gauss(0.0, FEEL)
        parts.append(_length(tool, _stepped(z, 1), number))
    return "\n".join(part.rstrip("\n") + "\n" for part in parts)


def _stepped(place: float, way: int) -> float:
    """The first whole step of the handwheel at or beyond a place, coming from the other side."""
    return (math.ceil(place / STEP) if way > 0 else math.floor(place / STEP)) * STEP


def _contact(on: str, toward: str, shown: tuple[float, float, float], minute: int) -> str:
    x, y, z = shown
    lines = ["[[contact]]", 'setup = "top"', f'on = "{on}"', 'with = "edge-finder-200"', f'toward = "{toward}"']
    lines += ['speed = "800 rpm"', f"display = {{ x = {x:.4f}, y = {y:.4f}, z = {z:.4f} }}"]
    return "\n".join([*lines, *_step_and_time(minute)])


def _length(tool: int, shown: float, minute: int) -> str:
    lines = ["[[tool_length]]", 'setup = "top"', f"tool = {tool}", 'on = "top"', 'with = "gauge-block-1"']
    return "\n".join([*lines, f"display = {{ z = {shown:.4f} }}", *_step_and_time(minute)])


def _step_and_time(minute: int) -> list[str]:
    return [f"last_step = {STEP}", f"when = 2026-03-09T13:{5 + minute:02d}:00\n"]
