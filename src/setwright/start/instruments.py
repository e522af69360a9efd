"""Instruments a draft puts into the shop folder, so that touching off can begin: no program says what the shop has."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from setwright.start.wording import Evidence, cite

__all__ = ["DraftInstrument", "default_instruments", "instruments_why"]

_INCH: Final = 25.4


@dataclass(frozen=True, slots=True)
class DraftInstrument:
    """An instrument as the draft writes it: file name, name, kind; `sizes` and `errors` in mm by key; the words of the rest."""

    file: str
    name: str
    kind: str
    sizes: tuple[tuple[str, float], ...]
    errors: tuple[tuple[str, float], ...]
    read: str
    caution: str
    rated_speed: str = ""


def default_instruments(*, inch: bool) -> tuple[DraftInstrument, ...]:
    """An edge finder, a height setter, a test indicator, in sizes of the program's unit, and with errors on the wide side."""
    tip, height = (0.2 * _INCH, 2.0 * _INCH) if inch else (10.0, 50.0)
    shown = ("0.2 in", "2 in") if inch else ("10 mm", "50 mm")
    return (
        DraftInstrument(
            "default-edge-finder", f"edge finder {shown[0]} (default)", "mechanical edge finder", (("tip_diameter", tip),),
            (("repeatability", 0.005), ("tip_uncertainty", 0.005)), "click",
            "Never faster than the speed marked on it: the tip flies off its spring.", "1000 rpm",
        ),
        DraftInstrument(
            "default-height-setter", f"height setter {shown[1]} (default)", "height setter", (("height", height),),
            (("repeatability", 0.005), ("height_uncertainty", 0.005)), "dial zero", "Spindle stopped, the last bit by hand.",
        ),
        DraftInstrument(
            "default-test-indicator", "test indicator (default)", "test indicator", (), (("repeatability", 0.005),), "dial zero",
            "Turn the spindle by hand, drive switched off.",
        ),
    )  # fmt: skip


def instruments_why() -> Evidence:
    """Why they are in the draft."""
    return cite("default instruments: write down what yours measure before you touch off")
