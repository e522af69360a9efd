"""Instruments the package knows by class, and what repeated contacts say about the one in hand.

The figures are what such instruments usually do, for a start; twenty contacts on one face (`qualify`) say what yours does.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from scipy.special import gammaincinv

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.estimate.outliers import grubbs_limit, grubbs_statistic
from setwright.model.instrument import Instrument

__all__ = ["Qualified", "effective_radius", "find_instrument", "known_instruments", "qualify"]

_NO_RADIUS = ("3D indicator", "coaxial indicator", "height setter", "gauge block", "feeler", "paper", "tool setter")
_LEAST_REPEATS = 3


@cache
def known_instruments() -> Mapping[str, Instrument]:
    """The bundled instruments by name ("mechanical edge finder 10 mm")."""
    folder = resources.files("setwright.kit") / "instruments"
    found = {}
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if file.name.endswith(".toml"):
            for entry in tomllib.loads(file.read_text(encoding="utf-8"))["instrument"]:
                instrument = Instrument.model_validate(entry)
                found[instrument.name] = instrument
    return found


def find_instrument(shop: Mapping[str, Instrument], name: str) -> Instrument:
    """The shop's own instrument of that name, else the bundled one; refused with the nearest name."""
    known = {**known_instruments(), **shop}
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=1)
    hint = f'did you mean "{near[0]}"?' if near else f"put it into shop/instruments, or take one of: {', '.join(sorted(known))}"
    raise InputRefused.because(f'there is no instrument "{name}"', remedy=hint)


def effective_radius(instrument: Instrument) -> float:
    """Distance from the spindle axis to a face at contact, mm: half the tip plus the gap it is read over, 0 for a 3D indicator."""
    if instrument.kind in _NO_RADIUS:
        return 0.0
    return 0.5 * instrument.tip_diameter + (instrument.height if instrument.kind == "gauge pin" else 0.0)


@dataclass(frozen=True, slots=True)
class Qualified:
    """What n contacts of one face with one instrument say, mm.

    `standard`: of one contact; `low`, `high`: where the true standard deviation lies with 95 %; `odd`: index of a contact that does
    not belong to the others (Grubbs, 5 %), None if all do. `instrument`: with its repeatability replaced.
    """

    instrument: Instrument
    count: int
    mean: float
    standard: float
    low: float
    high: float
    odd: int | None


def qualify(instrument: Instrument, repeats: Sequence[float], *, step: float = 0.0) -> Qualified:
    """Repeatability from repeated contacts (display readings, mm) made with handwheel steps of `step` (0: not stepped).

    A spread finer than the steps shows as zero; the step's own share is then all that is known and stands as a lower bound.
    Refuses fewer than 3.
    """
    if len(repeats) < _LEAST_REPEATS:
        said = f"{len(repeats)} contacts say nothing about repeatability"
        raise InputRefused.because(said, remedy="touch the same place ten times")
    values = np.asarray(repeats, dtype=np.float64)
    count = values.size
    seen = float(values.std(ddof=1))
    standard = max(seen, step / math.sqrt(12.0), SAME_PLACE_MM)
    low = standard * math.sqrt((count - 1) / _chi_square(0.975, count - 1))
    high = standard * math.sqrt((count - 1) / _chi_square(0.025, count - 1))
    odd = int(np.argmax(np.abs(values - values.mean()))) if grubbs_statistic(values) > grubbs_limit(count) else None
    own = instrument.model_copy(update={"repeatability": standard, "repeats": count})
    return Qualified(own, count, float(values.mean()), standard, low, high, odd)


def _chi_square(probability: float, dof: int) -> float:
    """Quantile of chi-square."""
    return 2.0 * float(gammaincinv(0.5 * dof, probability))
