"""Nothing hits the holding when everything is right, by a plain count of points along the path.

The tool is taken as upright cylinders, one a piece of its assembly, each as wide as the piece is anywhere; it stands at points
along the path at most `STEP` apart. A distance found this way is at most `STEP` more than the true one of those cylinders.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from setwright.geometry.bodies import Body, BodyRole, CylinderShape
from setwright.program.path import MoveKind, Path
from tests.demo.bundled import SETUPS, kit_of, run

STEP = 0.5
INCH = 25.4


def positions(job: str, setup: str) -> Iterator[tuple[int, int, Any]]:
    """Station, line and tip positions (n, 3) in W for every move, rapids both ways they may run.

    The gauge point stands at path + shift in the machine; the tip hangs the tool's length below it, over W where the kit puts it.
    """
    path, assembled = run(job, setup).path, kit_of(job, setup)
    origin = assembled.placement.machine_from_work.shift
    for row in range(len(path)):
        station = path.states[path.state[row]].tool
        if station != 0:  # before the first tool there is nothing in the spindle
            below = np.array([0.0, 0.0, assembled.tools[station].length])
            for points in _ways(path, row):
                yield station, int(path.line[row]), points + path.frames[path.frame[row]].shift - below - origin


def _ways(path: Path, row: int) -> Iterator[Any]:
    start, end = path.start[row], path.end[row]
    if path.kind[row] == MoveKind.ARC:
        arc = int(path.arc[row])
        centre, sweep = path.arc_centre[arc, :2], float(path.arc_sweep[arc])
        x, y = start[:2] - centre
        count = math.ceil(abs(sweep) * math.hypot(x, y) / STEP) + 2
        turn, rise = np.linspace(0.0, sweep, count), np.linspace(start[2], end[2], count)
        c, s = np.cos(turn), np.sin(turn)
        yield np.stack([centre[0] + x * c - y * s, centre[1] + x * s + y * c, rise], axis=1)
        return
    yield _line(start, end)
    if path.kind[row] == MoveKind.RAPID:
        far = np.abs(end - start)
        least = far[far > 0].min(initial=0.0)
        corner = start + np.sign(end - start) * np.minimum(far, least)  # all axes at one speed until the shortest has arrived
        yield np.concatenate([_line(start, corner), _line(corner, end)])


def _line(start: Any, end: Any) -> Any:
    share = np.linspace(0.0, 1.0, math.ceil(float(np.linalg.norm(end - start)) / STEP) + 2)
    return start + share[:, None] * (end - start)


def gaps(job: str, setup: str) -> dict[tuple[str, int], tuple[float, int]]:
    """Least distance between each body of the holding and each tool, with the line where it is."""
    assembled = kit_of(job, setup)
    bodies = [body for body in assembled.placement.bodies if body.role is not BodyRole.TABLE]
    pieces = {
        station: np.array([(piece.z0, piece.z1, max(piece.r0, piece.r1)) for piece in assembly.pieces])
        for station, assembly in assembled.tools.items()
    }
    found: dict[tuple[str, int], tuple[float, int]] = {}
    for station, line, tip in positions(job, setup):
        for body in bodies:
            gap = _gap(body, tip, pieces[station])
            key = body.name, station
            if gap < found.get(key, (math.inf, 0))[0]:
                found[key] = gap, line
    return found


def _gap(body: Body, tip: Any, pieces: Any) -> float:
    low, high = body.bounds()
    if isinstance(body.shape, CylinderShape):
        aside = np.maximum(np.hypot(*(tip[:, :2] - body.shape.centre).T) - body.shape.radius, 0.0)
    else:
        aside = np.hypot(*np.maximum(np.maximum(low[:2] - tip[:, :2], tip[:, :2] - high[:2]), 0.0).T)
    level = np.maximum(aside[:, None] - pieces[:, 2], 0.0)
    above = tip[:, 2, None] + pieces[:, 0] - high[2]
    below = low[2] - tip[:, 2, None] - pieces[:, 1]
    return float(np.hypot(level, np.maximum(np.maximum(above, below), 0.0)).min())


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_nothing_touches_the_holding(job: str, setup: str) -> None:
    found = gaps(job, setup)
    assert found
    assert {key: place for key, place in found.items() if place[0] <= STEP} == {}


def test_nearest_places_are_those_worked_out_by_hand() -> None:
    first, second = gaps("bearing-cap", "first side"), gaps("bearing-cap", "second side")
    assert first["fixed jaw", 2][0] == pytest.approx(3.0, abs=1e-9)  # step at Z-10 over jaw tops at -31 - 22 + 40 = -13
    assert first["end stop", 2][0] == pytest.approx(12.0, abs=1e-9)  # and over the stop, -22 = half-way from -31 to -13
    assert first["parallel at fixed jaw", 5][0] == pytest.approx(34 - 26 - 3.4, abs=STEP)  # through hole beside the parallel
    assert second["fixed jaw", 1][0] == pytest.approx(4.0, abs=1e-9)  # face mill at Z0 over jaw tops at -30 - 14 + 40 = -4
    pintle = gaps("pintle", "top")
    assert pintle["strap, left", 1][0] == pytest.approx((2.7 - 0.25 - 2.25) * INCH, abs=1e-6)  # down beside the strap
    assert pintle["fixture plate", 3][0] == pytest.approx((0.875 - 0.55) * INCH, abs=1e-6)
    pallet = gaps("spacers", "pallet")
    assert pallet["fixture plate", 2][0] == pytest.approx(8 - 5, abs=1e-9)
    assert pallet["rail, front row", 1][0] == pytest.approx(20 - 12, abs=1e-9)


def test_a_careless_return_hits_the_strap() -> None:
    """What G98 is there for: at the near level, 0.1 above the bar, the straps 0.5 high stand in the way from hole to hole."""
    over = [
        float(tips[:, 2].min()) / INCH
        for _, _, tips in positions("pintle", "top")
        if tips[:, 0].min() < -2.0 * INCH < tips[:, 0].max()
    ]
    assert over
    assert min(over) == pytest.approx(1.0)
    near, strap = 0.1, 0.5
    assert near < strap < min(over)
