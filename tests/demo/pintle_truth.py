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
SETTER_REPEATABILITY = 0.0001
FINDER_RADIUS = 0.10005
FINDER_LENGTH = 4.1
HEIGHT_SETTER = 2.00005
ORIGIN = (-19.9631, -10.0417, -22.1239)
ANGLE = -0.0004
LEFT_FACE, BACK_FACE = -3.25, 1.0
LENGTHS = {1: 4.3518, 2: 5.8487, 3: 7.3496, 4: 5.1502, 5: 6.3533}

_HEAD = """\
# Readings written down at Mill 5: machine position on the display when the edge finder kicked, or the setter's dial stood at zero.
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
    parts.append("# every tool brought down on the height setter, which stands on the bar between the straps\n")
    for number, (tool, length) in enumerate(LENGTHS.items(), 3):
        z = ORIGIN[2] + HEIGHT_SETTER + length + chance.gauss(0.0, SETTER_REPEATABILITY)
        shown = (round(ORIGIN[0], 1), round(ORIGIN[1], 1), _stepped(z, -1))
        parts.append(_contact("top", "-Z", shown, number, instrument="height-setter-2", tool=tool))
    return "\n".join(part.rstrip("\n") + "\n" for part in parts)


def _stepped(place: float, way: int) -> float:
    """The first whole step of the handwheel at or beyond a place, coming from the other side."""
    return (math.ceil(place / STEP) if way > 0 else math.floor(place / STEP)) * STEP


def _contact(on: str, toward: str, shown: tuple[float, float, float], minute: int, *, instrument: str = "edge-finder-200",
             tool: int | None = None) -> str:  # fmt: skip
    x, y, z = shown
    lines = ["[[contact]]", 'setup = "top"', f'on = "{on}"', f'with = "{instrument}"', f'toward = "{toward}"']
    lines.append('speed = "800 rpm"' if tool is None else f"tool = {tool}")
    lines += [f"display = {{ x = {x:.4f}, y = {y:.4f}, z = {z:.4f} }}", f"last_step = {STEP}"]
    return "\n".join([*lines, f"when = 2026-03-09T13:{5 + minute:02d}:00"]) + "\n"
