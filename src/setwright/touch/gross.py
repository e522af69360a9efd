"""Gross errors before least squares: which reading is not of a piece with the others, and what was most likely done to it.

Least squares shares one wrong number out among all; the turn of the part can even make three contacts look alike guilty. So when
readings contradict each other, every reading, and every pair, is left out in turn: each time the rest is solved anew from a start
that the one left out has no part in, with the part's direction tied to what the kit says of it. What lowers chi-square most is
named if no other comes within odds of 20 to 1; else nobody is accused, and what depends on it has no number.

A reading that was named is then compared with what would have been right: a lost sign, another unit, a digit, the point, a turn of
the handwheel, another tool in the spindle, a setter left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.base.tolerance import TINY
from setwright.estimate.distribution import Normal
from setwright.estimate.least_squares import Array
from setwright.estimate.outliers import CRITICAL, check
from setwright.model.reading import Readings
from setwright.slips.catalogue import SETTLED, rate_of
from setwright.slips.mistakes import INCH, transposed
from setwright.touch.doubts import Outlier
from setwright.touch.equations import Equations, Row
from setwright.touch.hypotheses import Hypothesis, of_all_readings, radius_taken, under_z
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting, prepare, start_from
from setwright.touch.slips import Diagnosis, Suspected, Traces
from setwright.touch.solution import Solution, solve
from setwright.touch.unknowns import Unknown, Unknowns
from setwright.touch.wording import shown_digits

__all__ = ["GROSS_MM", "Sifted", "doubted", "explained", "first_named", "set_aside", "sift", "wrong_alike"]

GROSS_MM = 0.3
"""A reading further off than burrs, chips and chamfers reach, mm."""

_RIVAL_ODDS = 20.0
_IN_MANY = "the readings contradict each other in many places"
_MOST_PAIRED = 16
_STEPS = 12
_FAR_MM = 1000.0
_PAIR_GAIN = 25.0
_NAMED = 0.99
_SMALL_ODDS = 0.001
_STRAINED = 2.0
_MOST_LOG = 50.0
_STATED = ("width ", "place of ", "radius of ", "length of ")
_CONTRADICTED = 5.0
_WHOLE_FACE_ODDS = 10.0
_ANOTHER_SIZE_MM = 1.5
_MATCH = 4.0
_EXPLAINS_MORE = 18.0
_ACROSS = ("radius-in-readings", "wrong-face")
"""Mistakes that leave every height as it is."""
_TURN = 100
_USUAL_STEP = {"mm": 0.01, "in": 0.001}


@dataclass(frozen=True, slots=True)
class Sifted:
    """The solution without the readings that were named, those readings, and contradictions that nothing decides.

    `outliers`: worst first. `solutions`: where readings contradict each other grossly and nothing
    decides it, the solution without each of those it may be. `because`: what is the matter where more than a few readings are
    wrong, or where what the kit says of the part's place and of the tools contradicts them; `lost`: the entries that are wrong
    then, None for all: the solution is of no use. `mistake`: what was done to all of them, or to all of one thing.
    """

    solution: Solution
    outliers: tuple[Outlier, ...]
    solutions: tuple[Solution, ...] = ()
    because: str = ""
    lost: frozenset[str] | None = None
    mistake: Hypothesis | None = None

    @property
    def undecided(self) -> bool:
        """Whether readings contradict each other grossly and nothing tells which is wrong."""
        return bool(self.because) or len(self.solutions) > 1


def sift(setting: Setting) -> Sifted:
    """Solve the readings that belong together. Raises InputRefused when no place fits even without the worst of them."""
    whole = _solved(setting, frozenset())
    if whole is not None and check(whole.fit).worst is None:
        return Sifted(whole, ())
    found = _singled_out(setting, whole)
    if found is not None and not any(one.rivals or one.kept for one in found.outliers) and len(found.outliers) < 2:
        return found
    most = math.inf if found is None else found.solution.tied.chi_square + _EXPLAINS_MORE
    undone = [(solution.tied.chi_square, one, solution) for one in (*of_all_readings(setting), *radius_taken(setting))
              if (solution := _agree_without(one, setting)) is not None and solution.tied.chi_square <= most]  # fmt: skip
    if undone:
        _, mistake, without = min(undone, key=lambda one: one[0])
        across = {f"{name} {axis}" for name in (setting.kit.setup.offset, *setting.kit.setup.shifts) for axis in "XY"}
        lost = frozenset(across) if mistake.slug in _ACROSS else None
        return Sifted(without if lost else whole or without, (), because=mistake.words, lost=lost, mistake=mistake)
    if found is None:
        return Sifted(whole or solve(setting.rows, setting.basis.unknowns), (), because=_IN_MANY)
    return found


def _agree_without(mistake: Hypothesis, setting: Setting) -> Solution | None:
    """The solution of the readings with a mistake in all of them undone, where they agree with each other then."""
    lengths = setting.lengths if mistake.undone_lengths is None else mistake.undone_lengths
    try:
        other = prepare(setting.kit, Readings(contact=mistake.undone or (), tool_length=lengths), setting.conditions)
    except InputRefused:
        return None
    solution = _solved(other, frozenset()) if len(other.aside) <= len(setting.aside) else None
    return solution if solution is not None and check(solution.fit).worst is None else None


def doubted(sifted: Sifted, diagnosis: Diagnosis, seen: Traces, numbers: Sequence[Entry]) -> Sifted:
    """Readings that agree with each other and not with what the kit says: an entry is lost where mistakes in the readings that put
    it grossly wrong hold 20 to 1 together, with something that is not in the list where they hold more than half."""
    if sifted.undecided:
        return sifted
    ranked = {one.words: one.probability for one in diagnosis.ranked}
    puts: dict[str, Mapping[str, float]] = {}
    for trace in sorted(seen.found, key=lambda one: one.gained):
        mistake = trace.hypothesis
        if mistake.words in ranked and (mistake.rows or mistake.undone is not None):
            puts[mistake.words] = trace.errors
    wrong = {entry.name: _wrong(entry, ranked, puts) for entry in numbers}
    unlisted = {e.name: _wrong(e, {"": diagnosis.unlisted}, {"": seen.unlisted.errors}) for e in numbers}
    lost = frozenset(name for name, share in wrong.items()
                     if share > 0.5 and share + unlisted[name] > _RIVAL_ODDS / (1.0 + _RIVAL_ODDS))  # fmt: skip
    if not lost:
        return sifted
    return replace(sifted, because=max(puts, key=lambda words: ranked[words]), lost=lost)


def _wrong(entry: Entry, ranked: Mapping[str, float], puts: Mapping[str, Mapping[str, float]]) -> float:
    """The probability that a mistake in the readings put an entry grossly wrong."""
    least = max(GROSS_MM, entry.estimate.expanded)
    return math.fsum(ranked[words] for words, errors in puts.items() if abs(errors.get(entry.name, 0.0)) > least)


def wrong_alike(setting: Setting, sifted: Sifted, diagnosis: Diagnosis) -> Sifted:
    """Readings that agree with each other and are all wrong in one way: the odds for it are overwhelming, and undone they agree
    too. Their solution is of no use."""
    ranked = {one.words: one.probability for one in diagnosis.ranked}
    if sifted.because or 1.0 - diagnosis.none < _NAMED:
        return sifted
    mistakes = (one for one in of_all_readings(setting) if one.words in ranked)
    named = {one.words: ranked[one.words] for one in mistakes if _agree_without(one, setting) is not None}
    sure = math.fsum(named.values()) >= _NAMED
    return replace(sifted, because=max(named, key=lambda words: named[words])) if sure else sifted


def _singled_out(setting: Setting, solution: Solution | None) -> Sifted | None:
    """Readings named one after the other until the rest agrees; None where the rest never does."""
    search, wide = _Search.of(setting), _Search.of(setting, least_size=_ANOTHER_SIZE_MM)
    left_out: frozenset[int] = frozenset()
    named: list[Outlier] = []
    most = max(1, len(search.readings) // 3)
    while solution is None or check(solution.fit).worst is not None:
        found = search.worst(left_out) if len(left_out) < most else None
        if found is None:
            return None
        guilty, rivals = found
        judge = _solved(setting, left_out | set(guilty))
        lowered, apart = search.lowered(left_out, guilty), wide.lowered(left_out, guilty)
        if judge is None or (lowered <= CRITICAL and solution is None):
            return None
        if lowered <= CRITICAL:  # so small that the tied direction of the part explains it
            break
        if rivals:  # none of them is accused: they are told in the order they were made
            first, *others = sorted({*guilty, *rivals})
            guilty, rivals, judge = (first,), tuple(others), _solved(setting, left_out | {first}) or judge
        together = () if rivals or len(guilty) > 1 else _odd_together(setting, left_out, guilty[0], judge)
        if together:
            named.append(_outlier(setting, judge, guilty[0], lowered, together, size=False))
            named[-1] = replace(named[-1], others=_all_of(setting, together))
            believed = _solved(setting, left_out | {guilty[0], *together}) or judge
            rest = _solved(setting, left_out | set(together))
            return Sifted(believed, tuple(named), (judge, *([rest] if rest else [])))
        named += [_outlier(setting, judge, one, lowered, rivals, size=apart <= CRITICAL) for one in guilty]
        if rivals or apart <= CRITICAL:
            if apart <= _CONTRADICTED:
                return Sifted(_sizes_let_go(setting, left_out, solution or judge), tuple(named))
            without = [_solved(setting, left_out | {one}) for one in (*guilty, *rivals)]
            believed = _solved(setting, left_out | {*guilty, *rivals}) or judge
            return Sifted(believed, tuple(named), tuple(one for one in without if one is not None))
        left_out |= set(guilty)
        solution = judge
    if solution is None:
        return None
    return Sifted(solution, tuple(sorted(named, key=lambda one: -abs(one.w))))


def _odd_together(setting: Setting, left_out: frozenset[int], guilty: int, judge: Solution) -> tuple[int, ...]:
    """All readings of another face, where those being odd together explains the contradiction better than the guilty one does,
    with what the kit says of the part's place: many touches of one face are no witnesses of one another. `judge`: without the
    guilty one."""
    groups: dict[str, list[int]] = {}
    for row in setting.rows:
        if row.reading < len(setting.contacts) and row.reading not in left_out:
            groups.setdefault(setting.contacts[row.reading].on, []).append(row.reading)
    best = judge.tied.chi_square - 2.0 * math.log(_WHOLE_FACE_ODDS)
    found: tuple[int, ...] = ()
    for members in (tuple(sorted(set(group))) for group in groups.values()):
        rest = _solved(setting, left_out | set(members)) if len(members) > 1 and guilty not in members else None
        if rest is not None and check(rest.fit).worst is None and rest.tied.chi_square < best:
            best, found = rest.tied.chi_square, members
    return found


def _kept(setting: Setting, left_out: frozenset[int] | set[int]) -> list[Row]:
    return [row for row in setting.rows if row.reading not in left_out]


def _solved(setting: Setting, left_out: frozenset[int] | set[int]) -> Solution | None:
    """The solution without some readings; None where no place fits the rest."""
    unknowns = setting.basis.unknowns
    at = start_from(setting.seen, setting.about, left_out)
    moved = [replace(u, start=at["xyz".index(u.name)]) if u.name in ("x", "y", "z") else u for u in unknowns]
    try:
        return solve(_kept(setting, left_out), unknowns.with_rows(moved))
    except InputRefused:
        return None


def _sizes_let_go(setting: Setting, left_out: frozenset[int], tied: Solution) -> Solution:
    """The solution in which a stated size that the readings contradict bends no number; the contradiction still shows in `tied`."""
    strained = np.abs(tied.tied.x - tied.tied.prior.mean) > _STRAINED * tied.tied.prior.standard
    wide = [replace(u, known=Normal(u.known.mean, max(u.known.standard, _ANOTHER_SIZE_MM)))
            if u.known is not None and strained[j] and u.name.startswith(_STATED) else u
            for j, u in enumerate(setting.basis.unknowns)]  # fmt: skip
    try:
        loose = solve(_kept(setting, left_out), setting.basis.unknowns.with_rows(wide))
    except InputRefused:
        return tied
    return replace(loose, tied=tied.tied) if len(loose.rows) == len(tied.rows) else tied


@dataclass(slots=True)
class _Search:
    """Chi-square of the readings without any of them, remembered."""

    setting: Setting
    unknowns: Unknowns
    equations: Equations
    readings: tuple[int, ...]
    of_row: NDArray[np.int64]
    weight: Array
    known: dict[frozenset[int], float]

    @classmethod
    def of(cls, setting: Setting, *, least_size: float = 0.0) -> _Search:
        """The place of the part is let go entirely: readings are compared with each other, not with where it should stand.
        `least_size` (mm): by how much sizes of the part, its features and preset lengths may be off, at least."""

        def loosened(u: Unknown) -> Unknown:
            if u.name in ("x", "y", "z"):
                return replace(u, known=Normal(u.start, _FAR_MM))
            if u.known is not None and u.known.standard < least_size and u.name.startswith(_STATED):
                return replace(u, known=Normal(u.known.mean, least_size))
            return u

        unknowns = setting.basis.unknowns.with_rows([loosened(u) for u in setting.basis.unknowns])
        of_row = np.array([row.reading for row in setting.rows])
        weight = np.array([1.0 / row.standard**2 for row in setting.rows])
        equations = Equations.of(list(setting.rows), unknowns)
        return cls(setting, unknowns, equations, tuple(sorted({row.reading for row in setting.rows})), of_row, weight, {})

    def chi(self, left_out: frozenset[int]) -> float:
        """Chi-square of the rest, priors included; inf where nothing fits."""
        if left_out not in self.known:
            self.known[left_out] = self._fitted(left_out)
        return self.known[left_out]

    def lowered(self, left_out: frozenset[int], guilty: tuple[int, ...]) -> float:
        """By how many standard uncertainties the guilty ones are off as the rest sees it: root of the fall of chi-square."""
        return math.sqrt(max(self.chi(left_out) - self.chi(left_out | set(guilty)), 0.0))

    def _fitted(self, left_out: frozenset[int]) -> float:
        prior = self.unknowns.prior
        stiff, mean = 1.0 / prior.standard**2, prior.mean
        x = self.unknowns.start.copy()
        for axis, value in enumerate(start_from(self.setting.seen, self.setting.about, left_out)):
            row = self.unknowns.row("xyz"[axis])
            if row is not None:
                x[row] = value
        weight = np.where(np.isin(self.of_row, sorted(left_out)), 0.0, self.weight)
        chi = math.inf
        for _ in range(_STEPS):
            residuals, jacobian = self.equations(x)
            chi = float(weight @ (residuals * residuals) + stiff @ ((x - mean) ** 2))
            normal = (jacobian.T * weight) @ jacobian + np.diag(stiff)
            size = np.sqrt(np.diag(normal)) + TINY
            pull = jacobian.T @ (weight * residuals) + stiff * (x - mean)
            x = x - np.linalg.lstsq(normal / np.outer(size, size), pull / size, rcond=None)[0] / size
            if not np.all(np.isfinite(x)):
                return math.inf
        return chi

    def worst(self, left_out: frozenset[int]) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """The reading (or pair) whose absence helps most, and those that would help nearly as much; None where none is left."""
        rest = [one for one in self.readings if one not in left_out]
        if len(rest) < 2:
            return None
        ranked = sorted(rest, key=lambda one: self.chi(left_out | {one}))
        best = self.chi(left_out | {ranked[0]})
        margin = 2.0 * math.log(_RIVAL_ODDS)
        rivals = tuple(one for one in ranked[1:] if self.chi(left_out | {one}) < best + margin)
        if rivals and len(rest) <= _MOST_PAIRED:
            pairs = sorted(combinations(rest, 2), key=lambda two: self.chi(left_out | set(two)))
            of_pair = self.chi(left_out | set(pairs[0]))
            clear = len(pairs) > 1 and self.chi(left_out | set(pairs[1])) > of_pair + margin
            if clear and best - of_pair > _PAIR_GAIN:
                return pairs[0], ()
        return (ranked[0],), tuple(sorted(rivals))


def _outlier(setting: Setting, others: Solution, reading: int, w: float, rivals: tuple[int, ...], *, size: bool) -> Outlier:
    """A reading as the others see it. `size`: a part or tool of another size than stated would explain it as well."""
    rows = [row for row in setting.rows if row.reading == reading]
    x = others.fit.x
    off = [float(Equations.of([row], others.unknowns)(x)[0][0]) for row in rows]
    worst = max(range(len(rows)), key=lambda i: abs(off[i]) / rows[i].standard)
    row, early = rows[worst], off[worst] * (rows[worst].sense or 1)
    slug, why = ("", "") if rivals or size else ("burr-under-finder" if early > 0.0 else "reading-wrong", "")
    if not rivals and abs(early) > GROSS_MM:
        either = ("", "it is wrong, or what it is compared with is not as the job says")
        slug, why = either if size else explained(setting, others, row)
    sign = math.copysign(1.0, early)
    return Outlier(reading, row.label, early, sign * w, rivals, slug=slug, why=why, kept=size, name=setting.name_of(reading),
                   others=_either(setting, rivals))  # fmt: skip


def _either(setting: Setting, readings: Sequence[int]) -> str:
    """How readings that may be wrong are spoken of: "contact 2 or 3 or length reading 1"."""
    contacts = " or ".join(str(one + 1) for one in readings if one < len(setting.contacts))
    rest = [setting.name_of(one) for one in readings if one >= len(setting.contacts)]
    return " or ".join([f"contact {contacts}", *rest] if contacts else rest)


def _all_of(setting: Setting, readings: Sequence[int]) -> str:
    """How readings that are wrong together are spoken of: "contacts 6, 7 and 8 (all on top)"."""
    numbers = [str(one + 1) for one in readings]
    return f"contacts {', '.join(numbers[:-1])} and {numbers[-1]} (all on {setting.contacts[readings[0]].on})"


def set_aside(setting: Setting, solution: Solution) -> tuple[Outlier, ...]:
    """Readings that cannot be, as the others see them."""
    found: dict[int, Outlier] = {}
    for row in setting.aside:
        why = next(one for one in setting.beyond if one.reading == row.reading)
        off = float(Equations.of([row], solution.unknowns)(solution.fit.x)[0][0])
        early = off * (row.sense or 1)
        if row.reading not in found or abs(early) > abs(found[row.reading].early):
            found[row.reading] = Outlier(row.reading, row.label, early, early / row.standard, (), slug=why.slug or "reading-wrong",
                                         why=why.text, name=setting.name_of(row.reading))  # fmt: skip
    return tuple(found[reading] for reading in sorted(found))


def first_named(diagnosis: Diagnosis, outliers: Sequence[Outlier], sifted: Sifted, *, units: str) -> Diagnosis:
    """The diagnosis with what is grossly wrong before everything else, for it was made without that: a mistake in all readings, or
    the readings that are wrong, those that have rivals among them where nothing decides."""
    gross = [replace(one, slug=one.slug or "reading-wrong") for one in outliers if one.slug or (sifted.undecided and one.rivals)]
    remedy = "read the display again and correct that reading, or make it again"
    odds = [_SMALL_ODDS * math.exp(min(0.5 * one.w * one.w, _MOST_LOG)) for one in gross]
    sure = min(max(odds) / (1.0 + max(odds)), _NAMED) if odds else 0.0
    first = [Suspected(one.slug, one.text(units), remedy, sure / len(gross)) for one in gross]
    alike = sifted.mistake
    if alike is not None:
        sure, first = _NAMED, [Suspected(alike.slug, alike.words, alike.remedy, _NAMED)]
    if not first:
        return diagnosis
    rest = [replace(one, probability=(1.0 - sure) * one.probability) for one in diagnosis.ranked
            if alike is None or one.words != alike.words]  # fmt: skip
    ranked = tuple(sorted((*first, *rest), key=lambda one: -one.probability))
    settled = sure >= SETTLED and not sifted.undecided
    return Diagnosis((1.0 - sure) * diagnosis.none, ranked, (1.0 - sure) * diagnosis.unlisted, settled,
                     "" if sure >= SETTLED else diagnosis.apart)  # fmt: skip


def explained(setting: Setting, others: Solution, row: Row) -> tuple[str, str]:
    """What was most likely done to a number that is grossly wrong: name of the slip and its words, with what the others give."""
    contact = setting.contacts[row.reading] if row.reading < len(setting.contacts) else None
    read = contact if contact is not None else setting.lengths[row.reading - len(setting.contacts)]
    axis = 2 if contact is None or contact.toward == "sweep" else "xyz".index(contact.toward[1].lower())
    if contact is not None and contact.toward == "sweep":
        axis = 0 if row.normal[0] else 1
    shown = getattr(read.display, "xyz"[axis])
    residuals, jacobian = Equations.of([row], others.unknowns)(others.fit.x)
    place = others.unknowns.row("xyz"[axis])
    slope = 1.0 if contact is None or place is None else -float(jacobian[0, place])
    if shown is None or abs(slope) < 0.1:
        return "reading-wrong", "it is a wrong number, or another face"
    right = shown - float(residuals[0]) / slope
    free = np.where(np.isfinite(others.fit.covariance), others.fit.covariance, 0.0)
    spread = math.sqrt(row.standard**2 + max(float(jacobian[0] @ free @ jacobian[0]), 0.0))
    units = "in" if "in" in (setting.kit.folder.job.units, getattr(read, "units", None)) else "mm"
    digits = shown_digits(shown, units)
    close = _MATCH * spread + (0.0001 * INCH if units == "in" else 0.001)
    fits = [(rate, slug, words) for slug, words, value, rate in _meant(shown, digits, units, read.last_step)
            if abs(value - right) <= close]  # fmt: skip
    fits += [(one.rate, one.slug, one.words.partition(": ")[2]) for one in under_z(setting, others, (row,))
             if abs(one.rows[0] - float(residuals[0])) <= close]  # fmt: skip
    beside = getattr(read.display, "yxz"[axis])
    if axis < 2 and beside is not None and abs(beside - right) <= close:
        fits.append((rate_of("axes-exchanged"), "axes-exchanged", "X and Y are exchanged"))
    best: dict[str, tuple[float, str]] = {}
    for rate, slug, words in sorted(fits, key=lambda fit: -fit[0]):
        best.setdefault(slug, (rate, words))
    likely = [words for rate, words in best.values() if _RIVAL_ODDS * rate > max(best.values())[0]]
    unit = "in" if units == "in" else "mm"
    wanted = f"{'XYZ'[axis]} {shown_digits(right, units)} {unit}"
    why = ", or ".join(likely) or "it is a wrong number, or another face"
    return next(iter(best), "reading-wrong"), f"it shows {'XYZ'[axis]} {digits} {unit}, and the others give {wanted}: {why}"


def _meant(shown: float, digits: str, units: str, step: float) -> Iterator[tuple[str, str, float, float]]:
    """What may have been meant by a number: slip, words, the number (mm), how often among all the ways to get it wrong."""
    per = INCH if units == "in" else 1.0
    yield "sign-lost", "the sign is wrong", -shown, rate_of("sign-lost")
    yield "inch-for-mm", "it was read in inches and written as mm", shown * INCH, rate_of("inch-for-mm")
    yield "mm-for-inch", "it was read in mm and written as inches", shown / INCH, rate_of("mm-for-inch")
    for factor in (10.0, 0.1, 100.0, 0.01):
        yield "decimal-point", "the decimal point is in the wrong place", shown * factor, 0.25 * rate_of("decimal-point")
    swaps = list(transposed(digits))
    for text in swaps:
        yield "digits-exchanged", "two digits are exchanged", float(text) * per, rate_of("digits-exchanged") / len(swaps)
    other = list(_one_digit_other(digits))
    for text in other:
        yield "mistyped", "one digit is wrong", float(text) * per, rate_of("mistyped") / len(other)
    for count, many in ((_TURN, "a turn"), (10, "ten steps"), (1, "a step"), (10 * _TURN, "ten turns")):
        size = count * (step or _USUAL_STEP[units] * per)
        for sign in (-1.0, 1.0):
            words = f"it is off by {many} of the handwheel"
            yield "handwheel-zero-lost", words, shown + sign * size, rate_of("handwheel-zero-lost") / 8.0


def _one_digit_other(digits: str) -> Iterator[str]:
    for place, old in enumerate(digits):
        if old.isdigit():
            yield from (digits[:place] + new + digits[place + 1 :] for new in "0123456789" if new != old)
