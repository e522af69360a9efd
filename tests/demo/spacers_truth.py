"""Where the pallet of spacers really stood, and the readings a setter would have written down there. mm, by plain arithmetic.

Place 1 is found by its blank's outside, the angle by the front rail, Z by the rail's top. A point (x, y, z) of the work frame W
stands at M = (X0 + x cos a - y sin a, Y0 + x sin a + y cos a, Z0 + z); a tool of length L whose tip is there shows Z0 + z + L.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from random import Random

from tests.demo.logbook import Logbook, joined, stepped, towards

SEED = 2100
STEP = 0.01
FINDER_REPEATABILITY = 0.003
SETTER_REPEATABILITY = 0.002
FINDER_LENGTH = 105.0
FINDER_RADIUS = 5.001
TABLE_Z = -580.0
TOOL_SETTER = 80.001
HEIGHT_SETTER = 50.001
ORIGIN = (-404.713, -279.871, -546.988)
ANGLE = 0.00031
BLANK_RADIUS = 18.012
RAIL_FACE = 18.010
RAIL_TOP = 12.0
LENGTHS = {1: 86.459, 2: 169.519, 3: 109.481, 4: 111.520}

_HEAD = """\
# Readings written down at Mill 2: machine position on the display when the light came on or the dial stood at zero.
# The last step of the handwheel was 0.01 at every contact. Place 1 only: the other places follow from the pallet.
format = 1
units = "mm"
"""


def readings_text() -> str:
    """The file readings.toml."""
    chance = Random(SEED)
    book = Logbook("pallet", datetime.datetime(2026, 3, 12, 6, 50), STEP, 3)
    parts = [_HEAD, "# the blank in place 1 from four sides, above rail and clamp, X once more on the Y found"]
    parts += _outside_contacts(chance, book)
    parts.append("# the front rail between the places")
    c, s = math.cos(ANGLE), math.sin(ANGLE)
    height = round(ORIGIN[2] + 6.0 + FINDER_LENGTH, 1)
    across = RAIL_FACE - FINDER_RADIUS
    for along in (50.0, 150.0):
        x = round(ORIGIN[0] + along, 2)
        part_x = (x - ORIGIN[0] + across * s) / c
        y = ORIGIN[1] + part_x * s + across * c + chance.gauss(0.0, FINDER_REPEATABILITY)
        parts.append(book.contact("rail", "finder-10", "+Y", (x, stepped(y, 1, STEP), height)))
    parts.append("# the height setter on the front rail, tool 3 brought down on it")
    for along in (50.0, 150.0):
        z = ORIGIN[2] + RAIL_TOP + HEIGHT_SETTER + LENGTHS[3] + chance.gauss(0.0, FINDER_REPEATABILITY)
        shown = (round(ORIGIN[0] + along), round(ORIGIN[1] + 28.0), stepped(z, -1, STEP))
        parts.append(book.contact("rail top", "height-setter-50", "-Z", shown, tool=3))
    parts.append("# every tool brought down on the tool setter")
    for tool, length in LENGTHS.items():
        place = TABLE_Z + TOOL_SETTER + length + chance.gauss(0.0, SETTER_REPEATABILITY)
        parts.append(book.length(tool, "tool-setter-80", stepped(place, -1, STEP)))
    return joined(parts)


def _outside_contacts(chance: Random, book: Logbook) -> Iterator[str]:
    x_found, y_found = round(ORIGIN[0] - 0.31, 2), round(ORIGIN[1] + 0.44, 2)  # by eye
    reach = BLANK_RADIUS + FINDER_RADIUS
    height = round(ORIGIN[2] + 14.0 + FINDER_LENGTH, 1)
    for axis in ("X", "Y", "X"):
        off = y_found - ORIGIN[1] if axis == "X" else x_found - ORIGIN[0]
        chord = math.sqrt(reach**2 - off**2)
        shown = []
        for way in (1, -1):
            place = ORIGIN["XY".index(axis)] - way * (chord + chance.gauss(0.0, FINDER_REPEATABILITY))
            shown.append(stepped(place, way, STEP))
            point = (shown[-1], y_found, height) if axis == "X" else (x_found, shown[-1], height)
            yield book.contact("outside", "finder-10", towards(way, axis), point)
        middle = round(sum(shown) / 2, 2)
        x_found, y_found = (middle, y_found) if axis == "X" else (x_found, middle)
