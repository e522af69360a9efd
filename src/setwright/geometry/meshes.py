"""Meshes in: STL and 3MF files as triangles, checked for being the closed skin of a solid."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.geometry.stl import closed, enclosed_volume, read_stl

__all__ = ["read_mesh"]

_FORMATS = ("stl", "3mf", "obj", "ply", "off")


def read_mesh(data: bytes, *, name: str, millimetres: float = 1.0) -> NDArray[np.float64]:
    """Triangles float64 (n, 3, 3) in mm of a closed mesh, outward by the right-hand rule.

    `millimetres` is the size of the file's unit. Raises InputRefused for an unknown format, a file that cannot be read, an empty
    mesh and a mesh that is not the closed skin of a solid (holes, edges shared by three triangles, inside out).
    """
    where = Span(name)
    kind = name.rsplit(".", 1)[-1].lower()
    if kind not in _FORMATS:
        known = ", ".join(_FORMATS)
        raise InputRefused.because(f'a mesh file ".{kind}" is not read', remedy=f"save it as one of {known}", span=where)
    try:
        triangles = read_stl(data) if kind == "stl" else _by_library(data, kind)
    except Exception as error:  # whatever the reader raises, the file is the cause
        raise InputRefused.because("the mesh cannot be read", why=str(error), remedy="export it again", span=where) from error
    if not len(triangles):
        raise InputRefused.because("the mesh is empty", remedy="export the body, not only its outline", span=where)
    if not np.isfinite(triangles).all():
        raise InputRefused.because("the mesh has corners that are not numbers", remedy="export it again", span=where)
    if not closed(triangles):
        remedy = "close its holes in the program that made it, or export it as a solid"
        why = "inside and outside cannot be told apart"
        raise InputRefused.because("the mesh is not closed", why=why, remedy=remedy, span=where)
    if enclosed_volume(triangles) < 0.0:
        triangles = triangles[:, ::-1]
    return np.ascontiguousarray(triangles, np.float64) * millimetres


def _by_library(data: bytes, kind: str) -> NDArray[np.float64]:
    """Formats other than STL, corners that lie together joined."""
    import trimesh  # slow to import, needed only for these

    mesh: Any = trimesh.load(io.BytesIO(data), file_type=kind, force="mesh")
    mesh.merge_vertices()
    return np.asarray(mesh.triangles, np.float64)
