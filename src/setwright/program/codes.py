"""Which codes exist, which exclude each other, and which own the axis words of their block. Codes are numbers times ten."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

__all__ = [
    "ALSO", "AXIS_OWNERS", "CYCLES", "GROUPS", "MACHINE_M", "MOTIONS", "NUMBERED_OFFSETS", "OTHERS", "PATTERNS", "SMOOTHING",
]  # fmt: skip

_TABLE: Final = {
    "motion": (0, 10, 20, 30, 730, 740, 760, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890),
    "plane": (170, 180, 190),
    "distance": (900, 910),
    "arc centre": (901, 911),
    "feed mode": (930, 940, 950),
    "units": (200, 210),
    "compensation": (400, 410, 420, 412, 422),
    "tool length": (430, 440, 490),
    "cycle return": (980, 990),
    "work offset": (540, 541, 550, 560, 570, 580, 590, 591, 592, 593),
    "corner": (610, 611, 620, 640),
    "rotation": (680, 690),
    "scaling": (500, 510),
    "mirror": (501, 511),
    "polar": (150, 160),
    "modal call": (660, 670),
}
GROUPS: Final = MappingProxyType({code: group for group, codes in _TABLE.items() for code in codes})
"""Modal group of each modal G code; two codes of one group in a block contradict each other."""

ALSO: Final = MappingProxyType({842: 840, 843: 740, 1540: 541})
"""Codes that some controls write for others: rigid tapping right and left hand, and the numbered offsets."""

SMOOTHING: Final = frozenset((50, 51, 80, 1870))
"""Codes that tell the control how far it may round corners while it looks ahead (alone in their block)."""

NUMBERED_OFFSETS: Final = range(1100, 1300, 10)
"""G110 to G129, which some controls read as the first twenty numbered offsets."""

PATTERNS: Final = frozenset((700, 710, 720))
"""Rows of holes for the cycle in force: on a circle, on an arc, on a line; two of them are also words for the unit."""

AXIS_OWNERS: Final = (40, 100, 120, 130, 280, 300, 501, 510, 511, 520, 650, 660, 680, 920, 921, 922, 923)
"""G codes that take the axis words of their block for themselves, so that the block makes no other move."""

OTHERS: Final = (90, 530)
"""G codes for one block that belong to no group: exact stop, machine coordinates."""

MOTIONS: Final = frozenset(_TABLE["motion"])
CYCLES: Final = frozenset(code for code in MOTIONS if code >= 730 and code != 800)
MACHINE_M: Final = frozenset((0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 19, 30, 48, 49, 60, 97, 98, 99))
"""M numbers with a meaning of their own here."""
