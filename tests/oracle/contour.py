"""The surface of metal given by rays, cell after cell, written to be right: no numbering, no order, nothing shared by cells."""

from __future__ import annotations

import itertools
import math

import numpy as np


def crossing(ends, low, high):
    """The last of the ends (place, normal, motion, begins) in [low, high) if they are odd in number, else None."""
    inside = [end for end in ends if low <= end[0] < high]
    return inside[-1] if len(inside) % 2 else None


def corner(planes, low, high):
    """Where planes (point, normal) meet best: least squares about the mean of the points by the pseudo-inverse, inside a box."""
    points, normals = np.array([point for point, _ in planes]), np.array([normal for _, normal in planes])
    mean = points.mean(axis=0)
    if np.linalg.norm(normals.sum(axis=0)) >= len(planes) * (1 - 1e-12):
        return np.clip(mean, low, high)
    square = normals.T @ normals
    right = normals.T @ ((points - mean) * normals).sum(axis=1)
    return np.clip(mean + np.linalg.pinv(square, rcond=0.1, hermitian=True) @ right, low, high)


def contour(rays, first, pitch, count, box):
    """Quadrilaterals as (four corners counter-clockwise from outside, motion), a list.

    rays[axis][u, v]: the ends of a ray in their order, u and v its numbers on the two other axes in ascending order of axes.
    first, pitch, count: places of the rays on each axis; box: low and high of the metal's box.
    """
    edges = {}
    for axis in range(3):
        u, v = [other for other in range(3) if other != axis]
        for (i, j), ends in rays[axis].items():
            for k in range(-1, count[axis]):
                low = first[axis] + k * pitch[axis] if k >= 0 else -math.inf
                high = first[axis] + (k + 1) * pitch[axis] if k + 1 < count[axis] else math.inf
                found = crossing(ends, low, high)
                if found is not None:
                    node = [0, 0, 0]
                    node[axis], node[u], node[v] = k, i, j
                    point = [first[0] + node[0] * pitch[0], first[1] + node[1] * pitch[1], first[2] + node[2] * pitch[2]]
                    point[axis] = found[0]
                    edges[axis, tuple(node)] = (np.array(point), np.array(found[1]), found[2], found[3])
    planes = {}
    for (axis, node), (point, normal, _, _) in edges.items():
        for cell in around(axis, node):
            planes.setdefault(cell, []).append((point, normal))
    corners = {}
    for cell, some in planes.items():
        low = np.maximum([first[a] + (cell[a] - 1) * pitch[a] for a in range(3)], box[0])
        high = np.minimum([first[a] + cell[a] * pitch[a] for a in range(3)], box[1])
        corners[cell] = corner(some, low, high)
    return [
        ([corners[cell] for cell in (around(axis, node)[::-1] if begins else around(axis, node))], motion)
        for (axis, node), (_, _, motion, begins) in edges.items()
    ]


def around(axis, node):
    """The four cells about the edge from a node onward, counter-clockwise seen from its upper end; cell (i, j, k) lies below node
    (i, j, k) on every axis."""
    cells = []
    for du, dv in itertools.chain(((0, 0), (1, 0)), ((1, 1), (0, 1))):
        cell = list(node)
        cell[axis] += 1
        cell[(axis + 1) % 3] += du
        cell[(axis + 2) % 3] += dv
        cells.append(tuple(cell))
    return cells
