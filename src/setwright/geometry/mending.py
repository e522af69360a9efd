"""What is wrong with a mesh that is not the closed skin of a solid, and a mended copy of it where it can be mended."""

from __future__ import annotations

from collections import defaultdict, deque
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from setwright.geometry.stl import closed, enclosed_volume

__all__ = ["Faults", "Mended", "faults_of", "mended"]

_Array = NDArray[np.float64]
_Ints = NDArray[np.int64]
_MERGE_SHARE: Final = 2.0**-20
"""Corners closer than this share of the mesh's size are one: a few units in the last place of single precision."""

_LONGEST_HOLE: Final = 400


@dataclass(frozen=True, slots=True)
class Faults:
    """Faults of a mesh as it is.

    `holes`: closed rings of open sides, `open_sides`: how many sides in all have no neighbour, `crowded`: sides shared by more
    than two triangles, `turned`: sides whose two triangles turn opposite ways, `empty`: triangles without area, `apart`: corners
    that lie together but are not one.
    """

    holes: int
    open_sides: int
    crowded: int
    turned: int
    empty: int
    apart: int

    def __str__(self) -> str:
        parts = [_count(self.holes, "hole", f" with {self.open_sides} open sides"),
                 _count(self.crowded, "side", " shared by three triangles or more"),
                 _count(self.turned, "side", " where neighbours turn opposite ways"),
                 _count(self.empty, "triangle", " without area"),
                 _count(self.apart, "corner", " not joined to one at the same place")]  # fmt: skip
        return ", ".join(part for part in parts if part) or "no fault found"


def _count(number: int, what: str, more: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}{more}" if number else ""


@dataclass(frozen=True, slots=True)
class Mended:
    """A closed copy of a mesh: triangles float64 (n, 3, 3), outward, and what was done to it, in words."""

    triangles: _Array
    done: tuple[str, ...]


def faults_of(triangles: _Array) -> Faults:
    """The faults of a mesh, corners that lie together taken as one."""
    own = np.unique(triangles.reshape(-1, 3) + 0.0, axis=0).shape[0]
    points, corners = _merged(triangles)
    empty = _empty(points, corners)
    corners = corners[~empty]
    sides = _sides(corners)
    crowded = sum(len(users) > 2 for users in sides.values())
    lonely = [users[0] for users in sides.values() if len(users) == 1]
    turned = sum(len(users) == 2 and users[0][:2] == users[1][:2] for users in sides.values())
    return Faults(len(_rings([(a, b) for a, b, _ in lonely])[0]), len(lonely), crowded, turned, int(empty.sum()), own - len(points))


def mended(triangles: _Array) -> Mended | None:
    """A closed copy: corners joined, triangles without area and doubled ones left out, all turned one way, flat holes closed. None
    where that does not make a closed mesh (holes that branch, sides shared by three triangles)."""
    done = []
    points, corners = _merged(triangles)
    apart = np.unique(triangles.reshape(-1, 3) + 0.0, axis=0).shape[0] - len(points)
    if apart:
        done.append(_count(apart, "corner", " joined"))
    keep = ~_empty(points, corners)
    _, first = np.unique(np.sort(corners, axis=1), axis=0, return_index=True)
    once = np.zeros(len(corners), np.bool_)
    once[first] = True
    if not (keep & once).all():
        done.append(_count(int((~(keep & once)).sum()), "triangle", " without area or written twice left out"))
    corners, flipped = _turned_one_way(corners[keep & once])
    if flipped:
        done.append(_count(flipped, "triangle", " turned over"))
    corners, holes = _filled(points, corners)
    if holes:
        done.append(_count(holes, "hole", " closed"))
    whole = points[corners]
    if not len(whole) or not closed(whole):
        return None
    outward, turned = _outward(whole, corners)
    if turned and not flipped:
        done.append("turned outside out")
    return Mended(outward, tuple(done))


def _merged(triangles: _Array) -> tuple[_Array, _Ints]:
    """Points and the three points of each triangle, points within _MERGE_SHARE of the mesh's size made one."""
    own, index = np.unique(triangles.reshape(-1, 3) + 0.0, axis=0, return_inverse=True)
    reach = float(np.ptp(own, axis=0).max()) * _MERGE_SHARE
    pairs = cKDTree(own).query_pairs(reach, output_type="ndarray")
    graph = coo_array((np.ones(len(pairs), np.int8), (pairs[:, 0], pairs[:, 1])), shape=(len(own), len(own)))
    _, label = connected_components(graph, directed=False)
    _, first = np.unique(label, return_index=True)
    return own[first], label[index.ravel()].reshape(-1, 3).astype(np.int64)


def _empty(points: _Array, corners: _Ints) -> NDArray[np.bool_]:
    a, b, c = (points[corners[:, k]] for k in range(3))
    same = (corners == np.roll(corners, 1, axis=1)).any(axis=1)
    return np.asarray(same | (np.linalg.norm(np.cross(b - a, c - a), axis=1) == 0.0), np.bool_)


def _sides(corners: _Ints) -> dict[tuple[int, int], list[tuple[int, int, int]]]:
    """For each side, by its two points: how each triangle runs along it, and which triangle."""
    sides: dict[tuple[int, int], list[tuple[int, int, int]]] = defaultdict(list)
    for number, (a, b, c) in enumerate(corners.tolist()):
        for start, end in ((a, b), (b, c), (c, a)):
            sides[min(start, end), max(start, end)].append((start, end, number))
    return sides


def _turned_one_way(corners: _Ints) -> tuple[_Ints, int]:
    """Triangles turned so that neighbours run opposite ways along the side they share; how many were turned over (of each connected
    part the fewer)."""
    sides, turn = _sides(corners), np.zeros(len(corners), np.int8)
    neighbours: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    for users in sides.values():
        if len(users) == 2:
            (a, _, one), (b, _, two) = users
            neighbours[one].append((two, a == b))
            neighbours[two].append((one, a == b))
    over = 0
    for seed in range(len(corners)):
        if turn[seed]:
            continue
        turn[seed], queue, part = 1, deque([seed]), [seed]
        while queue:
            here = queue.popleft()
            for other, alike in neighbours[here]:
                if not turn[other]:
                    turn[other] = -turn[here] if alike else turn[here]
                    queue.append(other)
                    part.append(other)
        members = np.array(part)
        if (turn[members] < 0).sum() * 2 > members.size:
            turn[members] = -turn[members]
        over += int((turn[members] < 0).sum())
    return np.where(turn[:, None] < 0, corners[:, ::-1], corners), over


def _rings(sides: list[tuple[int, int]]) -> tuple[list[list[int]], bool]:
    """Closed rings of open sides, each as its points in order; whether all sides belong to one (none branches or ends)."""
    after: dict[int, list[int]] = defaultdict(list)
    for start, end in sides:
        after[start].append(end)
    rings, whole = [], all(len(ends) == 1 for ends in after.values())
    left = {start: list(ends) for start, ends in after.items()}
    for start in list(left):
        ring, here = [start], start
        while left.get(here):
            here = left[here].pop()
            if here == start:
                rings.append(ring)
                break
            ring.append(here)
        else:
            whole = whole and len(ring) == 1
    return rings, whole


def _filled(points: _Array, corners: _Ints) -> tuple[_Ints, int]:
    """Every ring of open sides closed by triangles between its points; how many."""
    lonely = [users[0] for users in _sides(corners).values() if len(users) == 1]
    rings, _ = _rings([(end, start) for start, end, _ in lonely])  # the lid runs the other way along them
    added = [np.array(_lid(points, ring), np.int64) for ring in rings if len(ring) <= _LONGEST_HOLE]
    return np.concatenate([corners, *added]) if added else corners, len(added)


def _lid(points: _Array, ring: list[int]) -> list[tuple[int, int, int]]:
    """Triangles over a ring, an ear cut off at a time in the plane that fits it best."""
    corners = points[ring]
    normal = 0.5 * np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)
    axis = int(np.argmax(np.abs(normal)))
    u, v = (axis + 1) % 3, (axis + 2) % 3
    flat = {number: (points[number][u], points[number][v]) for number in ring}
    way = 1.0 if normal[axis] > 0 else -1.0
    left, triangles = list(ring), []
    while len(left) > 3:
        best = next((k for k in range(len(left)) if _is_ear(left, k, flat, way)), 0)
        before, here, after = left[best - 1], left[best], left[(best + 1) % len(left)]
        triangles.append((before, here, after))
        left.pop(best)
    return [*triangles, (left[0], left[1], left[2])]


def _is_ear(left: list[int], k: int, flat: dict[int, tuple[float, float]], way: float) -> bool:
    a, b, c = flat[left[k - 1]], flat[left[k]], flat[left[(k + 1) % len(left)]]
    if way * _area(a, b, c) <= 0.0:
        return False
    others = (flat[number] for number in left if flat[number] not in (a, b, c))
    return not any(way * _area(a, b, p) >= 0 and way * _area(b, c, p) >= 0 and way * _area(c, a, p) >= 0 for p in others)


def _area(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _outward(triangles: _Array, corners: _Ints) -> tuple[_Array, bool]:
    """The whole mesh turned outward if it encloses less than nothing."""
    if len(corners) and enclosed_volume(triangles) < 0.0:
        return triangles[:, ::-1], True
    return triangles, False
