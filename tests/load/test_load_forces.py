"""Forces, torque and power against the printed examples, to their digits; beam, spindle and clamping likewise."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.load.forces import (
    Coefficients,
    Immersed,
    chip_for_feed,
    drilled_handbook,
    drilled_kienzle,
    tap_torque_nm,
    torque_nm,
    turned,
)
from setwright.load.limits import BeamStep, Curve, Held, deflection_mm, vise_force_n

EDGE = Coefficients(cut=(796.1, 168.8, 222.0), edge=(27.7, 30.8, 1.4))
SLOT, DOWN, UP = (0.0, math.pi), (math.pi / 2, math.pi), (0.0, math.pi / 2)


def even(begin: float, end: float, height: float, radius: float, sectors: int = 24) -> Immersed:
    """A cut of one height from angle to angle."""
    edges = np.linspace(begin, end, sectors + 1)
    return Immersed.of(edges[:-1], edges[1:], np.full(sectors, height), radius)


@pytest.mark.parametrize(("angles", "mean"), [
    (SLOT, (-112.19, 229.76, 62.13)), (DOWN, (29.85, 164.84, 31.07)), (UP, (-142.05, 64.92, 31.07)),
])  # fmt: skip
def test_mean_forces_are_the_printed_ones(angles: tuple[float, float], mean: tuple[float, float, float]) -> None:
    """Four teeth, 2 mm deep, 0.1 mm a tooth: slot, half immersion down and up, to the printed digits."""
    got = turned(even(*angles, 2.0, 10.0), EDGE, teeth=4, feed_tooth=0.1, rpm=1000.0)
    assert got.mean == pytest.approx(mean, abs=0.0055)


def test_the_slot_means_are_those_of_the_closed_form() -> None:
    """F_x = -N a (K_rc c/4 + K_re/pi), F_y = N a (K_tc c/4 + K_te/pi), F_z = N a (K_ac c/pi + K_ae/2)."""
    n, a, c = 3, 1.7, 0.06
    got = turned(even(*SLOT, a, 6.0), EDGE, teeth=n, feed_tooth=c, rpm=1.0)
    wanted = (-n * a * (168.8 * c / 4 + 30.8 / math.pi), n * a * (796.1 * c / 4 + 27.7 / math.pi),
              n * a * (222.0 * c / math.pi + 1.4 / 2))  # fmt: skip
    assert got.mean == pytest.approx(wanted, rel=1e-4)


def test_a_helix_of_30_degrees_gives_the_printed_peaks() -> None:
    got = turned(even(*SLOT, 2.0, 10.0), EDGE, teeth=4, feed_tooth=0.1, rpm=1000.0, helix=math.radians(30))
    assert round(got.most_across, 1) == pytest.approx(279.9, abs=0.1)
    assert (round(got.torque, 3), round(got.most_torque, 3)) == (3.135, 3.358)


def test_the_face_cut_has_the_printed_power() -> None:
    """42CrMo4, D80, six teeth, 3 deep, 60 wide in the middle, 200 m/min, 0.15 a tooth; the tooth integral is 9.070 kW."""
    rpm, span = 1000.0 * 200.0 / (math.pi * 80.0), 2.0 * math.asin(60.0 / 80.0)
    got = turned(even(math.pi / 2 - span / 2, math.pi / 2 + span / 2, 3.0, 40.0), Coefficients(kc11=2500.0, mc=0.26), teeth=6,
                 feed_tooth=0.15, rpm=rpm)  # fmt: skip
    assert (round(rpm, 1), round(rpm * 6 * 0.15, 1), round(math.degrees(span), 2)) == (795.8, 716.2, 97.18)
    assert round(got.mean_chip, 5) == pytest.approx(0.13266, abs=1.5e-5)
    assert got.power_kw == pytest.approx(9.070, abs=0.001)
    # the printed 9.082 kW and 109.0 N·m take the mean chip for all: k_c 4227 on 128.9 cm³/min
    by_mean = 2500.0 * 0.13266**-0.26 * 128.9155e3 / 60e6
    assert (round(2500.0 * 0.13266**-0.26), round(by_mean, 3), round(torque_nm(by_mean, rpm), 1)) == (4227, 9.082, 109.0)


def test_the_finishing_cut_has_the_printed_power() -> None:
    """D10, four teeth, 10 deep, 1 wide, 120 m/min, 0.05 a tooth: mean chip .01554, .904 kW by the tooth integral."""
    got = turned(even(0.0, math.acos(0.8), 10.0, 5.0), Coefficients(kc11=2500.0, mc=0.26), teeth=4, feed_tooth=0.05,
                 rpm=120e3 / (math.pi * 10.0))  # fmt: skip
    assert round(got.mean_chip, 5) == 0.01554
    assert got.power_kw == pytest.approx(0.904, abs=0.0006)


@pytest.mark.parametrize(("width", "factor"), [(0.5, 2.294), (1.0, 1.667), (2.0, 1.25), (3.0, 1.091), (5.0, 1.0), (9.0, 1.0)])
def test_narrow_cuts_make_thin_chips(width: float, factor: float) -> None:
    assert round(1.0 / chip_for_feed(5.0, width), 3) == factor


@pytest.mark.parametrize(("diameter", "feed", "kc11", "mc", "torque", "thrust"), [
    (10.0, 0.2, 2220, 0.14, 7.83, 1342), (10.0, 0.3, 2220, 0.14, 11.09, 1902), (12.0, 0.2, 2500, 0.26, 17.05, 2435),
    (6.0, 0.1, 2200, 0.21, 1.92, 548), (10.0, 0.25, 1160, 0.26, 6.48, 1111), (8.5, 0.2, 700, 0.25, 2.34, 471),
])  # fmt: skip
def test_drills_by_kienzle(diameter: float, feed: float, kc11: float, mc: float, torque: float, thrust: float) -> None:
    got = drilled_kienzle(diameter, feed, kc11, mc)
    assert (round(got.torque, 2), round(got.thrust)) == (torque, thrust)


@pytest.mark.parametrize(("feed", "torque", "thrust"), [(0.2, 11.33, 3335), (0.3, 15.68, 4420)])
def test_drills_by_the_handbook(feed: float, torque: float, thrust: float) -> None:
    got = drilled_handbook(10.0, feed, 24000.0)
    assert (round(got.torque, 2), round(got.thrust)) == (torque, thrust)


@pytest.mark.parametrize(("diameter", "pitch", "torque"), [(6, 1, 1.58), (8, 1.25, 3.31), (10, 1.5, 5.99), (12, 1.75, 9.81),
                                                           (16, 2, 17.36)])  # fmt: skip
def test_taps(diameter: float, pitch: float, torque: float) -> None:
    """The printed figure of M12 lies 0.005 below the exact integral, 9.8151."""
    assert tap_torque_nm(diameter, pitch, 2500.0) == pytest.approx(torque, abs=0.0055)


@pytest.mark.parametrize(("steps", "young", "above", "um"), [
    ([(40, 10)], 600e3, 0.0, 7.24), ([(40, 8)], 600e3, 0.0, 17.68), ([(18, 10), (22, 8)], 600e3, 0.0, 8.98),
    ([(18, 10), (22, 8)], 580e3, 0.0, 9.29), ([(18, 10), (22, 8)], 600e3, 5.0, 7.05),
])  # fmt: skip
def test_beams(steps: list[tuple[float, float]], young: float, above: float, um: float) -> None:
    beam = [BeamStep(length, diameter) for length, diameter in steps]
    assert round(1000.0 * deflection_mm(beam, 100.0, young, above_tip_mm=above), 2) == um


def test_the_spindle_below_its_base_speed_has_constant_torque_and_nothing_beyond_its_curve() -> None:
    """11 kW, 15 for a short time, base speed 1500: 70.0 and 95.5 N·m; at 795.8 rpm 5.84 and 7.96 kW."""
    curve = Curve(((1500.0, 11.0), (8000.0, 11.0), (12000.0, 6.0)), 15.0 / 11.0)
    torque, power = curve.torque_nm(400.0), curve.power_kw(795.8)
    assert torque is not None
    assert power is not None
    assert (round(torque, 1), round(torque * curve.short, 1)) == (70.0, 95.5)
    assert (round(power, 2), round(power * curve.short, 2)) == (5.84, 7.96)
    assert power * curve.short < 9.082  # the face cut above is beyond it
    assert curve.power_kw(10000.0) == pytest.approx(8.5)
    assert curve.power_kw(12001.0) is None


def test_vises_and_friction() -> None:
    assert [round(vise_force_n(60.0, 5.0, eta) / 1000.0, 1) for eta in (0.15, 0.25, 0.35)] == [11.3, 18.8, 26.4]
    assert Held(0.0, 0.15).wanted_n(2400.0) == pytest.approx(20_000.0)
    assert Held(20_000.0, 0.15).most_n() == pytest.approx(6000.0)


def test_the_slab_mill_of_the_textbook() -> None:
    """D50, 20 teeth, 100 rev/min, 0.25 a tooth, 3 deep, 100 wide, 3 W·s/mm³: 500 mm/min, 150 000 mm³/min, 7.5 kW, 716 N·m."""
    got = turned(even(0.0, math.acos(1.0 - 2.0 * 3.0 / 50.0), 100.0, 25.0), Coefficients(kc11=3000.0, mc=0.0), teeth=20,
                 feed_tooth=0.25, rpm=100.0)  # fmt: skip
    assert got.power_kw == pytest.approx(7.5, abs=0.01)
    assert got.torque == pytest.approx(716.0, abs=1.0)
    assert got.power_kw * 60e6 / 3000.0 == pytest.approx(150_000.0, rel=0.002)


def test_the_face_mill_of_the_textbook() -> None:
    """D150, ten inserts, 60 wide in the middle, 3 deep, 0.6 a tooth at 100 rev/min, 1.1 W·s/mm³: 108 000 mm³/min, 1.98 kW."""
    half = math.asin(60.0 / 150.0)
    got = turned(even(math.pi / 2 - half, math.pi / 2 + half, 3.0, 75.0), Coefficients(kc11=1100.0, mc=0.0), teeth=10,
                 feed_tooth=0.6, rpm=100.0)  # fmt: skip
    assert round(got.power_kw, 2) == 1.98
    assert got.power_kw * 60e6 / 1100.0 == pytest.approx(108_000.0, rel=0.002)


def test_the_peripheral_cut_of_the_textbook() -> None:
    """400 x 60, D80, five teeth, 70 m/min, 0.25 a tooth, 5 deep: 278.5 rev/min, 348.2 mm/min, 104 445 mm³/min."""
    rpm = 1000.0 * 70.0 / (math.pi * 80.0)
    got = turned(even(0.0, math.acos(1.0 - 2.0 * 5.0 / 80.0), 60.0, 40.0), Coefficients(kc11=1000.0, mc=0.0), teeth=5,
                 feed_tooth=0.25, rpm=rpm)  # fmt: skip
    assert (round(rpm, 1), round(rpm * 5 * 0.25, 1)) == (278.5, 348.2)
    assert got.power_kw * 60e6 / 1000.0 == pytest.approx(104_445.0, rel=0.002)
