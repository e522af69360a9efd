"""Which setup mistake, if any, would explain the readings, what the control holds, and what was seen when hovering.

Every hypothesis predicts three things: a shift of the readings' equations, a shift of the registers, an error of the tip when it
stands over the datum. Its likelihood is the Gaussian density of what was observed about that prediction, sizes it leaves open
integrated out; the posterior follows from the rates (Bayes). One mistake at a time is considered.

Their rival is something that is not in the list: odd in one place or in several, by any amount (normal mixtures of three widths),
and normal in all others. A place is a face, what one tool or finder met on it, a single reading, a register or what was seen when
hovering. An answer is settled when it holds 95 % and what was read is not further from it than one time in a thousand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from setwright.base.errors import InputRefused
from setwright.base.tolerance import TINY
from setwright.estimate.least_squares import Array
from setwright.model.reading import Contact, Readings
from setwright.slips.catalogue import FITS, ODD, SETTLED, UNLISTED_RATE
from setwright.touch.doubts import tells_apart
from setwright.touch.equations import Kind
from setwright.touch.hypotheses import SPAN_MM, Hypothesis, of_readings, of_registers
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting, prepare
from setwright.touch.solution import Solution, solve

__all__ = ["Diagnosis", "Hovered", "Suspected", "Trace", "Traces", "diagnose", "traces"]

_SHOWN = 5
_WORTH_SHOWING = 0.005
_ODD_BY_MM = (1.0, 10.0, 100.0)
_MOST_ODD = 3


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
    """`none`: probability that there was no mistake; `unlisted`: that it is something that is not in the list; `ranked`: the
    suspected ones, likeliest first. `settled`: one answer holds 95 % and fits; else `apart`: the touch that tells the two likeliest
    answers from one another, "" where none does."""

    none: float
    ranked: tuple[Suspected, ...]
    unlisted: float = 0.0
    settled: bool = True
    apart: str = ""


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

    def columns(self, places: Sequence[Mapping[int, float]]) -> Array:
        """Whitened shifts (m, k) of k sets of rows, each by what it adds to them."""
        found = np.zeros((self.weight.size, len(places)))
        for j, rows in enumerate(places):
            for row, value in rows.items():
                found[row, j] = value * self.weight[row]
        return found

    def loosened(self, columns: Array, chosen: NDArray[np.int64], wide: float) -> tuple[Array, Array]:
        """Some `columns` (m, k) at a time, by number in `chosen` (c, d), each off by N(0, wide²): log likelihood over that of no
        shift (c,), and the most probable sizes (c, d).

        ½ b′(K + I/s²)⁻¹b − ½ ln det(I + s²K) with columns G of the chosen, b = G′r and K = G′PG: the size integrated out.
        """
        b, k = columns.T @ self.residuals, columns.T @ self.projector @ columns
        stiff = k[chosen[:, :, None], chosen[:, None, :]] + np.eye(chosen.shape[1]) / wide**2
        pull = b[chosen]
        off = np.linalg.solve(stiff, pull[:, :, None])[:, :, 0]
        log = 0.5 * (pull * off).sum(axis=1) - 0.5 * np.linalg.slogdet(stiff)[1] - chosen.shape[1] * math.log(wide)
        return np.asarray(log, dtype=np.float64), np.asarray(off, dtype=np.float64)

    def left(self, shift: Array) -> float:
        """Chi-square of what is left of the readings once a whitened shift is taken off them."""
        rest = self.residuals - self.projector @ shift
        return float(rest @ rest)


@dataclass(frozen=True, slots=True)
class Trace:
    """What the readings say about one mistake: the log of how much better they fit it than none, the `errors` it puts into the
    registers (mm, by entry), the chi-square `left`, and the unknowns `x` (n,) as they are if it was made."""

    hypothesis: Hypothesis
    gained: float
    errors: Mapping[str, float]
    left: float
    x: Array


@dataclass(frozen=True, slots=True)
class Traces:
    """`found`: every mistake in the readings. `none`: no mistake; `unlisted`: something that is not in the list, `normal` the log
    of how probably it shows nowhere in the readings; `odd_on`: the faces where it shows most probably."""

    found: tuple[Trace, ...]
    none: Trace
    unlisted: Trace
    normal: float
    odd_on: frozenset[str]


def traces(setting: Setting, solution: Solution, numbers: tuple[Entry, ...]) -> Traces:
    """What the readings alone say about each mistake: the same whatever the control holds and whatever is seen when hovering."""
    system = _System.of(solution)
    nothing = Hypothesis("", "", "")
    none = Trace(nothing, 0.0, {}, system.left(np.zeros(system.weight.size)), solution.tied.x)
    found = tuple(_traced(h, none, system, solution, setting, numbers) for h in of_readings(setting, solution))
    return Traces(found, none, *_unlisted(setting, solution, system, none, numbers))


def _traced(hypothesis: Hypothesis, none: Trace, system: _System, solution: Solution, setting: Setting,
            numbers: tuple[Entry, ...]) -> Trace:  # fmt: skip
    if hypothesis.undone is not None:
        return _undone(hypothesis, hypothesis.undone, none, solution, setting, numbers)
    if hypothesis.loose:
        columns = system.columns([{system.prior_row[name]: 1.0} for name in hypothesis.loose if name in system.prior_row])
        log, off = system.loosened(columns, np.arange(columns.shape[1])[None, :], hypothesis.spread)
        shift = columns @ off[0]
        return Trace(hypothesis, float(log[0]), {}, system.left(shift), none.x + system.estimator @ shift)
    along = system.direction(hypothesis)
    if along is None:
        return replace(none, hypothesis=hypothesis)
    gained, size = system.gain(along, hypothesis)
    moved = -(system.estimator @ along) * size
    errors = _register_errors(moved, numbers, solution) if hypothesis.rows else {}
    return Trace(hypothesis, gained, errors, system.left(along * size), none.x - moved)


def _unlisted(setting: Setting, solution: Solution, system: _System, none: Trace,
              numbers: tuple[Entry, ...]) -> tuple[Trace, float, frozenset[str]]:  # fmt: skip
    """The readings under something that is not in the list, odd somewhere in them; the log of how probably it is nowhere; the faces
    where it is, most probably.

    Places are taken from coarse to fine, each way alike probable; of several, each is odd by an amount of its own.
    """
    ways = list(_places(setting, solution))
    some, nowhere = [-math.inf], []
    best, shift, where = -math.inf, np.zeros(system.weight.size), frozenset[str]()
    for places in ways:
        columns = system.columns([rows for _, rows in places])
        nowhere.append(len(places) * math.log1p(-ODD))
        for size in range(1, min(len(places), _MOST_ODD) + 1):
            chosen = np.array(list(combinations(range(len(places)), size)))
            weight = size * math.log(ODD) + (len(places) - size) * math.log1p(-ODD) - math.log(len(_ODD_BY_MM))
            for wide in _ODD_BY_MM:
                log, off = system.loosened(columns, chosen, wide)
                log = log + weight
                some.append(float(np.logaddexp.reduce(log)) - math.log(len(ways)))
                first = int(np.argmax(log))
                if log[first] > best:
                    best, shift = float(log[first]), columns[:, chosen[first]] @ off[first]
                    where = frozenset(places[j][0] for j in chosen[first])
    moved = -(system.estimator @ shift)
    odd = Trace(none.hypothesis, float(np.logaddexp.reduce(some)), _register_errors(moved, numbers, solution), system.left(shift),
                none.x - moved)  # fmt: skip
    return odd, float(np.logaddexp.reduce(nowhere)) - math.log(len(ways)), where


def _places(setting: Setting, solution: Solution) -> Iterator[list[tuple[str, dict[int, float]]]]:
    """What may be odd by itself, each with its face and what it adds to the rows of the readings, mm: faces, what one tool or
    finder met on a face, single rows. A round face may be odd in its size and in its place."""
    contacts, known = setting.contacts, list[list[tuple[str, dict[int, float]]]]()
    for level in range(3):
        groups: dict[tuple[object, ...], list[int]] = {}
        for i, row in enumerate(solution.rows):
            read = contacts[row.reading] if row.reading < len(contacts) else setting.lengths[row.reading - len(contacts)]
            by = read.with_ if read.tool is None else read.tool
            groups.setdefault((read.on, *(() if level == 0 else (by,) if level == 1 else (i,))), []).append(i)
        places: list[tuple[str, dict[int, float]]] = []
        for (on, *_), rows in groups.items():
            places.append((str(on), dict.fromkeys(rows, 1.0)))
            if len(rows) > 1 and all(solution.rows[i].kind == Kind.ROUND for i in rows):
                places += [(str(on), {i: solution.rows[i].normal[axis] for i in rows}) for axis in (0, 1)]
        if places not in known:
            known.append(places)
            yield places


def diagnose(setting: Setting, solution: Solution, numbers: tuple[Entry, ...], hovered: Sequence[Hovered] = (), *,
             seen: Traces | None = None, units: str = "mm") -> Diagnosis:  # fmt: skip
    """Rank the mistakes by their posterior probability. `seen`: the traces in these readings, where they were worked out before;
    `units`: of what a display shows in the sentence of the touch that tells two answers apart."""
    of_them = seen or traces(setting, solution, numbers)
    typed = [replace(of_them.none, hypothesis=h, errors=h.registers) for h in of_registers(setting, solution, numbers)]
    found = [*typed, *of_them.found]
    rate = max(1.0 - UNLISTED_RATE - math.fsum(trace.hypothesis.rate for trace in found), 0.5)
    none = replace(of_them.none, hypothesis=replace(of_them.none.hypothesis, share=rate))
    logs = [_log_weight(trace, setting, numbers, hovered) for trace in (none, *found)]
    logs.append(math.log(UNLISTED_RATE) + _log_unlisted(of_them, setting, numbers, hovered))
    shares = np.exp(np.array(logs) - max(logs))
    shares /= shares.sum()
    kinds = _kinds(found, shares[1:-1].tolist())
    ranked = tuple(Suspected(h.slug, h.words, h.remedy, share, h.told) for share, trace in kinds[:_SHOWN]
                   if share >= _WORTH_SHOWING for h in [trace.hypothesis])  # fmt: skip
    quiet, unlisted = float(shares[0]), float(shares[-1])
    answers = sorted([(unlisted, of_them.unlisted), *kinds], key=lambda one: -one[0])
    unseen = math.fsum(share for share, trace in kinds if not hovered and _leaves_no_trace(trace, numbers))
    if quiet >= 0.5:
        answers = [(quiet + unseen, none), *answers]
    (most, first), (_, second) = answers[:2]
    settled = most >= SETTLED and (first is of_them.unlisted or _fits(first, solution, numbers))
    odd_on = of_them.odd_on if of_them.unlisted in (first, second) else frozenset[str]()
    apart = "" if settled else tells_apart(setting, solution, first.x, second.x, not_on=odd_on, units=units)
    return Diagnosis(quiet, ranked, unlisted, settled, apart)


def _kinds(found: Sequence[Trace], shares: Sequence[float]) -> list[tuple[float, Trace]]:
    """Mistakes of one kind with one effect are one, with the likeliest of them; by their probability."""
    kinds: dict[tuple[str, str], list[tuple[float, Trace]]] = {}
    for trace, share in zip(found, shares, strict=True):
        kinds.setdefault((trace.hypothesis.slug, trace.hypothesis.words), []).append((share, trace))
    ranked = [(math.fsum(share for share, _ in members), max(members, key=lambda one: one[0])[1]) for members in kinds.values()]
    return sorted(ranked, key=lambda one: (-one[0], one[1].hypothesis.slug, one[1].hypothesis.words))


def _leaves_no_trace(trace: Trace, numbers: tuple[Entry, ...]) -> bool:
    """Whether a mistake is one of registers that nobody read off: so far it is as good as none."""
    own = {*trace.hypothesis.registers, *trace.hypothesis.anything, *trace.hypothesis.together}
    made = trace.hypothesis
    readings = made.rows or made.priors or made.loose or made.undone is not None
    return not readings and all(entry.now is None for entry in numbers if entry.name in own)


def _fits(trace: Trace, solution: Solution, numbers: tuple[Entry, ...]) -> bool:
    """Whether the readings and what the registers hold are not further from a mistake than one time in a thousand."""
    free = {*trace.hypothesis.anything, *trace.hypothesis.together}
    held = [(e.now - e.rounded - trace.hypothesis.registers.get(e.name, 0.0)) / math.hypot(e.estimate.standard, e.step)
            for e in numbers if e.now is not None and e.name not in free]  # fmt: skip
    dof = solution.tied.dof + len(held)
    return dof <= 0 or float(gammaincc(0.5 * dof, 0.5 * (trace.left + math.fsum(off * off for off in held)))) >= FITS


def _log_weight(trace: Trace, setting: Setting, numbers: tuple[Entry, ...], hovered: Sequence[Hovered]) -> float:
    """Log of rate × likelihood, up to a constant common to all hypotheses."""
    hypothesis = trace.hypothesis
    total = math.log(hypothesis.rate) + hypothesis.found_in + trace.gained
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
        total += _log_hover(seen, trace.errors, hypothesis, setting, numbers)
    return total


def _log_unlisted(seen: Traces, setting: Setting, numbers: tuple[Entry, ...], hovered: Sequence[Hovered]) -> float:
    """Log likelihood of something that is not in the list: odd somewhere, each register and each thing seen by itself as well."""
    everywhere, elsewhere, sights = 0.0, 0.0, 0
    for normal, wide in _sights(seen, setting, numbers, hovered):
        sights += 1
        elsewhere += math.log1p(-ODD) + normal
        everywhere += float(np.logaddexp(math.log1p(-ODD) + normal, math.log(ODD) - wide * math.log(SPAN_MM)))
    in_registers = everywhere + math.log(max(-math.expm1(elsewhere - everywhere), TINY))  # in one of them at least
    nowhere = seen.normal + sights * math.log1p(-ODD)
    if nowhere >= 0.0:  # nothing was read in which it could show
        return 0.0
    odd = float(np.logaddexp(seen.unlisted.gained + everywhere, seen.normal + in_registers))
    return odd - math.log(-math.expm1(nowhere))


def _sights(seen: Traces, setting: Setting, numbers: tuple[Entry, ...], hovered: Sequence[Hovered]) -> Iterator[tuple[float, int]]:
    """Every register that was read off and every hover: its log likelihood when all is normal, and how many numbers it is."""
    for entry in numbers:
        if entry.now is not None:
            yield _log_normal(entry.now - entry.rounded, math.hypot(entry.estimate.standard, entry.step)), 1
    for over in hovered:
        judged = sum(value is not None for value in (over.x, over.y, over.z))
        yield _log_hover(over, {}, seen.none.hypothesis, setting, numbers), judged


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


def _undone(hypothesis: Hypothesis, contacts: tuple[Contact, ...], none: Trace, solution: Solution, setting: Setting,
            numbers: tuple[Entry, ...]) -> Trace:  # fmt: skip
    """The trace of a mistake that is too large for a shift, by solving the corrected readings."""
    never = replace(none, hypothesis=hypothesis, gained=-math.inf)
    lengths = setting.lengths if hypothesis.undone_lengths is None else hypothesis.undone_lengths
    readings = Readings(contact=contacts, tool_length=lengths)
    try:
        corrected = prepare(setting.kit, readings, setting.conditions)
        if len(corrected.aside) > len(setting.aside):  # the readings that were meant lie outside the travel: it was not that
            return never
        other = solve(corrected.rows, corrected.basis.unknowns)
    except InputRefused:
        return never
    changed = sum(new is not old for new, old in zip((*contacts, *lengths), (*setting.contacts, *setting.lengths), strict=True))
    gained = 0.5 * (solution.tied.chi_square - other.tied.chi_square) + changed * math.log(hypothesis.stretch)
    moved = np.array([solution.value(u.name) - other.value(u.name) for u in solution.unknowns])
    x = np.array([float(other.tied.x[row]) if (row := other.unknowns.row(u.name)) is not None else float(none.x[j])
                  for j, u in enumerate(solution.unknowns)])  # fmt: skip
    return Trace(hypothesis, gained, _register_errors(moved, numbers, solution), other.tied.chi_square, x)


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
