"""STL files, the open format every program writes: binary and text, read without a mesh library, which would take longer to load
than most jobs take to prove."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

__all__ = ["closed", "enclosed_volume", "read_stl", "write_stl"]

_HEAD = 80
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
_VERTEX = re.compile(rb"vertex\s+(\S+)\s+(\S+)\s+(\S+)")


def read_stl(data: bytes) -> NDArray[np.float64]:
    """Triangles float64 (n, 3, 3) in the file's unit. Raises ValueError, with what is wrong, for anything that is no STL."""
    count = int.from_bytes(data[_HEAD : _HEAD + 4], "little") if len(data) >= _HEAD + 4 else -1
    if count >= 0 and len(data) >= _HEAD + 4 + count * _FACET.itemsize and not _is_text(data):
        facets = np.frombuffer(data, _FACET, count, _HEAD + 4)
        with np.errstate(invalid="ignore"):  # what is no number is told by whoever looks at the corners
            return facets["corners"].astype(np.float64)
    if not _is_text(data):
        raise ValueError("it is cut short" if count >= 0 else "it is too short")
    corners = np.array(_VERTEX.findall(data), dtype="S64")
    if corners.size % 9:
        raise ValueError("a facet has not three corners")
    return corners.astype(np.float64).reshape(-1, 3, 3)


def write_stl(triangles: NDArray[np.float64]) -> bytes:
    """Triangles float64 (n, 3, 3) as a binary STL file; its numbers have single precision."""
    facets = np.zeros(len(triangles), _FACET)
    facets["corners"] = triangles
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    facets["normal"] = np.divide(normal, size, out=np.zeros_like(normal), where=size > 0)
    return bytes(_HEAD) + len(triangles).to_bytes(4, "little") + facets.tobytes()


def _is_text(data: bytes) -> bool:
    return data.lstrip()[:5].lower() == b"solid" and b"facet" in data[:1000]


def closed(triangles: NDArray[np.float64]) -> bool:
    """Whether every side of a triangle is matched by one side that runs the other way (corners equal to the last bit)."""
    _, index = np.unique(triangles.reshape(-1, 3) + 0.0, axis=0, return_inverse=True)
    corner = index.reshape(-1, 3).astype(np.int64)
    if (corner == np.roll(corner, 1, axis=1)).any():
        return False
    start, end, width = corner.ravel(), np.roll(corner, -1, axis=1).ravel(), int(corner.max()) + 1
    sides, counts = np.unique(start * width + end, return_counts=True)
    return bool((counts == 1).all() and np.array_equal(sides, np.unique(end * width + start)))


def enclosed_volume(triangles: NDArray[np.float64]) -> float:
    """Signed volume of a closed surface: positive if its triangles turn outward (divergence theorem)."""
    middle = triangles.reshape(-1, 3).mean(axis=0)
    a, b, c = (triangles - middle).transpose(1, 0, 2)
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)
