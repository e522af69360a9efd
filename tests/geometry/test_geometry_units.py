"""Files that state their own unit: 3MF and STEP; and STEP without its extra."""

import io
import sys
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.geometry.meshes import read_mesh
from setwright.geometry.stl import closed, enclosed_volume


def three_mf(unit: str) -> bytes:
    whole = trimesh.creation.box((2.0, 3.0, 5.0)).export(file_type="3mf")
    assert isinstance(whole, bytes)
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as source, zipfile.ZipFile(packed, "w") as target:
        for name in source.namelist():
            data = source.read(name)
            if name.endswith(".model"):
                data = data.replace(b'unit="millimeter"', f'unit="{unit}"'.encode())
            target.writestr(name, data)
    return packed.getvalue()


@pytest.mark.parametrize(("unit", "mm"), [("millimeter", 1.0), ("inch", 25.4), ("centimeter", 10.0), ("micron", 0.001)])
def test_3mf_states_its_unit(unit: str, mm: float) -> None:
    triangles = read_mesh(three_mf(unit), name="a.3mf", millimetres=25.4)
    assert enclosed_volume(triangles) == pytest.approx(30.0 * mm**3, rel=1e-6)


def test_an_unknown_unit_is_refused() -> None:
    with pytest.raises(InputRefused, match="furlong"):
        read_mesh(three_mf("furlong"), name="a.3mf")


def step(tmp_path: Path, *, inches: bool = False, bored: bool = False) -> bytes:
    pytest.importorskip("OCP")
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer

    shape = BRepPrimAPI_MakeBox(40.0, 30.0, 10.0).Shape()
    if bored:
        bore = BRepPrimAPI_MakeCylinder(gp_Ax2(gp_Pnt(20, 15, -1), gp_Dir(0, 0, 1)), 8.0, 12.0).Shape()
        shape = BRepAlgoAPI_Cut(shape, bore).Shape()
    writer = STEPControl_Writer()
    Interface_Static.SetCVal_s("write.step.unit", "INCH" if inches else "MM")
    writer.Transfer(shape, STEPControl_AsIs)
    writer.Write(str(tmp_path / "body.step"))
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    return (tmp_path / "body.step").read_bytes()


@pytest.mark.parametrize("inches", [False, True])
def test_a_step_box_comes_out_in_millimetres(tmp_path: Path, inches: bool) -> None:
    triangles = read_mesh(step(tmp_path, inches=inches), name="body.STEP", millimetres=25.4)
    assert closed(triangles)
    assert enclosed_volume(triangles) == pytest.approx(12000.0, rel=1e-9)
    assert np.ptp(triangles.reshape(-1, 3), axis=0).tolist() == pytest.approx([40, 30, 10])


def test_a_bored_step_body_is_closed_and_its_facets_lie_near(tmp_path: Path) -> None:
    """Chords of a bore lie in the hole, so metal is too much by no more than their sagitta all round."""
    triangles = read_mesh(step(tmp_path, bored=True), name="body.stp")
    exact = 12000.0 - np.pi * 64 * 10
    assert closed(triangles)
    assert exact <= enclosed_volume(triangles) <= exact + 2 * np.pi * 8 * 10 * 0.01


@pytest.mark.parametrize("data", [b"", b"solid", b"ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n"])
def test_what_is_no_step_is_refused(data: bytes) -> None:
    pytest.importorskip("OCP")
    with pytest.raises(InputRefused, match="cannot be read"):
        read_mesh(data, name="body.step")


def test_without_the_extra_it_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("OCP", "OCP.BRepMesh", "OCP.IFSelect", "OCP.Interface", "OCP.STEPControl"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(InputRefused, match="extra that is not installed") as refusal:
        read_mesh(b"ISO-10303-21;", name="body.step")
    assert 'pip install "setwright[step]"' in refusal.value.problems[0].remedy
