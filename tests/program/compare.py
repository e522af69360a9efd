"""Comparing a path with the motions of the naive reader, and paths with one another."""

from __future__ import annotations

import math

import numpy as np

from setwright.program.interpret import Interpreted, interpret
from setwright.program.path import MoveKind, Path
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.source import Source

SAME_MM = 2e-9
SAME_RAD = 1e-7


def read(text: str | bytes, *, registers: Registers | None = None, **behaviours: object) -> Interpreted:
    """Interpret one text with the default profile and what differs from it."""
    return interpret([Source("t.nc", text)], profile=Profile(**behaviours), registers=registers or Registers.nominal())


def good(text: str | bytes, *, registers: Registers | None = None, **behaviours: object) -> Path:
    """The path of a text that must be read completely."""
    result = read(text, registers=registers, **behaviours)
    assert result.complete, "\n".join(str(problem) for problem in result.problems)
    return result.path


def ends(path: Path) -> list[tuple[str, tuple[float, ...]]]:
    """Kind and end of every row, rounded to a picometre."""
    return [(MoveKind(kind).name, tuple(round(value, 9) + 0.0 for value in end)) for kind,
            end in zip(path.kind.tolist(), path.end.tolist(), strict=True)]


def assert_same_motions(path: Path, expected: list[tuple], *, mismatch: float) -> None:
    """Row by row; short lines that repair an arc's end (no longer than `mismatch`) have no counterpart."""
    row = 0
    for number, motion in enumerate(expected):
        assert row < len(path), f"motion {number} {motion} is missing"
        kind, end = MoveKind(int(path.kind[row])), path.end[row]
        place = f"motion {number} {motion}, row {row}, line {path.line[row]}"
        if motion[0] == "arc":
            _, goal, centre, axis, sweep = motion
            assert kind is MoveKind.ARC, place
            index = path.arc[row]
            assert path.arc_axis[index] == axis, place
            radius = math.dist(path.start[row], path.arc_centre[index])
            loose = SAME_RAD + 4.0 * mismatch / max(radius, 1e-6)
            assert abs(path.arc_sweep[index] - sweep) <= loose, f"{place}: {path.arc_sweep[index]} {sweep}"
            assert np.abs(path.arc_centre[index] - centre).max() <= 2.5 * mismatch + 1e-3, f"{place}: {path.arc_centre[index]}"
            if np.abs(end - goal).max() > SAME_MM:
                assert math.dist(end, goal) <= mismatch + SAME_MM, place
                row += 1
                assert np.abs(path.end[row] - goal).max() <= SAME_MM, place
        else:
            assert kind is (MoveKind.RAPID if motion[0] == "rapid" else MoveKind.LINE), place
            assert np.abs(end - motion[1]).max() <= SAME_MM, f"{place}: {end}"
        row += 1
    assert row == len(path), f"{len(path) - row} rows too many from line {path.line[row] if row < len(path) else 0}"
