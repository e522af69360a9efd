"""Instruments: the bundled classes, the effective radius rule, what repeats say."""

from __future__ import annotations

import math

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.kit.instrument import effective_radius, find_instrument, known_instruments, qualify
from setwright.model.instrument import INSTRUMENT_KINDS

RADII = {"mechanical edge finder 10 mm": 5.0, "mechanical edge finder 0.200 in": 2.54, "electronic finder 10 mm": 5.0,
         "3D indicator": 0.0, "touch-trigger probe 6 mm": 3.0, "coaxial indicator": 0.0,
         "gauge pin 10 mm": 5.05, "height setter 50 mm": 0.0,
         "gauge block 25 mm": 0.0}  # fmt: skip


def test_every_kind_is_bundled_with_its_caution():
    known = known_instruments()
    assert {instrument.kind for instrument in known.values()} == set(INSTRUMENT_KINDS)
    assert all(instrument.caution.endswith((".", "!")) and instrument.repeatability > 0 for instrument in known.values())


@pytest.mark.parametrize("name", RADII)
def test_effective_radius(name):
    assert effective_radius(known_instruments()[name]) == pytest.approx(RADII[name])


def test_turning_finders_have_a_rated_speed_and_the_others_stand_still():
    for instrument in known_instruments().values():
        if instrument.kind in ("mechanical edge finder", "coaxial indicator", "test indicator"):
            assert instrument.rated_speed is not None
        if instrument.kind in ("electronic finder", "3D indicator", "touch-trigger probe", "gauge pin"):
            assert instrument.stands_still


def test_the_shop_goes_first_and_a_near_name_is_offered():
    own = known_instruments()["paper"].model_copy(update={"repeatability": 0.5})
    assert find_instrument({"paper": own}, "paper").repeatability == 0.5
    with pytest.raises(InputRefused, match='did you mean "paper"'):
        find_instrument({}, "papr")


def test_repeats_give_the_sample_deviation_with_its_confidence():
    values = [0.000, 0.004, -0.003, 0.001, 0.002, -0.001, 0.003, -0.002, 0.000, 0.001]
    got = qualify(known_instruments()["paper"], values)
    assert got.standard == pytest.approx(float(np.std(values, ddof=1)))
    # chi-square quantiles of 9 degrees of freedom: 2.700 and 19.023
    assert got.low == pytest.approx(got.standard * math.sqrt(9 / 19.023), rel=1e-4)
    assert got.high == pytest.approx(got.standard * math.sqrt(9 / 2.700), rel=1e-3)
    assert got.instrument.repeats == 10
    assert got.odd is None
    assert qualify(known_instruments()["paper"], [*values, 0.06]).odd == 10


def test_a_spread_below_the_steps_is_not_taken_for_none():
    assert qualify(known_instruments()["paper"], [1.0] * 5, step=0.01).standard == pytest.approx(0.01 / math.sqrt(12))


def test_two_repeats_are_refused():
    with pytest.raises(InputRefused, match="say nothing about repeatability"):
        qualify(known_instruments()["paper"], [0.0, 0.1])
