"""How readings are written down: the whole step of the handwheel, and one table of readings.toml a reading."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, field

Shown = tuple[float, float, float]


def stepped(place: float, way: int, step: float) -> float:
    """The first whole step of the handwheel at or beyond a place, coming from the other side."""
    return (math.ceil(place / step) if way > 0 else math.floor(place / step)) * step


def towards(way: int, axis: str) -> str:
    """The axis direction as readings name it."""
    return ("+" if way > 0 else "-") + axis


@dataclass
class Logbook:
    """Readings of one setup, a minute apart. `step`: last step of the handwheel; `places`: decimals of the display."""

    setup: str
    begun: datetime.datetime
    step: float
    places: int
    taken: int = field(default=0, init=False)

    def contact(self, on: str, instrument: str, toward: str, shown: Shown, *, tool: int | None = None, speed: str = "") -> str:
        """One contact with a face."""
        numbers = ", ".join(f"{axis} = {value:.{self.places}f}" for axis, value in zip("xyz", shown, strict=True))
        lines = ["[[contact]]", f'setup = "{self.setup}"', f'on = "{on}"', f'with = "{instrument}"', f'toward = "{toward}"']
        lines += [f"tool = {tool}"] if tool is not None else []
        lines += [f'speed = "{speed}"'] if speed else []
        return self._closed([*lines, f"display = {{ {numbers} }}"])

    def length(self, tool: int, instrument: str, shown: float) -> str:
        """One tool on the tool setter."""
        lines = ["[[tool_length]]", f'setup = "{self.setup}"', f"tool = {tool}", f'with = "{instrument}"']
        return self._closed([*lines, f"display = {{ z = {shown:.{self.places}f} }}"])

    def _closed(self, lines: list[str]) -> str:
        when = self.begun + datetime.timedelta(minutes=self.taken)
        self.taken += 1
        return "\n".join([*lines, f"last_step = {self.step}", f"when = {when.isoformat()}"])


def joined(parts: list[str]) -> str:
    """The parts of a readings file with an empty line between them."""
    return "\n\n".join(part.strip("\n") for part in parts) + "\n"
