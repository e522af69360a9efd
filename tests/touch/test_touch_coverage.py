"""Readings made by a plain simulated machine: the stated interval holds the true place as often as it says."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.touch.conditions import Conditions
from setwright.touch.drawn import drawn
from setwright.touch.equations import Equations
from setwright.touch.setting import prepare
from setwright.touch.solution import solve
from tests.touch.simulate import FLAT, ROUND, SCHEMES, World
from tests.touch.workshop import kit_of, readings

TRIALS = 100


@pytest.mark.parametrize("scheme", SCHEMES)
def test_interval_holds_the_truth(tmp_path, scheme):
    contacts, datum, exact, middle = SCHEMES[scheme]
    kit = kit_of(tmp_path, **datum)
    inside = np.zeros(4)
    half = None
    for trial in range(TRIALS):
        world = World(np.random.default_rng([11, trial]), exact, middle)
        setting = prepare(kit, readings(*contacts(world)), Conditions())
        solution = solve(setting.rows, setting.basis.unknowns)
        if half is None:
            half = np.array([solution.estimate({name: 1.0}).expanded for name in ("x", "y", "z", "angle")])
        found = np.array([solution.value(name) for name in ("x", "y", "z", "angle")])
        inside += np.abs(found - world.place) <= half
    # binomial: 95 % of 100 with a standard deviation of 2.2 %; below 86 % or never outside by chance once in 10 000
    assert (inside / TRIALS >= 0.86).all()
    assert inside.sum() < 4 * TRIALS


def truth(world) -> dict[str, float]:
    """Every unknown's true value in a simulated world, by the name Touch gives it."""
    known = dict(zip(("x", "y", "z", "angle"), world.place, strict=True))
    known |= {"length of tool 1": world.length, "growth": world.growth, "height of setter": world.setter - 50.0}
    known |= {f"tip of {name}": value for name, value in world.tip.items()}
    known |= {f"{what} {axis}": values[i] for what, values in (("backlash", world.backlash), ("scale", world.scale))
              for i, axis in enumerate("xyz")}  # fmt: skip
    known |= {f"radius of {name}": world.radius[name] - nominal for name, (_, nominal) in ROUND.items()}
    known |= {f"place of bore B {axis}": world.centre["bore B"][i] - (40.0, 0.0)[i] for i, axis in enumerate("xy")}
    known |= {f"direction of {name}": -side * world.square[name] for name, (_, side, _) in FLAT.items()}
    return known | {"width x": 2.0 * world.face["left"], "square": 0.0}


@pytest.mark.parametrize("scheme", sorted(set(SCHEMES) - {"bore swept"}))
def test_equations_hold_at_the_truth(tmp_path, scheme, monkeypatch):
    """With no error of its own in any reading, the true values solve the equations: every sign and every lever is right."""
    contacts, datum, exact, middle = SCHEMES[scheme]
    monkeypatch.setattr(World, "_own_error", lambda self, instrument: 0.0)
    monkeypatch.setattr(World, "_overrun", lambda self, step: step / 2)
    kit = kit_of(tmp_path, **datum)
    for seed in range(5):
        world = World(np.random.default_rng([4, seed]), exact, middle)
        setting = prepare(kit, readings(*contacts(world)), Conditions())
        known = truth(world)
        equations = Equations.of(list(setting.rows), setting.basis.unknowns)
        residuals, _ = equations(np.array([known[u.name] for u in setting.basis.unknowns]))
        assert np.abs(residuals).max() < 2e-5  # 20 nm: products of two small errors


@pytest.mark.parametrize("scheme", ["middle of two faces", "bore over part of its wall"])
def test_budget_agrees_with_drawing_anew(tmp_path, scheme):
    contacts, datum, exact, middle = SCHEMES[scheme]
    world = World(np.random.default_rng(3), exact, middle)
    setting = prepare(kit_of(tmp_path, **datum), readings(*contacts(world)), Conditions())
    solution = solve(setting.rows, setting.basis.unknowns)
    for number in ("x", "angle"):
        estimate = solution.estimate({number: 1.0})
        values = drawn(solution, {number: 1.0}, trials=250, seed=5)
        assert not np.isnan(values).any()
        assert values.std() == pytest.approx(estimate.standard, rel=0.18)  # four standard deviations of a spread from 250
        low, high = np.quantile(values, [0.025, 0.975])
        assert 0.5 * (high - low) == pytest.approx(estimate.expanded, rel=0.3)
