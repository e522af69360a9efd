"""Which setup mistake, if any, would explain the readings, what the control holds, and what was seen when hovering.

Every hypothesis predicts three things: a shift of the readings' equations, a shift of the registers, an error of the tip when it
stands over the datum. Its likelihood is the Gaussian density of what was observed about that prediction, sizes it leaves open
integrated out; the posterior follows from the rates (Bayes). One mistake at a time is considered.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.base.errors import InputRefused
from setwright.estimate.least_squares import Array
from setwright.model.reading import Contact, Readings
from setwright.touch.hypotheses import SPAN_MM, Hypothesis, of_readings, of_registers
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting, prepare
from setwright.touch.solution import Solution, solve

__all__ = ["Diagnosis", "Hovered", "Suspected", "Traces", "diagnose", "traces"]

_SHOWN = 5
_WORTH_SHOWING = 0.005


@dataclass(frozen=True, slots=True)
class Hovered:
    """What was seen with the tip brought over a known point: how far the tip stood from where it should, in W (mm; None = not
    judged), and how finely that was seen (one standard deviation, mm). `station`: of the tool in the spindle."""

    x: float | None = None
    y: float | None = None
    z: float | None = None
    resolution: float = 0.25
    station: int | None = None


@dataclass(frozen=True, slots=True)
class Suspected:
    """A mistake and how probable it is; `told`: a check of its own tells it."""

    slug: str
    words: str
    remedy: str
    probability: float
    told: bool = False


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """`none`: probability that there was no mistake among those considered; `ranked`: the suspected ones, likeliest first."""

    none: float
    ranked: tuple[Suspected, ...]


@dataclass(frozen=True, slots=True)
class _System:
    """The whitened rows, priors below the readings: projected residuals, projector, and estimator."""

    residuals: Array
    projector: Array
    estimator: Array
    weight: Array
    prior_row: dict[str, int]

    @classmethod
    def of(cls, solution: Solution) -> _System:
        fit = solution.tied
        prior = fit.prior.rows
        m, n = fit.jacobian.shape
        weight = 1.0 / np.concatenate([np.sqrt(np.diag(fit.noise)), fit.prior.standard[prior]])
        unit = np.zeros((prior.size, n))
        unit[np.arange(prior.size), prior] = 1.0
        rows = np.vstack([fit.jacobian, unit]) * weight[:, None]
        values = np.concatenate([fit.residuals, fit.x[prior] - fit.prior.mean[prior]]) * weight
        estimator = np.asarray(np.linalg.pinv(rows), dtype=np.float64)
        projector = np.eye(m + prior.size) - rows @ estimator
        names = [u.name for u in solution.unknowns]
        return cls(projector @ values, projector, estimator, weight, {names[j]: m + i for i, j in enumerate(prior)})

    def direction(self, hypothesis: Hypothesis) -> Array | None:
        """The whitened shift for size 1; None when the readings are untouched."""
        if not hypothesis.rows and not hypothesis.priors:
            return None
        shift = np.zeros(self.weight.size)
        for row, value in hypothesis.rows.items():
            shift[row] += value
        for name, value in hypothesis.priors.items():
            if name in self.prior_row:
                shift[self.prior_row[name]] += value
        return shift * self.weight

    def gain(self, along: Array, hypothesis: Hypothesis) -> tuple[float, float]:
        """Log likelihood over that of no shift, and the most probable size."""
        pull, stiff = float(along @ self.residuals), float(along @ self.projector @ along)
        mean, spread = hypothesis.size, hypothesis.spread
        if spread == 0.0:
            return pull * mean - 0.5 * stiff * mean * mean, mean
        loose = 1.0 / (spread * spread)
        best = (pull + mean * loose) / (stiff + loose)
        log = 0.5 * (best * best * (stiff + loose) - mean * mean * loose) - 0.5 * math.log1p(stiff / loose)
        return log, best


@dataclass(frozen=True, slots=True)
class Traces:
    """Every mistake in the readings, the log likelihood they give it, and the errors it would put into the registers."""

    found: tuple[tuple[Hypothesis, float, Mapping[str, float]], ...]


def traces(setting: Setting, solution: Solution, numbers: tuple[Entry, ...]) -> Traces:
    """What the readings alone say about each mistake: the same whatever the control holds and whatever is seen when hovering."""
    system = _System.of(solution)
    return Traces(tuple((h, *_gained(h, system, solution, setting, numbers)) for h in of_readings(setting, solution)))


def diagnose(setting: Setting, solution: Solution, numbers: tuple[Entry, ...], hovered: Sequence[Hovered] = (), *,
             seen: Traces | None = None) -> Diagnosis:  # fmt: skip
    """Rank the mistakes by their posterior probability. `seen`: the traces in these readings, where they were worked out before."""
    of_them = (seen or traces(setting, solution, numbers)).found
    typed = [(h, 0.0, dict(h.registers)) for h in of_registers(setting, solution, numbers)]
    found = [h for h, _, _ in (*typed, *of_them)]
    none = Hypothesis("", "", "", max(1.0 - math.fsum(h.rate for h in found), 0.5))
    logs = np.array([_log_weight(h, gained, errors, setting, numbers, hovered) for h, gained, errors in
                     ((none, 0.0, {}), *typed, *of_them)])  # fmt: skip
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    return Diagnosis(float(shares[0]), _ranked(found, shares[1:]))


def _ranked(found: list[Hypothesis], shares: Array) -> tuple[Suspected, ...]:
    """Mistakes of one kind with one effect are told as one; the rest by their probability."""
    kinds: dict[tuple[str, str], list[tuple[float, Hypothesis]]] = {}
    for hypothesis, share in zip(found, shares.tolist(), strict=True):
        kinds.setdefault((hypothesis.slug, hypothesis.words), []).append((share, hypothesis))
    ranked = [Suspected(members[0][1].slug, members[0][1].words, members[0][1].remedy, math.fsum(share for share, _ in members),
                        members[0][1].told)
              for members in kinds.values()]  # fmt: skip
    ranked.sort(key=lambda s: (-s.probability, s.slug, s.words))
    return tuple(s for s in ranked[:_SHOWN] if s.probability >= _WORTH_SHOWING)


def _gained(hypothesis: Hypothesis, system: _System, solution: Solution, setting: Setting,
            numbers: tuple[Entry, ...]) -> tuple[float, dict[str, float]]:  # fmt: skip
    """Log likelihood of the readings over that of no mistake, and the errors the mistake would put into the registers."""
    if hypothesis.undone is not None:
        return _undone(hypothesis, hypothesis.undone, solution, setting, numbers)
    along = system.direction(hypothesis)
    if along is None:
        return 0.0, {}
    gained, size = system.gain(along, hypothesis)
    moved = -(system.estimator @ along) * size
    return gained, _register_errors(moved, numbers, solution) if hypothesis.rows else {}


def _log_weight(hypothesis: Hypothesis, gained: float, errors: Mapping[str, float], setting: Setting, numbers: tuple[Entry, ...],
                hovered: Sequence[Hovered]) -> float:  # fmt: skip
    """Log of rate × likelihood, up to a constant common to all hypotheses."""
    total = math.log(hypothesis.rate) + hypothesis.found_in + gained
    for entry in numbers:
        if entry.now is None:
            continue
        if entry.name in hypothesis.anything:
            total -= math.log(SPAN_MM)
            continue
        if entry.name in hypothesis.together:
            continue
        # a mistake in the readings was made before the registers were typed, and the estimate holds it as well
        expected = hypothesis.registers.get(entry.name, 0.0)
        total += _log_normal(entry.now - entry.rounded - expected, math.hypot(entry.estimate.standard, entry.step))
    total += _log_together(hypothesis, numbers)
    for seen in hovered:
        total += _log_hover(seen, errors, hypothesis, setting, numbers)
    return total


def _log_together(hypothesis: Hypothesis, numbers: tuple[Entry, ...]) -> float:
    """Joint density of registers off by one common amount s ~ N(0, spread²): V = diag(u²) + spread² 1 1ᵀ, by its rank-one form."""
    pairs = [(e.now - e.rounded, math.hypot(e.estimate.standard, e.step)) for e in numbers
             if e.name in hypothesis.together and e.now is not None]  # fmt: skip
    if not pairs:
        return 0.0
    alone = math.fsum(_log_normal(off, u) for off, u in pairs)
    loose = 1.0 / hypothesis.together_spread**2
    stiff, pull = math.fsum(1.0 / (u * u) for _, u in pairs), math.fsum(off / (u * u) for off, u in pairs)
    return alone + 0.5 * pull * pull / (loose + stiff) - 0.5 * math.log1p(stiff / loose)


def _register_errors(moved: Array, numbers: tuple[Entry, ...], solution: Solution) -> dict[str, float]:
    place = solution.unknowns.row
    return {
        entry.name: sum(weight * float(moved[row]) for name, weight in entry.weights if (row := place(name)) is not None)
        for entry in numbers
    }


def _undone(hypothesis: Hypothesis, contacts: tuple[Contact, ...], solution: Solution, setting: Setting,
            numbers: tuple[Entry, ...]) -> tuple[float, dict[str, float]]:  # fmt: skip
    """Log likelihood gained by solving the corrected readings, and the errors the mistake would have put into the registers."""
    lengths = setting.lengths if hypothesis.undone_lengths is None else hypothesis.undone_lengths
    readings = Readings(contact=contacts, tool_length=lengths)
    try:
        corrected = prepare(setting.kit, readings, setting.conditions)
        if len(corrected.aside) > len(setting.aside):  # the readings that were meant lie outside the travel: it was not that
            return -math.inf, {}
        other = solve(corrected.rows, corrected.basis.unknowns)
    except InputRefused:
        return -math.inf, {}
    changed = sum(new is not old for new, old in zip((*contacts, *lengths), (*setting.contacts, *setting.lengths), strict=True))
    gained = 0.5 * (solution.tied.chi_square - other.tied.chi_square) + changed * math.log(hypothesis.stretch)
    moved = np.array([solution.value(u.name) - other.value(u.name) for u in solution.unknowns])
    return gained, _register_errors(moved, numbers, solution)


def _log_normal(off: float, spread: float) -> float:
    return -0.5 * (off / spread) ** 2 - math.log(spread * math.sqrt(2.0 * math.pi))


def _log_hover(seen: Hovered, errors: Mapping[str, float], hypothesis: Hypothesis, setting: Setting,
               numbers: tuple[Entry, ...]) -> float:  # fmt: skip
    """Where the tip stands over the datum: by what the control holds where it was read off, else by what the mistake puts there."""
    total = 0.0
    for axis in "XYZ":
        off = getattr(seen, axis.lower())
        if off is None:
            continue
        expected, spread, loose = 0.0, seen.resolution, hypothesis.anywhere
        for entry in numbers:
            ours = entry.axis == axis and entry.register == setting.kit.setup.offset
            if not (ours or (axis == "Z" and entry.register.startswith("length") and entry.station == seen.station)):
                continue
            if entry.now is not None:
                expected += entry.now - entry.rounded
            else:
                expected += errors.get(entry.name, 0.0)
                loose = loose or entry.name in hypothesis.anything or entry.name in hypothesis.together
            spread = math.hypot(spread, entry.estimate.standard)
        total += -math.log(SPAN_MM) if loose else _log_normal(off - expected, spread)
    return total
