"""What comments say: wordings of our own in several languages, with the values a person reads in them."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.program.hints import ToolHint, read_hints


def tool(line: str, *, inch: bool = False) -> ToolHint:
    """The one tool read from one line."""
    hints = read_hints([line], inch=inch).tools
    assert len(hints) == 1, hints
    return hints[0]


@pytest.mark.parametrize(
    ("line", "inch", "station", "kind", "diameter"),
    [
        ("(T2 END MILL D16 3 FLUTES H2 D2)", False, 2, "end mill", 16.0),
        ("(TOOL 12 - 5/8 ENDMILL)", False, 12, "end mill", 15.875),
        ("(TOOL NO. 3: 20MM SHELL MILL)", True, 3, "face mill", 20.0),
        ("(.4375 TWIST DRILL, T6)", True, 6, "drill", 11.1125),
        ("(T4 #29 DRILL)", True, 4, "drill", 3.4544),
        ("(T4 R DRILL)", True, 4, "drill", 8.6106),
        ("(T8 1-1/4 FACE MILL)", True, 8, "face mill", 31.75),
        ("T5 M6 (SCHAFTFRÄSER 8,5MM)", False, 5, "end mill", 8.5),
        ("T5 M6 (PLANFRAESER D=80)", False, 5, "face mill", 80.0),
        ("T11 M6 (FORET A CENTRER D3.15)", False, 11, "centre drill", 3.15),
        ("T11 M6 (ALÉSOIR Ø8)", False, 11, "reamer", 8.0),
        ("T9 M6 ; fresa de disco D50", False, 9, "slot mill", 50.0),
        ("N30 T14.14 (ESCARIADOR D10)", False, 14, "reamer", 10.0),
        ("T3 M6 (PUNTA ELICOIDALE 6.8 MM)", False, 3, "drill", 6.8),
        ("T3 M6 (SVERLO D7.5)", False, 3, "drill", 7.5),
        ("T3 M6 (КОНЦЕВАЯ ФРЕЗА D12)", False, 3, "end mill", 12.0),
        ("(UTENSILE 7 = FRESA A SPIANARE D100)", False, 7, "face mill", 100.0),
        ('(T1 = 3/4" END MILL - 19.05 mm)', True, 1, "end mill", 19.05),
        ("(T21 REAMER .5005 REF 07-4411)", True, 21, "reamer", 12.7127),
        ("(T13 TAP DRILL 8.5)", False, 13, "drill", 8.5),
    ],
)
def test_tools_in_many_wordings(line: str, inch: bool, station: int, kind: str, diameter: float) -> None:
    read = tool(line, inch=inch)
    assert (read.station, read.kind) == (station, kind)
    assert read.diameter == pytest.approx(diameter, abs=1e-9)


def test_angles_corners_teeth_and_threads() -> None:
    assert tool("(T5 D8 TAPER=118deg DRILL)").point_angle == pytest.approx(math.radians(118))
    assert tool("(T5 90 SPOT DRILL)").point_angle == pytest.approx(math.pi / 2)
    assert tool("(T5 SPOT DRILL D10 142 DEG)").point_angle == pytest.approx(math.radians(142))
    bull = tool("(T6 END MILL D12 R1.5 4 TEETH)")
    assert (bull.kind, bull.corner_radius, bull.flutes) == ("bull-nose mill", 1.5, 4)
    assert tool("(T6 END MILL D=12 CR=6)").kind == "ball mill"
    assert tool("(T6 FRESA D20 4L)").flutes == 4
    metric = tool("(T7 TAP M10X1.25)")
    assert (metric.kind, metric.diameter, metric.pitch) == ("tap", 10.0, 1.25)
    assert tool("(T7 GEWINDEBOHRER M8)").pitch == 1.25
    inch = tool("(T7 1/4-20 TAP)", inch=True)
    assert (inch.diameter, inch.pitch) == pytest.approx((6.35, 1.27))
    assert tool("(T7 #10-32 TAP)", inch=True).diameter == pytest.approx(4.826)


def test_doubt_gives_no_value() -> None:
    assert tool("(T5 END MILL 10 20)").diameter is None
    assert tool("(T1 CHAMFER MILL .015)", inch=True).diameter is None
    lines = ["(TOOL CHANGE TO TOOL 4)", "(HEIGHT OFFSET FOR TOOL 4)", "(DRILL HOLES 12 DEEP)", "(Drill2)"]
    assert read_hints(lines, inch=False).tools == ()
    assert read_hints(["(END MILL 10 OR DRILL 8, T1)"], inch=False).tools == ()
    assert read_hints(["T1", "G0 X0", "(CHAMFER)", "(OP 20 AT 12:30:10 ON 03.04.2025)"], inch=False).tools == ()
    assert tool("(T1 D10 END MILL REF 07-4411 RPM 8000 F300 Z-6 LOC 22 OAL 72)").diameter == 10.0


def test_comments_beside_a_change_belong_to_it() -> None:
    before = read_hints(["(MILLING CUTTER D9MM)", "N20 M06 T04", "G43 H4"], inch=False).tools[0]
    assert (before.station, before.named, before.diameter) == (4, False, 9.0)
    after = read_hints(["N20 T06", "N30 M6", "(FACE MILL 7 INSERTS)", "N40 T9"], inch=False).tools[0]
    assert (after.station, after.kind, after.flutes) == (6, "face mill", 7)
    loose = read_hints(["(harrow_5mm_endmill007)", "G0 X0"], inch=False).tools[0]
    assert (loose.station, loose.kind, loose.diameter) == (None, "end mill", 5.0)


def test_contradictions_are_reported_not_resolved() -> None:
    hints = read_hints(["(T1 = 1/2 END MILL)", "T1 M6 (3/8 END MILL)", "(STOCK 4X3X1)", "(BLANK 4X3X2)"], inch=True)
    assert [(c.what, c.lines) for c in hints.contradictions] == [("tool 1", (1, 2)), ("the blank", (3, 4))]
    assert [hint.named for hint in hints.of_station(1)] == [True, False]
    assert read_hints(["(T1 = 1/2 END MILL)", "T1 M6 (12.7MM END MILL)"], inch=True).contradictions == ()


@pytest.mark.parametrize(
    ("line", "inch", "size"),
    [
        ("(STOCK 7075 DX 6.25IN DY 3.5IN DZ 1.5IN)", True, (158.75, 88.9, 38.1)),
        ("(ROHTEIL 120 x 80 x 25,5)", False, (120.0, 80.0, 25.5)),
        ("(BRUTO X120 Y80 Z25)", False, (120.0, 80.0, 25.0)),
        ("(WORK PIECE SIZE 90X60X12MM STEEL)", True, (90.0, 60.0, 12.0)),
        ("(FACE TOP OF 5X2.5 BLOCK)", True, (127.0, 63.5)),
        ("(BLANK 2 1/2 X 1 1/2 X 3/4)", True, (63.5, 38.1, 19.05)),
    ],
)
def test_blanks(line: str, inch: bool, size: tuple[float, ...]) -> None:
    assert read_hints([line], inch=inch).blanks[0].size == pytest.approx(size)


def test_sizes_beside_the_name_of_a_part_count_where_nothing_speaks_of_the_blank() -> None:
    part = "(SIDE PLATE 300X200X25)"
    assert [hint.size for hint in read_hints([part], inch=False).blanks] == [(300.0, 200.0, 25.0)]
    assert [hint.size for hint in read_hints([part, "(STOCK 310X210X30)"], inch=False).blanks] == [(310.0, 210.0, 30.0)]
    assert not read_hints([part, "(COVER 80X60X10)"], inch=False).blanks
    assert not read_hints(["(SIDE PLATE 300X200)"], inch=False).blanks


def test_what_is_no_blank() -> None:
    lines = ["(BLOCK, FACE DX 3.625IN TO DX 3.5IN)", "(SQUARE BLOCK)", "(BLANK IN VISE, X0 Y0 AT CORNER)", "(GRID_30X65)",
             "(T3 END MILL 10X22)"]  # fmt: skip
    assert read_hints(lines, inch=False).blanks == ()
    assert read_hints(["(ROUND BAR 80 X 30)"], inch=False).blanks[0].round == (80.0, 30.0)


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ("(PART ZERO IS THE BOTTOM RIGHT CORNER)", ("right", "front", None)),
        ("(G55 = BACK RIGHT TOP)", ("right", "back", "top")),
        ("(WORK ZERO FRONT/LEFT/BOTTOM)", ("left", "front", "bottom")),
        ("(X0 Y0 CENTRE OF PART, Z0 TOP FACE)", ("centre", "centre", "top")),
        ("(X0 Y0 CENTRE OF BORE B, Z0 TOP FACE)", (None, None, "top")),
        ("(CERO PIEZA: ESQUINA SUPERIOR IZQUIERDA)", ("left", "back", None)),
        ("(NULLPUNKT LINKS VORNE OBEN)", ("left", "front", "top")),
        ("(ORIGINE: GAUCHE ARRIERE HAUT)", ("left", "back", "top")),
        ("(PART ZERO: X=LEFT EDGE, Y=MIDDLE, Z=TOP)", ("left", "centre", "top")),
    ],
)
def test_where_zero_lies(line: str, place: tuple[str | None, ...]) -> None:
    hint = read_hints([line], inch=False).zeros[0]
    assert (hint.x, hint.y, hint.z) == place


def test_offset_and_material() -> None:
    assert read_hints(["(G56 = BACK LEFT TOP)"], inch=False).zeros[0].offset == "G56"
    assert read_hints(["(MATERIAL: ALUMINIUM)"], inch=False).materials[0].material == "ALUMINIUM"
    assert read_hints(["(T1 END MILL D10 FOR STEEL)", "(PROGRAM 6061)"], inch=False).materials == ()


@given(st.lists(st.text(alphabet='(); TD=.#/-"XØÄ0123456789MILNDRÉФ', max_size=40), max_size=8), st.booleans())
def test_any_text_is_read_without_complaint(lines: list[str], inch: bool) -> None:
    for hint in read_hints(lines, inch=inch).tools:
        assert hint.diameter is None or 0.0 < hint.diameter <= 400.0


@pytest.mark.parametrize(
    ("line", "inch", "thick", "long", "wide"),
    [("(the plate is 12 mm thick, 320 long, and 150 mm wide)", True, 12.0, 320.0, 150.0),
     ('(plate thickness is (nominally) 1/4" = 0.25")', False, 6.35, None, None),
     ("(1/2 THK PLATE)", False, 12.7, None, None), ("(Blech 3 mm dick)", False, 3.0, None, None),
     ("(espesor de la chapa: 5 mm)", True, 5.0, None, None), ("(1/4 INCH PLATE)", False, 6.35, None, None),
     ("(SHEET 3MM THICK OR 4MM THICK)", False, None, None, None), ("(T1 DRILL 8, 120 LONG)", False, None, None, None)],
)  # fmt: skip
def test_sizes_of_the_blank_named_one_by_one(line: str, inch: bool, thick: float | None, long: float | None,
                                             wide: float | None) -> None:  # fmt: skip
    found = read_hints([line], inch=inch).blanks
    assert [(hint.thick, hint.long, hint.wide) for hint in found] == ([] if thick is None else [(thick, long, wide)])


def test_a_blank_and_its_zero_in_one_comment() -> None:
    said = read_hints(["(BLANK 100 X 60 X 30 MM, X0 Y0 MIDDLE, Z0 TOP)"], inch=True)
    assert said.blanks[0].size == (100.0, 60.0, 30.0)
    assert (said.zeros[0].x, said.zeros[0].y, said.zeros[0].z) == ("centre", "centre", "top")


@pytest.mark.parametrize(
    ("line", "inch", "expected"),
    [("(TOOL/MILL,6.0,0.5,30.0,0)", False, ("bull-nose mill", 6.0, 0.5, None)),
     ("(TOOL/MILL,.25,0.,1.)", True, ("end mill", 6.35, 0.0, None)), ("(CUTTER/10.0,5.0)", False, ("ball mill", 10.0, 5.0, None)),
     ("(TOOL/DRILL,8.0,118.0)", False, ("drill", 8.0, None, 118.0)), ("(2IN FACER)", True, ("face mill", 50.8, None, None)),
     ("(FACER)", True, ("face mill", None, None, None)), ("(1/4 2FL EM)", True, ("end mill", 6.35, None, None)),
     ("(6MM CARBIDE 4 FLUTE)", True, ("end mill", 6.0, None, None)), ("(TOOL DIA. OF 5.0)", False, (None, 5.0, None, None)),
     ("(|10MM ENDMILL|H1|D1)", False, ("end mill", 10.0, None, None)), ("(R3 BALL)", False, ("ball mill", 6.0, 3.0, None)),
     ("(12MM CSINK 90DEG)", False, ("chamfer mill", 12.0, None, 90.0))],
)  # fmt: skip
def test_a_tool_named_in_the_line_before_its_call(line: str, inch: bool, expected: tuple[Any, ...]) -> None:
    found = read_hints([line, "T4 M6", "G0 X0"], inch=inch).tools
    assert [hint.station for hint in found] == [4]
    angle = None if found[0].point_angle is None else round(math.degrees(found[0].point_angle), 6)
    assert (found[0].kind, found[0].diameter, found[0].corner_radius, angle) == expected


@pytest.mark.parametrize(
    "line", ["(T1 6MM END MILL, T2 5MM DRILL)", "(6MM END MILL T1; 5MM DRILL T2)", "(T1=6MM ENDMILL T2=5MM DRILL)"]
)
def test_two_tools_in_one_comment(line: str) -> None:
    found = read_hints([line, "T1 M6"], inch=False).tools
    assert [(hint.station, hint.kind, hint.diameter) for hint in found] == [(1, "end mill", 6.0), (2, "drill", 5.0)]


@pytest.mark.parametrize("line", ["(DRILL)", "(TAP)", "(SPOT)", "(BALL)", "(ROUND OVER)"])
def test_the_title_of_an_operation_is_no_tool(line: str) -> None:
    assert read_hints([line, "T4 M6"], inch=False).tools == ()
