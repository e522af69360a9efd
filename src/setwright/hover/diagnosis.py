"""From what checks showed to the slip that explains it, and to the check that would tell most next.

Every suspect predicts what each check shows. A suspect whose size the job does not fix predicts it for every size: what it adds to
a number grows with its size, and what is seen or not seen stays. Its likelihood is the mean over its sizes, weighted by how often
they happen, by quadrature: trapezoids on nodes spread over all sizes and closely about those that the numbers read point to, each
check by itself and all together. A number is normal about what is predicted; a check as a whole may have been overlooked. With the
rates follows the posterior (Bayes), against "no slip" and against "something not in the list": that is odd in some places, each
whichever, and normal in all others, so that a normal reading counts for it as well.

It is settled when one answer, with what no check can tell from it, holds 95 % and fits all that was seen. The next check is the one
with the most expected information (Shannon's mutual information between suspects and outcome) per minute.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from setwright.base.tolerance import SAME_PLACE_MM
from setwright.hover.check_sights import Seen
from setwright.hover.matrix import Matrix
from setwright.model.setup_check import NUMBERS
from setwright.slips.catalogue import FITS, ODD, SETTLED, UNLISTED_RATE

__all__ = ["AS_SHEET", "DIFFERS", "Diagnosis", "Observed", "Ranked", "Weighing", "diagnose"]

Array = NDArray[np.float64]
AS_SHEET: Final = "as the sheet says"
"""What is seen is what the sheet says."""
DIFFERS: Final = "differs"
"""What is seen is something else, whatever it is."""

_SPAN_MM = 400.0
_ODD_MM = 1.0
_ONE_TEXT = 0.02
_STRANGE = 0.001
_APART = 3.0
_WEIGHTY = 0.0001
_LEAST_BITS = 0.02
_SHOWN = 8
_FAR = 3.5
_GRID = np.linspace(-_FAR, _FAR, 29)
_ROUND = np.concatenate([np.linspace(-6.0, -3.0, 4), np.linspace(-2.5, 2.5, 11), np.linspace(3.0, 6.0, 4)])
_LOG_ROOT = 0.5 * math.log(2.0 * math.pi)


@dataclass(frozen=True, slots=True)
class Observed:
    """One thing seen: check (its place in the matrix), sight (its place in the check), and a number in mm or words: what was
    written there, AS_SHEET or DIFFERS."""

    check: int
    sight: int
    value: float | str


@dataclass(frozen=True, slots=True)
class Ranked:
    """A suspect (its place in the matrix), how probable it is, the suspects no check in the list can tell from it, and how many
    times as large as studied it is most probably."""

    suspect: int
    probability: float
    siblings: tuple[int, ...]
    times: float = 1.0


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """`none`: probability that nothing in the list is wrong; `unlisted`: that it is something else. `ranked`: likeliest first.

    `settled`: the first, with its siblings, or "no slip" by itself, or "something else" holds 95 % and fits what was seen; else
    `next` is the check to make now (its place in the matrix, None if none would tell anything) and `bits` what it tells on average.
    `apart`: the check that tells the two likeliest answers best from one another per minute (None: none does, or it is settled).
    """

    none: float
    unlisted: float
    ranked: tuple[Ranked, ...]
    settled: bool
    next: int | None
    bits: float
    apart: int | None = None


class Weighing:
    """The suspects of a matrix made ready to be weighed: computed once, used for every observation.

    Row 0 is "no slip", the others are the suspects in their order; columns are the sights of all checks one after the other. `off`
    (n + 1, s): how far each number lies from the sheet's, mm (0 for words); `differs`: whether what is noted is not what the sheet
    says. A wrong reading stands in the registers and on the sheet alike, so that what is compared with the sheet agrees with it.
    """

    def __init__(self, matrix: Matrix) -> None:
        self.matrix = matrix
        self.first = np.cumsum([0, *(len(check.sights) for check in matrix.checks)])
        self.of_check = np.repeat(np.arange(len(matrix.checks)), np.diff(self.first))
        self.number = np.array([sight.what in NUMBERS for check in matrix.checks for sight in check.sights], np.bool_)
        self.right: list[Seen] = [right for check in matrix.checks for right in check.right]
        self.spread = np.array([spread or 1.0 for check in matrix.checks for spread in check.spread])
        self.noted: list[list[Seen]] = [self.right, *(self._notes(i) for i in range(len(matrix.suspects)))]
        self.off = np.array([[_off(now, right) for now, right in zip(row, self.right, strict=True)] for row in self.noted])
        self.differs = np.array([[_differs(now, right) for now, right in zip(row, self.right, strict=True)] for row in self.noted])
        rates = matrix.rates
        self.log_rate = np.log(np.concatenate([[max(1.0 - rates.sum() - UNLISTED_RATE, 0.5)], np.maximum(rates, _STRANGE**4)]))
        sized = [suspect.sized for suspect in matrix.suspects]
        self.sized = np.array([False, *(one is not None for one in sized)])
        self.log_spread = np.array([1.0, *(1.0 if one is None else math.log(one.spread) for one in sized)])
        self.either = np.array([False, *(one is not None and one.either_way for one in sized)])
        self.texts = self._texts()

    def _notes(self, suspect: int) -> list[Seen]:
        """What a person writes down in every column under a suspect."""
        columns = zip(self.matrix.seen[suspect], self.matrix.wanted[suspect], self.matrix.checks, strict=True)
        return [_noted(*three) for seen, wanted, check in columns for three in zip(seen, wanted, check.right, strict=True)]

    def column(self, observed: Observed) -> int:
        """The column of what was looked at."""
        return int(self.first[observed.check]) + observed.sight

    def weigh(self, observed: Sequence[Observed]) -> tuple[Array, Array, Array]:
        """(n + 1,) each: log likelihood under "no slip" and every suspect, the most probable size, and how well what was seen fits
        there (the probability of numbers at least so far off; 0 for words that it does not explain)."""
        columns = np.array([self.column(each) for each in observed], np.int64)
        numbers = np.array([isinstance(each.value, float) and bool(self.number[c]) for each, c in
                            zip(observed, columns.tolist(), strict=True)], np.bool_)  # fmt: skip
        read = np.array([each.value if isinstance(each.value, float) else 0.0 for each in observed])
        at = np.array([right if isinstance(right := self.right[c], float) else 0.0 for c in columns.tolist()])
        away, spread = np.where(numbers, read - at, 0.0), self.spread[columns]
        slope = np.where(numbers, self.off[:, columns], 0.0)
        times, density, log_width = self._nodes(away, slope, spread, self.of_check[columns])
        words = np.array([self._log_words(each, c) if not number else np.zeros(len(self.off)) for each, c, number in
                          zip(observed, columns.tolist(), numbers.tolist(), strict=True)]).T  # fmt: skip
        gone = numbers & self.differs[:, columns] & (slope == 0.0)  # a number that is not there at all
        residual = (away - times[:, :, None] * slope[:, None, :]) / spread
        log = np.where(numbers, -0.5 * residual**2 - np.log(spread) - _LOG_ROOT, words[:, None, :])
        log = np.where(gone[:, None, :], -math.log(_SPAN_MM), log)
        as_right = np.where(numbers, -0.5 * (away / spread) ** 2 - np.log(spread) - _LOG_ROOT, words[0])
        total = density + self._by_check(log, as_right, columns)
        best = np.argmax(total, axis=1)
        rows = np.arange(len(total))
        chi = np.where(numbers, residual[rows, best] ** 2, 0.0).sum(axis=1)
        explained = (np.where(numbers, 0.0, words) > math.log(0.5 * _ONE_TEXT)).all(axis=1) & ~gone.any(axis=1)
        fit = gammaincc(0.5 * max(int(numbers.sum()), 1), 0.5 * chi) * explained
        return np.logaddexp.reduce(total + log_width, axis=1), times[rows, best], np.asarray(fit)

    def log_unlisted(self, observed: Sequence[Observed]) -> float:
        """Log likelihood under something not in the list: every sight odd with one probability, but not none of them."""
        both, normal = 0.0, 0.0
        for each in observed:
            column = self.column(each)
            right, spread = self.right[column], float(self.spread[column])
            if isinstance(each.value, float) and isinstance(right, float):
                z, wide = (each.value - right) / spread, max(_ODD_MM, spread)
                as_sheet = -0.5 * z * z - math.log(spread) - _LOG_ROOT
                odd = -math.log(math.pi * wide * (1.0 + ((each.value - right) / wide) ** 2))
            else:
                same = each.value in (AS_SHEET, right)
                as_sheet = math.log1p(-_STRANGE) if same else math.log(_STRANGE)
                odd = math.log(_STRANGE) if same else 0.0 if each.value == DIFFERS else math.log(_ONE_TEXT)
            normal += math.log1p(-ODD) + as_sheet
            both += float(np.logaddexp(math.log1p(-ODD) + as_sheet, math.log(ODD) + odd))
        some = -math.expm1(len(observed) * math.log1p(-ODD))
        return both + math.log(max(-math.expm1(normal - both), _STRANGE**4)) - math.log(some)

    def siblings(self, suspect: int, times: float = 1.0) -> tuple[int, ...]:
        """Suspects that no check in the list can tell from this one, `times` as large as studied; −1 stands for "no slip"."""
        mine = times * self.off[suspect + 1] / self.spread
        theirs = self.off / self.spread
        square = (theirs**2).sum(axis=1)
        scale = np.divide(theirs @ mine, square, out=np.zeros(len(theirs)), where=square > 0.0)
        far = np.exp(_FAR * self.log_spread)
        size = np.clip(np.abs(scale), 1.0 / far, far) * np.where(self.either & (scale < 0.0), -1.0, 1.0)
        size = np.where(self.sized, size, 1.0)
        distance = np.sqrt(((size[:, None] * theirs - mine) ** 2).sum(axis=1))
        told = self._told_by_words(suspect + 1)
        near = np.flatnonzero((distance < _APART) & ~told) - 1
        return tuple(int(other) for other in near if other != suspect)

    def information(self, weight: Array, j: int, times: Array) -> float:
        """Bits that check j tells on average about which of the suspects it is, `weight` (n + 1,) being what is believed now and
        `times` (n + 1,) their sizes.

        The noise of the numbers is represented by two points an axis, √d standard deviations either side (second moments exact).
        """
        rows = np.flatnonzero(weight > _WEIGHTY)
        believed = weight[rows] / weight[rows].sum()
        mine = slice(int(self.first[j]), int(self.first[j + 1]))
        read = self.number[mine]
        numbers = (times[rows, None] * self.off[rows, mine] / self.spread[mine])[:, read]
        words = self.texts[j][rows]
        misses, d = self.matrix.checks[j].check.misses, numbers.shape[1]
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

    def _nodes(self, away: Array, slope: Array, spread: Array, check: NDArray[np.int64]) -> tuple[Array, Array, Array]:
        """Sizes (n + 1, k) to look at, ascending, the log of how often each happens, and of how wide it stands for; 1 with all the
        weight where the job fixes it."""
        weight = slope / spread**2
        groups = [np.arange(len(away)), *(np.flatnonzero(check == one) for one in np.unique(check))]
        found = [np.exp(_GRID * self.log_spread[:, None]), -np.exp(_GRID * self.log_spread[:, None])]
        for group in groups:
            stiff = (slope[:, group] * weight[:, group]).sum(axis=1)
            at = np.divide((away[group] * weight[:, group]).sum(axis=1), stiff, out=np.ones(len(stiff)), where=stiff > 0.0)
            wide = np.divide(1.0, np.sqrt(stiff), out=np.zeros(len(stiff)), where=stiff > 0.0)
            found.append(at[:, None] + wide[:, None] * _ROUND)
        far = np.exp(_FAR * self.log_spread)[:, None]
        every = np.concatenate(found, axis=1)
        within = np.clip(np.abs(every), 1.0 / far, far)
        times = np.sort(np.where(every < 0.0, np.where(self.either[:, None], -within, 1.0 / far), within), axis=1)
        allowed = (times > 0.0) | (self.either[:, None] & (times < 0.0))
        size = np.where(allowed, np.abs(times), 1.0)
        s = self.log_spread[:, None]
        density = -0.5 * (np.log(size) / s) ** 2 - np.log(size * s) - _LOG_ROOT - np.where(self.either[:, None], math.log(2.0), 0.0)
        width = 0.5 * (np.diff(times, axis=1, append=times[:, -1:]) + np.diff(times, axis=1, prepend=times[:, :1]))
        some = self.sized[:, None]
        fixed = np.full(times.shape[1], -np.inf)
        fixed[0] = 0.0
        likely = np.where(allowed & (width > 0.0), density, -np.inf)
        log_width = np.log(np.where(width > 0.0, width, 1.0))
        return np.where(some, times, 1.0), np.where(some, likely, fixed), np.where(some, log_width, 0.0)

    def _by_check(self, log: Array, as_right: Array, columns: NDArray[np.int64]) -> Array:
        """(n + 1, k) of all sights, a check as a whole being overlooked now and then: then it is taken for what the sheet says."""
        total = np.zeros(log.shape[:2])
        for check in np.unique(self.of_check[columns]):
            mine = self.of_check[columns] == check
            misses = max(self.matrix.checks[int(check)].check.misses, _STRANGE)
            there = math.log1p(-misses) + log[:, :, mine].sum(axis=2)
            total += np.logaddexp(there, math.log(misses) + float(as_right[mine].sum()))
        return total

    def _log_words(self, observed: Observed, column: int) -> Array:
        """(n + 1,) of words noted: as the sheet says, something else, or this text."""
        differs, right = self.differs[:, column], self.right[column]
        if observed.value in (AS_SHEET, right):
            return np.where(differs, math.log(_STRANGE), math.log1p(-_STRANGE))
        if observed.value == DIFFERS or isinstance(observed.value, float):
            return np.where(differs, math.log1p(-_STRANGE), math.log(_STRANGE))
        texts = [str(row[column]) for row in self.noted]
        same = np.array([text == observed.value for text in texts])
        counted = np.array([any(letter.isdigit() for letter in text) for text in texts])  # a register's: another size, another text
        another = np.where(self.sized & differs & counted, math.log(_ONE_TEXT), 2.0 * math.log(_STRANGE))
        return np.where(same & differs, math.log1p(-_STRANGE), another)

    def _texts(self) -> list[NDArray[np.int64]]:
        """By check, a code (n + 1,) for what its words say under each suspect; sized ones say only that they differ."""
        found = []
        for j in range(len(self.matrix.checks)):
            mine = [c for c in range(int(self.first[j]), int(self.first[j + 1])) if not self.number[c]]
            said = [tuple((DIFFERS if self.sized[i] else str(row[c])) if self.differs[i, c] else "" for c in mine)
                    for i, row in enumerate(self.noted)]  # fmt: skip
            codes = {texts: code for code, texts in enumerate(dict.fromkeys(said))}
            found.append(np.array([codes[texts] for texts in said], np.int64))
        return found

    def _told_by_words(self, row: int) -> NDArray[np.bool_]:
        """(n + 1,) whether words tell each from this row: one differs and the other does not, or both say other fixed texts."""
        told = (self.differs != self.differs[row]).any(axis=1)
        if self.sized[row]:
            return np.asarray(told)
        texts = np.array([code != code[row] for code in self.texts]).any(axis=0)
        return np.asarray(told | (texts & ~self.sized))


def diagnose(weighing: Weighing, observed: Sequence[Observed]) -> Diagnosis:
    """Rank the suspects by their posterior probability, and say which check to make next."""
    log, times, fit = weighing.weigh(observed)
    whole = np.concatenate([log + weighing.log_rate, [weighing.log_unlisted(observed) + math.log(UNLISTED_RATE)]])
    weight = np.exp(whole - whole.max())
    weight /= weight.sum()
    listed, unknown = weight[:-1], float(weight[-1])
    ranked = _ranked(weighing, listed, times)
    first = ranked[0] if ranked else None
    quiet = float(listed[0]) >= SETTLED and fit[0] >= FITS
    named = (first is not None and first.probability >= listed[0] and _with_siblings(listed, first) >= SETTLED
             and fit[first.suspect + 1] >= FITS)  # fmt: skip
    if unknown >= SETTLED or quiet or named:
        return Diagnosis(float(listed[0]), unknown, ranked, True, None, 0.0)
    made = {each.check for each in observed}
    best, bits = _next(weighing, listed, times, made)
    leading = np.zeros(listed.size)
    leading[np.argsort(-listed, kind="stable")[:2]] = 0.5
    return Diagnosis(float(listed[0]), unknown, ranked, False, best, bits, _next(weighing, leading, times, made)[0])


def _ranked(weighing: Weighing, listed: Array, times: Array) -> tuple[Ranked, ...]:
    order = sorted(range(1, listed.size), key=lambda i: (-listed[i], i))[:_SHOWN]
    kept = [i for i in order if listed[i] >= _WEIGHTY]
    return tuple(Ranked(i - 1, float(listed[i]), weighing.siblings(i - 1, float(times[i])), float(times[i])) for i in kept)


def _with_siblings(listed: Array, first: Ranked) -> float:
    return float(listed[first.suspect + 1] + sum(listed[other + 1] for other in first.siblings))


def _next(weighing: Weighing, listed: Array, times: Array, made: set[int]) -> tuple[int | None, float]:
    """The check not yet made with the most information per minute; None where none tells anything worth its time."""
    checks = weighing.matrix.checks
    gains = {j: weighing.information(listed, j, times) for j in range(len(checks)) if j not in made}
    worth = {j: bits / checks[j].minutes for j, bits in gains.items() if bits >= _LEAST_BITS}
    if not worth:
        return None, 0.0
    best = max(worth, key=lambda j: (worth[j], -j))
    return best, gains[best]


def _noted(seen: Seen, wanted: Seen, right: Seen) -> Seen:
    """What is written down of what is seen, `wanted` standing on the person's sheet and `right` on ours."""
    if isinstance(seen, float) and isinstance(wanted, float) and isinstance(right, float):
        return right + seen - wanted
    return right if seen == wanted else seen


def _off(now: Seen, right: Seen) -> float:
    """How far a number lies from the sheet's; what only round-off moves lies nowhere else."""
    off = now - right if isinstance(now, float) and isinstance(right, float) else 0.0
    return off if abs(off) > SAME_PLACE_MM else 0.0


def _differs(now: Seen, right: Seen) -> bool:
    """Whether words differ, or a number is not there; of numbers that are there, their distance tells."""
    return not isinstance(now, float) if isinstance(right, float) else now != right
