"""From a job's results to what stands on its sheet: what the stations said, put in words."""

from __future__ import annotations

import datetime
import math

import numpy as np

from setwright import __version__
from setwright.base.digest import digest_bytes
from setwright.base.units import format_duration, format_size
from setwright.geometry import bodies as solid
from setwright.hover.holdpoints import hold_points
from setwright.hover.station import HoverResult
from setwright.kit.registers import length_register, radius_register
from setwright.kit.station import Kit
from setwright.model.finding import Finding
from setwright.model.job import Bore, Setup, SetupTool
from setwright.prove.station import Proof
from setwright.prove.verdict import Verdict, verdict
from setwright.sheet.before_start import planned_checks, stops
from setwright.sheet.contacts import contacts_of
from setwright.sheet.content import (
    Axis,
    Body,
    BodyKind,
    Check,
    Dimension,
    OffsetBlock,
    Program,
    Register,
    SheetContent,
    SheetTool,
    Solid,
    box,
)
from setwright.touch.station import TouchResult

__all__ = ["content_of", "dimensions_of"]

_CORNERS = 72
_KINDS = (("parallel", BodyKind.PARALLEL), ("jaw", BodyKind.JAW), ("stop", BodyKind.STOP), ("clamp", BodyKind.CLAMP),
          ("strap", BodyKind.CLAMP), ("plate", BodyKind.FIXTURE), ("vise body", BodyKind.FIXTURE))  # fmt: skip


def content_of(
    proof: Proof, touched: TouchResult | None, *, units: str, hover: HoverResult | None = None, made: datetime.date | None = None,
    seal: str = "",
) -> SheetContent:  # fmt: skip
    """The sheet of one setup. Without readings its offsets are empty boxes to write in; without `hover`, its study of slips, the
    checks are the usual ones of every setup. `seal`: of its revision, where the job comes from a record."""
    kit = proof.kit
    job, setup, said = kit.folder.job, kit.setup, verdict(proof)
    digest = digest_bytes(*(f"{name}:{value}".encode() for name, value in sorted(kit.folder.digests.items())))
    findings: list[Finding] = [*proof.findings, *(hover.findings if hover else ())]
    checks = _checks(proof) if hover is None else planned_checks(hover, units)
    holds = hold_points(proof) if hover is None else hover.holds
    return SheetContent(
        title=job.job.title, setup=setup.name, drawing=job.job.drawing, revision=job.job.revision, material=job.job.material,
        machine=kit.machine.name, units=units, verdict=said.text,
        programs=tuple(Program(_program_name(setup, name), value) for name, value in proof.reading.digests.items()),
        cycle=_cycle(proof), offsets=_offsets(kit, touched),
        determined_from=_determined(kit, touched), bodies=_bodies(kit), datum=(0.0, 0.0, 0.0),
        contacts=contacts_of(kit, touched, units), dimensions=dimensions_of(kit), placement=_placement(kit, units),
        tools=tuple(_tool(tool, proof, touched) for tool in setup.tool), findings=tuple(findings), checks=checks,
        hold_points=stops(holds, units), guesses=_questions(said), link=f"setwright:{digest}", digest=digest, version=__version__,
        made=made, seal=seal,
    )  # fmt: skip


def _cycle(proof: Proof) -> str:
    """How long the setup's programs run, as computed; nothing where that is not known."""
    timing = proof.timing
    return "" if timing.total_s is None else f"about {format_duration(timing.total_s, timing.within_s)}"


def _program_name(setup: Setup, name: str) -> str:
    """A program's file, with the lines that belong to this setup."""
    return name if setup.lines is None or name != setup.programs[0] else "{}, lines {} to {}".format(name, *setup.lines)


def _questions(said: Verdict) -> tuple[str, ...]:
    """Each guess with the place that answers it, and what hangs on it."""
    return tuple(f"{rest.guess}{f': {rest.how}' if rest.how else ''} ({rest.file} line {rest.line})" for rest in said.rests_on)


def _offsets(kit: Kit, touched: TouchResult | None) -> tuple[OffsetBlock, ...]:
    names = (kit.setup.offset, *kit.setup.shifts)
    if touched is None:
        empty = (Register("X", None), Register("Y", None), Register("Z", None))
        return tuple(OffsetBlock(name, empty) for name in names)
    blocks = []
    for name in names:
        registers = [Register(entry.axis, entry.rounded, entry.estimate.expanded) if touched.known(entry) else
                     Register(entry.axis, None) for entry in touched.entries if entry.register == name and entry.axis]  # fmt: skip
        turn = Register("turn", math.degrees(touched.angle.value), math.degrees(touched.angle.expanded), angle=True)
        blocks.append(OffsetBlock(name, (*registers, turn)))
    return tuple(blocks)


def _determined(kit: Kit, touched: TouchResult | None) -> tuple[str, ...]:
    if touched is not None:
        return tuple(found.text for found in touched.determined.values())
    datum = kit.setup.datum
    return (f"X from {datum.x}, Y from {datum.y}, angle from {datum.angle}, Z from {datum.z.face} at Z{datum.z.is_:+g}",
            "not touched yet: write the numbers here")  # fmt: skip


def _kind(name: str) -> BodyKind:
    return next((kind for word, kind in _KINDS if word in name), BodyKind.FIXTURE)


def _solid(shape: solid.BoxShape | solid.CylinderShape | solid.MeshShape) -> Solid:
    """Upright outlines are drawn as they are, meshes by their box."""
    if isinstance(shape, solid.BoxShape):
        return box(shape.low, shape.high)
    if isinstance(shape, solid.CylinderShape):
        return _round(shape.centre, shape.radius, shape.bottom, shape.top)
    points = shape.triangles.reshape(-1, 3)
    low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return box((low[0], low[1], low[2]), (high[0], high[1], high[2]))


def _round(centre: tuple[float, float], radius: float, bottom: float, top: float) -> Solid:
    turns = np.linspace(0.0, 2.0 * math.pi, _CORNERS, endpoint=False)
    outline = tuple((centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)) for turn in turns.tolist())
    return Solid(outline, bottom, top)


def _bodies(kit: Kit) -> tuple[Body, ...]:
    found = [Body(BodyKind.TABLE if body.role is solid.BodyRole.TABLE else _kind(body.name), body.name, _solid(body.shape))
             for body in kit.placement.bodies]  # fmt: skip
    low, high = kit.extent
    for number, (dx, dy, dz) in enumerate(kit.copies):
        label = "blank" if number == 0 else f"blank {number + 1}"
        moved = solid.BoxShape((low[0] + dx, low[1] + dy, low[2] + dz), (high[0] + dx, high[1] + dy, high[2] + dz))
        shape = kit.blank.shape if kit.blank is not None and number == 0 else moved
        found.append(Body(BodyKind.BLANK, label, _solid(shape)))
    for face in kit.setup.face:
        stated: Bore | None = face.bore or face.boss
        if stated is not None:
            bottom, top = sorted((stated.from_, stated.to))
            found.append(Body(BodyKind.FEATURE, "", _round(stated.centre, stated.diameter / 2, bottom, top)))
    return tuple(found)


def dimensions_of(kit: Kit) -> tuple[Dimension, ...]:
    """The lengths that the drawing shows: the blank's, and what of it stands in the jaws of a vise."""
    low, high = kit.extent
    along = tuple(Dimension(axis, float(low[i]), float(high[i])) for i, axis in enumerate((Axis.X, Axis.Y, Axis.Z)))
    holding = kit.folder.job.shop.holding[kit.setup.holding.use]
    if holding.vise is None:
        return along
    jaw_top = float(low[2]) - kit.setup.holding.parallels + holding.vise.jaw_height
    return (*along, Dimension(Axis.Z, float(low[2]), jaw_top, "in the jaws"))


def _placement(kit: Kit, units: str) -> tuple[str, ...]:
    stated, holding = kit.setup.holding, kit.folder.job.shop.holding[kit.setup.holding.use]
    said, rests = [f"{holding.name}"], "parallels" if holding.vise is not None else "spacers"
    if stated.fixed_jaw is not None:
        said.append(f"fixed jaw against the blank's {stated.fixed_jaw.against} face")
    if stated.end_stop is not None:
        said.append(f"stop against its {stated.end_stop.against} face")
    if stated.parallels:
        said.append(f"on {rests} {format_size(stated.parallels, units)} high")
    if stated.place is not None:
        x, y = (format_size(value, units) for value in (stated.place.x, stated.place.y))
        said.append(f"reference point at about X {x}, Y {y} in machine coordinates")
    return (", ".join(said) + ".",)


def _tool(tool: SetupTool, proof: Proof, touched: TouchResult | None) -> SheetTool:
    assembly = proof.kit.tools[tool.station]
    use = next((used for used in proof.reading.interpreted.tools if used.number == tool.station), None)
    compensated = use is not None and bool(use.radius_registers)
    length = radius = None
    for entry in touched.entries if touched else ():
        if entry.station == tool.station and touched is not None and touched.known(entry):
            register = Register(entry.name, entry.rounded, entry.estimate.expanded)
            if entry.register.startswith("length"):
                length = register
            else:
                radius = register
    return SheetTool(
        tool.station, assembly.tool.name, 2.0 * assembly.radius, assembly.stickout, length_register(tool), length,
        radius_register(tool) if compensated else None, radius if compensated else None,
        use.speed_range if use else None, use.feed_range if use else None,
    )  # fmt: skip


def _checks(proof: Proof) -> tuple[Check, ...]:
    kit = proof.kit
    names = ", ".join(proof.reading.digests)
    within, block = ("0.02 in", "1 in") if kit.folder.units == "in" else ("0.5 mm", "25 mm")
    seated = Check("Tap the blank down; no parallel moves by hand.", 0.5, "a chip under the blank, a blank not down")
    listed = (
        Check(f"{names} on the machine: same name and revision as above; block delete off.", 0.5,
              "the wrong program, a switch left on"),
        seated if kit.setup.holding.parallels else None,
        Check("Read every register back from the control, digit by digit, against this sheet.", 1.0,
              "a wrong number, a wrong register"),
        Check(f"Each pocket: tool and number as in the table; stick-out by rule within {within}.", 1.0,
              "swapped pockets, a tool pulled out"),
        Check("Spindle stopped, tip by hand over the datum, Z well clear: stands over it by eye in X and Y.", 1.0,
              "a finder radius forgotten or doubled, a stale offset"),
        Check(f"Same place: bring the tip to {block} over the top face by the display; check with a {block} block.", 1.0,
              "a length from another convention, Z from the wrong face"),
    )  # fmt: skip
    return tuple(check for check in listed if check is not None)
