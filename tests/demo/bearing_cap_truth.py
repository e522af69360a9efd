"""Where the bearing cap really stood, and the readings a setter would have written down there.

Everything is worked out here by plain arithmetic from the numbers below. Machine positions are those of the gauge point, mm.
A point (x, y, z) of the work frame W stands at M = (X0 + x cos a - y sin a, Y0 + x sin a + y cos a, Z0 + z); a tool of length L
whose tip is there shows Z0 + z + L.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

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
    first_minute: int


FIRST = Side("first side", "bore A", (-304.862, -182.735, -466.971), 0.00022, 15.004, 42.006, -18.0, (1, 2, 3, 4, 5), 7 * 60 + 42)
SECOND = Side("second side", "shaft bore", (-304.874, -182.749, -475.966), 0.00019, 16.009, 42.010, -12.0, (1, 2, 4), 10 * 60 + 17)
SIDES = (FIRST, SECOND)


def readings_text() -> str:
    """The file readings.toml."""
    chance = Random(SEED)
    minutes = {side.setup: iter(range(side.first_minute, side.first_minute + 60)) for side in SIDES}
    parts = [_HEAD]
    for side in SIDES:
        parts += [f"# {side.setup}: {side.bore}, then the fixed jaw left and right of the part\n"]
        parts += list(_bore_contacts(side, chance, minutes[side.setup]))
        parts += list(_jaw_contacts(side, chance, minutes[side.setup]))
        parts += [f"# {side.setup}: the height setter on the top face, tool 2 brought down on it\n"]
        parts += list(_top_contacts(side, chance, minutes[side.setup]))
    for side in SIDES:
        parts += [f"# {side.setup}: every tool brought down on the tool setter\n"]
        parts += [_length(side, tool, chance, minutes[side.setup]) for tool in side.tools]
    return "\n".join(part.rstrip("\n") + "\n" for part in parts)


_HEAD = """\
# Readings written down at Mill 2: machine position on the display when the light came on or the dial stood at zero.
# The last step of the handwheel was 0.01 at every contact. All on one morning, the machine warm.
format = 1
units = "mm"
"""


def stepped(place: float, way: int) -> float:
    """The first whole step of the handwheel at or beyond a place, coming from the other side."""
    return (math.ceil(place / STEP) if way > 0 else math.floor(place / STEP)) * STEP


def _bore_contacts(side: Side, chance: Random, minutes: Iterator[int]) -> Iterator[str]:
    """Four directions from a first guess, then the two X directions again on the Y found."""
    x_found, y_found = side.origin[0] + 0.38, side.origin[1] - 0.27  # by eye
    x_found, y_found = round(x_found, 2), round(y_found, 2)
    reach = side.bore_radius - FINDER_RADIUS
    height = round(side.origin[2] - 6.0 + FINDER_LENGTH, 1)
    for axes in ("X", "Y", "X"):
        shown = []
        for way in (1, -1):
            slip = chance.gauss(0.0, FINDER_REPEATABILITY)
            if axes == "X":
                chord = math.sqrt(reach**2 - (y_found - side.origin[1]) ** 2)
                x, y = stepped(side.origin[0] + way * (chord + slip), way), y_found
                shown.append(x)
            else:
                chord = math.sqrt(reach**2 - (x_found - side.origin[0]) ** 2)
                x, y = x_found, stepped(side.origin[1] + way * (chord + slip), way)
                shown.append(y)
            yield _contact(side, side.bore, "finder-10", _toward(way, axes), (x, y, height), minutes)
        middle = round(sum(shown) / 2, 2)
        x_found, y_found = (middle, y_found) if axes == "X" else (x_found, middle)


def _toward(way: int, axis: str) -> str:
    return ("+" if way > 0 else "-") + axis


def _jaw_contacts(side: Side, chance: Random, minutes: Iterator[int]) -> Iterator[str]:
    """The fixed jaw's face 69 mm left and right of the datum, beside the part; the finder moves away from the operator."""
    c, s = math.cos(side.angle), math.sin(side.angle)
    height = round(side.origin[2] + side.jaw_touched_at + FINDER_LENGTH, 1)
    across = side.jaw_face - FINDER_RADIUS
    for along in (-69.0, 69.0):
        x = round(side.origin[0] + along, 2)
        part_x = (x - side.origin[0] + across * s) / c
        place = side.origin[1] + part_x * s + across * c + chance.gauss(0.0, FINDER_REPEATABILITY)
        yield _contact(side, "fixed jaw", "finder-10", "+Y", (x, stepped(place, 1), height), minutes)


def _top_contacts(side: Side, chance: Random, minutes: Iterator[int]) -> Iterator[str]:
    for along, across in ((-45.0, 0.0), (45.0, -20.0)):
        place = side.origin[2] + 1.0 + HEIGHT_SETTER + LENGTHS[2] + chance.gauss(0.0, FINDER_REPEATABILITY)
        x, y = round(side.origin[0] + along), round(side.origin[1] + across)
        yield _contact(side, "top", "height-setter-50", "-Z", (x, y, stepped(place, -1)), minutes, tool=2)


def _contact(side: Side, on: str, instrument: str, toward: str, shown: tuple[float, float, float], minutes: Iterator[int],
             tool: int | None = None) -> str:  # fmt: skip
    x, y, z = shown
    lines = ["[[contact]]", f'setup = "{side.setup}"', f'on = "{on}"', f'with = "{instrument}"']
    lines += [f"tool = {tool}"] if tool is not None else []
    lines += [f'toward = "{toward}"', f"display = {{ x = {x:.3f}, y = {y:.3f}, z = {z:.3f} }}", f"last_step = {STEP}"]
    return "\n".join([*lines, f"when = {_clock(next(minutes))}"]) + "\n"


def _length(side: Side, tool: int, chance: Random, minutes: Iterator[int]) -> str:
    place = stepped(TABLE_Z + TOOL_SETTER + LENGTHS[tool] + chance.gauss(0.0, SETTER_REPEATABILITY), -1)
    lines = ["[[tool_length]]", f'setup = "{side.setup}"', f"tool = {tool}", 'with = "tool-setter-80"']
    return "\n".join([*lines, f"display = {{ z = {place:.3f} }}", f"last_step = {STEP}", f"when = {_clock(next(minutes))}"]) + "\n"


def _clock(minute: int) -> str:
    return f"2026-03-03T{minute // 60:02d}:{minute % 60:02d}:00"
