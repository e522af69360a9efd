"""From what checks showed to the slip that explains it, and to the check that would tell most next.

Every suspect predicts what each check shows; the likelihood of an observation is normal about the predicted number, or that of
seeing or overlooking what is there. With the rates follows the posterior (Bayes), against "no slip" and against "something not in
the list", which predicts nothing. The next check is the one with the most expected information (Shannon's mutual information
between suspects and outcome) per minute.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from setwright.hover.check_list import CheckHere
from setwright.hover.check_sights import Seen
from setwright.hover.matrix import Matrix
from setwright.model.setup_check import NUMBERS

__all__ = ["AS_SHEET", "DIFFERS", "Diagnosis", "Observed", "Ranked", "Weighing", "diagnose"]

Array = NDArray[np.float64]
AS_SHEET: Final = "as the sheet says"
"""What is seen is what the sheet says."""
DIFFERS: Final = "differs"
"""What is seen is something else, whatever it is."""

_SPAN_MM = 400.0
_UNLISTED = 0.002
_STRANGE = 0.001
_APART = 3.0
_SETTLED = 0.95
_WEIGHTY = 0.0001
_LEAST_BITS = 0.02
_SHOWN = 8


@dataclass(frozen=True, slots=True)
class Observed:
    """One thing seen: check (its place in the matrix), sight (its place in the check), and a number in mm or words: what was
    written there, AS_SHEET or DIFFERS."""

    check: int
    sight: int
    value: float | str


@dataclass(frozen=True, slots=True)
class Ranked:
    """A suspect (its place in the matrix), how probable it is, and the suspects no check in the list can tell from it."""

    suspect: int
    probability: float
    siblings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """`none`: probability that nothing in the list is wrong; `unlisted`: that it is something else. `ranked`: likeliest first.

    `settled`: the first, with its siblings, or "no slip", or "something else" holds 95 %; otherwise `next` is the check to make
    now (its place in the matrix, None if none would tell anything) and `bits` what it tells on average.
    """

    none: float
    unlisted: float
    ranked: tuple[Ranked, ...]
    settled: bool
    next: int | None
    bits: float


class Weighing:
    """The suspects of a matrix made ready to be weighed: computed once, used for every observation.

    Row 0 is "no slip", the others are the suspects in their order. `seen`: what each would have a person write down. A wrong
    reading stands in the registers and on the sheet alike, so that what is compared with the sheet agrees with it.
    """

    def __init__(self, matrix: Matrix) -> None:
        self.matrix = matrix
        self.right = tuple(check.right for check in matrix.checks)
        self.seen = (self.right, *(
            tuple(tuple(map(_noted, *columns)) for columns in zip(seen, wanted, self.right, strict=True))
            for seen, wanted in zip(matrix.seen, matrix.wanted, strict=True)
        ))  # fmt: skip
        rates = matrix.rates
        self.log_rate = np.log(np.concatenate([[max(1.0 - rates.sum() - _UNLISTED, 0.5)], np.maximum(rates, _STRANGE**4)]))
        self.outcomes = [self._outcomes(j, check) for j, check in enumerate(matrix.checks)]
        self.apart = self._apart()

    def log_likelihood(self, observed: Observed) -> Array:
        """(n + 1,) of one observation under "no slip" and every suspect."""
        check = self.matrix.checks[observed.check]
        seen = [row[observed.check][observed.sight] for row in self.seen]
        right, misses = check.right[observed.sight], check.check.misses
        if isinstance(observed.value, float):
            value, spread = observed.value, check.spread[observed.sight]
            return np.array([_log_number(value, each, right, spread, misses) for each in seen])
        said = AS_SHEET if observed.value == right else observed.value
        return np.array([_log_words(said, each, right, misses) for each in seen])

    def siblings(self, suspect: int) -> tuple[int, ...]:
        """Suspects that no check in the list can tell from this one; −1 stands for "no slip"."""
        near = np.flatnonzero(self.apart[suspect + 1] < _APART) - 1
        return tuple(int(other) for other in near if other != suspect)

    def _apart(self) -> Array:
        """(n + 1, n + 1) how many standard deviations lie between what two suspects show in all checks together."""
        n = len(self.seen)
        square = np.zeros((n, n))
        for j, check in enumerate(self.matrix.checks):
            numbers, words = self.outcomes[j]
            for column, spread in zip(numbers.T, _spreads(check), strict=True):
                square += ((column[:, None] - column[None, :]) / spread) ** 2
            square += np.where(words[:, None] != words[None, :], np.inf, 0.0)
        return np.sqrt(np.nan_to_num(square, nan=0.0, posinf=np.inf))

    def _outcomes(self, j: int, check: CheckHere) -> tuple[Array, NDArray[np.int64]]:
        """What check j shows under each suspect: its numbers (n, d), and a code for its words (0: as the sheet says)."""
        numbers = [k for k, sight in enumerate(check.sights) if sight.what in NUMBERS]
        words = [k for k in range(len(check.sights)) if k not in numbers]
        shown = np.array([[_number(row[j][k]) for k in numbers] for row in self.seen]).reshape(len(self.seen), len(numbers))
        said = [tuple((row[j][k] if row[j][k] != check.right[k] else "") for k in words) for row in self.seen]
        codes = {texts: code for code, texts in enumerate(dict.fromkeys([("",) * len(words), *said]))}
        return shown, np.array([codes[texts] for texts in said], np.int64)

    def information(self, weight: Array, j: int) -> float:
        """Bits that check j tells on average about which of the suspects it is, `weight` (n + 1,) being what is believed now.

        The noise of the numbers is represented by two points an axis, √d standard deviations either side (second moments exact).
        """
        rows = np.flatnonzero(weight > _WEIGHTY)
        believed = weight[rows] / weight[rows].sum()
        check = self.matrix.checks[j]
        numbers, words = self.outcomes[j]
        numbers, words = np.nan_to_num(numbers[rows]) / np.array(_spreads(check)), words[rows]
        misses, d = check.check.misses, numbers.shape[1]
        told = np.where(words[:, None] == words[None, :], math.log1p(-misses), math.log(max(misses, _STRANGE)))
        offsets = np.concatenate([np.eye(d), -np.eye(d)]) * math.sqrt(d) if d else np.zeros((1, 0))
        total = 0.0
        for offset in offsets:
            seen = numbers + offset
            log = told - 0.5 * ((seen[:, None, :] - numbers[None, :, :]) ** 2).sum(axis=2)
            own = np.diag(log)
            most = log.max(axis=1)
            mixed = most + np.log((believed * np.exp(log - most[:, None])).sum(axis=1))
            total += float(believed @ (own - mixed)) / len(offsets)
        return max(total / math.log(2.0), 0.0)


def diagnose(weighing: Weighing, observed: Sequence[Observed]) -> Diagnosis:
    """Rank the suspects by their posterior probability, and say which check to make next."""
    log = weighing.log_rate.copy()
    unlisted = math.log(_UNLISTED)
    for each in observed:
        log += weighing.log_likelihood(each)
        unlisted += _log_anything(each.value)
    whole = np.concatenate([log, [unlisted]])
    weight = np.exp(whole - whole.max())
    weight /= weight.sum()
    listed, unknown = weight[:-1], float(weight[-1])
    ranked = _ranked(weighing, listed)
    settled = max(float(listed[0]), unknown, _with_siblings(listed, ranked)) >= _SETTLED
    best, bits = (None, 0.0) if settled else _next(weighing, listed, {each.check for each in observed})
    return Diagnosis(float(listed[0]), unknown, ranked, settled, best, bits)


def _ranked(weighing: Weighing, listed: Array) -> tuple[Ranked, ...]:
    order = sorted(range(1, listed.size), key=lambda i: (-listed[i], i))[:_SHOWN]
    kept = [i for i in order if listed[i] >= _WEIGHTY]
    return tuple(Ranked(i - 1, float(listed[i]), weighing.siblings(i - 1)) for i in kept)


def _with_siblings(listed: Array, ranked: tuple[Ranked, ...]) -> float:
    if not ranked:
        return 0.0
    first = ranked[0]
    return float(listed[first.suspect + 1] + sum(listed[other + 1] for other in first.siblings))


def _next(weighing: Weighing, listed: Array, made: set[int]) -> tuple[int | None, float]:
    """The check not yet made with the most information per minute; None where none tells anything worth its time."""
    checks = weighing.matrix.checks
    gains = {j: weighing.information(listed, j) for j in range(len(checks)) if j not in made}
    worth = {j: bits / checks[j].minutes for j, bits in gains.items() if bits >= _LEAST_BITS}
    if not worth:
        return None, 0.0
    best = max(worth, key=lambda j: (worth[j], -j))
    return best, gains[best]


def _log_number(value: float, seen: Seen, wanted: Seen, spread: float, misses: float) -> float:
    """Normal about what is there; with the probability of overlooking it, about what is looked for."""
    if not isinstance(seen, float) or not isinstance(wanted, float):
        return -math.log(_SPAN_MM)
    there, looked_for = (-0.5 * ((value - at) / spread) ** 2 for at in (seen, wanted))
    high = max(there, looked_for)
    mixed = (1.0 - misses) * math.exp(there - high) + misses * math.exp(looked_for - high)
    return high + math.log(max(mixed, _STRANGE**9)) - math.log(spread * math.sqrt(2.0 * math.pi))


def _log_words(value: str, seen: Seen, wanted: Seen, misses: float) -> float:
    """What is there is seen but for `misses`; words that neither the slip nor the sheet explains are strange under either."""
    right = seen == wanted
    overlooked = max(misses, _STRANGE)
    if value == AS_SHEET:
        return math.log1p(-overlooked) if right else math.log(overlooked)
    if value == DIFFERS:
        return math.log(_STRANGE) if right else math.log1p(-overlooked)
    if value == seen:
        return math.log1p(-overlooked)
    return math.log(_STRANGE) * (2.0 if right else 1.0)


def _log_anything(value: float | str) -> float:
    """Under something not in the list any number is as good as another, and words differ every other time."""
    return -math.log(_SPAN_MM) if isinstance(value, float) else math.log(0.5)


def _noted(seen: Seen, wanted: Seen, right: Seen) -> Seen:
    """What is written down of what is seen, `wanted` standing on the person's sheet and `right` on ours."""
    if isinstance(seen, float) and isinstance(wanted, float) and isinstance(right, float):
        return right + seen - wanted
    return right if seen == wanted else seen


def _number(value: Seen) -> float:
    return value if isinstance(value, float) else math.nan


def _spreads(check: CheckHere) -> list[float]:
    return [spread for sight, spread in zip(check.sights, check.spread, strict=True) if sight.what in NUMBERS]
