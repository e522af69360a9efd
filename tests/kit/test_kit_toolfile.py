"""Tools from lists by the symbols of ISO 13399, and their shapes from drawings and solids."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.geometry.outline import outline_of
from setwright.jobfolder.document import parse_document
from setwright.kit.toolfile import read_tools, write_tools
from setwright.model.tool import Tool


def listed(folder: Path, text: str, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_symbols_fill_the_keys_they_mean(tmp_path: Path) -> None:
    text = """kind;name;DC;APMX;OAL;NOF;RE;DMM;FHA;RPMX;HAND
end mill;mill 10;Ø10;22,5;72;3;0.2;10;38;18000;R
drill;drill 1/4;0.25 in;2 in;4 in;2;;6.35;;;L
"""
    mill, drill = (one.tool for one in read_tools(listed(tmp_path, text)))
    assert (mill.diameter, mill.flute_length, mill.length, mill.flutes, mill.corner_radius) == (10.0, 22.5, 72.0, 3, 0.2)
    assert mill.shank is not None
    assert mill.helix is not None
    assert (mill.shank.diameter, mill.max_speed, mill.hand) == (10.0, 18000.0, "right")
    assert math.degrees(mill.helix) == pytest.approx(38.0)
    assert (drill.diameter, drill.flute_length, drill.length, drill.hand) == (6.35, 50.8, 101.6, "left")


def test_a_list_in_inches_and_json(tmp_path: Path) -> None:
    tap = {"kind": "tap", "id": "T-14", "unit": "in", "DC": 0.25, "LCF": 0.6, "TP": {"value": 1.27, "unit": "mm"}, "NOF": 3}
    data = {"tools": [tap]}
    (found,) = read_tools(listed(tmp_path, json.dumps(data), "list.json"))
    assert (found.key, found.tool.diameter, found.tool.flute_length, found.tool.pitch) == ("t-14", 6.35, pytest.approx(15.24), 1.27)
    assert found.taken == {"DC": "diameter", "LCF": "flute_length", "TP": "pitch", "NOF": "flutes"}


def test_what_is_not_understood_is_said_and_nothing_is_taken_from_it(tmp_path: Path) -> None:
    (found,) = read_tools(listed(tmp_path, "kind,name,DC,APMX,d2,colour,LF,WT\nend mill,a,10,22,8,blue,72,0.1\n"))
    assert found.tool.shank is None
    assert found.tool.length is None
    assert found.unused == ("LF", "WT")
    assert [text.split(" = ")[0] for text in found.unread] == ["“d2”", "“colour”"]
    assert "DMM" in found.unread[0]


@pytest.mark.parametrize(("head", "line", "said"), [
    ("name,DC,APMX", "a,10,22", "kind of this tool is not said"),
    ("kind,name,DC,APMX", "endmil,a,10,22", "no kind of tool"),
    ("kind,name,D,APMX", "end mill,a,10,22", "DC (diameter) is missing"),
    ("kind,name,DC,APMX,NOF", "end mill,a,10,22,2.5", "no number of teeth"),
    ("kind,name,DC,APMX,RE", "end mill,a,10,22,6", "corner_radius"),
    ("kind,name,DC,APMX,LF", "end mill,a,10,22,20", "LF 20 mm is less"),
    ("kind,name,DC,APMX", "end mill,a,10 kg,22", "DC"),
    ("kind,name,DC,APMX,HAND", "end mill,a,10,22,both", "no hand"),
    ("kind,name,DC,APMX,unit", "end mill,a,10,22,furlong", "furlong"),
    ("kind,name,DC,APMX", "end mill,a,10,22,4,5", "cells"),
])  # fmt: skip
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, head: str, line: str, said: str) -> None:
    with pytest.raises(InputRefused) as refusal:
        read_tools(listed(tmp_path, f"# a remark\n{head}\n{line}\n"))
    problem = refusal.value.problems[0]
    assert said in str(problem)
    assert problem.span is not None
    assert problem.span.line == 3


def test_files_are_written_whole_once_and_say_what_they_are(tmp_path: Path) -> None:
    found = read_tools(listed(tmp_path, "kind,name,DC,APMX,d1\nend mill,mill 10,10,22,9\ndrill,drill 6.8,6.8,45,\n"))
    files = write_tools(found, tmp_path / "shop")
    assert [file.name for file in files] == ["mill-10.toml", "drill-6-8.toml"]
    text = files[0].read_text(encoding="utf-8")
    assert "ISO 13399" in text
    assert "“d1” = 9" in text
    assert parse_document(text, Tool, shown="a") == found[0].tool
    with pytest.raises(InputRefused, match="there already"):
        write_tools([found[1], *read_tools(listed(tmp_path, "kind,name,DC,APMX\nend mill,new,10,22\n"))], tmp_path / "shop")
    assert not (tmp_path / "shop" / "tools" / "new.toml").exists()


# --- outlines ----------------------------------------------------------------------------------------------------------------


def drawing(*entities: str, unit: str = "4") -> bytes:
    """A drawing in text form; an entity as "LINE 10=0 20=0 11=5 21=0"."""
    lines = ["0", "SECTION", "2", "HEADER", "9", "$INSUNITS", "70", unit, "0", "ENDSEC", "0", "SECTION", "2", "ENTITIES"]
    for entity in entities:
        kind, *groups = entity.split()
        lines += ["0", kind, "8", "0", *(part for group in groups for part in group.split("="))]
    return "\n".join([*lines, "0", "ENDSEC", "0", "EOF", ""]).encode()


HOLDER = drawing("LINE 10=0 20=0 11=15 21=0", "LINE 10=15 20=0 11=15 21=30", "LINE 10=15 20=30 11=25 21=30",
                 "LINE 10=25 20=30 11=31.5 21=50", "TEXT 10=0 20=0 1=note", "DIMENSION 10=0 20=0")  # fmt: skip


def test_a_holder_from_a_drawing() -> None:
    found = outline_of(HOLDER, name="holder.dxf")
    assert found.points == ((15.0, 0.0), (15.0, 30.0), (25.0, 30.0), (31.5, 50.0))
    assert found.steps == ((30.0, 30.0, 30.0), (50.0, 63.0, 20.0))
    assert found.unread == {"TEXT": 1, "DIMENSION": 1}


def test_inches_are_read_from_the_drawing_and_else_told() -> None:
    line = ("LINE 10=1 20=0 11=1 21=2",)
    assert outline_of(drawing(*line, unit="1"), name="a.dxf").points == ((25.4, 0.0), (25.4, 50.8))
    bare = outline_of(drawing(*line, unit="0"), name="a.dxf", millimetres=25.4)
    assert (bare.points[0], bare.unit_stated) == ((25.4, 0.0), False)


def test_arcs_and_bulges_are_the_circle_they_stand_for() -> None:
    """A ball of radius 5 as an arc and as a bulged polyline (tan of a quarter of 90 degrees): nowhere farther off than 0.5 um."""
    arc = drawing("ARC 10=0 20=5 40=5 50=270 51=360", "LINE 10=5 20=5 11=5 21=20")
    poly = drawing(f"LWPOLYLINE 90=3 70=0 10=0 20=0 42={math.tan(math.pi / 8)} 10=5 20=5 42=0 10=5 20=20")
    for data in (arc, poly):
        points = np.array(outline_of(data, name="a.dxf").points)
        round_ = points[points[:, 1] < 5.0]
        assert np.hypot(round_[:, 0], round_[:, 1] - 5.0) == pytest.approx(5.0, abs=2e-6)
        middles = (round_[1:] + round_[:-1]) / 2.0
        assert np.hypot(middles[:, 0], middles[:, 1] - 5.0).min() > 5.0 - 0.0006
        assert tuple(points[-1]) == (5.0, 20.0)


def test_a_drawing_of_both_sides_is_one_outline() -> None:
    both = drawing("LINE 10=-4 20=0 11=4 21=0", "LINE 10=4 20=0 11=6 21=9", "LINE 10=-4 20=0 11=-6 21=9")
    assert outline_of(both, name="a.dxf").points == ((4.0, 0.0), (6.0, 9.0))
    with pytest.raises(InputRefused, match="reaches X-3 and X6"):
        outline_of(drawing("LINE 10=-3 20=0 11=4 21=0", "LINE 10=4 20=0 11=6 21=9"), name="a.dxf")


@pytest.mark.parametrize("data", [
    b"", b"hello", drawing("TEXT 1=a"), drawing("LINE 10=0 20=0 11=5 21=0"), drawing("LINE 10=1 20=x"),
])  # fmt: skip
def test_no_outline_is_refused(data: bytes) -> None:
    with pytest.raises(InputRefused):
        outline_of(data, name="a.dxf")


def turned(*, x: float = 0.0) -> bytes:
    """A stepped body about Z as STL: 30 across and 40 high, then 50 across up to 60."""
    body = trimesh.creation.revolve(np.array([(0, 0), (15, 0), (15, 40), (25, 40), (25, 60), (0, 60)]), sections=96)
    body.apply_translation((x, 0.0, 7.0))
    return bytes(body.export(file_type="stl"))


def test_a_holder_from_a_solid() -> None:
    found = outline_of(turned(), name="holder.stl")
    assert np.array(found.points) == pytest.approx(np.array([(15, 0), (15, 40), (25, 40), (25, 60)]), abs=1e-4)
    with pytest.raises(InputRefused, match="not centred"):
        outline_of(turned(x=4.0), name="holder.stl")


def test_flutes_are_filled_by_turning() -> None:
    """A square bar of 20 turns as a round one of 28.28."""
    bar = trimesh.creation.box((20.0, 20.0, 50.0))
    found = outline_of(bytes(bar.export(file_type="stl")), name="bar.stl")
    assert np.array(found.points) == pytest.approx(np.array([(math.hypot(10, 10), 0), (math.hypot(10, 10), 50)]), abs=1e-4)


def test_shapes_of_a_list_stand_in_files_beside_it(tmp_path: Path) -> None:
    (tmp_path / "holder.dxf").write_bytes(HOLDER)
    (tmp_path / "form.dxf").write_bytes(drawing("LINE 10=2 20=0 11=6 21=8"))
    text = "kind,name,outline,holder,DC,APMX\nfree profile,form,form.dxf,holder.dxf,,\n"
    (found,) = read_tools(listed(tmp_path, text))
    assert found.tool.points == ((2.0, 0.0), (6.0, 8.0))
    assert [(step.diameter, step.length) for step in found.tool.holder] == [(30.0, 30.0), (50.0, 20.0)]
    assert found.tool.holder[1].upper_diameter == 63.0
    assert any("TEXT" in said for said in found.unread)
    with pytest.raises(InputRefused, match="for a free profile"):
        read_tools(listed(tmp_path, "kind,name,DC,APMX,outline\nend mill,a,10,20,form.dxf\n"))
