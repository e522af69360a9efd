"""The job: what is made, setup by setup, with everything the shop puts into it.

Frames: W is the program's work frame of a setup (blank, faces, bores and requirements are stated in it), M the machine's.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.holding import Holding, SetupHolding
from setwright.model.instrument import Instrument
from setwright.model.machine import Machine
from setwright.model.material import Material
from setwright.model.measurement import Gauge
from setwright.model.quantity import Angle, Length, Name, Part, Point2, Point3, Reason, Spread, positive
from setwright.model.reading import Readings, Registers
from setwright.model.requirement import Requirement, Thickness
from setwright.model.setup_check import SetupCheck
from setwright.model.tool import Tool

__all__ = [
    "BOX_FACES", "Blank", "BlankFace", "Bore", "Datum", "DatumZ", "Face", "Flat", "Guess", "Job", "JobInfo", "Opening", "Preset",
    "RoundBlank", "Setup", "SetupTool", "Shop", "Slope", "Turn", "Wanted", "joined",
]  # fmt: skip

Line = Annotated[int, Field(strict=True, ge=1)]
Size = Annotated[Length, AfterValidator(positive)]
Axis = Literal["x", "y", "z"]
BlankFace = Literal["left", "right", "front", "back", "bottom", "top"]
BOX_FACES: Final = ("left", "right", "front", "back", "bottom", "top")


class RoundBlank(Part):
    """An upright round blank."""

    diameter: Size
    height: Size


class Turn(Part):
    """How the part of an earlier setup was turned before it was put into this one: quarter turns about an axis of W."""

    about: Axis
    by: Literal[90, 180, 270]


class Blank(Part):
    """The blank before this setup's first cut: one of `box`, `cylinder`, `mesh`, `from`.

    `corner`: least corner of the blank in W (for a cylinder, of the box around it). `varies`: what the saw or caster leaves, ±;
    of one `from` an earlier setup, which carries over what that leaves, only where it is written.
    """

    box: tuple[Size, Size, Size] | None = None
    cylinder: RoundBlank | None = None
    mesh: Name | None = None
    mesh_units: Literal["mm", "in"] = "mm"
    from_: Annotated[Name | None, Field(alias="from")] = None
    turned: tuple[Turn, ...] = ()
    corner: Point3
    varies: tuple[Spread, Spread, Spread] = (0.0, 0.0, 0.0)

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        kinds = [k for k in ("box", "cylinder", "mesh", "from_") if getattr(self, k) is not None]
        if len(kinds) != 1:
            raise ValueError("write exactly one of box, cylinder, mesh, from")
        return self


class Bore(Part):
    """An upright cylindrical face: its axis in W, diameter, and the heights between which it exists.

    `arc`: where only a part of the circle is drawn, the angles it runs from and to, counter-clockwise from +X; bare numbers are
    degrees.
    """

    centre: Point2
    diameter: Size
    from_: Annotated[Length, Field(alias="from")]
    to: Length
    arc: tuple[Angle, Angle] | None = None


class Flat(Part):
    """A flat face: the direction it looks, a point in its middle, and its extent along the two other axes (in X, Y, Z order)."""

    facing: Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z"]
    at: Point3
    size: tuple[Size, Size]


class Slope(Part):
    """A flat face that leans: the direction it looks (any length), a point in its middle, and the diameter of a circle about it
    that lies on the face."""

    facing: tuple[float, float, float]
    at: Point3
    across: Size

    @model_validator(mode="after")
    def _looks_somewhere(self) -> Self:
        if not any(self.facing):
            raise ValueError("facing = [0, 0, 0] is no direction")
        return self


class Opening(Part):
    """A place of W that the drawing takes out of a face, as a keyway out of a bore: a box (`corner`, `size`) or an upright round
    (`centre`, `diameter`) of any height."""

    corner: Point3 | None = None
    size: tuple[Size, Size, Size] | None = None
    centre: Point2 | None = None
    diameter: Size | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        box, round_ = (self.corner, self.size), (self.centre, self.diameter)
        whole, none = (box, round_) if box[0] is not None else (round_, box)
        if None in whole or none != (None, None):
            raise ValueError("write corner = [x, y, z] and size = [x, y, z], or centre = [x, y] and diameter = ...")
        return self


class Face(Part):
    """A place a person can touch, measure or dimension from; exactly one of `bore`, `boss`, `flat`, `slope` (to measure only).

    `made`: false when the face exists on the blank before the program runs (a face to touch), true when the program makes it.
    `open`: what the drawing takes out of it, where no other face of the setup says so.
    """

    name: Name
    bore: Bore | None = None
    boss: Bore | None = None
    flat: Flat | None = None
    slope: Slope | None = None
    made: bool = True
    open: tuple[Opening, ...] = ()

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if sum(getattr(self, k) is not None for k in ("bore", "boss", "flat", "slope")) != 1:
            raise ValueError("write exactly one of bore = {...}, boss = {...}, flat = {...}, slope = {...}")
        return self


class DatumZ(Part):
    """A face and the Z of the program at which it lies."""

    face: Name
    is_: Annotated[Length, Field(alias="is")] = 0.0


class Datum(Part):
    """What the program's zero is found from: face names for x and y, what fixes the angle, and the face that gives Z."""

    x: Name
    y: Name
    angle: Name = "fixed jaw"
    z: DatumZ


def joined(name: str) -> tuple[str, ...]:
    """The names in "left and right"."""
    return tuple(part.strip() for part in name.split(" and ")) if " and " in name else (name,)


class Preset(Part):
    """Length and radius as measured beforehand, and how far off that may be (one standard deviation)."""

    length: Size | None = None
    radius: Size | None = None
    varies: Spread = 0.01


class SetupTool(Part):
    """A tool in its pocket for this setup; registers default to the station's number.

    `deepest_cut`: how deep it is planned to cut at once, along its axis; without it the flutes alone say what is too deep.
    """

    station: Annotated[int, Field(strict=True, ge=0, le=99999)]
    use: Name
    stickout: Size
    deepest_cut: Size | None = None
    length_register: Annotated[int | None, Field(strict=True, ge=0)] = None
    radius_register: Annotated[int | None, Field(strict=True, ge=0)] = None
    preset: Preset = Preset()


class Wanted(Part):
    """The part as it shall be after this setup: a closed mesh from a file of the job folder, moved by `shift` in W.

    `within`: how far the simulated part may deviate from it either way.
    """

    mesh: Name
    mesh_units: Literal["mm", "in"] = "mm"
    shift: Point3 = (0.0, 0.0, 0.0)
    within: Size = 0.05


class Setup(Part):
    """One clamping of the part and the programs run in it.

    `lines`: the first and last line, from 1, of the first of its programs that this setup runs, where one program holds several
    clampings; left away, all of it. The lines before are executed for what they leave in force (the control does not forget), and
    move nothing in this setup; a subprogram belongs to the setup in whose lines it is called.
    `lengths`: tool lengths come from registers, or (for programs that never apply one) each tool's tip is set on the datum itself.
    """

    name: Name
    machine: Name
    programs: Annotated[tuple[Name, ...], Field(min_length=1)]
    lines: tuple[Line, Line] | None = None
    offset: Name = "G54"
    shifts: dict[str, Point3] = Field(default_factory=dict)
    lengths: Literal["registers", "touched off with each tool"] = "registers"
    blank: Blank
    face: tuple[Face, ...] = ()
    holding: SetupHolding
    datum: Datum
    tool: tuple[SetupTool, ...] = ()
    requirement: tuple[Requirement, ...] = ()
    at_least: Thickness = Thickness()
    wanted: Wanted | None = None

    @model_validator(mode="after")
    def _distinct(self) -> Self:
        for what, names in (("face", [f.name for f in self.face]), ("station", [str(t.station) for t in self.tool])):
            seen = [n for n in names if names.count(n) > 1]
            if seen:
                raise ValueError(f"{what} {seen[0]} is written twice")
        if self.lines is not None and self.lines[0] > self.lines[1]:
            raise ValueError(f"lines = [{self.lines[0]}, {self.lines[1]}] ends before it begins")
        return self

    @property
    def datum_names(self) -> dict[int, tuple[str, ...]]:
        """What zero is taken from along X, Y, Z: names of faces, that of the blank where the datum names what it lies against."""
        against = {"fixed jaw": self.holding.fixed_jaw, "end stop": self.holding.end_stop}
        alias = {"parallels": "bottom"} | {name: at.against for name, at in against.items() if at is not None}
        said = (self.datum.x, self.datum.y, self.datum.z.face)
        return {axis: tuple(alias.get(part, part) for part in joined(name)) for axis, name in enumerate(said)}

    def runs(self, file: str, line: int) -> bool:
        """Whether this setup runs that line, as far as the job says: any line of its programs but those outside `lines`."""
        return file in self.programs and (self.lines is None or file != self.programs[0] or self.lines[0] <= line <= self.lines[1])


class JobInfo(Part):
    """Title block. `general_tolerance`: the class of ISO 2768-1 that sizes without limits have."""

    title: Name
    drawing: str = ""
    revision: str = ""
    material: str = ""
    customer: str = ""
    general_tolerance: Literal["f", "m", "c", "v"] | None = None


class Shop(Part):
    """What the shop has, by file name: machines, holding, tools, instruments, gauges; the checks it makes on a setup; its own
    figures of materials."""

    machines: dict[str, Machine] = Field(default_factory=dict)
    holding: dict[str, Holding] = Field(default_factory=dict)
    tools: dict[str, Tool] = Field(default_factory=dict)
    instruments: dict[str, Instrument] = Field(default_factory=dict)
    gauges: dict[str, Gauge] = Field(default_factory=dict)
    checks: dict[str, SetupCheck] = Field(default_factory=dict)
    materials: dict[str, Material] = Field(default_factory=dict)


class Guess(Part):
    """Something a draft assumed: what, the evidence for it, and where it is answered.

    `key`: the file and the dotted place in it that the answer belongs to: "job.toml: setup.blank.box" of the setup named here,
    "job.toml: setup.tool.3.stickout" of station 3, "shop/tools/drill-8.toml: diameter"; empty where no one value answers it.
    `file`, `line`: the place in a program that it comes from. `low`, `high`: between which lengths the truth may plausibly lie,
    one for each component of the value; with `faces`, one for each of these faces of the blank (where the face may lie in W).
    """

    setup: str = ""
    what: Name
    evidence: Reason
    key: str = ""
    file: str = ""
    line: Annotated[int | None, Field(strict=True, ge=1)] = None
    low: tuple[Length, ...] = ()
    high: tuple[Length, ...] = ()
    faces: tuple[BlankFace, ...] = ()

    @model_validator(mode="after")
    def _ranges_fit(self) -> Self:
        if len(self.low) != len(self.high) or (self.faces and len(self.faces) != len(self.low)):
            raise ValueError("low and high have one number for each component, or one for each of faces")
        if any(high < low for low, high in zip(self.low, self.high, strict=True)):
            raise ValueError("low must not be above high")
        return self


class Job(Part):
    """The whole document."""

    format: Literal[1] = 1
    units: Literal["mm", "in"] = "mm"
    job: JobInfo
    setup: Annotated[tuple[Setup, ...], Field(min_length=1)]
    guess: tuple[Guess, ...] = ()
    shop: Shop = Shop()
    readings: Readings = Readings()
    registers: Registers = Registers()

    def setup_named(self, name: str) -> Setup:
        """The setup of that name; KeyError if there is none."""
        for setup in self.setup:
            if setup.name == name:
                return setup
        raise KeyError(name)

    def guessed(self, setup: str, key: str) -> bool:
        """Whether a draft guessed what stands at a key ("job.toml: setup.blank.box"), or something under it, for a setup."""
        return any(guess.key.startswith(key) for guess in self.guess if guess.setup in ("", setup))

    def with_guess(self, guess: Guess, values: Sequence[float]) -> Job:
        """The job as it would be if a guess were answered by other lengths (mm): one for each component of the value at its key,
        or for each of its faces of the blank. Raises KeyError where the job has no such value."""
        if guess.faces:
            return self._with_faces(guess, values)
        file, _, place = guess.key.partition(": ")
        path = place.split(".")
        value = values[0] if len(values) == 1 else tuple(values)
        if file != "job.toml":
            _, kind, name = file.removesuffix(".toml").split("/")
            things = getattr(self.shop, kind)
            shop = self.shop.model_copy(update={kind: {**things, name: _with_value(things[name], path, value)}})
            return self.model_copy(update={"shop": shop})
        changed = _with_value(self.setup_named(guess.setup), path[1:], value)
        return self._with_setup(changed)

    def answer_of(self, guess: Guess) -> tuple[float, ...]:
        """What the job says now where a guess with a range is answered, mm. Raises KeyError where it has no such value."""
        if guess.faces:
            low, high = _box(self.setup_named(guess.setup).blank, guess)
            return tuple((high if BOX_FACES.index(face) % 2 else low)[BOX_FACES.index(face) // 2] for face in guess.faces)
        file, _, place = guess.key.partition(": ")
        path = place.split(".")
        part: Any = self.setup_named(guess.setup)
        if file != "job.toml":
            _, kind, name = file.removesuffix(".toml").split("/")
            part, path = getattr(self.shop, kind)[name], ["", *path]
        for name in path[1:]:
            part = next((one for n, one in enumerate(part) if str(getattr(one, "station", n)) == name), None) \
                if isinstance(part, tuple) else getattr(part, name, None)
            if part is None:
                raise KeyError(guess.key)
        return tuple(part) if isinstance(part, tuple) else (part,)

    def with_blank(self, setup: str, blank: Blank) -> Job:
        """The job with another blank in a setup."""
        return self._with_setup(self.setup_named(setup).model_copy(update={"blank": blank}))

    def _with_setup(self, changed: Setup) -> Job:
        return self.model_copy(update={"setup": tuple(changed if s.name == changed.name else s for s in self.setup)})

    def _with_faces(self, guess: Guess, values: Sequence[float]) -> Job:
        setup = self.setup_named(guess.setup)
        blank = setup.blank
        low, high = _box(blank, guess)
        for face, value in zip(guess.faces, values, strict=True):
            axis, upper = divmod(BOX_FACES.index(face), 2)
            (high if upper else low)[axis] = value
        x, y, z = (b - a for a, b in zip(low, high, strict=True))
        shape: dict[str, Any] = {"box": (x, y, z)} if blank.box else {"cylinder": RoundBlank(diameter=x, height=z)}
        moved = blank.model_copy(update={**shape, "corner": tuple(low)})
        return self._with_setup(setup.model_copy(update={"blank": moved}))


def _box(blank: Blank, guess: Guess) -> tuple[list[float], list[float]]:
    """Least and greatest corner of a blank that is a box or a cylinder; KeyError for any other."""
    size = blank.box or (blank.cylinder and (blank.cylinder.diameter, blank.cylinder.diameter, blank.cylinder.height))
    if not size:
        raise KeyError(guess.key)
    return list(blank.corner), [a + b for a, b in zip(blank.corner, size, strict=True)]


def _with_value(part: Any, path: Sequence[str], value: Any) -> Any:
    """A part of the document with the value at a path replaced; an item of `tool` is found by its station."""
    name, *rest = path
    if isinstance(part, tuple):
        number = next((n for n, one in enumerate(part) if str(getattr(one, "station", n)) == name), None)
        if number is None:
            raise KeyError(name)
        return (*part[:number], _with_value(part[number], rest, value), *part[number + 1 :])
    if name not in type(part).model_fields:
        raise KeyError(name)
    return part.model_copy(update={name: _with_value(getattr(part, name), rest, value) if rest else value})
