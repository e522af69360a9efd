"""Where the bearing cap really stood, and the readings a setter would have written down there.

Everything is worked out here by plain arithmetic from the numbers below. Machine positions are those of the gauge point, mm.
A point (x, y, z) of the work frame W stands at M = (X0 + x cos a - y sin a, Y0 + x sin a + y cos a, Z0 + z); a tool of length L
whose tip is there shows Z0 + z + L.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from tests.demo.logbook import Logbook, joined, stepped, towards

SEED = 2041
STEP = 0.01
"""The last step of the handwheel at every contact."""
FINDER_REPEATABILITY = 0.003
SETTER_REPEATABILITY = 0.002
FINDER_LENGTH = 105.0
FINDER_RADIUS = 5.001
"""What really touches: the ball of 10.000 mm is 2 µm large."""
TABLE_Z = -580.0
TOOL_SETTER = 80.001
HEIGHT_SETTER = 50.001
LENGTHS = {1: 86.459, 2: 131.478, 3: 141.524, 4: 113.513, 5: 148.466}


@dataclass(frozen=True)
class Side:
    """The truth of one setup: the place and angle of W in M, and what was touched in W."""

    setup: str
    bore: str
    origin: tuple[float, float, float]
    angle: float
    bore_radius: float
    jaw_face: float
    jaw_touched_at: float
    tools: tuple[int, ...]
    begun: datetime.datetime


FIRST = Side(
    setup="first side", bore="bore A", origin=(-304.862, -182.735, -466.971), angle=0.00022, bore_radius=15.004,
    jaw_face=42.006, jaw_touched_at=-18.0, tools=(1, 2, 3, 4, 5), begun=datetime.datetime(2026, 3, 3, 7, 42),
)  # fmt: skip
SECOND = Side(
    setup="second side", bore="shaft bore", origin=(-304.874, -182.749, -475.966), angle=0.00019, bore_radius=16.009,
    jaw_face=42.010, jaw_touched_at=-12.0, tools=(1, 2, 4), begun=datetime.datetime(2026, 3, 3, 10, 17),
)  # fmt: skip
SIDES = (FIRST, SECOND)

_HEAD = """\
# Readings written down at Mill 2: machine position on the display when the light came on or the dial stood at zero.
# The last step of the handwheel was 0.01 at every contact. All on one morning, the machine warm.
format = 1
units = "mm"
"""


def readings_text() -> str:
    """The file readings.toml."""
    chance = Random(SEED)
    books = {side.setup: Logbook(side.setup, side.begun, STEP, 3) for side in SIDES}
    parts = [_HEAD]
    for side in SIDES:
        book = books[side.setup]
        parts.append(f"# {side.setup}: {side.bore}, then the fixed jaw left and right of the part")
        parts += _bore_contacts(side, chance, book)
        parts += _jaw_contacts(side, chance, book)
        parts.append(f"# {side.setup}: the height setter on the top face, tool 2 brought down on it")
        parts += _top_contacts(side, chance, book)
    for side in SIDES:
        parts.append(f"# {side.setup}: every tool brought down on the tool setter")
        for tool in side.tools:
            place = TABLE_Z + TOOL_SETTER + LENGTHS[tool] + chance.gauss(0.0, SETTER_REPEATABILITY)
            parts.append(books[side.setup].length(tool, "tool-setter-80", stepped(place, -1, STEP)))
    return joined(parts)


def _bore_contacts(side: Side, chance: Random, book: Logbook) -> Iterator[str]:
    """Four directions from a first guess, then the two X directions again on the Y found."""
    x_found, y_found = round(side.origin[0] + 0.38, 2), round(side.origin[1] - 0.27, 2)  # by eye
    reach = side.bore_radius - FINDER_RADIUS
    height = round(side.origin[2] - 6.0 + FINDER_LENGTH, 1)
    for axis in ("X", "Y", "X"):
        off = y_found - side.origin[1] if axis == "X" else x_found - side.origin[0]
        chord = math.sqrt(reach**2 - off**2)
        shown = []
        for way in (1, -1):
            place = side.origin["XY".index(axis)] + way * (chord + chance.gauss(0.0, FINDER_REPEATABILITY))
            shown.append(stepped(place, way, STEP))
            point = (shown[-1], y_found, height) if axis == "X" else (x_found, shown[-1], height)
            yield book.contact(side.bore, "finder-10", towards(way, axis), point)
        middle = round(sum(shown) / 2, 2)
        x_found, y_found = (middle, y_found) if axis == "X" else (x_found, middle)


def _jaw_contacts(side: Side, chance: Random, book: Logbook) -> Iterator[str]:
    """The fixed jaw's face 69 mm left and right of the datum, beside the part; the finder moves away from the operator."""
    c, s = math.cos(side.angle), math.sin(side.angle)
    height = round(side.origin[2] + side.jaw_touched_at + FINDER_LENGTH, 1)
    across = side.jaw_face - FINDER_RADIUS
    for along in (-69.0, 69.0):
        x = round(side.origin[0] + along, 2)
        part_x = (x - side.origin[0] + across * s) / c
        place = side.origin[1] + part_x * s + across * c + chance.gauss(0.0, FINDER_REPEATABILITY)
        yield book.contact("fixed jaw", "finder-10", "+Y", (x, stepped(place, 1, STEP), height))


def _top_contacts(side: Side, chance: Random, book: Logbook) -> Iterator[str]:
    for along, across in ((-45.0, 0.0), (45.0, -20.0)):
        place = side.origin[2] + 1.0 + HEIGHT_SETTER + LENGTHS[2] + chance.gauss(0.0, FINDER_REPEATABILITY)
        x, y = round(side.origin[0] + along), round(side.origin[1] + across)
        yield book.contact("top", "height-setter-50", "-Z", (x, y, stepped(place, -1, STEP)), tool=2)
