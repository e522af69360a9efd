"""Least squares against certified answers and closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.estimate.least_squares import Prior, Variance, fit
from setwright.estimate.outliers import CRITICAL, SHIFT_FOUND, check, grubbs_limit, grubbs_statistic

# Linear calibration set of the NIST Statistical Reference Datasets ("Norris"), certified to 15 digits.
NORRIS_Y = [.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, .3, .1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7,
            228.3, 998, 888.8, 119.6, .3, .6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, .2]  # fmt: skip
NORRIS_X = [.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, .4, .6, 775.5, 666.9, 338, 447.5, 11.6, 556,
            228.1, 995.8, 887.6, 120.2, .3, .3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, .5]  # fmt: skip
# Six points whose geometric circle is published (Gander, Golub and Strebel 1994).
CIRCLE = np.array([[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7]], dtype=float)


def line(x, y):
    design = np.column_stack([np.ones_like(x), x])
    return lambda b: (design @ b - y, design)


def circle(points):
    def residuals(c):
        away = points - c[:2]
        distance = np.hypot(*away.T)
        return distance - c[2], np.column_stack([-away / distance[:, None], -np.ones(len(points))])

    return residuals


def test_line_of_certified_coefficients():
    x, y = np.array(NORRIS_X), np.array(NORRIS_Y)
    got = fit(line(x, y), np.zeros(2), noise=np.ones(36), variance=Variance.RESIDUALS)
    assert got.converged
    assert got.x == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-12)
    assert got.standard == pytest.approx([0.232818234301152, 4.29796848199937e-4], rel=1e-12)
    assert got.chi_square == pytest.approx(26.6173985294224, rel=1e-12)
    assert got.chi_square / got.dof == pytest.approx(0.782864662630069, rel=1e-12)


@pytest.mark.parametrize("start", [(5.0, 5.0, 3.0), (0.0, 0.0, 1.0), (4.0, -9.0, 20.0)])
def test_circle_of_published_centre(start):
    got = fit(circle(CIRCLE), np.array(start), noise=np.ones(6))
    assert got.converged
    assert got.x == pytest.approx([4.739782, 2.983533, 4.714226], abs=6e-7)
    assert got.chi_square == pytest.approx(1.2275991, abs=6e-8)


@pytest.mark.parametrize("count", [3, 4, 7, 12])
def test_full_circle_covariance_is_the_closed_form(count):
    angle = 2 * np.pi * np.arange(count) / count
    points = np.column_stack([np.cos(angle), np.sin(angle)]) * 15.0
    got = fit(circle(points), np.array([0.1, 0.1, 14.0]), noise=np.full(count, 0.003))
    assert got.x == pytest.approx([0, 0, 15], abs=1e-12)
    assert got.standard == pytest.approx([0.003 * np.sqrt(2 / count)] * 2 + [0.003 / np.sqrt(count)], rel=1e-9)


@pytest.mark.parametrize(("arc_deg", "factor"), [(360, 0.41), (180, 0.83), (120, 1.65), (90, 2.83), (60, 6.2), (30, 24.0)])
def test_partial_arc_centre_uncertainty(arc_deg, factor):
    steps = 12 if arc_deg == 360 else 11  # a partial arc is touched at both its ends
    angle = np.radians(arc_deg) * (np.arange(12) / steps - 0.5)
    got = fit(circle(10 * np.column_stack([np.cos(angle), np.sin(angle)])), np.array([0.0, 0.0, 10.0]), noise=np.ones(12))
    assert got.standard[0] == pytest.approx(factor, rel=0.02)


def test_prior_and_observation_meet_by_inverse_variance():
    got = fit(lambda x: (x - 10.0, np.eye(1)), np.zeros(1), noise=np.array([3.0]), prior=Prior(np.array([14.0]), np.array([4.0])))
    assert got.x[0] == pytest.approx(10 + 4 * 9 / 25)
    assert got.standard[0] == pytest.approx(12 / 5)
    assert got.gain[0, 0] == pytest.approx(16 / 25)
    assert got.prior_gain[0, 0] == pytest.approx(9 / 25)


def test_gain_of_correlated_observations_is_the_textbook_estimator():
    rng = np.random.default_rng(4)
    design = rng.normal(size=(7, 3))
    root = rng.normal(size=(7, 7))
    noise = root @ root.T + np.eye(7)
    y = rng.normal(size=7)
    got = fit(lambda x: (design @ x - y, design), np.zeros(3), noise=noise)
    weight = np.linalg.inv(noise)
    covariance = np.linalg.inv(design.T @ weight @ design)
    np.testing.assert_allclose(got.covariance, covariance, rtol=1e-9)
    np.testing.assert_allclose(got.gain, covariance @ design.T @ weight, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(got.x, got.gain @ y, rtol=1e-9)


def test_what_nothing_fixes_is_infinitely_uncertain_and_the_rest_is_not():
    design = np.array([[1.0, 1.0, 0.0], [2.0, 2.0, 0.0], [0.0, 0.0, 1.0]])
    got = fit(lambda x: (design @ x - [2.0, 4.0, 3.0], design), np.zeros(3), noise=np.ones(3))
    assert got.rank == got.rank_readings == 2
    assert np.isinf(got.standard[:2]).all()
    assert got.standard[2] == pytest.approx(1.0)
    assert got.x[2] == pytest.approx(3.0)


def test_prior_takes_the_rank_the_readings_lack():
    design = np.array([[1.0, 1.0]])
    prior = Prior(np.zeros(2), np.array([5.0, np.inf]))
    got = fit(lambda x: (design @ x - 2.0, design), np.zeros(2), noise=np.ones(1), prior=prior)
    assert (got.rank_readings, got.rank) == (1, 2)
    assert got.loose.shape == (2, 1)
    assert got.prior_share[0] == pytest.approx(1.0)


@pytest.mark.parametrize("noise", [np.zeros(2), np.array([1.0, np.nan]), np.array([[1.0, 2.0], [2.0, 1.0]]), np.ones(3)])
def test_unusable_noise_is_refused(noise):
    with pytest.raises(ValueError):
        fit(lambda x: (x - 1.0, np.eye(2)), np.zeros(2), noise=noise)


def test_baarda_constants():
    assert round(CRITICAL, 3) == 3.291
    assert round(SHIFT_FOUND, 3) == 4.132


def test_leave_one_out_is_what_leaving_one_out_gives():
    rng = np.random.default_rng(8)
    x, y = np.arange(9.0), rng.normal(size=9)
    y[4] += 6.0
    sigma = rng.uniform(0.5, 1.5, 9)
    looked = check(fit(line(x, y), np.zeros(2), noise=sigma))
    for i in range(9):
        keep = np.arange(9) != i
        others = fit(line(x[keep], y[keep]), np.zeros(2), noise=sigma[keep])
        predicted = others.x @ [1.0, x[i]]
        variance = sigma[i] ** 2 + np.array([1.0, x[i]]) @ others.covariance @ [1.0, x[i]]
        assert looked.blunder[i] == pytest.approx(y[i] - predicted)
        assert looked.w[i] == pytest.approx((y[i] - predicted) / np.sqrt(variance))
        assert looked.least_found[i] == pytest.approx(4.132 * np.sqrt(variance), rel=1e-4)
    assert looked.worst == 4
    assert looked.redundancy.sum() == pytest.approx(7.0)


def test_single_reading_checks_nothing():
    looked = check(fit(lambda x: (x - 3.0, np.eye(1)), np.zeros(1), noise=np.ones(1)))
    assert looked.redundancy[0] == 0.0
    assert np.isnan(looked.w[0])
    assert np.isinf(looked.least_found[0])
    assert looked.worst is None


@pytest.mark.parametrize(("count", "limit"), [(3, 1.154), (4, 1.481), (5, 1.715), (6, 1.887), (8, 2.127), (10, 2.290)])
def test_grubbs_limits_are_the_published_ones(count, limit):
    assert grubbs_limit(count) == pytest.approx(limit, abs=1.1e-3)


def test_grubbs_statistic_of_one_far_value():
    assert grubbs_statistic(np.array([0.0, 0.0, 0.0, 4.0])) == pytest.approx(1.5)
    assert grubbs_statistic(np.ones(5)) == 0.0


def test_redundancy_of_a_line_through_three_points():
    looked = check(fit(line(np.array([-1.0, 0.0, 1.0]), np.array([0.1, -0.2, 0.1])), np.zeros(2), noise=np.ones(3)))
    assert looked.redundancy == pytest.approx([1 / 6, 2 / 3, 1 / 6])
