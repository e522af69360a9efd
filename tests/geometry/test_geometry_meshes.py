"""Meshes in: both kinds of STL, another library's files, and everything that is no closed skin of a solid."""

from __future__ import annotations

import io

import numpy as np
import pytest
import trimesh

from setwright.base.errors import InputRefused
from setwright.geometry.meshes import read_mesh
from setwright.geometry.stl import closed, enclosed_volume, read_stl, write_stl

BOX = trimesh.creation.box((2.0, 3.0, 5.0))


def exported(mesh: trimesh.Trimesh, kind: str) -> bytes:
    data = mesh.export(file_type=kind)
    return data.encode() if isinstance(data, str) else data


@pytest.mark.parametrize(
    ("name", "kind"), [("a.stl", "stl"), ("a.STL", "stl_ascii"), ("a.ply", "ply"), ("a.off", "off"), ("a.obj", "obj")]
)
def test_every_format_gives_the_same_solid(name: str, kind: str) -> None:
    triangles = read_mesh(exported(BOX, kind), name=name)
    assert triangles.shape == (12, 3, 3)
    assert enclosed_volume(triangles) == pytest.approx(30.0, rel=1e-9)


def test_the_file_s_unit_counts_and_inside_out_is_turned() -> None:
    inside_out = BOX.copy()
    inside_out.invert()
    triangles = read_mesh(exported(inside_out, "stl"), name="a.stl", millimetres=25.4)
    assert enclosed_volume(triangles) == pytest.approx(30.0 * 25.4**3, rel=1e-6)


def test_volume_of_a_round_thing() -> None:
    sphere = trimesh.creation.icosphere(subdivisions=4, radius=10.0)
    triangles = read_stl(exported(sphere, "stl"))
    assert closed(triangles)
    assert enclosed_volume(triangles) == pytest.approx(4 / 3 * np.pi * 1000, rel=5e-3)


@pytest.mark.parametrize(
    ("data", "said"),
    [(exported(BOX, "stl")[:-60], "cut short"), (b"", "too short"), (b"solid x\nendsolid x facet", "empty"),
     (b"solid x\nfacet\nvertex 1 2 3\nvertex 1 2 4\nendsolid", "three corners"),
     (b"solid facet vertex a b c " * 3, "could not convert"),
     (exported(trimesh.Trimesh(BOX.vertices, BOX.faces[:-1], process=False), "stl"), "not closed"),
     (exported(trimesh.Trimesh(BOX.vertices * [1, 1, np.nan], BOX.faces, process=False), "stl"), "not numbers")],
)  # fmt: skip
def test_what_is_no_solid_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        read_mesh(data, name="part.stl")


def test_unknown_formats_are_refused() -> None:
    with pytest.raises(InputRefused, match="is not read"):
        read_mesh(b"x", name="part.doc")


def test_two_boxes_that_share_an_edge_are_not_one_clean_skin() -> None:
    other = BOX.copy()
    other.apply_translation([2.0, 3.0, 0.0])
    both = trimesh.util.concatenate([BOX, other])
    assert not closed(np.asarray(both.triangles))


def test_text_and_binary_agree_to_the_last_bit() -> None:
    rough = trimesh.creation.icosphere(subdivisions=1, radius=1.7)
    text = read_stl(rough.export(file_type="stl_ascii").encode())
    binary = read_stl(io.BytesIO(rough.export(file_type="stl")).getvalue())
    assert np.allclose(text, binary, rtol=1e-6)


def test_corners_that_are_no_numbers_are_refused_without_a_word_from_below() -> None:
    """A signalling one, as damaged bytes hold it: turning it into double precision may complain."""
    data = bytearray(write_stl(np.zeros((4, 3, 3)) + np.arange(3.0)[:, None]))
    data[84 + 12 : 84 + 16] = b"\x01\x00\x80\x7f"
    with pytest.raises(InputRefused):
        read_mesh(bytes(data), name="a.stl")
