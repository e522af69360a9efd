"""The posterior and the advice against closed forms: the harmonic rule with a prior, misread values, slips, worth of a change."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import stats

from setwright.piece.advice import advise, in_zone, outlook
from setwright.piece.belief import Values, believe
from setwright.piece.influence import Influence


def one_feature(off: list[float], gauge: float, jacobian: float = 1.0) -> Values:
    """One register and one feature, a piece a value, each with its own gauge reading."""
    count = len(off)
    return Values(np.full((count, 1), jacobian), np.array(off), np.full(count, gauge), range(count), range(count))


@pytest.mark.parametrize(("ratio", "gains"), [(0.25, [0.2, 1 / 6, 1 / 7]), (1.0, [0.5, 1 / 3, 0.25]), (4.0, [0.8, 4 / 9, 4 / 13])])
def test_piece_by_piece_the_gain_is_that_of_the_harmonic_rule_with_a_prior(ratio: float, gains: list[float]) -> None:
    sigma, prior = 0.003, 0.003 * math.sqrt(ratio)
    seen = [0.004, -0.001, 0.002]
    mean = 0.0
    for count, gain in enumerate(gains, 1):
        mean += gain * (seen[count - 1] - mean)
        found = believe(one_feature(seen[:count], sigma), np.array([prior]), between_mm=0.0)
        assert found.mean[0] == pytest.approx(mean, abs=1e-12)
        assert found.covariance[0, 0] == pytest.approx(sigma**2 / (count + 1.0 / ratio), rel=1e-9)


def test_the_worked_example_of_the_harmonic_rule() -> None:
    """Touch-off good to 6 um, part and gauge to 3 um, first piece 8 um out: 6.4 um, variance 7.2 um²."""
    found = believe(one_feature([0.008], 0.003), np.array([0.006]), between_mm=0.0)
    assert (found.mean[0], found.covariance[0, 0]) == pytest.approx((0.0064, 7.2e-6))


def test_part_and_gauge_add_and_a_repeat_of_the_same_place_does_not_average_the_part_away() -> None:
    twice = Values(np.ones((2, 1)), np.array([0.008, 0.008]), np.array([0.003, 0.003]), [0, 0], [0, 0])
    found = believe(twice, np.array([1.0]), between_mm=0.004)
    # half of the gauge's variance and all of the piece's are common to both readings
    assert found.covariance[0, 0] == pytest.approx(0.004**2 + 0.75 * 0.003**2, rel=1e-3)


def test_one_value_that_cannot_be_is_set_aside_and_changes_nothing() -> None:
    rows = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    off = np.array([0.001, 0.200, -0.001, 0.002])
    values = Values(rows, off, np.full(4, 0.002), range(4), [0, 0, 0, 0])
    found = believe(values, np.array([0.006, 0.006]), between_mm=0.001)
    assert found.aside == (1,)
    assert (found.rivals[0].kind, found.rivals[0].number) == ("value", 1)
    clean = believe(values.without([1]), np.array([0.006, 0.006]), between_mm=0.001)
    assert found.mean == pytest.approx(clean.mean)


def test_one_wild_value_alone_may_be_a_slip_or_misread_and_nothing_is_typed_from_it() -> None:
    found = believe(one_feature([0.2], 0.002), np.array([0.006]), between_mm=0.001)
    assert not found.settled
    assert found.aside == (0,)
    assert found.mean == pytest.approx([0.0])


def test_a_register_that_explains_several_wild_values_at_once_is_believed() -> None:
    rows = np.array([[1.0, 0.0], [1.0, 0.0], [1.0, 1.0]])
    found = believe(Values(rows, np.array([0.201, 0.199, 0.2]), np.full(3, 0.002), range(3), [0, 1, 2]), np.full(2, 0.006),
                    between_mm=0.001)  # fmt: skip
    assert (found.rivals[0].kind, found.rivals[0].number, found.settled) == ("cause", 0, True)
    assert found.mean[0] == pytest.approx(0.2, abs=0.002)


def test_two_wild_values_that_contradict_each_other_belong_to_no_listed_cause() -> None:
    rows = np.array([[1.0], [1.0]])
    found = believe(Values(rows, np.array([0.3, -0.4]), np.full(2, 0.002), range(2), [0, 1]), np.array([0.006]), between_mm=0.001)
    assert set(found.aside) == {0, 1}


def test_stated_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """5,000 seeded cases of three registers and six values: every 95 % interval holds the truth 93 to 97 times in 100."""
    rng = np.random.default_rng(20260507)
    rows = np.array([[1, 0, 0], [0, 1, 0], [1, -1, 0], [0, 0, 2], [0, 1, 1], [1, 0, -2]], float)
    prior, gauge, between = np.array([0.006, 0.010, 0.004]), np.full(6, 0.003), 0.002
    noise = Values(rows, np.zeros(6), gauge, range(6), [0, 0, 0, 1, 1, 1]).noise(between)
    root, inside, used = np.linalg.cholesky(noise), np.zeros(3), 0
    for _ in range(500):
        truth = prior[:, None] * rng.standard_normal((3, 10))
        errors = root @ rng.standard_normal((6, 10))
        off = rows @ truth + errors
        first = believe(Values(rows, off[:, 0], gauge, range(6), [0, 0, 0, 1, 1, 1]), prior, between_mm=between)
        if first.aside or first.rivals[0].kind != "none":
            continue
        means = first.gain @ off
        inside += (np.abs(means - truth) <= 1.96 * np.sqrt(np.diag(first.covariance))[:, None]).sum(axis=1)
        used += 10
    assert used > 4500
    assert np.all((inside / used > 0.93) & (inside / used < 0.97)), inside / used


def shifted(cap: Influence, **off: float) -> np.ndarray[Any, Any]:
    """How far causes are off, by name with "_" for a blank."""
    found = np.zeros(len(cap.causes))
    names = [cause.name for cause in cap.causes]
    for name, value in off.items():
        found[names.index(name.replace("_", " "))] = value
    return found


def shown(cap: Influence, *names: str, tells: float = 0.004) -> list[tuple[int, float]]:
    return [(row, tells) for row in cap.rows(names)]


def typed(cap: Influence, off: Any, places: list[tuple[int, float]]) -> dict[str, float]:
    small = 1e-8 * np.eye(len(cap.causes))
    return {cap.causes[change.cause].name: round(change.by, 9) for change in advise(cap, off, small, shown=places)}


def test_perturbed_registers_are_put_back(cap: Influence) -> None:
    off = shifted(cap, G54_X=0.040, G54_Y=-0.030, radius_2=0.008, length_2=0.012)
    every = [(row, 0.002) for row in range(len(cap.places))]
    assert typed(cap, off, every) == {"G54 X": -0.040, "G54 Y": 0.030, "radius 2": -0.008, "length 2": -0.012}


def test_nothing_is_typed_for_what_nobody_measured_or_no_gauge_can_tell(cap: Influence) -> None:
    off = shifted(cap, length_2=0.012)
    assert typed(cap, off, shown(cap, "seat diameter")) == {}
    assert typed(cap, off, shown(cap, "depth of seat", tells=0.013)) == {}
    assert typed(cap, off, shown(cap, "depth of seat", tells=0.011)) == {"length 2": -0.012}


def test_a_tenth_of_the_half_width_is_not_worth_a_keystroke(cap: Influence) -> None:
    # half of the seat's width is 0.015: its square saves less than the touching costs below 0.0015
    assert typed(cap, shifted(cap, radius_2=0.0007), shown(cap, "seat diameter", tells=0.0)) == {}
    assert typed(cap, shifted(cap, radius_2=0.0010), shown(cap, "seat diameter", tells=0.0)) == {"radius 2": -0.001}


def test_six_parts_that_agree_are_moved_by_the_one_length(spacers: Influence) -> None:
    off = shifted(spacers, length_1=0.021)
    lengths = ["length", *(f"length (G5{n})" for n in range(5, 10))]
    assert typed(spacers, off, shown(spacers, *lengths)) == {"length 1": -0.021}


def test_changes_are_multiples_of_what_the_control_shows(cap: Influence) -> None:
    coarse = replace(cap, causes=tuple(
        replace(cause, typed=replace(cause.typed, step=0.01)) if cause.typed is not None else cause for cause in cap.causes
    ))  # fmt: skip
    assert typed(coarse, shifted(coarse, length_2=0.014), shown(coarse, "depth of seat")) == {"length 2": -0.010}


def test_a_register_that_holds_diameters_changes_by_twice(cap: Influence) -> None:
    control = cap.kit.machine.control.model_copy(update={"radius_register": "diameter"})
    machine = cap.kit.machine.model_copy(update={"control": control})
    held = replace(cap, kit=replace(cap.kit, machine=machine))
    found = typed(held, shifted(held, radius_2=0.0105), shown(held, "seat diameter"))
    assert found == {"radius 2": -0.0105}  # half an increment of radius is one of diameter
    number = [cause.name for cause in held.causes].index("radius 2")
    assert held.doubled([number]).tolist() == [2.0]


def test_the_chance_of_a_size_is_the_normal_one(cap: Influence) -> None:
    covariance = np.zeros((len(cap.causes),) * 2)
    seat = next(one for one in outlook(cap, shifted(cap, length_2=-0.010), covariance, between_mm=0.005) if one.requirement ==
                "depth of seat")  # fmt: skip
    law = stats.norm(12.525, 0.005)
    assert seat.means == pytest.approx((12.525,), abs=1e-7)
    assert seat.within == pytest.approx(law.cdf(12.53) - law.cdf(12.50), abs=1e-6)


@pytest.mark.parametrize("miss", [0.0, 0.01, 0.03, 0.06])
def test_the_chance_of_a_centre_is_that_of_the_noncentral_law(miss: float) -> None:
    sigma, radius = 0.01, 0.025
    wanted = stats.ncx2(2, (miss / sigma) ** 2).cdf((radius / sigma) ** 2) if miss else 1.0 - math.exp(-((radius / sigma) ** 2) / 2)
    mean = miss * np.array([0.6, 0.8])
    assert in_zone(mean, sigma**2 * np.eye(2), radius) == pytest.approx(float(wanted), abs=1e-6)
