"""Answers of the stations that answer at once. Lengths mm, in the setup's own frame W unless it says otherwise."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, Field

from setwright.web.wire.common import FindingSaid, Point, RevisionSaid, StationAnswer

__all__ = [
    "Assumption", "BodySaid", "BorderSaid", "BordersOfAxis", "Box", "CalledUnread", "ContactDot", "Cylinder", "Evidence",
    "Extent", "FaceDrawn", "Fixed", "Frame", "KitAnswer", "KitOfSetup", "Mesh", "Number", "OutlierSaid", "Picture",
    "PlaceOnTable", "Planned", "ProgramSaid", "ReadAnswer", "ReadOfSetup", "ReadSaid", "ReadingKept", "ReadingsSaid", "Revolved",
    "Scene", "Shape", "Share", "SlipSaid", "ToolOfKit", "ToolRead", "ToolShape", "TouchAnswer", "TouchOfSetup", "TouchSaid",
    "Unchecked", "UnreadSaid", "Usual",
]  # fmt: skip


class ProgramSaid(BaseModel):
    """A program that was read."""

    file: str
    sha256: str
    lines: int


class ToolRead(BaseModel):
    """What the programs ask of a tool."""

    number: int
    length_register: int | None
    radius_register: int | None
    length_registers: list[int]
    radius_registers: list[int]
    feed_range_mm_min: tuple[float, float] | None
    speed_range_rpm: tuple[float, float] | None
    motions: int
    cutting_motions: int
    line: int
    time_s: float | None
    description: str


class Extent(BaseModel):
    """A box."""

    min: Point
    max: Point


class Evidence(BaseModel):
    """What in the text says how the control behaves."""

    behaviour: str
    reading: str
    text: str
    place: str


class Assumption(Evidence):
    """How the text was taken where it can be taken in several ways; `count` times."""

    count: int


class CalledUnread(BaseModel):
    """A tool (`number`, with what comments say of it), register or offset (`name`) called behind a stop, and where first."""

    number: int | None = None
    name: str = ""
    description: str = ""
    file: str
    line: int


class UnreadSaid(BaseModel):
    """What stands behind the line at which the reading stopped: how many blocks, and what they call."""

    file: str
    line: int
    blocks: int
    tools: list[CalledUnread]
    registers: list[CalledUnread]
    offsets: list[CalledUnread]


class ReadSaid(BaseModel):
    """What a setup's programs ask for."""

    programs: list[ProgramSaid]
    blocks: int
    motions: int
    end: str
    stopped_at: str | None
    profile: str
    evidence: list[Evidence]
    assumptions: list[Assumption]
    tools: list[ToolRead]
    unread: UnreadSaid | None
    time_s: float | None
    time_uncertainty_s: float | None
    offsets: list[str]
    extents: dict[str, Extent]


class ReadOfSetup(ReadSaid):
    """Of one setup."""

    setup: str


class ReadAnswer(StationAnswer, ReadOfSetup):
    """What the programs ask for; the first setup once more at the top."""

    setups: list[ReadOfSetup]


class BodySaid(BaseModel):
    """A body of the setup and its box."""

    name: str
    role: str
    min: Point
    max: Point


class ToolOfKit(BaseModel):
    """A tool as it hangs in the spindle."""

    station: int
    name: str
    kind: str
    diameter_mm: float
    stickout_mm: float
    length_mm: float
    length_register: int
    radius_register: int


class Box(BaseModel):
    """A box by its corners."""

    low: Point
    high: Point


class Cylinder(BaseModel):
    """An upright cylinder."""

    centre: tuple[float, float]
    radius: float
    bottom: float
    top: float


class Mesh(BaseModel):
    """Triangles, nine numbers each."""

    triangles: list[float]


class Shape(BaseModel):
    """A body's shape: one of `box`, `cylinder`, `mesh`."""

    name: str
    role: str
    box: Box | None = None
    cylinder: Cylinder | None = None
    mesh: Mesh | None = None


class Revolved(BaseModel):
    """A piece of a tool, turned about its axis, from `z0` to `z1` above the tip. A line goes from radius `r0` to `r1`; an arc has
    its centre at the radius `e` from the axis and the height `f`, and the radius `rho`."""

    part: str
    meridian: Literal["line", "arc"]
    z0: float
    z1: float
    r0: float
    r1: float
    e: float
    f: float
    rho: float


class ToolShape(BaseModel):
    """A tool from the tip upward."""

    name: str
    length: float
    pieces: list[Revolved]


class Frame(BaseModel):
    """machine = rotation x work + shift."""

    rotation: tuple[Point, Point, Point]
    shift: Point


class Scene(BaseModel):
    """The shapes of a setup. `copies`: shifts of the parts of a pallet; `blank` null where an earlier setup leaves it."""

    blank: Shape | None
    bodies: list[Shape]
    tools: dict[str, ToolShape]
    machine_from_work: Frame
    copies: list[Point]


class BorderSaid(BaseModel):
    """An end of where the holding may stand: how far from the place stated, the machine position in the way, and why: the end of
    "travel" with the line and tool that get there first, or the edge of the "table" (line 0)."""

    shift_mm: float
    limit_mm: float
    why: Literal["travel", "table"]
    file: str
    line: int
    tool: int


class BordersOfAxis(BaseModel):
    """The lesser and the greater end along an axis; of a height a table has none."""

    low: BorderSaid
    high: BorderSaid


class PlaceOnTable(BaseModel):
    """Where on the table the holding may stand. `room`: there is a place at all; `best_shift_mm`: along X and Y, as far from all
    borders as can be; `offset` and `offset_mm`: the zero at the place stated; `guessed`: the travel or the place is a guess."""

    x: BordersOfAxis
    y: BordersOfAxis
    z: BordersOfAxis
    room: bool
    best_shift_mm: tuple[float, float]
    offset: str
    offset_mm: Point
    guessed: bool


class KitOfSetup(BaseModel):
    """A setup put together. `may_stand` null where that is not known, for the reason `may_stand_open`."""


    setup: str
    machine: str
    blank: Extent
    bodies: list[BodySaid]
    tools: list[ToolOfKit]
    expected_offsets: dict[str, Point]
    place_known: bool
    scene: Scene
    may_stand: PlaceOnTable | None
    may_stand_open: str


class KitAnswer(StationAnswer):
    """Every setup put together, and what is noticed about it."""

    setups: list[KitOfSetup]


class Number(BaseModel):
    """A number with its expanded uncertainty and coverage factor, all null where nothing fixes it. `type`: the digits to type;
    `register`: where."""

    value: float | None
    expanded_uncertainty: float | None
    k: float | None
    dof: float | None = None
    type: str | None = None
    register_name: str | None = Field(default=None, alias="register")


class Fixed(BaseModel):
    """What fixes an axis, and the sentence about it."""

    by: str
    text: str


class Share(BaseModel):
    """A contribution to an uncertainty; `share` of the variance, from 0 to 1."""

    source: str
    standard_uncertainty: float
    share: float
    dof: float | None


class OutlierSaid(BaseModel):
    """A contact (from 1) the others contradict; `rivals` could be the wrong one as well."""

    contact: int
    on: str
    early: float
    standardised: float
    rivals: list[int]
    text: str


class Unchecked(BaseModel):
    """A contact nothing checks: an error smaller than `least_found` would not be noticed (null: no error would)."""

    contact: int
    least_found: float | None


class SlipSaid(BaseModel):
    """A slip that would explain what does not fit, and how probable it is."""

    slug: str
    probability: float
    text: str


class ContactDot(BaseModel):
    """A contact where it is on the part: `number` in its list from 1, `toward` the direction of the touch (0, 0, 0 for a sweep),
    `off_mm` how far it lies off the solution, `odd` what is odd about it."""

    number: int
    on: str
    at: Point
    toward: Point
    instrument: str
    shown: str
    off_mm: float | None
    odd: str


class FaceDrawn(BaseModel):
    """A face that can be touched: an upright bore or boss by its centre `at` and `diameter_mm`, a flat by its middle `at`, its
    `half` extent and the way it is `facing`. `made`: only the program makes it; `held`: it belongs to the holding.
    `ways`: how a tip can meet it, as readings name them."""

    name: str
    kind: Literal["bore", "boss", "flat"]
    ways: list[str]
    made: bool
    held: bool
    at: tuple[float, float, float | None]
    diameter_mm: float | None
    half: Point | None
    facing: Point | None


class Picture(BaseModel):
    """What a drawing of the touch-off shows; the origin is the program's zero."""

    blank: Extent
    bodies: list[BodySaid]
    faces: list[FaceDrawn]
    contacts: list[ContactDot]


class TouchSaid(BaseModel):
    """Where the part is, lengths in the document's `units`. Offsets by name and axis ("x", "y", "z", "rotation_deg"); lengths and
    radii by station."""

    offsets: dict[str, dict[str, Number]]
    tool_lengths: dict[str, Number]
    tool_radii: dict[str, Number]
    determined: dict[str, Fixed]
    contributions: dict[str, list[Share]]
    outliers: list[OutlierSaid]
    unchecked: list[Unchecked]
    slips: list[SlipSaid]
    no_slip: float | None
    unlisted: float | None
    settled: bool | None
    tells_apart: str | None
    type: list[str]
    read_back: list[str]
    g10: str
    next_contact: str | None


class Planned(BaseModel):
    """A touch still to be made: `what` in words, the face `on` which and the way `toward` it, the `tool` that comes down on it,
    the axis that must be read `also` ("" for none), and the instrument (`with`) likely used."""

    what: str
    on: str
    toward: str
    tool: int | None
    also: str
    with_: str = Field(alias="with")


class Usual(BaseModel):
    """The instruments that are likely used next: the finder, what stands under a tool's tip, what sweeps round a bore."""

    finder: str
    under: str
    sweeps: str


class TouchOfSetup(TouchSaid):
    """Of one setup, with its sentence, what is still to be touched in the order of the datum, and with what."""

    setup: str
    plan: list[Planned]
    usual: Usual
    answer: str
    picture: Picture


class TouchAnswer(StationAnswer, TouchOfSetup):
    """Where the part is; the first setup once more at the top."""

    setups: list[TouchOfSetup]


class ReadingsSaid(BaseModel):
    """The readings as written: the text, and each list in its order with the keys of readings.toml."""

    text: str
    contact: list[dict[str, Any]]
    tool_length: list[dict[str, Any]]
    tool_diameter: list[dict[str, Any]]


class ReadingKept(BaseModel):
    """The revision a reading made, and the solution as it is now; null where it is refused, `undecided` says why. `plan`: what is
    still to be touched."""

    revision: RevisionSaid
    touch: TouchAnswer | None
    plan: list[Planned]
    undecided: list[FindingSaid]
