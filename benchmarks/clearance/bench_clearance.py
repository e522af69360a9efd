"""Least distance and contacts of 100,000 moves against a body of 20,000 triangles: seconds and moves a second.

Run: python benchmarks/clearance/bench_clearance.py [moves] [triangles]
"""

from __future__ import annotations

import sys
import time

import numpy as np
import trimesh

from setwright.base.threads import thread_count
from setwright.clearance.bodies import Bodies, Mesh
from setwright.clearance.contacts import find_contacts
from setwright.clearance.least import least_clearance
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable, Role

TOOL = [
    Piece(Meridian.ARC, 0.0, 1.0, 4.0, 5.0, 4.0, 1.0, 1.0),
    Piece(Meridian.LINE, 1.0, 25.0, 5.0, 5.0),
    Piece(Meridian.LINE, 25.0, 45.0, 5.0, 5.0, role=Role.SHANK),
    Piece(Meridian.LINE, 45.0, 70.0, 14.0, 20.0, role=Role.HOLDER),
    Piece(Meridian.LINE, 70.0, 110.0, 25.0, 25.0, role=Role.HOLDER),
    Piece(Meridian.LINE, 110.0, 200.0, 50.0, 60.0, role=Role.NOSE),
]


def jaws(triangles: int) -> Mesh:
    """Two jaws of a vise, their faces divided evenly."""
    parts = []
    for side in (-1, 1):
        box = trimesh.creation.box((150.0, 40.0, 50.0))
        while len(box.faces) < triangles / 2:
            box = box.subdivide()
        box.apply_translation((0.0, side * 65.0, -25.0))
        parts.append(box.triangles)
    return Mesh(np.concatenate(parts))


def surfacing(count: int) -> Moves:
    """Lines to and fro over the part, a quarter arc at every hundredth move, heights from a wave."""
    x = 55.0 * np.sin(np.arange(count + 1) * 0.013)
    y = np.linspace(-38.0, 38.0, count + 1)
    points = np.stack([x, y, 6.0 + 4.0 * np.cos(x / 9.0) + 0.002 * np.abs(y)], axis=1)
    kind = np.full(count, MoveKind.LINE, np.uint8)
    centre, sweep = np.zeros((count, 3)), np.zeros(count)
    arcs = np.arange(50, count - 1, 100)
    kind[arcs] = MoveKind.ARC
    middle = (points[arcs] + points[arcs + 1]) / 2
    half = (points[arcs + 1] - points[arcs])[:, :2] / 2
    centre[arcs] = middle
    centre[arcs, 0] -= half[:, 1]
    centre[arcs, 1] += half[:, 0]
    sweep[arcs] = np.pi / 2
    return Moves(kind, points[:-1], points[1:], centre, np.full(count, 2, np.uint8), sweep, np.zeros(count, np.int32),
                 np.ones(count, np.bool_), np.arange(count, dtype=np.int32))  # fmt: skip


def main() -> None:
    """Print one line a case."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    mesh = jaws(int(sys.argv[2]) if len(sys.argv) > 2 else 20_000)
    pieces, moves = PieceTable.of([TOOL]), surfacing(count)
    start = time.perf_counter()
    bodies = Bodies.of({"jaws": mesh})
    print(f"{len(mesh.triangles)} triangles made ready in {time.perf_counter() - start:.2f} s; {thread_count()} threads")
    cases = {
        "least distance": lambda: least_clearance(moves, pieces, bodies).lower.round(4).tolist(),
        "least distance and its course up to 10 mm": lambda: least_clearance(moves, pieces, bodies, course_within=10.0).lower.min(),
        "contacts": lambda: int(find_contacts(moves, pieces, bodies).count.sum()),
        "contacts, holder too low by 60 mm": lambda: int(find_contacts(moves, pieces, bodies, shift=(0.0, 0.0, -60.0)).count.sum()),
        "contacts, cutter aside by 60 mm": lambda: int(find_contacts(moves, pieces, bodies, shift=(0.0, 60.0, -12.0)).count.sum()),
    }
    for name, case in cases.items():
        case()
        start = time.perf_counter()
        answer = case()
        taken = time.perf_counter() - start
        print(f"{name}: {taken:.2f} s, {count / taken:,.0f} moves/s, {answer}")


if __name__ == "__main__":
    main()
