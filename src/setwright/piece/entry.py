"""Measured values as a gauge or a person types them: one value a line, in the order of what there is to measure.

    12.529                  the value of the feature that is asked for, in the unit of the job
    12,529 mm               the same as a gauge with a decimal comma sends it
    depth of seat 12.529    that of another feature
    with calliper           the gauge from here on for what is read with the same kind
    piece 4                 another piece, from its first feature on
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

from setwright.base.errors import InputRefused
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.jobfolder.load import JobFolder
from setwright.model.measurement import Measured
from setwright.model.requirement import Size
from setwright.piece.decision import Decision, decide
from setwright.piece.plan import ToMeasure

__all__ = ["Entered", "Entry", "next_piece"]

_PROVES: Final = {Decision.ACCEPT: "proved good", Decision.REJECT: "proved bad", Decision.NO_LIMITS: "no limits",
                  Decision.UNDECIDED: "undecided: nearer to a limit than the gauge can tell"}  # fmt: skip
_MARKS: Final = "\"'″°"
"""Units that are no letters."""


@dataclass(frozen=True, slots=True)
class Entered:
    """A value as it shall stand in a line: of `row`, its `piece`, the `value` as it was typed, its `unit` ("" where the value says
    it), the `gauge` of the shop."""

    row: ToMeasure
    piece: str
    value: str
    unit: str
    gauge: str

    def cells(self, setup: str, when: str) -> Mapping[str, str]:
        """The cells of its line."""
        return {"piece": self.piece, "setup": setup, "feature": self.row.feature, "value": self.value, "unit": self.unit,
                "gauge": self.gauge, "time": when}  # fmt: skip


class Entry:
    """Takes one line after the other for a setup; `plan` as it shall be gone through, `known`: features that the piece has a value
    of, `guard`: see decide."""

    def __init__(self, folder: JobFolder, plan: tuple[ToMeasure, ...], piece: str, known: Collection[str] = (), *,
                 guard: float = 2.0) -> None:  # fmt: skip
        self._own, self._guard = folder.job.units, guard
        self._plan, self.piece = plan, piece
        self._open = [one for one in plan if one.feature not in known]
        self._with: dict[str, str] = {}

    @property
    def wanted(self) -> ToMeasure | None:
        """What is asked for; None where everything was measured."""
        return self._open[0] if self._open else None

    def gauge(self, row: ToMeasure) -> str:
        """The gauge a value of it is written under, "" for none."""
        return self._with.get(row.kind, row.gauge)

    def passed_over(self) -> None:
        """What is asked for is left out."""
        self._open = self._open[1:]

    def taken(self, row: ToMeasure) -> None:
        """A value of it was written."""
        self._open = [one for one in self._open if one is not row]

    def asked_again(self, row: ToMeasure) -> None:
        """Its value was taken back."""
        self._open = [row, *self._open]

    def judged(self, made: Entered) -> str:
        """What a value proves by itself, for people."""
        row = made.row
        gauge = next(one for one in row.instruments if one.key == made.gauge)
        if row.low is None or row.high is None:
            return "written"
        angle = row.unit == "deg"
        value = parse_quantity(f"{made.value} {made.unit}", Dimension.ANGLE if angle else Dimension.LENGTH, self._own)
        limits = Size(row.nominal, row.low - row.nominal, row.high - row.nominal)
        decision = decide(math.degrees(value) if angle else value, limits, gauge.expanded, guard=self._guard)
        return f"written; {_PROVES[decision]}"

    def read(self, text: str) -> Entered | None:
        """A value, None where the line says with what or of which piece. Raises InputRefused for a line that says neither."""
        word, _, rest = text.strip().partition(" ")
        if word.lower() == "with" and rest.strip():
            self._named(rest.strip())
            return None
        if word.lower() == "piece" and rest.strip():
            self.piece, self._open = rest.strip(), list(self._plan)
            return None
        row, said = self._feature(text.strip())
        if row is None:
            raise InputRefused.because(f"“{text.strip()}” comes after everything was measured",
                                       remedy="write end, piece and the next number, or the feature before the value")  # fmt: skip
        angle = row.unit == "deg"
        try:
            parse_quantity(said, Dimension.ANGLE if angle else Dimension.LENGTH, "deg" if angle else self._own)
        except UnitError as error:
            raise InputRefused.because(f"“{text.strip()}” is no value of “{row.feature}”", why=str(error),
                                       remedy="write the value alone, or the feature and its value") from None  # fmt: skip
        gauge = self.gauge(row)
        if not gauge:
            raise InputRefused.because(f"no gauge is named for “{row.feature}”", remedy=f"write with and one of {self._able(row)}")
        bare = "" if said[-1].isalpha() or said[-1] in _MARKS else row.unit if angle else self._own
        return Entered(row, self.piece, said, bare, gauge)

    def _feature(self, text: str) -> tuple[ToMeasure | None, str]:
        """The feature a line names before its value, else the one that is asked for."""
        for row in sorted(self._plan, key=lambda one: -len(one.feature)):
            if text.lower().startswith(f"{row.feature.lower()} "):
                return row, text[len(row.feature) :].strip()
        return self.wanted, text

    def _named(self, key: str) -> None:
        row = self.wanted or self._plan[-1]
        if key not in [one.key for one in row.instruments]:
            raise InputRefused.because(f"no gauge “{key}” of the shop measures “{row.feature}”",
                                       remedy=f"there are {self._able(row)}")  # fmt: skip
        self._with[row.kind] = key

    def _able(self, row: ToMeasure) -> str:
        return ", ".join(one.key for one in row.instruments) or "none: write one into shop/gauges"


def next_piece(measured: Measured | None, setup: str) -> str:
    """The number after the last one. Raises InputRefused where pieces have names."""
    pieces = () if measured is None else measured.pieces(setup)
    if not all(piece.isdecimal() for piece in pieces):
        raise InputRefused.because("the pieces have names, not numbers", remedy="say which comes now: --piece NAME")
    return str(max((int(piece) for piece in pieces), default=0) + 1)
