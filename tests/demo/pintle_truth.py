"""Where the pintle plate really stood, and the readings a setter would have written down there. Inches, by plain arithmetic.

The bar's left face is touched once, the back one twice. A point (x, y, z) of the work frame W stands at
M = (X0 + x cos a - y sin a, Y0 + x sin a + y cos a, Z0 + z); a tool of length L whose tip is there shows Z0 + z + L.
"""

from __future__ import annotations

import datetime
import math
from random import Random

from tests.demo.logbook import Logbook, joined, stepped

SEED = 3107
STEP = 0.0005
"""The last step of the handwheel at every contact."""
FINDER_REPEATABILITY = 0.0002
SETTER_REPEATABILITY = 0.0001
FINDER_RADIUS = 0.10005
FINDER_LENGTH = 4.1
FINDER_SPEED = "800 rpm"
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
    book = Logbook("top", datetime.datetime(2026, 3, 9, 13, 5), STEP, 4)
    c, s = math.cos(ANGLE), math.sin(ANGLE)
    height = round(ORIGIN[2] - 0.2 + FINDER_LENGTH, 2)
    parts = [_HEAD, "# the left face, in front of the stop, and the back face between stop and strap, twice"]
    y = round(ORIGIN[1] - 0.6, 2)
    across = LEFT_FACE - FINDER_RADIUS
    part_y = (y - ORIGIN[1] - across * s) / c
    x = ORIGIN[0] + across * c - part_y * s + chance.gauss(0.0, FINDER_REPEATABILITY)
    parts.append(book.contact("left", "edge-finder-200", "+X", (stepped(x, 1, STEP), y, height), speed=FINDER_SPEED))
    across = BACK_FACE + FINDER_RADIUS
    for along in (-1.2, 1.2):
        x = round(ORIGIN[0] + along, 2)
        part_x = (x - ORIGIN[0] + across * s) / c
        y = ORIGIN[1] + part_x * s + across * c + chance.gauss(0.0, FINDER_REPEATABILITY)
        parts.append(book.contact("back", "edge-finder-200", "-Y", (x, stepped(y, -1, STEP), height), speed=FINDER_SPEED))
    parts.append("# every tool brought down on the height setter, which stands on the bar between the straps")
    for tool, length in LENGTHS.items():
        z = ORIGIN[2] + HEIGHT_SETTER + length + chance.gauss(0.0, SETTER_REPEATABILITY)
        shown = (round(ORIGIN[0], 1), round(ORIGIN[1], 1), stepped(z, -1, STEP))
        parts.append(book.contact("top", "height-setter-2", "-Z", shown, tool=tool))
    return joined(parts)
