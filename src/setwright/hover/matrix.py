"""Slips against checks: what each check would show under each slip, and how probably it stops it in time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from setwright.hover.check_list import CheckHere
from setwright.hover.check_odds import beyond_chance, shown
from setwright.hover.check_sights import Seen, Sheet
from setwright.hover.outcome import Outcome
from setwright.slips.catalogue import Occurrence, Slip
from setwright.slips.world import World

__all__ = ["Matrix", "Suspect", "matrix_of"]


@dataclass(frozen=True, slots=True)
class Suspect:
    """A slip as the checks see it: the world it leaves behind, how often it happens in a setup of this kind, how it ends.

    `misread`: the mistake was made in a reading, so that the sheet carries its wrong numbers as well. `lost_row`: the first row
    of the path at which something can no longer be put right, -1 for never; `lost_tool`: the tool in the spindle there.
    `occurrence`: the way of a slip it is, None for one that is supposed.
    """

    slug: str
    words: str
    rate: float
    world: World = field(repr=False)
    outcome: Outcome
    misread: bool = False
    lost_row: int = -1
    lost_tool: int | None = None
    remedy: str = ""
    hidden: frozenset[str] = frozenset()
    occurrence: Occurrence | None = field(default=None, repr=False)

    @property
    def sized(self) -> Slip | None:
        """Its entry of the catalogue where its size is not fixed by the job."""
        return self.occurrence.about if self.occurrence is not None and self.occurrence.at is not None else None


@dataclass(frozen=True, slots=True)
class Matrix:
    """Suspects (n) against checks (m).

    `seen[i][j]`: what check j shows under suspect i, one entry a sight, None where it cannot be seen there; `wanted[i][j]`: what
    the sheet then says, as far as a wrong reading has not spoilt it: what is looked for. `shown` (n, m): the
    probability that the check says stop; `caught` (n, m): the same, less what a false alarm would have found anyway, and 0 for a
    hold point that comes after the harm is done: what the plan relies on.
    """

    suspects: tuple[Suspect, ...]
    checks: tuple[CheckHere, ...]
    seen: tuple[tuple[tuple[Seen, ...], ...], ...]
    wanted: tuple[tuple[tuple[Seen, ...], ...], ...]
    shown: NDArray[np.float64]
    caught: NDArray[np.float64]

    @property
    def harmful(self) -> NDArray[np.bool_]:
        """(n,) worse than rework, or undecided."""
        return np.array([suspect.outcome.harmful for suspect in self.suspects], np.bool_)

    @property
    def rates(self) -> NDArray[np.float64]:
        """(n,) how often each happens in a setup."""
        return np.array([suspect.rate for suspect in self.suspects])

    @property
    def minutes(self) -> list[float]:
        """(m,) of each check."""
        return [check.minutes for check in self.checks]


def matrix_of(sheet: Sheet, suspects: Sequence[Suspect], checks: Sequence[CheckHere]) -> Matrix:
    """Look at every suspect's world with every check."""
    n, m = len(suspects), len(checks)
    probability, caught = np.zeros((n, m)), np.zeros((n, m))
    seen: list[tuple[tuple[Seen, ...], ...]] = []
    wanted: list[tuple[tuple[Seen, ...], ...]] = []
    hold_rows = {check.looked.hold.station: check.looked.hold.row for check in checks if check.looked.hold is not None}
    for i, suspect in enumerate(suspects):
        seen.append(tuple(_seen(sheet, suspect, check) for check in checks))
        wanted.append(tuple(_right(sheet, suspect, check) for check in checks))
        for j, check in enumerate(checks):
            probability[i, j] = _shown(check, seen[i][j], wanted[i][j])
            if _in_time(suspect, check, seen[i][j], sheet, hold_rows):
                caught[i, j] = beyond_chance(probability[i, j], check.odds)
    return Matrix(tuple(suspects), tuple(checks), tuple(seen), tuple(wanted), probability, caught)


def _seen(sheet: Sheet, suspect: Suspect, check: CheckHere) -> tuple[Seen, ...]:
    return tuple(right if sight.what in suspect.hidden else sheet.see(sight.what, suspect.world, check.looked)
                 for sight, right in zip(check.sights, check.right, strict=True))  # fmt: skip


def _right(sheet: Sheet, suspect: Suspect, check: CheckHere) -> tuple[Seen, ...]:
    """What the person compares with: the sheet, which a wrong reading has spoilt as far as registers go."""
    if not suspect.misread or not any("register" in sight.what for sight in check.sights):
        return check.right
    looked = replace(check.looked, printed=suspect.world.registers_of(check.looked.station))
    return tuple(sheet.see(sight.what, sheet.world, looked) for sight in check.sights)


def _shown(check: CheckHere, seen: tuple[Seen, ...], right: tuple[Seen, ...]) -> float:
    off, differs = [], False
    for sight, now, wanted in zip(check.sights, seen, right, strict=True):
        if sight.resolution is None or not isinstance(now, float) or not isinstance(wanted, float):
            differs = differs or now != wanted
            if sight.resolution is not None:
                off.append(0.0)
        else:
            off.append(now - wanted)
    return shown(check.odds, off, differs=differs)


def _in_time(suspect: Suspect, check: CheckHere, seen: Sequence[Seen], sheet: Sheet, hold_rows: Mapping[int, int]) -> bool:
    """Whether the check is made before the harm is done: one at a hold point is not, if an earlier motion does it, nor within the
    very block that does it if the tip would stand no higher than the surface there.

    In another program rows are counted otherwise; there the hold point of the tool that does the harm is the last that helps.
    """
    hold = check.looked.hold
    if check.check.stage != "running" or suspect.lost_row < 0 or hold is None:
        return True
    lost = suspect.lost_row
    if suspect.world.runs != sheet.world.runs:
        lost = hold_rows.get(suspect.lost_tool if suspect.lost_tool is not None else -1, -1)
    if hold.within and lost == hold.row:
        heights = [now for sight, now in zip(check.sights, seen, strict=True) if sight.what == "tip at hold point, z"]
        return all(isinstance(now, float) and now > 0.0 for now in heights)
    return hold.row <= lost
