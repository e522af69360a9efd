"""The immersion map against closed forms: slot, half immersion on both sides, corner, ramp, plunge, arcs both ways round; and that
it does not hang on the pitch, the number of threads, or how a way is cut into motions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.base import threads
from setwright.geometry.bodies import BoxShape, CylinderShape
from setwright.geometry.moves import MoveKind, Moves
from setwright.geometry.pieces import Meridian, Piece, PieceTable
from setwright.load.forces import Coefficients
from setwright.load.tools import CellLoads, cell_loads
from setwright.removal.cut import cut
from setwright.removal.engagement import ANGLE, BOTTOM, VOLUME, Engagement, cells_of, engagement_of, lengths_of
from setwright.removal.field import Field, field_of

R, TEETH, RPM, TOOTH = 5.0, 3, 6000.0, 0.05
FEED = TEETH * RPM * TOOTH
MILL = PieceTable.of([[Piece(Meridian.LINE, 0.0, 30.0, R, R)]])
KIENZLE = Coefficients(2000.0, 0.25, 0.3, 0.2)
BLOCK = BoxShape((0.0, 0.0, 0.0), (60.0, 40.0, 20.0))


def lines(*points: tuple[float, float, float]) -> Moves:
    at = np.array(points, np.float64)
    n = len(at) - 1
    return Moves(np.full(n, MoveKind.LINE, np.uint8), at[:-1].copy(), at[1:].copy(), np.zeros((n, 3)), np.zeros(n, np.uint8),
                 np.zeros(n), np.zeros(n, np.int32), np.ones(n, np.bool_), np.arange(n, dtype=np.int32))  # fmt: skip


def arc(start: tuple[float, float, float], sweep: float, *, rise: float = 0.0) -> Moves:
    """About x = y = 0."""
    turn = np.array([[math.cos(sweep), -math.sin(sweep)], [math.sin(sweep), math.cos(sweep)]])
    end = np.array([*(turn @ np.array(start[:2])), start[2] + rise])
    return Moves(np.array([MoveKind.ARC], np.uint8), np.array([start]), end[None], np.array([[0.0, 0.0, start[2]]]),
                 np.array([2], np.uint8), np.array([sweep]), np.zeros(1, np.int32), np.ones(1, np.bool_), np.zeros(1, np.int32))


def map_of(field: Field, moves: Moves, pieces: PieceTable = MILL) -> Engagement:
    none = np.zeros(len(moves), np.bool_)
    return engagement_of(field, moves, pieces, cells_of(moves, way_mm=np.zeros(len(moves)), pitch_mm=float(field.grid.pitch.max()),
                                                        breaks=none, twin=none))  # fmt: skip


def loads_of(met: Engagement) -> CellLoads:
    n = met.cells.length.size
    return cell_loads(met.moments, met.cells.length, feed=np.full(n, FEED), rpm=np.full(n, RPM), feed_tooth=np.full(n, TOOTH),
                      what=KIENZLE)  # fmt: skip


def kc(chip: float) -> float:
    return KIENZLE.kc11 * max(chip, 0.001) ** -KIENZLE.mc


def side(height, begin: float, end: float, *, level: float = 1.0, steps: int = 20000) -> tuple[float, float, float]:
    """Power (kW), mean force along and aside (N) of a cylinder's side, `height(phi)` deep: a sum over angles, with nothing of
    the code under test."""
    power = along = aside = 0.0
    width = (end - begin) / steps
    for k in range(steps):
        phi = begin + width * (k + 0.5)
        chip = TOOTH * level * math.sin(phi)
        t = kc(chip) * chip * height(phi) * width * TEETH / (2.0 * math.pi)
        power += t * 2.0 * math.pi * R * RPM / 60e6
        along += -t * math.cos(phi) - KIENZLE.off_work * t * math.sin(phi)
        aside += t * math.sin(phi) - KIENZLE.off_work * t * math.cos(phi)
    return power, along, aside


@pytest.mark.parametrize("pitch", [0.5, 0.25, 0.1])
@pytest.mark.parametrize(("y", "begin", "end"), [(20.0, 0.0, math.pi), (0.0, 0.0, math.pi / 2), (40.0, math.pi / 2, math.pi)])
def test_slot_and_half_immersion(pitch: float, y: float, begin: float, end: float) -> None:
    """Up and down milling differ in sign and size of the force along the motion; power, forces and thickest chip to 1 %."""
    met = map_of(field_of(BLOCK, pitch_mm=pitch), lines((-10.0, y, 18.0), (70.0, y, 18.0)))
    loads, k = loads_of(met), met.cells.length.size // 2
    power, along, aside = side(lambda _: 2.0, begin, end)
    assert loads.power[k] == pytest.approx(power, rel=0.01)
    assert loads.along[k] == pytest.approx(along, rel=0.01)
    assert loads.aside[k] == pytest.approx(aside, rel=0.01)
    assert loads.thickest[k] == pytest.approx(TOOTH, rel=0.01)
    assert loads.torque[k] == pytest.approx(9549.0 * power / RPM, rel=0.01)


def test_a_corner_takes_as_much_as_its_closed_form() -> None:
    """A wall on the left, 2 mm of it taken, and another wall in front, into which the tool runs: from 1 mm before the axis stands R
    before it until it stands 1 mm before it."""
    field = field_of([BoxShape((0.0, 20.0, 0.0), (60.0, 40.0, 20.0)), BoxShape((45.0, 0.0, 0.0), (60.0, 40.0, 20.0))], pitch_mm=0.1)
    met = map_of(field, lines((10.0, 17.0, 10.0), (39.0, 17.0, 10.0), (44.0, 17.0, 10.0)))
    loads, moved = loads_of(met), met.cells.motion == 1
    place = 39.0 + np.cumsum(met.cells.length[moved]) - met.cells.length[moved] / 2.0
    for x, power in zip(place.tolist(), loads.power[moved].tolist(), strict=True):
        def height(phi: float, x: float = x) -> float:
            return 10.0 if R * math.cos(phi) > 3.0 or x + R * math.sin(phi) > 45.0 else 0.0

        wanted = np.mean([side(lambda phi, x=at: height(phi, x), 0.0, math.pi, steps=4000)[0]
                          for at in np.linspace(x - 0.2, x + 0.2, 9)])  # fmt: skip
        # where the wall in front is met first the engagement grows like a root, and within one ray's distance
        assert power == pytest.approx(float(wanted), rel=0.01 if x > 40.6 else 0.06)
    total = float((loads.power[moved] * met.cells.length[moved]).sum())
    whole = np.mean([side(lambda phi, x=at: 10.0 if R * math.cos(phi) > 3.0 or x + R * math.sin(phi) > 45.0 else 0.0, 0.0, math.pi,
                          steps=4000)[0] for at in np.linspace(39.0, 44.0, 201)])  # fmt: skip
    assert total == pytest.approx(5.0 * float(whole), rel=0.01)


@pytest.mark.parametrize("pitch", [0.5, 0.25])
def test_a_ramp_cuts_with_its_side_and_with_its_bottom(pitch: float) -> None:
    """Down one in ten into the full: the side stands as deep as the tip is, the bottom meets pi R² by the way down."""
    met = map_of(field_of(BLOCK, pitch_mm=pitch), lines((10.0, 20.0, 20.0), (50.0, 20.0, 16.0)))
    loads, slope = loads_of(met), math.atan(0.1)
    middle = np.cumsum(met.cells.length) - met.cells.length / 2.0
    for k in range(met.cells.length.size // 4, met.cells.length.size - 1):
        depth = middle[k] * math.sin(slope)
        power, _, _ = side(lambda _, d=depth: d, 0.0, math.pi, level=math.cos(slope), steps=2000)
        bottom = kc(TOOTH * math.sin(slope)) * math.pi * R**2 * math.sin(slope) * FEED / 60e6
        assert loads.power[k] == pytest.approx(power + bottom, rel=0.01)
        assert met.moments[k, BOTTOM, VOLUME] == pytest.approx(math.pi * R**2 * math.sin(slope) * met.cells.length[k], rel=0.02)


def test_a_plunge_cuts_with_its_bottom_alone() -> None:
    met = map_of(field_of(BLOCK, pitch_mm=0.25), lines((30.0, 20.0, 25.0), (30.0, 20.0, 10.0)))
    loads, k = loads_of(met), int(0.7 * met.cells.length.size)
    assert loads.power[k] == pytest.approx(kc(TOOTH) * math.pi * R**2 * FEED / 60e6, rel=0.01)
    assert loads.across[k] == 0.0
    assert loads.thrust[k] == pytest.approx(KIENZLE.off_work * kc(TOOTH) * TOOTH * TEETH * R, rel=0.01)


def test_a_drill_has_the_torque_of_its_two_lips() -> None:
    """M = k_c f D²/8000 and a thrust of half of (D/2) f k_c sin(59 degrees) a lip, here by the share off the work."""
    half = math.radians(59.0)
    tip = R / math.tan(half)
    drill = PieceTable.of([[Piece(Meridian.LINE, 0.0, tip, 0.0, R), Piece(Meridian.LINE, tip, 60.0, R, R)]])
    met = map_of(field_of(BLOCK, pitch_mm=0.2), lines((30.0, 20.0, 21.0), (30.0, 20.0, 2.0)), drill)
    n = met.cells.length.size
    loads = cell_loads(met.moments, met.cells.length, feed=np.full(n, 400.0), rpm=np.full(n, 2000.0), feed_tooth=np.full(n, 0.1),
                       what=KIENZLE)  # fmt: skip
    k = int(0.7 * n)
    force = kc(0.1 * math.sin(half))
    assert loads.torque[k] == pytest.approx(force * 0.2 * (2 * R) ** 2 / 8000.0, rel=0.01)
    assert loads.thickest[k] == pytest.approx(0.1 * math.sin(half), rel=0.01)


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_arcs_both_ways_round(turn: float) -> None:
    """A slot along an arc takes what a straight one does: its area is 2 R by its way. Round a boss the metal lies on the left of
    a counter-clockwise motion and on the right of a clockwise one."""
    plate = field_of(BoxShape((-40.0, -40.0, 0.0), (40.0, 40.0, 10.0)), pitch_mm=0.25)
    met = map_of(plate, arc((25.0, 0.0, 8.0), turn * 1.5))
    inner = np.s_[5:-5]  # away from where it plunges in; rays stand askew to the way here, so that one cell alone is off by 2 %
    mean = np.average(loads_of(met).power[inner], weights=met.cells.length[inner])
    assert mean == pytest.approx(side(lambda _: 2.0, 0.0, math.pi)[0], rel=0.01)
    boss = field_of(CylinderShape((0.0, 0.0), 20.0, 0.0, 10.0), pitch_mm=0.25)
    beside = map_of(boss, arc((23.0, 0.0, 8.0), turn * 1.5))
    sums = beside.moments[2:-2].sum(axis=0)
    angle = sums[:, ANGLE].sum() / sums[:, VOLUME].sum()
    assert (angle < math.pi / 2) == (turn > 0.0)


def test_a_helix_takes_every_cell_its_share() -> None:
    plate = field_of(BoxShape((-40.0, -40.0, 0.0), (40.0, 40.0, 10.0)), pitch_mm=0.25)
    moves = arc((15.0, 0.0, 10.0), -4.0, rise=-4.0)
    met = map_of(plate, moves)
    volume = met.moments[:, :, VOLUME].sum(axis=1)
    assert volume.sum() == pytest.approx(cut(plate, moves, MILL).by_bundle[2, 0], rel=1e-9)
    assert met.cells.length.sum() == pytest.approx(lengths_of(moves)[0])
    deep = (np.cumsum(met.cells.length) - met.cells.length / 2.0) / met.cells.length.sum() * 4.0
    rate = 2.0 * R * deep * 60.0 / met.cells.length.sum() + math.pi * R**2 * 4.0 / met.cells.length.sum()
    inner = np.s_[volume.size // 5 : -2]
    assert volume[inner] / met.cells.length[inner] == pytest.approx(rate[inner], rel=0.05)
    assert volume[inner].sum() == pytest.approx((rate * met.cells.length)[inner].sum(), rel=0.01)


def test_what_each_motion_takes_is_what_the_cut_says() -> None:
    field = field_of(BLOCK, pitch_mm=0.4)
    moves = lines((-6, 5, 15), (66, 5, 15), (66, 14, 15), (-6, 14, 15), (30, 30, 25), (30, 30, 12), (40, 33, 9), (20, 8, 4))
    ball = PieceTable.of([[Piece(Meridian.ARC, 0.0, 4.0, 0.0, 4.0, f=4.0, rho=4.0), Piece(Meridian.LINE, 4.0, 30.0, 4.0, 4.0)]])
    for pieces in (MILL, ball):
        met = map_of(field, moves, pieces)
        assert met.along == pytest.approx(cut(field, moves, pieces).by_bundle[2], abs=1e-6)
        assert met.moments[:, :, VOLUME].sum() == pytest.approx(met.along.sum(), rel=1e-9)


def test_cutting_a_way_into_short_motions_changes_nothing() -> None:
    field = field_of(BLOCK, pitch_mm=0.5)
    whole = map_of(field, lines((-10.0, 0.0, 18.0), (70.0, 0.0, 18.0)))
    short = map_of(field, lines(*[(-10.0 + 0.25 * k, 0.0, 18.0) for k in range(321)]))
    each = [loads_of(met).power[met.cells.length.size // 2] for met in (whole, short)]
    assert each[1] == pytest.approx(each[0], rel=0.005)
    assert short.cells.length.sum() == pytest.approx(80.0)


def test_the_number_of_threads_changes_no_byte(monkeypatch: pytest.MonkeyPatch) -> None:
    field, moves = field_of(BLOCK, pitch_mm=0.3), lines((-10.0, 7.0, 18.0), (70.0, 33.0, 16.0), (0.0, 20.0, 12.0))
    many = map_of(field, moves)
    monkeypatch.setattr(threads, "thread_count", lambda: 1, raising=False)
    one = map_of(field, moves)
    assert many.moments.tobytes() == one.moments.tobytes()
