"""Trees of boxes over the solids of each body, so that a move looks only at what is near it.

A node is split at the median of its solids' middles along its longest side; solids are put in the order of the leaves. The boxes
contain their solids exactly (no widening is needed: every comparison against them is an inequality that keeps ties).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel

__all__ = ["DEEPEST", "Forest", "grow"]

DEEPEST: Final = 64
"""Entries a walk's stack needs: median splits make a tree over 2**31 solids no deeper than 31, and a walk keeps one sibling a
level."""

_LEAF: Final = 4


class Forest(NamedTuple):
    """One tree a body, in flat arrays; lengths mm.

    kind  uint8   (s,)    `Solid` of each solid
    data  float64 (s, 9)  its numbers
    box   float64 (k, 6)  of each node: least x y z, greatest x y z
    left  int32   (k,)    of an inner node: its left child (the right one follows it); -1 for a leaf
    span  int32   (k, 2)  of a node: first solid, and one past the last
    root  int32   (b,)    root node of each body
    meshed bool   (b,)    whether the body holds triangles (then a piece may be wholly inside without meeting any)
    """

    kind: NDArray[np.uint8]
    data: NDArray[np.float64]
    box: NDArray[np.float64]
    left: NDArray[np.int32]
    span: NDArray[np.int32]
    root: NDArray[np.int32]
    meshed: NDArray[np.bool_]


@kernel
def _split(middle: NDArray[np.float64], box: NDArray[np.float64], order: NDArray[np.int64], left: NDArray[np.int32],
           span: NDArray[np.int32], node_box: NDArray[np.float64]) -> int:  # fmt: skip
    """Fill the tree arrays over solids with `middle` (n, 3) and `box` (n, 6); `order` (n,) is rewritten. Returns the nodes used."""
    span[0, 0], span[0, 1] = 0, order.size
    used, node = 1, 0
    while node < used:
        first, last = span[node, 0], span[node, 1]
        for axis in range(3):
            node_box[node, axis] = np.inf
            node_box[node, axis + 3] = -np.inf
        for place in range(first, last):
            for axis in range(3):
                node_box[node, axis] = min(node_box[node, axis], box[order[place], axis])
                node_box[node, axis + 3] = max(node_box[node, axis + 3], box[order[place], axis + 3])
        left[node] = -1
        if last - first > _LEAF:
            longest = 0
            for axis in range(1, 3):
                if node_box[node, axis + 3] - node_box[node, axis] > node_box[node, longest + 3] - node_box[node, longest]:
                    longest = axis
            part = order[first:last].copy()
            order[first:last] = part[np.argsort(middle[part, longest], kind="mergesort")]
            half = (first + last) // 2
            left[node] = used
            span[used, 0], span[used, 1] = first, half
            span[used + 1, 0], span[used + 1, 1] = half, last
            used += 2
        node += 1
    return used


def _tree(box: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int32], NDArray[np.int32]]:
    count = len(box)
    order = np.arange(count)
    left = np.empty(2 * count, np.int32)
    span = np.empty((2 * count, 2), np.int32)
    node_box = np.empty((2 * count, 6))
    used = _split((box[:, :3] + box[:, 3:]) / 2, box, order, left, span, node_box)
    return order, node_box[:used], left[:used], span[:used]


def grow(kinds: list[NDArray[np.uint8]], datas: list[NDArray[np.float64]], boxes: list[NDArray[np.float64]]) -> Forest:
    """The forest over bodies given as lists, one entry a body: `kinds` uint8 (n,), `datas` (n, 9), `boxes` (n, 6), n >= 1, mm."""
    kind, data, box, left, span, root = [], [], [], [], [], []
    nodes = solids = 0
    for body_kind, body_data, body_box in zip(kinds, datas, boxes, strict=True):
        order, node_box, node_left, node_span = _tree(body_box)
        kind.append(body_kind[order])
        data.append(body_data[order])
        box.append(node_box)
        left.append(np.where(node_left < 0, -1, node_left + nodes).astype(np.int32))
        span.append((node_span + solids).astype(np.int32))
        root.append(nodes)
        nodes += len(node_box)
        solids += len(order)
    meshed = np.array([bool((body_kind == 0).any()) for body_kind in kinds], np.bool_)
    return Forest(np.concatenate(kind), np.ascontiguousarray(np.concatenate(data)), np.concatenate(box), np.concatenate(left),
                  np.concatenate(span), np.array(root, np.int32), meshed)  # fmt: skip
