"""What stands on a sheet: plain values, ready to be laid out. Whoever has job and results fills this; nothing is computed here.

Lengths are mm, angles degrees, positions are in the work frame W of the setup (X to the right and Y away from the person in front
of the machine, Z up). `units` only says in which unit lengths are printed. A value nobody knows yet is None and is printed as a
box to write in, never as zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from setwright.model.finding import Finding, Signal

__all__ = [
    "STANDARD_CAUTIONS",
    "Axis",
    "Body",
    "BodyKind",
    "Caution",
    "Check",
    "Contact",
    "Dimension",
    "HoldPoint",
    "OffsetBlock",
    "Point",
    "Program",
    "Register",
    "SheetContent",
    "SheetTool",
    "Solid",
    "box",
]

Point = tuple[float, float, float]
"""X, Y, Z in W, mm."""


class Axis(StrEnum):
    """The direction a dimension runs in."""

    X = "x"
    Y = "y"
    Z = "z"


class BodyKind(StrEnum):
    """What a body on the drawing is; decides line and shade. Names find room on the drawing in this order."""

    BLANK = "blank"
    JAW = "jaw"
    PARALLEL = "parallel"
    STOP = "stop"
    CLAMP = "clamp"
    FIXTURE = "fixture"
    TABLE = "table"
    FEATURE = "feature"


@dataclass(frozen=True, slots=True)
class Solid:
    """An upright prism: outline in X, Y (mm, either sense, not closed) from `bottom` to `top` in Z (mm)."""

    outline: tuple[tuple[float, float], ...]
    bottom: float
    top: float


@dataclass(frozen=True, slots=True)
class Body:
    """One labelled thing on the drawing. A FEATURE is an outline on the blank (a bore, a step). FIXTURE (a vise's bed, a plate) and
    TABLE may reach beyond the picture: it is as large as the others need, and these two are cut at its edge."""

    kind: BodyKind
    label: str
    solid: Solid


@dataclass(frozen=True, slots=True)
class Contact:
    """One touch of finder, probe or height setter: where, and in which direction the finder went (any length, W).

    `number` joins the dot on the drawing with its line in the table. `display` is what was read, as text; `residual` mm: how far
    this reading lies from the solution, None before there is one; `left_out` says why a reading does not count, empty if it does.
    """

    number: int
    on: str
    at: Point
    toward: Point
    instrument: str = ""
    display: str = ""
    residual: float | None = None
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class Dimension:
    """A length to show on the drawing along one axis, from `low` to `high` (W, mm); `note` is printed behind the number."""

    axis: Axis
    low: float
    high: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class Program:
    """A program as it is on the machine; `digest` is the hex SHA-256 of its bytes."""

    name: str
    digest: str


@dataclass(frozen=True, slots=True)
class Register:
    """One number to type: value and expanded uncertainty (95 %) in mm, or in degrees if `angle`; None if not determined."""

    name: str
    value: float | None
    uncertainty: float | None = None
    angle: bool = False


@dataclass(frozen=True, slots=True)
class OffsetBlock:
    """The registers of one work offset, for example "G54" with X, Y, Z and its rotation."""

    name: str
    registers: tuple[Register, ...]


@dataclass(frozen=True, slots=True)
class SheetTool:
    """One line of the tool table. Speeds rev/min and feeds mm/min as (least, largest) over the program; None if it has none."""

    station: int
    description: str
    diameter: float | None
    stickout: float | None
    length_register: int | None = None
    length: Register | None = None
    radius_register: int | None = None
    radius: Register | None = None
    speed_rpm: tuple[float, float] | None = None
    feed_mm_min: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Check:
    """Something to do before the first cut, with what it takes and which mistakes it would show."""

    text: str
    minutes: float | None = None
    shows: str = ""


@dataclass(frozen=True, slots=True)
class HoldPoint:
    """A place in the program to stop at and look; `place` reads like "cap-1.nc line 42"."""

    place: str
    text: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A standing warning."""

    signal: Signal
    text: str


STANDARD_CAUTIONS = (
    Caution(Signal.DANGER, "This sheet is a calculation about a model, never a permission to start. A qualified person decides, "
                           "at the machine."),
    Caution(Signal.WARNING, "Guards and interlocks stay in service. In setup mode keep the machine's own speed limits."),
    Caution(Signal.WARNING, "Never turn a finder, a tool or a holder faster than its maker rates it, nor one "
                           "that is not balanced for the speed."),
    Caution(Signal.NOTICE, "The machine maker's manual, the rules of the shop and local law come before this sheet."),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """Everything on the sheet of one setup.

    `verdict` is the station's answer in one sentence; `cycle` the computed time, with its ± where the machine was timed.
    `placement` are sentences on where the holding stands on the table.
    `determined_from` says in words what each axis comes from. `guesses` are the guesses the verdict rests on. `link` is what the
    square code holds: the address of the route card, or the job's digest. `digest` (hex) names the whole job; `seal` is that of its
    revision in short where the job comes from a record; `made` is the day the numbers were computed.
    """

    title: str
    setup: str
    drawing: str = ""
    revision: str = ""
    material: str = ""
    machine: str = ""
    units: str = "mm"
    verdict: str = ""
    programs: tuple[Program, ...] = ()
    cycle: str = ""
    offsets: tuple[OffsetBlock, ...] = ()
    determined_from: tuple[str, ...] = ()
    bodies: tuple[Body, ...] = ()
    datum: Point | None = (0.0, 0.0, 0.0)
    contacts: tuple[Contact, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    placement: tuple[str, ...] = ()
    tools: tuple[SheetTool, ...] = ()
    findings: tuple[Finding, ...] = ()
    checks: tuple[Check, ...] = ()
    hold_points: tuple[HoldPoint, ...] = ()
    cautions: tuple[Caution, ...] = STANDARD_CAUTIONS
    guesses: tuple[str, ...] = ()
    link: str = ""
    digest: str = ""
    seal: str = ""
    version: str = ""
    made: date | None = field(default=None)


def box(low: Point, high: Point) -> Solid:
    """The prism of an axis-parallel box from its least to its greatest corner (W, mm)."""
    return Solid(((low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1])), low[2], high[2])
