"""The checks that can be made on one setup: those that come along, the shop's own, each as often as the setup has tools or
offsets."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Final

from setwright.base.units import format_size
from setwright.hover.check_odds import Odds
from setwright.hover.check_sights import Looked, Seen, Sheet, spread_of
from setwright.hover.holdpoints import HoldPoint
from setwright.jobfolder.document import parse_document
from setwright.model.setup_check import NUMBERS, SetupCheck, Sight

__all__ = ["CheckHere", "bundled_checks", "checks_here"]

_HELD: Final = ("offset register", "length register", "radius register", "display at hold point")
"""Sights that are numbers of the control in a text, to the micrometre."""
_MM_PER_INCH: Final = 25.4
_NUMBER: Final = re.compile(r"-?\d+\.\d{3}(?!\d)")


@dataclass(frozen=True, slots=True)
class CheckHere:
    """One check at one place of a setup. `slug`: the name of its file; `on`: "T3", "G55" or "" where it is made once.

    `sights`: what is looked at that this setup has; `right`: what is seen of each in a good setup; `spread`: of the numbers among
    them, one standard deviation, mm, of reading and part together (0 for what is only seen).
    """

    slug: str
    on: str
    check: SetupCheck
    looked: Looked
    sights: tuple[Sight, ...]
    right: tuple[float | str, ...]
    spread: tuple[float, ...]
    block: str = ""

    @property
    def name(self) -> str:
        """ "block-under-tip T3"."""
        return f"{self.slug} {self.on}".strip()

    @property
    def minutes(self) -> float:
        """Its time."""
        return self.check.minutes

    @property
    def odds(self) -> Odds:
        """How it decides."""
        numbers = tuple(spread for sight, spread in zip(self.sights, self.spread, strict=True) if sight.what in NUMBERS)
        return Odds(self.check.false_alarm if numbers else 0.0, self.check.misses, numbers)

    @property
    def do(self) -> str:
        """What to do, with the tool's or the offset's name in it."""
        return self._filled(self.check.do)

    @property
    def caution(self) -> str:
        """What to mind."""
        return self._filled(self.check.caution)

    def sees_plain(self, units: str = "mm") -> list[dict[str, Any]]:
        """What is looked at, with what the sheet says there in `units`, as plain data."""
        return [{"what": sight.what, "sheet": _sheet_says(sight.what, right, units), "spread_mm": spread or None}
                for sight, right, spread in zip(self.sights, self.right, self.spread, strict=True)]  # fmt: skip

    def _filled(self, text: str) -> str:
        names = {"{tool}": str(self.looked.station), "{offset}": self.looked.offset, "{block}": self.block}
        for name, said in names.items():
            text = text.replace(name, said)
        return text


def _sheet_says(what: str, right: float | str, units: str) -> float | str:
    """What the sheet says of a sight, from mm to `units`; of a hold point the block stays as it is written."""
    if units not in ("in", "inch"):
        return right
    if isinstance(right, float):
        return right / _MM_PER_INCH
    if what not in _HELD:
        return right
    block, at, rest = right.rpartition(": at ")
    return block + at + _NUMBER.sub(lambda found: f"{float(found[0]) / _MM_PER_INCH:.4f}", rest)


@cache
def bundled_checks() -> Mapping[str, SetupCheck]:
    """The checks that come along, by the name of their file."""
    home = resources.files("setwright.hover") / "checks"
    found = sorted((entry for entry in home.iterdir() if entry.name.endswith(".toml")), key=lambda entry: entry.name)
    return {entry.name.removesuffix(".toml"): parse_document(entry.read_text("utf-8"), SetupCheck, shown=f"checks/{entry.name}")
            for entry in found}  # fmt: skip


def checks_here(sheet: Sheet, tools: Sequence[int], holds: Sequence[HoldPoint]) -> tuple[CheckHere, ...]:
    """Every check of the setup, in the order of their names; `tools`: stations in the order the program uses them.

    The shop's own checks replace those that come along under the same name; those it leaves out and those that find nothing to look
    at here are not in it.
    """
    setup = sheet.world.kit.setup
    offsets = (setup.offset, *setup.shifts)
    by_tool = {hold.station: hold for hold in holds}
    every = {**bundled_checks(), **sheet.world.kit.folder.job.shop.checks}
    found: list[CheckHere] = []
    for slug, check in sorted(every.items()):
        if check.left_out or not tools:
            continue
        places: dict[str, Looked] = {"": Looked(tools[0], setup.offset, by_tool.get(tools[0]))}
        if check.each == "tool":
            places = {f"T{station}": Looked(station, setup.offset, by_tool.get(station)) for station in tools}
        elif check.each == "offset":
            places = {name: Looked(tools[0], name, by_tool.get(tools[0])) for name in offsets}
        here = (_here(sheet, slug, check, on, looked) for on, looked in places.items())
        found += [each for each in here if each is not None]
    return tuple(found)


def _here(sheet: Sheet, slug: str, check: SetupCheck, on: str, looked: Looked) -> CheckHere | None:
    seen: list[tuple[Sight, Seen]] = [(sight, sheet.see(sight.what, sheet.world, looked)) for sight in check.sees]
    kept = [(sight, right) for sight, right in seen if right is not None]
    if not kept:
        return None
    spread = tuple(_spread(sight, sheet) for sight, _ in kept)
    block = format_size(sheet.block, sheet.world.kit.folder.units)
    return CheckHere(slug, on, check, looked, tuple(sight for sight, _ in kept), tuple(right for _, right in kept), spread, block)


def _spread(sight: Sight, sheet: Sheet) -> float:
    """Reading and part together; nothing where no number is read."""
    if sight.resolution is None:
        return 0.0
    return float((sight.resolution**2 + spread_of(sight.what, sheet.world) ** 2) ** 0.5)
