"""What is known of the tools a program calls: stated by the job, else read from the comments; and how the program uses each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.hints import Hints, ToolHint
from setwright.program.path import MoveKind, Path

if TYPE_CHECKING:
    from setwright.model.tool import Tool, ToolKind

__all__ = ["KnownTool", "Use", "known_tools", "length_applied", "uses_of"]

_Value = TypeVar("_Value")
_LEFT_WORDS = ("LEFT HAND", "LEFT-HAND", "LINKS", "IZQUIERD", "SINISTR", " LH")


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownTool:
    """One station; lengths mm, None for what nothing tells. `source`: "" where the job states the tool itself, else the words
    for the comment that everything here comes from; `hand` is None where nothing tells it."""

    station: int
    kind: ToolKind | None = None
    diameter: float | None = None
    flutes: int | None = None
    pitch: float | None = None
    hand: str | None = None
    material: str = ""
    source: str = ""

    @property
    def named(self) -> str:
        """The tool in a sentence: its kind, and which comment says so if only a comment does."""
        return self.sized("")

    def sized(self, size: str) -> str:
        """The same with its size, in words."""
        article = "an" if str(self.kind)[0] in "aeiou" else "a"
        of_size = f" of {size}" if size else ""
        return f"T{self.station}, {article} {self.kind}{of_size}{f' ({self.source})' if self.source else ''},"


def known_tools(
    stations: Sequence[int], *, stated: Mapping[int, Tool], guessed: frozenset[int], hints: Mapping[str, Hints]
) -> dict[int, KnownTool]:
    """Every station of a path. A tool of the job counts as stated unless it is one of the `guessed`, which a draft made up:
    of those only what the comments say is known. `hints`: by program file."""
    found = {}
    for station in stations:
        tool = None if station in guessed else stated.get(station)
        if tool is None:
            found[station] = _from_comments(station, hints, alone=len(set(stations) - {0}) <= 1)
            continue
        found[station] = KnownTool(station=station, kind=tool.kind, diameter=tool.diameter, flutes=tool.flutes, pitch=tool.pitch,
                                   hand=tool.hand, material=tool.material)  # fmt: skip
    return found


def _from_comments(station: int, hints: Mapping[str, Hints], *, alone: bool) -> KnownTool:
    """What all comments on one tool agree on; a comment that names no tool speaks of the only one there is."""
    said = [(file, hint) for file, own in hints.items() for hint in own.of_station(station)]
    if not said and alone:
        said = [(file, hint) for file, own in hints.items() for hint in own.of_station(None)]
    known = KnownTool(station=station)
    if not said:
        return known
    file, hint = next(((file, hint) for file, hint in said if hint.kind is not None), said[0])
    where = f"{file} line {hint.line}" if len(hints) > 1 else f"line {hint.line}"
    own = [hint for _, hint in said]
    return replace(known, kind=_agreed([hint.kind for hint in own]), diameter=_agreed([hint.diameter for hint in own]),
                   flutes=_agreed([hint.flutes for hint in own]), pitch=_agreed([hint.pitch for hint in own]),
                   hand=_hand(own), source=f"by its comment in {where}")  # fmt: skip


def _agreed(values: Sequence[_Value | None]) -> _Value | None:
    """The one value that is given, None if there is none or they differ."""
    given = [value for value in values if value is not None]
    return given[0] if given and all(value == given[0] for value in given) else None


def _hand(said: Sequence[ToolHint]) -> str | None:
    return "left" if any(word in f" {hint.text.upper()}" for hint in said for word in _LEFT_WORDS) else None


@dataclass(frozen=True, slots=True)
class Use:
    """How a path uses one tool: rows int64, in a work offset; of a tool that has its length applied those after that (before it
    stands where it was changed).

    `feeds`: feed moves, but for those that link two cuts in the air. `sideways`: those of them that move more across than
    round-off, outside cycles and below the level at which the tool is taken across at rapid. `down`: those that go straight down,
    in cycles or outside.
    """

    feeds: NDArray[np.int64]
    sideways: NDArray[np.int64]
    down: NDArray[np.int64]


def uses_of(path: Path, station: NDArray[np.int64], numbers: Iterable[int]) -> dict[int, Use]:
    """How the path uses each of the tools `numbers`; `station`: the tool of every row, int64 (n,)."""
    in_work = np.array([not frame.offset.startswith("machine") for frame in path.frames])[path.frame]
    in_cycle = np.array([state.cycle != "" for state in path.states])[path.state]
    rise = path.end[:, 2] - path.start[:, 2]
    rapid = path.kind == MoveKind.RAPID
    across = (np.hypot(*(path.end - path.start)[:, :2].T) > COORDINATE_ROUND_OFF_MM) | (path.kind == MoveKind.ARC)
    cuts = in_work & ~rapid & ~_links(rise, rapid)
    applied = length_applied(path)
    found = {}
    for number in numbers:
        mine = station == number
        if (mine & applied).any():
            mine &= applied
        crossings = path.start[mine & in_work & rapid & across & (rise >= -COORDINATE_ROUND_OFF_MM), 2]
        level = float(crossings.max()) if crossings.size else np.inf
        low = np.minimum(path.start[:, 2], path.end[:, 2]) < level - COORDINATE_ROUND_OFF_MM
        feeds = mine & cuts
        found[number] = Use(np.flatnonzero(feeds), np.flatnonzero(feeds & across & low & ~in_cycle),
                            np.flatnonzero(feeds & ~across & (rise < 0.0)))  # fmt: skip
    return found


def _links(rise: NDArray[np.float64], rapid: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Level feed moves right after a rapid up that lead to a way down, bool (n,): a rapid that somebody wrote as a feed. `rise`:
    end Z less start Z, mm, float64 (n,)."""
    level = ~rapid & (np.abs(rise) <= COORDINATE_ROUND_OFF_MM)
    goes_up = rapid & (rise > COORDINATE_ROUND_OFF_MM)
    found = np.zeros(rise.size, np.bool_)
    for before in np.flatnonzero(level[1:] & goes_up[:-1]).tolist():
        after = before + 1
        while after < rise.size and level[after]:
            after += 1
        if after < rise.size and rise[after] < -COORDINATE_ROUND_OFF_MM:
            found[before + 1 : after] = True
    return found


def length_applied(path: Path) -> NDArray[np.bool_]:
    """Whether a tool length has been applied since the tool came into the spindle, bool (n,). What the tool before left in force
    is not this tool's."""
    applied = np.zeros(len(path), np.bool_)
    tool, now = 0.0, False
    for event in path.events:
        if event.kind == "tool change":
            now, tool = now and event.value == tool, float(event.value)
        elif event.kind == "length":
            now = float(event.value) > 0.0
        applied[event.before :] = now
    return applied
