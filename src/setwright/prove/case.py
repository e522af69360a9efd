"""What the checks of Prove look at: one setup, its path over the part, and everything the computation found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from setwright.base.span import Span
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_apart, format_length, format_size, format_volume
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal
from setwright.model.requirement import Size
from setwright.program.path import Path
from setwright.prove.depths import DeepCut, DeepHole
from setwright.prove.grip import GripLoss
from setwright.prove.parting import PartedPiece
from setwright.prove.plunges import Plunge
from setwright.prove.thin import ThinPlace
from setwright.prove.wanted import Compared

__all__ = ["BLANK", "WHOLE_SHARE", "Contact", "Feature", "Nearness", "NoDatum", "Overtravel", "Possible", "ProveCase",
           "RawFace", "Rest", "UnmadeFace"]  # fmt: skip

BLANK = "blank"


@dataclass(frozen=True, slots=True)
class Contact:
    """A part of one tool meets a body, in one or several motions of one kind.

    `body` is "blank" or the name of a body of the holding; `part` one of cutter, neck, shank, holder, spindle nose. `row` is the
    first such motion, `depth_mm` the deepest overlap of all `count` of them, met in `deepest_row` at the place `at` (W, mm).
    `turning`: whether the spindle turned the way the tool cuts. `way`: how rapids have to run for it, "straight" or "bent" (each
    axis by itself at its own speed), "" where it happens either way. `follows`: rows that meet metal only because this one left it.
    `doubt`: what it hangs on besides, "" where it is sure (see single_edge).
    `beyond`: it is a question, because only a blank whose faces lie beyond these places (mm, in W) is met; a draft guessed them.
    """

    body: str
    part: str
    row: int
    deepest_row: int
    depth_mm: float
    count: int
    at: tuple[float, float, float]
    rapid: bool
    turning: bool
    way: str = ""
    follows: tuple[int, ...] = ()
    doubt: str = ""
    beyond: tuple[tuple[str, float], ...] | None = None


@dataclass(frozen=True, slots=True)
class Nearness:
    """Least distance between a group of the tool's parts and a body, mm; the truth lies between `least_mm` and `at_most_mm`.

    `on_tool`, `on_body`: the nearest points, in W; `known_mm`: how far the distance may be off there, ±. To the blank: of what must
    not meet metal, to the metal as it then stands.
    """

    body: str
    part: str
    least_mm: float
    at_most_mm: float
    row: int
    on_tool: tuple[float, float, float]
    on_body: tuple[float, float, float]
    known_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Possible:
    """A contact that is possible though not computed: a part of the tool clears a body by `gap_mm` in `row`, and that distance is
    known only to ± `known_mm`; `count`: motions in doubt; `at`: where that is (W, mm), in the rays' doubt the motion's end."""

    body: str
    part: str
    row: int
    count: int
    gap_mm: float
    known_mm: float
    rapid: bool
    at: tuple[float, float, float]

    @property
    def nearness(self) -> Nearness:
        """The gap as a least distance."""
        return Nearness(self.body, self.part, self.gap_mm, self.gap_mm, self.row, self.at, self.at, self.known_mm)


@dataclass(frozen=True, slots=True)
class Overtravel:
    """An axis is sent beyond its travel: how far, and in which row first and worst."""

    axis: str
    beyond_mm: float
    limit_mm: float
    wanted_mm: float
    row: int


WHOLE_SHARE: Final = 0.98
"""Share of its stated area on which a face must be found: the rest is for its edges, beside which a ray may just miss it."""


@dataclass(frozen=True, slots=True)
class Feature:
    """A requirement measured on the simulated part. `simulated` is None when it could not be measured.

    `found`: the share of the stated area on which its faces are found (of several the least), `lost`: on which metal certainly
    stands or is missing beyond the limits; `least`, `greatest`: what the size is at the places of its faces that differ most, None
    for the fitted size. `why`: why it could not be measured, or what its faces are made of. An angle and its bound are in degrees,
    `unit` "deg"; all else is in mm.
    """

    name: str
    size: Size
    simulated: float | None
    bound_mm: float
    why: str = ""
    unit: str = "mm"
    found: float = 1.0
    lost: float = 0.0
    least: float | None = None
    greatest: float | None = None

    def saying(self, why: str) -> Feature:
        """The same with what there is to say of its faces."""
        return replace(self, why=why)

    def so_far(self) -> Feature:
        """The same after part of a program: what is not there may still be made."""
        return replace(self, lost=0.0)

    @property
    def deviation(self) -> float | None:
        """Simulated minus nominal, in `unit`."""
        return None if self.simulated is None else self.simulated - self.size.nominal

    @property
    def toleranced(self) -> bool:
        """Whether the drawing gives limits at all."""
        return self.size.upper > self.size.lower

    @property
    def telling(self) -> float | None:
        """The farthest out of its limits of the fitted, the least and the greatest size, in `unit`; the fitted one of equals."""
        sizes = [size for size in (self.simulated, self.least, self.greatest) if size is not None]
        if self.simulated is None or not self.toleranced:
            return self.simulated
        worst = max(sizes, key=self._beyond)
        return self.simulated if self._beyond(worst) <= self._beyond(self.simulated) + SAME_PLACE_MM else worst

    def _beyond(self, size: float) -> float:
        above = size - self.size.nominal - self.size.upper
        if self.size.nominal == self.size.lower == 0.0:  # what cannot be less than nothing has one limit only
            return above
        return max(self.size.nominal + self.size.lower - size, above)

    @property
    def beyond_mm(self) -> float | None:
        """How far outside its limits it lies (negative: inside) where it lies farthest out, in `unit`; None where there is nothing
        to compare."""
        return None if self.telling is None or not self.toleranced else self._beyond(self.telling)

    @property
    def uneven(self) -> bool:
        """Whether it is inside its limits as a whole, and outside of them somewhere."""
        return self.telling is not None and self.telling != self.simulated

    @property
    def state(self) -> str:
        """ "in" only where the whole face is there and the bound leaves no doubt (a size on its limit is in), "out" where a size
        is certainly beyond its limit, or a face or a part of it is not there, else "undecided"; "measured" where the drawing gives
        no limits."""
        if self.deviation is None:
            return "out" if self.lost > 1.0 - WHOLE_SHARE else "undecided"
        if self.beyond_mm is None:
            return "measured"
        doubt = self.bound_mm if self.bound_mm > SAME_PLACE_MM else 0.0
        if self.beyond_mm > max(doubt, SAME_PLACE_MM):
            return "out"
        if self.found < WHOLE_SHARE:
            return "out" if self.lost > 1.0 - WHOLE_SHARE else "undecided"
        return "in" if self.beyond_mm + doubt <= SAME_PLACE_MM else "undecided"


@dataclass(frozen=True, slots=True)
class UnmadeFace:
    """A face the program should make but does not cut on a `share` of its area: how far the blank's skin lies behind its stated
    plane there, mm (0 for a bore); how much is stated `beyond` the blank, in words, and the share that is `uncut` within it; `why`
    says why it could not be found at all, `lost` on what share of its area it surely is not there then."""

    name: str
    missing_mm: float = 0.0
    why: str = ""
    share: float = 1.0
    lost: float = 0.0
    beyond: str = ""
    uncut: float = 0.0


@dataclass(frozen=True, slots=True)
class NoDatum:
    """A face from which the datum takes what it `gives` ("x", "y", "z", "angle") and which the blank does not have in its place
    before the program: metal stands `over_mm` above it there (negative: is missing; None: no such face within reach); `row`: the
    motion that makes most of it, -1 if none does."""

    name: str
    gives: tuple[str, ...]
    over_mm: float | None
    row: int


@dataclass(frozen=True, slots=True)
class RawFace:
    """A face that is cut on the blank as stated and may stay raw on a `share` of its area: how far below the cut the blank may end
    there at most, mm, and the motion that makes most of it (-1: none does)."""

    name: str
    lower_mm: float
    share: float
    row: int


@dataclass(frozen=True, slots=True)
class Rest:
    """A guess of a drafted job that a proof rests on, with its place in the job's files, where it is answered.

    `decides`: whether the verdict changes when the guess is moved within its plausible range, None if that was not tried; `how`
    says what happens then.
    """

    guess: str
    file: str
    line: int
    decides: bool | None = None
    how: str = ""

    @property
    def rank(self) -> int:
        """Those that decide come first, then those nobody has tried."""
        return 0 if self.decides else 1 if self.decides is None else 2


@dataclass(frozen=True, slots=True)
class ProveCase:
    """One proof's facts. Rows refer to `path`; `lines` holds each program's lines for excerpts; `whole`: the program was run to its
    end, so that what is not made by then is not made at all."""

    kit: Kit
    truth: Truth
    path: Path
    lines: Mapping[str, Sequence[str]] = field(repr=False)
    contacts: tuple[Contact, ...] = ()
    possible: tuple[Possible, ...] = ()
    nearness: tuple[Nearness, ...] = ()
    overtravel: tuple[Overtravel, ...] = ()
    features: tuple[Feature, ...] = ()
    plunges: tuple[Plunge, ...] = ()
    parted: tuple[PartedPiece, ...] = ()
    grip_losses: tuple[GripLoss, ...] = ()
    wanted: Compared | None = None
    deep_holes: tuple[DeepHole, ...] = ()
    deep_cuts: tuple[DeepCut, ...] = ()
    thin: tuple[ThinPlace, ...] = ()
    unmade: tuple[UnmadeFace, ...] = ()
    raw: tuple[RawFace, ...] = ()
    no_datum: tuple[NoDatum, ...] = ()
    whole: bool = True
    removed_by_tool: Mapping[int, float] = field(default_factory=dict)
    time_by_tool: Mapping[int, float] = field(default_factory=dict)

    @property
    def passes(self) -> tuple[Nearness, ...]:
        """Where a group of the tool's parts comes nearest to a body of the holding that it does not hit, nor may hit."""
        hit = {(contact.body, "shank" if contact.part == "neck" else contact.part) for contact in self.contacts}
        hit |= {(one.body, one.part) for one in self.possible} | {(BLANK, near.part) for near in self.nearness}
        return tuple(near for near in self.nearness if near.row >= 0 and (near.body, near.part) not in hit)

    def drafted_cut(self, station: int) -> bool:
        """Whether it is a draft's guess where the blank ends, or how wide the tool is."""
        own = [guess for guess in self.kit.folder.job.guess if guess.setup in ("", self.kit.setup.name)]
        return any(guess.faces or (guess.what.startswith(f"T{station}: ") and guess.key.endswith(": diameter")) for guess in own)

    def length(self, mm: float, *, places: int = 3) -> str:
        """A length with its unit as this job writes it; `places` of a millimetre, one more of an inch."""
        return format_length(mm, self.kit.folder.units, places=places + (self.kit.folder.units != "mm"))

    def apart(self, *mm: float, places: int = 3) -> tuple[str, ...]:
        """Lengths that are compared, in as many more digits as tell them apart."""
        return format_apart(mm, self.kit.folder.units, places=places + (self.kit.folder.units != "mm"))

    def volume(self, mm3: float, *, places: int = 3) -> str:
        """A volume with its unit as this job writes it."""
        return format_volume(mm3, self.kit.folder.units, places=places)

    def size(self, mm: float) -> str:
        """A stated length, in as few digits as it was stated with."""
        return format_size(mm, self.kit.folder.units)

    def point(self, at: Sequence[float], *, places: int = 2) -> str:
        """A point of W as a control would show it."""
        return " ".join(f"{axis}{self.length(value, places=places).split()[0]}" for axis, value in zip("XYZ", at, strict=True))

    def station_at(self, row: int) -> int:
        """The tool in the spindle in a row."""
        return self.path.states[int(self.path.state[row])].tool

    def edge_stands(self, row: int) -> bool:
        """Whether a single-edged tool stands oriented in a row."""
        hung = self.kit.tools.get(self.station_at(row))
        return hung is not None and hung.tool.single_edged and self.path.states[int(self.path.state[row])].oriented

    def line_at(self, row: int) -> int:
        """The source line of a row."""
        return int(self.path.line[row])

    def place(self, row: int) -> dict[str, Any]:
        """Where a row stands, as the fields of a finding."""
        file, line = self.path.files[int(self.path.file[row])], self.line_at(row)
        texts = self.lines.get(file, ())
        text = texts[line - 1] if 0 < line <= len(texts) else ""
        column = len(text) - len(text.lstrip()) + 1
        excerpt = Span(file, line, column, max(1, len(text.strip())), text).excerpt()
        return {"file": file, "line": line, "column": column, "excerpt": excerpt, "motion": row, "tool": self.station_at(row),
                "setup": self.kit.setup.name}  # fmt: skip

    def tool_name(self, row: int) -> str:
        """The tool in a row as a setter calls it."""
        station = self.station_at(row)
        assembly = self.kit.tools.get(station)
        return f"T{station} {assembly.tool.name}" if assembly else f"T{station}"

    def finding(
        self, slug: str, signal: Signal, row: int, text: str, *, remedy: str, body: str = "",
        value: float | None = None, question: bool = False
    ) -> Finding:  # fmt: skip
        """A finding at a row; `value` is a length in mm."""
        unit = "mm" if value is not None else ""
        return Finding(slug=slug, signal=signal, text=text, remedy=remedy, body=body, value=value, unit=unit, question=question,
                       **self.place(row))  # fmt: skip
