"""Bodies in: STL, 3MF and STEP files as triangles, checked for being the closed skin of a solid."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
import zipfile
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.geometry.mending import faults_of, mended
from setwright.geometry.step import read_step
from setwright.geometry.stl import closed, enclosed_volume, read_stl, write_stl

__all__ = ["mended_mesh", "read_mesh"]

_FORMATS = ("stl", "3mf", "obj", "ply", "off", "step", "stp")
_UNIT_MM = {"micron": 0.001, "millimeter": 1.0, "centimeter": 10.0, "inch": 25.4, "foot": 304.8, "meter": 1000.0}
"""Units a 3MF file may state, in mm; millimetres if it states none."""


def read_mesh(data: bytes, *, name: str, millimetres: float = 1.0) -> NDArray[np.float64]:
    """Triangles float64 (n, 3, 3) in mm of a closed mesh, outward by the right-hand rule.

    `millimetres` is the size of the file's unit; 3MF and STEP files state their own, which then counts. Raises InputRefused for an
    unknown format, a file that cannot be read, an empty mesh and a mesh that is not the closed skin of a solid (holes, edges shared
    by three triangles), with what is wrong and whether it can be mended.
    """
    triangles = _triangles(data, name, millimetres)
    if not closed(triangles):
        copy = "" if mended(triangles) is None else f", or write a mended copy: setwright kit JOB --mend {name}"
        raise InputRefused.because(
            f"the mesh is not closed: {faults_of(triangles)}", why="inside and outside cannot be told apart",
            remedy=f"close it in the program that made it{copy}", span=Span(name),
        )  # fmt: skip
    return _outward(triangles)


def mended_mesh(data: bytes, *, name: str) -> tuple[bytes, tuple[str, ...]]:
    """A closed copy of a mesh as an STL file in the same unit, and what was done to it; STEP and 3MF files come out in mm.

    Raises InputRefused for a file that cannot be read or cannot be mended.
    """
    triangles = _triangles(data, name, 1.0)
    found = mended(triangles)
    if found is None:
        raise InputRefused.because(f"the mesh cannot be mended: {faults_of(triangles)}", span=Span(name),
                                   remedy="repair it in the program that made it, and export a solid")  # fmt: skip
    return write_stl(found.triangles), found.done


def _outward(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    if enclosed_volume(triangles) < 0.0:
        triangles = triangles[:, ::-1]
    return np.ascontiguousarray(triangles, np.float64)


def _triangles(data: bytes, name: str, millimetres: float) -> NDArray[np.float64]:
    """Triangles of a file in mm, as they are."""
    where = Span(name)
    kind = name.rsplit(".", 1)[-1].lower()
    if kind not in _FORMATS:
        known = ", ".join(_FORMATS)
        raise InputRefused.because(f'a mesh file ".{kind}" is not read', remedy=f"save it as one of {known}", span=where)
    try:
        if kind in ("step", "stp"):
            triangles, millimetres = read_step(data), 1.0
        else:
            triangles = read_stl(data) if kind == "stl" else _by_library(data, kind)
            millimetres = _stated_unit(data) if kind == "3mf" else millimetres
    except InputRefused:
        raise
    except Exception as error:  # whatever the reader raises, the file is the cause
        raise InputRefused.because("the mesh cannot be read", why=str(error), remedy="export it again", span=where) from error
    if not len(triangles):
        raise InputRefused.because("the mesh is empty", remedy="export the body, not only its outline", span=where)
    if not np.isfinite(triangles).all():
        raise InputRefused.because("the mesh has corners that are not numbers", remedy="export it again", span=where)
    return triangles * millimetres


def _stated_unit(data: bytes) -> float:
    """Size in mm of the unit a 3MF file states for its model."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        model = next(entry for entry in package.namelist() if entry.lower().endswith(".model"))
        for _, element in ET.iterparse(io.BytesIO(package.read(model)), ("start",)):
            unit = element.get("unit", "millimeter")
            break
    if unit not in _UNIT_MM:
        raise ValueError(f"its unit “{unit}” is unknown")
    return _UNIT_MM[unit]


def _by_library(data: bytes, kind: str) -> NDArray[np.float64]:
    """Formats other than STL, corners that lie together joined."""
    import trimesh  # slow to import, needed only for these

    mesh: Any = trimesh.load(io.BytesIO(data), file_type=kind, force="mesh")
    mesh.merge_vertices()
    return np.asarray(mesh.triangles, np.float64)
