"""Trees of boxes over the solids of each body, so that a move looks only at what is near it.

A node is split at the median of its solids' middles along its longest side; solids are put in the order of the leaves. The boxes
contain their solids exactly (no widening is needed: every comparison against them is an inequality that keeps ties).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["DEEPEST", "Forest", "grow", "widened"]

DEEPEST: Final = 64
"""Entries a walk's stack needs: median splits make a tree over 2**31 solids no deeper than 31, and a walk keeps one sibling a
level."""

_LEAF: Final = 4


class Forest(NamedTuple):
    """One tree a body, in flat arrays; lengths mm.

    kind  uint8   (s,)    `Solid` of each solid
    data  float64 (s, 12) its numbers, the last three 0 unless `widened`
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


def _tree(box: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Order of the solids, and box, left child (-1: leaf) and span of every node, level by level; the root is node 0."""
    middle, order = (box[:, :3] + box[:, 3:]) / 2, np.arange(len(box))
    boxes, lefts, spans = [], [], []
    span, nodes = np.array([[0, len(box)]]), 0
    while len(span):
        length = span[:, 1] - span[:, 0]
        begin = np.cumsum(length) - length
        places = np.arange(length.sum()) + np.repeat(span[:, 0] - begin, length)
        held = box[order[places]]
        low, high = np.minimum.reduceat(held[:, :3], begin), np.maximum.reduceat(held[:, 3:], begin)
        inner = length > _LEAF
        longest = np.repeat(np.argmax(high - low, axis=1), length)
        order[places] = order[places][np.lexsort((middle[order[places], longest], np.repeat(np.arange(len(span)), length)))]
        boxes.append(np.hstack([low, high]))
        lefts.append(np.where(inner, nodes + len(span) + 2 * (np.cumsum(inner) - 1), -1))
        spans.append(span)
        nodes += len(span)
        half = span[inner].sum(axis=1) // 2
        span = np.stack([span[inner, 0], half, half, span[inner, 1]], axis=1).reshape(-1, 2)
    return order, np.concatenate(boxes), np.concatenate(lefts), np.concatenate(spans)


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
    return Forest(np.concatenate(kind), np.pad(np.concatenate(data), ((0, 0), (0, 3))), np.concatenate(box), np.concatenate(left),
                  np.concatenate(span), np.array(root, np.int32), meshed)  # fmt: skip


def widened(forest: Forest, by: NDArray[np.float64]) -> Forest:
    """The forest with every solid reaching farther, both ways along X, Y, Z, by its body's row of `by` float64 (b, 3), mm."""
    data, box = forest.data.copy(), forest.box.copy()
    nodes = np.append(forest.root, len(box))
    for body, more in enumerate(by):
        own = slice(nodes[body], nodes[body + 1])
        box[own] += np.concatenate([-more, more])
        data[forest.span[own, 0].min() : forest.span[own, 1].max(), 9:] += more
    return forest._replace(data=data, box=box)
