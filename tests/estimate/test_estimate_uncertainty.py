"""Uncertainty against the worked examples of JCGM 100 and JCGM 101."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.estimate.coverage import coverage_factor, half_width, welch_satterthwaite
from setwright.estimate.distribution import Arcsine, CurvedTrapezoid, Normal, Rectangular, Student, Triangular
from setwright.estimate.uncertainty import Interval, linear, monte_carlo, numerical_tolerance, validated

EVERY = [Normal(2.0, 0.3), Rectangular(2.0, 0.5), Triangular(2.0, 0.5), Arcsine(2.0, 0.5), CurvedTrapezoid(2.0, 0.5, 0.2),
         Student(2.0, 0.3, 9.0)]  # fmt: skip


def end_gauge(x):
    length, d, d_alpha, theta, alpha, d_theta = x
    return length + d - length * (d_alpha * theta + alpha * d_theta)


GAUGE = [Student(50_000_623, 25, 18), Student(215, 9.7, 25.6), Normal(0, 0.58e-6, 50), Normal(-0.1, 0.41),
         Normal(11.5e-6, 1.2e-6), Normal(0, 0.029, 2)]  # fmt: skip


def test_end_gauge_by_formula():
    got = linear(end_gauge, GAUGE, probability=0.99)
    assert round(got.value) == 50_000_838
    assert got.standard == pytest.approx(31.71, abs=0.02)
    assert math.floor(got.dof) == 16
    assert round(got.k, 2) == 2.92
    assert round(got.expanded) == 93
    assert linear(end_gauge, GAUGE, second_order=True).standard == pytest.approx(33.911, abs=0.03)


def end_gauge_drawn(x):
    length, d, d1, d2, alpha, theta, cyclic, d_alpha, d_theta = x
    return length + d + d1 + d2 - length * (d_alpha * (theta + cyclic) + alpha * d_theta) - 50e6


def test_end_gauge_drawn():
    inputs = [Student(50_000_623, 25, 18), Student(215, 6, 24), Student(0, 4, 5), Student(0, 7, 8), Rectangular(11.5e-6, 2e-6),
              Normal(-0.1, 0.2), Arcsine(0, 0.5), CurvedTrapezoid(0, 1e-6, 0.1e-6), CurvedTrapezoid(0, 0.050, 0.025)]  # fmt: skip
    got = monte_carlo(end_gauge_drawn, inputs, seed=1, probability=0.99, digits=2)
    assert got.settled
    assert got.value == pytest.approx(838, abs=1)
    assert got.standard == pytest.approx(36, abs=0.6)
    assert (got.low, got.high) == (pytest.approx(745, abs=1.5), pytest.approx(932, abs=1.5))


def mass(x):
    reference, excess, air, weight, standard = x
    return (reference + excess) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000


MASS = [Normal(100_000, 0.050), Normal(1.234, 0.020), Rectangular(1.20, 0.10), Rectangular(8000, 1000), Rectangular(8000, 50)]


def test_mass_where_the_first_order_is_wrong():
    first = linear(mass, MASS)
    assert first.value == pytest.approx(1.2340, abs=5e-5)
    assert first.standard == pytest.approx(0.0539, abs=5e-5)
    assert (first.low, first.high) == (pytest.approx(1.1285, abs=2e-4), pytest.approx(1.3395, abs=2e-4))
    second = linear(mass, MASS, second_order=True)
    assert second.standard == pytest.approx(0.0750, abs=2e-4)
    drawn = monte_carlo(mass, MASS, seed=7, interval=Interval.SHORTEST)
    assert drawn.settled
    assert drawn.standard == pytest.approx(0.0754, abs=6e-4)
    assert drawn.high - drawn.low == pytest.approx(0.2991, abs=2e-3)
    assert not validated(first, drawn, digits=1)


def test_linear_is_validated_where_it_holds():
    normals = [Normal(0, 1.0)] * 4

    def total(x):
        return x.sum(axis=0)

    drawn = monte_carlo(total, normals, seed=3, digits=2)
    assert drawn.settled
    assert validated(linear(total, normals), drawn, digits=1)


@pytest.mark.parametrize(
    ("parts", "u", "half", "tolerance"),
    [
        ([Normal(0, 1.0)] * 4, 2.0, 3.92, 0.005),
        ([Rectangular(0, math.sqrt(3))] * 4, 2.0, 3.88, 0.005),
        ([Rectangular(0, math.sqrt(3))] * 3 + [Rectangular(0, 10 * math.sqrt(3))], math.sqrt(103), 17.0, 0.05),
    ],
)
def test_sums_of_the_supplement_without_drawing(parts, u, half, tolerance):
    weighted = [(1.0, part) for part in parts]
    assert half_width(weighted) == pytest.approx(half, abs=tolerance)
    assert coverage_factor(weighted) == pytest.approx(half / u, abs=tolerance)


@pytest.mark.parametrize("dof", [1, 2, 5, 10])
def test_alone_student_has_the_quantile_of_t(dof):
    table = {1: 12.706, 2: 4.303, 5: 2.571, 10: 2.228}
    assert half_width([(-2.0, Student(0, 1.0, dof))]) == pytest.approx(2 * table[dof], abs=2e-3)


def test_student_characteristic_agrees_with_its_integral_form():
    t = np.array([0.0, 0.3, 1.0, 4.0])
    np.testing.assert_allclose(Student(0, 2.0, 1.0).characteristic(t), np.exp(-2.0 * t), atol=1e-12)
    three = np.exp(-math.sqrt(3) * t) * (1 + math.sqrt(3) * t)
    np.testing.assert_allclose(Student(0, 1.0, 3.0).characteristic(t), three, atol=1e-12)


def test_nearly_alone_rectangular_tends_to_its_closed_form():
    parts = [(1.0, Rectangular(0, 1.0)), (1.0, Normal(0, 1e-3))]
    assert half_width(parts) == pytest.approx(0.95, abs=2e-5)
    assert half_width([(3.0, Rectangular(0, 1.0))]) == pytest.approx(2.85)
    assert half_width([]) == 0.0


@pytest.mark.parametrize("distribution", EVERY, ids=lambda d: type(d).__name__)
def test_draws_have_the_stated_moments_and_characteristic(distribution):
    rng = np.random.default_rng(5)
    drawn = distribution.sample(rng, 400_000)
    stretch = math.sqrt(9 / 7) if isinstance(distribution, Student) else 1.0
    assert drawn.mean() == pytest.approx(2.0, abs=3e-3)
    assert drawn.std() == pytest.approx(distribution.standard * stretch, rel=1e-2)
    for t in (0.5, 2.0, 5.0):
        assert np.cos(t * (drawn - 2.0)).mean() == pytest.approx(float(distribution.characteristic(np.array(t))), abs=6e-3)


@pytest.mark.parametrize("distribution", EVERY[1:5], ids=lambda d: type(d).__name__)
def test_half_width_of_one_agrees_with_its_draws(distribution):
    drawn = np.abs(distribution.sample(np.random.default_rng(9), 400_000) - 2.0)
    assert half_width([(1.0, distribution)]) == pytest.approx(float(np.quantile(drawn, 0.95)), rel=5e-3)


def test_effective_dof():
    assert welch_satterthwaite([1.0, 1.0], [math.inf, math.inf]) == math.inf
    assert welch_satterthwaite([1.0], [4.0]) == pytest.approx(4.0)


@pytest.mark.parametrize(("u", "tolerance"), [(0.0354, 0.0005), (31.7, 0.5), (0.0994, 0.0005), (0.0998, 0.005)])
def test_numerical_tolerance(u, tolerance):
    assert numerical_tolerance(u) == pytest.approx(tolerance)


def test_shortest_interval_of_a_skew_output_is_shorter():
    def square(x):
        return x[0] ** 2

    wide = monte_carlo(square, [Normal(0, 1)], seed=2, digits=1)
    short = monte_carlo(square, [Normal(0, 1)], seed=2, interval=Interval.SHORTEST, digits=1)
    assert short.high - short.low < 0.8 * (wide.high - wide.low)
    assert wide.high == pytest.approx(5.024, abs=0.15)  # 97.5 % point of chi-square with one degree of freedom
