"""A made-up job as it would stand on a sheet: the bearing cap of Harrow Lane Works, first side up."""

from __future__ import annotations

import math
from datetime import date

from setwright.model.finding import Finding, Signal, State
from setwright.sheet.content import (
    Axis,
    Body,
    BodyKind,
    Check,
    Contact,
    Dimension,
    HoldPoint,
    OffsetBlock,
    Program,
    Register,
    SheetContent,
    SheetTool,
    Solid,
    box,
)

BORE = Solid(tuple((15 * math.cos(k * math.pi / 36), 15 * math.sin(k * math.pi / 36)) for k in range(72)), -31.0, 1.0)

BODIES = (
    Body(BodyKind.TABLE, "table", box((-300.0, -200.0, -115.0), (310.0, 260.0, -95.0))),
    Body(BodyKind.FIXTURE, "vise bed", box((-75.0, -105.0, -95.0), (75.0, 100.0, -53.0))),
    Body(BodyKind.JAW, "fixed jaw", box((-75.0, 42.0, -53.0), (75.0, 72.0, -13.0))),
    Body(BodyKind.JAW, "moving jaw", box((-75.0, -72.0, -53.0), (75.0, -42.0, -13.0))),
    Body(BodyKind.PARALLEL, "parallels 22", box((-70.0, -42.0, -53.0), (70.0, -34.0, -31.0))),
    Body(BodyKind.PARALLEL, "parallels 22", box((-70.0, 34.0, -53.0), (70.0, 42.0, -31.0))),
    Body(BodyKind.STOP, "stop", box((-74.0, -6.0, -30.0), (-62.0, 6.0, -8.0))),
    Body(BodyKind.BLANK, "blank", box((-62.0, -42.0, -31.0), (62.0, 42.0, 1.0))),
    Body(BodyKind.FEATURE, "", BORE),
)

CONTACTS = (
    Contact(1, "bore A", (15.0, 0.0, -8.0), (1.0, 0.0, 0.0), "finder-10", "X -287.442", 0.002),
    Contact(2, "bore A", (-15.0, 0.0, -8.0), (-1.0, 0.0, 0.0), "finder-10", "X -307.441", -0.002),
    Contact(3, "bore A", (0.0, 15.0, -8.0), (0.0, 1.0, 0.0), "finder-10", "Y -142.018", 0.001),
    Contact(4, "bore A", (0.0, -15.0, -8.0), (0.0, -1.0, 0.0), "finder-10", "Y -162.020", -0.001),
    Contact(5, "fixed jaw", (-66.0, 42.0, -15.0), (0.0, 1.0, 0.0), "finder-10", "Y -115.047", 0.004),
    Contact(6, "fixed jaw", (66.0, 42.0, -15.0), (0.0, 1.0, 0.0), "finder-10", "Y -115.021", None, "0.026 mm off: burr or chip?"),
    Contact(7, "top", (40.0, -25.0, 1.0), (0.0, 0.0, -1.0), "height setter 50", "Z -231.000", 0.0),
)

SAMPLE = SheetContent(
    title="Bearing cap, irrigation pump",
    setup="first side",
    drawing="HL-2041",
    revision="C",
    material="EN AW-6082-T6",
    machine="Mill 2",
    verdict="Nothing hits anything. One clearance is small, one check could not look: see findings.",
    programs=(Program("cap-1.nc", "9f2c41d07be3a5510c8e6d24b7f09a31c5d8e2f6014b7a9dce35f8812a6b4c70"),),
    offsets=(
        OffsetBlock("G54", (
            Register("X", -297.4415, 0.0061), Register("Y", -152.019, 0.0058), Register("Z", -382.0, 0.0123),
            Register("rotation", 0.0113, 0.0052, angle=True),
        )),
    ),
    determined_from=("X, Y: centre of bore A, 4 touches", "rotation: fixed jaw, 1 touch of 2", "Z: top of the blank = Z +1.000"),
    bodies=BODIES,
    contacts=CONTACTS,
    dimensions=(
        Dimension(Axis.X, -62.0, 62.0), Dimension(Axis.Y, -42.0, 42.0), Dimension(Axis.Z, -31.0, 1.0),
        Dimension(Axis.Z, -31.0, -13.0, "gripped"), Dimension(Axis.X, -62.0, 0.0, "to zero"),
    ),
    placement=("Fixed jaw's left end at about X −300, Y −215 in machine coordinates (± 2 mm).", "Vise handle to the front."),
    tools=(
        SheetTool(1, "face mill, 5 inserts", 63.0, 52.0, 1, Register("H1", 118.204, 0.004), 1, Register("D1", 31.5),
                  (3200, 3200), (1280, 1600)),
        SheetTool(2, "end mill, 3 flutes, carbide", 16.0, 42.0, 2, Register("H2", 131.482, 0.004), 2, Register("D2", 7.995, 0.003),
                  (6000, 7500), (900, 2250)),
        SheetTool(3, "centre drill", 10.0, 35.0, 3, Register("H3", 104.77, 0.004), None, None, (3000, 3000), (240, 240)),
        SheetTool(4, "drill 6.8, carbide, 5×D", 6.8, 62.0, 4, None, None, None, (5600, 5600), (900, 900)),
        SheetTool(5, "tap M8 × 1.25", 8.0, 55.0, 5, Register("H5", 126.013, 0.004), None, None, (600, 600), (750, 750)),
    ),
    findings=(
        Finding(slug="rotation-unsure", signal=Signal.CAUTION, text="The rotation rests on one touch; its uncertainty is 0.0052°.",
                remedy="Touch the fixed jaw again at no. 6 after wiping it."),
        Finding(slug="small-clearance", signal=Signal.WARNING, text="Holder of T2 passes the fixed jaw with 0.8 mm to spare.",
                remedy="Stick the tool out 3 mm more, or keep the jaw lower.",
                file="cap-1.nc", line=142, tool=2, value=0.8, unit="mm"),
        Finding(slug="tool-length-unknown", signal=Signal.WARNING, text="T4 has no length yet, so its reach is not proved.",
                remedy="Measure H4, then prove again.", file="cap-1.nc", line=201, tool=4, state=State.UNDECIDED),
        Finding(slug="program-end", signal=Signal.NOTICE, text="The program ends with the table at the back.",
                file="cap-1.nc", line=260),
    ),
    checks=(
        Check("Z +50 over zero with T1: the ruler between blank and tool reads 49.", 1,
              "length from another tool; wrong offset; sign of Z"),
        Check("Spindle over bore A in G54: the finder runs true within 0.02.", 2, "X or Y by a finder radius; the wrong bore"),
        Check("Tap the blank down on both parallels: neither moves.", 0.5, "blank not seated"),
    ),
    hold_points=(HoldPoint("cap-1.nc line 38", "T2 first plunge: distance to go and the gap must agree."),),
    guesses=("The moving jaw is as high as the fixed jaw (40 mm): the holding file does not say.",),
    link="setwright:job:51f0c2a9d3e4b7a8",
    digest="51f0c2a9d3e4b7a8c6d1e2f3",
    seal="1042 9f3a6c1e20b7",
    version="0.1.0",
    made=date(2026, 11, 24),
)
