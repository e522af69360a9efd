"""The time along a path against an integrator that goes by small steps of time and shares nothing with it."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.geometry.moves import MoveKind, Moves
from setwright.motion import Dynamics, RapidPath, time_along
from setwright.program.motions import moves_in_machine
from setwright.read.station import ORDINARY, read_alone
from setwright.read.timing import line_of, pauses_of
from tests.oracle import time_steps


def steps_of(moves: Moves, feed: NDArray[np.float64], stops: NDArray[np.bool_]) -> list[dict[str, Any]]:
    """The motions as the oracle takes them; those of no length are left out, a stop at them falls to the one before."""
    found: list[dict[str, Any]] = []
    for k in range(len(moves)):
        rapid, start, end = moves.kind[k] == MoveKind.RAPID, moves.start[k], moves.end[k]
        motion: dict[str, Any] = {"feed": None if rapid else feed[k] / 60.0, "points": np.array([start, end])}
        if moves.kind[k] == MoveKind.ARC:
            axis = int(moves.axis[k])
            points, first, last = time_steps.arc(start, moves.centre[k], axis, float(moves.sweep[k]), end[axis] - start[axis])
            u, v = (axis + 1) % 3, (axis + 2) % 3
            radius = math.hypot(start[u] - moves.centre[k][u], start[v] - moves.centre[k][v])
            motion |= {"points": points, "radius": radius, "axis": axis, "first": first, "last": last}
        elif np.linalg.norm(end - start) == 0.0:
            if found and stops[k]:
                found[-1]["stop"] = True
            continue
        if rapid and found:
            found[-1]["stop"] = True
        found.append(motion | {"stop": bool(stops[k] or rapid)})
    return found


def drawn(seed: int) -> tuple[Moves, NDArray[np.float64], NDArray[np.bool_], Dynamics]:
    """A path of lines, arcs, helices and rapids, some long, some shorter than a ramp, on a machine with unequal axes."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(5, 60))
    scale = float(rng.choice([0.05, 0.5, 3.0, 20.0]))
    kind = rng.choice([MoveKind.LINE, MoveKind.LINE, MoveKind.LINE, MoveKind.ARC, MoveKind.RAPID], count).astype(np.uint8)
    start, end, centre = np.zeros((count, 3)), np.zeros((count, 3)), np.zeros((count, 3))
    axis, sweep = np.zeros(count, np.uint8), np.zeros(count)
    at, way = np.zeros(3), rng.normal(size=3)
    for k in range(count):
        start[k] = at
        way = way / np.linalg.norm(way) + rng.choice([0.0, 0.05, 0.5, 2.0]) * rng.normal(size=3)
        if kind[k] == MoveKind.ARC:
            axis[k], sweep[k] = rng.integers(3), rng.uniform(0.2, 2.0 * math.pi) * rng.choice([-1, 1])
            u, v = (axis[k] + 1) % 3, (axis[k] + 2) % 3
            radius, a = scale * rng.uniform(0.3, 3.0), rng.uniform(0, 2 * math.pi)
            centre[k] = at
            centre[k, u], centre[k, v] = at[u] - radius * math.cos(a), at[v] - radius * math.sin(a)
            at = at.copy()
            at[u], at[v] = centre[k, u] + radius * math.cos(a + sweep[k]), centre[k, v] + radius * math.sin(a + sweep[k])
            at[axis[k]] += rng.choice([0.0, rng.normal() * scale])
        else:
            at = at + way / np.linalg.norm(way) * scale * rng.uniform(0.2, 5.0)
        end[k] = at
    moves = Moves(kind, start, end, centre, axis, sweep, np.zeros(count, np.int32), np.ones(count, np.bool_),
                  np.arange(count, dtype=np.int32))  # fmt: skip
    dynamics = Dynamics(rapid_mm_min=tuple(rng.uniform(10e3, 40e3, 3)), accel_mm_s2=tuple(rng.uniform(800, 9000, 3)),
                        junction_tolerance_mm=float(rng.choice([0.0, 0.003, 0.02, 0.1])),
                        block_time_s=float(rng.choice([0.0, 0.002, 0.01])),
                        rapid=RapidPath.DOG_LEG if rng.random() < 0.5 else RapidPath.STRAIGHT)  # fmt: skip
    return moves, rng.choice([300.0, 1500.0, 6000.0, 15000.0], count), rng.random(count) < 0.1, dynamics


@pytest.mark.parametrize("block", range(20))
def test_random_paths(block: int) -> None:
    """Ten paths a block: each within half a per cent."""
    for seed in range(10 * block, 10 * block + 10):
        moves, feed, stops, dynamics = drawn(seed)
        machine = {"rapid": np.divide(dynamics.rapid_mm_min, 60.0), "accel": dynamics.accel_mm_s2, "dog_leg": dynamics.rapid is
                   RapidPath.DOG_LEG, "rounding": dynamics.junction_tolerance_mm, "block_s": dynamics.block_time_s}  # fmt: skip
        wanted = time_steps.along(steps_of(moves, feed, stops), machine)
        assert time_along(moves, feed, dynamics, exact_stop=stops).total_s == pytest.approx(wanted, rel=0.005), f"seed {seed}"


def test_twenty_programs_of_the_corpus(corpus: Path) -> None:
    """Programs of every kind, read to their end, each within half a per cent; pauses are added, not integrated."""
    compared = 0
    for program in sorted(corpus.iterdir()):
        if compared == 20 or program.suffix == ".tsv" or not 1_000 < program.stat().st_size < 80_000:
            continue
        try:
            reading = read_alone({program.name: program.read_bytes()})
        except InputRefused:  # what is no program at all has no time
            continue
        path = reading.interpreted.path
        moves = moves_in_machine(path)
        line = line_of(path, moves, ORDINARY, dog_leg=False)
        if not reading.interpreted.complete or line is None or not 50 < len(moves) < 6_000:
            continue
        pauses = pauses_of(path, ORDINARY)
        stops = np.array([state.exact_stop for state in path.states])[path.state][moves.ident]
        for _, row, _ in pauses:
            stops[max(int(np.searchsorted(moves.ident, row)) - 1, 0)] = True
        machine = {"rapid": np.array([24000.0, 24000.0, 20000.0]) / 60.0, "accel": (3000.0,) * 3, "dog_leg": False,
                   "rounding": 0.01, "block_s": 0.0}  # fmt: skip
        wanted = time_steps.along(steps_of(moves, path.feed[moves.ident], stops), machine) + sum(one[2] for one in pauses)
        assert line.total_s == pytest.approx(wanted, rel=0.005), program.name
        compared += 1
    assert compared == 20
