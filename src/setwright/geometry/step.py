"""Bodies from STEP files (ISO 10303-21), by a geometry library that is an extra: large, and not everybody needs it."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused

__all__ = ["FACET_MM", "read_step"]

FACET_MM: Final = 0.01
"""How far a facet may lie beside the curved face it stands for, mm."""

_FACET_ANGLE: Final = 0.1  # rad between neighbouring facets of a curved face


def read_step(data: bytes) -> NDArray[np.float64]:
    """Triangles float64 (n, 3, 3) in mm of every solid in a STEP file, outward; curved faces within FACET_MM of the true ones.

    The file states its own unit. Raises InputRefused if the extra is not installed, ValueError for a file that holds no solid.
    """
    try:
        from OCP.BRepMesh import BRepMesh_IncrementalMesh
        from OCP.IFSelect import IFSelect_RetDone
        from OCP.Interface import Interface_Static
        from OCP.STEPControl import STEPControl_Reader
    except ImportError as error:
        raise InputRefused.because(
            "STEP files are read by an extra that is not installed",
            remedy='install it with: pip install "setwright[step]", or save the body as STL or 3MF',
        ) from error
    reader = STEPControl_Reader()
    Interface_Static.SetCVal_s("xstep.cascade.unit", "MM")
    with tempfile.TemporaryDirectory() as folder:  # the library reads files only
        path = Path(folder) / "body.step"
        path.write_bytes(data)
        if reader.ReadFile(str(path)) != IFSelect_RetDone:
            raise ValueError("it is no STEP file")
        reader.TransferRoots()
    shape = reader.OneShape()
    if shape.IsNull():
        raise ValueError("it holds no body")
    BRepMesh_IncrementalMesh(shape, FACET_MM, False, _FACET_ANGLE, False)
    faces = [triangles for face in _faces(shape) if (triangles := _facets(face)) is not None]
    if not faces:
        raise ValueError("it holds no solid")
    return _joined(np.concatenate(faces))


def _faces(shape: Any) -> list[Any]:
    """Every face of the solids in a shape."""
    from OCP.TopAbs import TopAbs_FACE, TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    found, solids = [], TopExp_Explorer(shape, TopAbs_SOLID)
    while solids.More():
        faces = TopExp_Explorer(solids.Current(), TopAbs_FACE)
        while faces.More():
            found.append(faces.Current())
            faces.Next()
        solids.Next()
    return found


def _facets(face: Any) -> NDArray[np.float64] | None:
    """The triangles of one face, outward; None for a face without any."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    place = TopLoc_Location()
    turned = TopoDS.Face_s(face) if hasattr(TopoDS, "Face_s") else TopoDS.Face(face)
    mesh = BRep_Tool.Triangulation_s(turned, place)
    if mesh is None:
        return None
    move = place.Transformation()
    nodes = [mesh.Node(number).Transformed(move) for number in range(1, mesh.NbNodes() + 1)]
    points = np.array([[node.X(), node.Y(), node.Z()] for node in nodes], np.float64)
    corners = np.array([mesh.Triangle(number).Get() for number in range(1, mesh.NbTriangles() + 1)], np.int64) - 1
    if face.Orientation() == TopAbs_REVERSED:
        corners = corners[:, ::-1]
    return points[corners]


def _joined(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Corners that neighbouring faces compute apart by round-off made one, and triangles without area left out."""
    digits = 7
    points = np.round(triangles, digits) + 0.0
    flat = (points[:, 0] == points[:, 1]).all(axis=1) | (points[:, 1] == points[:, 2]).all(axis=1)
    flat |= (points[:, 2] == points[:, 0]).all(axis=1)
    return np.asarray(points[~flat], np.float64)
