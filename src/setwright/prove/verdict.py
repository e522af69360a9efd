"""The verdict of a proof: what was found, and in the same breath what was not looked at and which guesses it rests on.

One function makes the sentence; terminal, page, sheet and document show it as it stands. It gathers every station: what Read did
not understand, what Kit does not describe, what Touch doubts or nobody has measured, and what Prove found or could not decide.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from setwright.model.finding import Finding, Signal, State, fold, worst_first
from setwright.prove.case import Rest
from setwright.prove.parting import holders_of
from setwright.prove.single_edge import shift_is_known, unstated_edges
from setwright.prove.station import Proof
from setwright.read.checks import unknown_function

__all__ = ["Open", "Verdict", "verdict"]

_MOST_UNDECIDED: Final = 2
"""Undecided things named in the headline; the others are counted there, and each is listed as open."""
_MOST_CALLED: Final = 5
"""Tools and offsets behind a stop named one by one."""


@dataclass(frozen=True, slots=True)
class Open:
    """Something that was not looked at or rests on nothing, and where to put that right (line 0: the file as a whole)."""

    text: str
    file: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Verdict:
    """The headline, whole; `open`: what was not looked at; `rests_on`: the guesses, those that decide first."""

    text: str
    open: tuple[Open, ...]
    rests_on: tuple[Rest, ...]


def verdict(proof: Proof) -> Verdict:
    """What a proof says. "Nothing hits" stands by itself only where nothing is open and no guess decides; what may hit, if a blank
    or a length is not what it is taken for, goes with "Nothing hits for certain"."""
    found = [finding for finding in fold(proof.findings) if finding.state is State.FOUND]
    undecided = _undecided(proof)
    blind = list(_not_looked_at(proof))
    rests = tuple(sorted(proof.rests_on, key=lambda rest: rest.rank))
    said = _named([one.text for one in undecided]) + [one.text for one in blind]
    blank = [f"not looked at: {', '.join(said)}"] if said else []
    behind = [*_doubted(proof, found), *_deciding(rests), *blank, *_untried(rests)]
    measured = " (on measured offsets)" if proof.truth.source == "touch" else ""
    head = _head(proof, found, whole=not behind)
    return Verdict(f"{'; '.join([head + measured, *behind])}.", (*undecided, *blind), rests)


def _head(proof: Proof, found: Sequence[Finding], *, whole: bool) -> str:
    """What was found; `whole`: nothing is open."""
    worst = [finding for finding in found if finding.signal in (Signal.DANGER, Signal.WARNING)]
    danger = bool(worst) and worst[0].signal is Signal.DANGER
    if proof.stopped:
        head = f"NOT PROVED beyond {proof.stopped[-1].span or 'the start'}: something in the program is not understood"
        return f"{_worst(worst)}, and {head}" if danger else head
    if not len(proof.moves):
        return "NOT PROVED: the program moves nothing"
    if danger:
        return _worst(worst)
    if worst:
        bodies = [one.body for one in proof.findings if one.state is State.FOUND and one.signal is Signal.WARNING]
        return f"Nothing hits for certain; {_worst(worst)}" if any(bodies) else f"Nothing hits, but {_worst(worst)}"
    met = bool(proof.features) and all(feature.state in ("in", "measured") for feature in proof.features)
    sizes = ", and every requirement comes out" if met else ""
    return f"Nothing hits{'' if whole else ' in what was looked at'}{sizes}"


def _worst(worst: Sequence[Finding]) -> str:
    """The finding that matters first, in its own words, and how many more stand beside it."""
    first, more = worst[0], len(worst) - 1
    place = f" ({first.file}:{first.line})" if first.line else ""
    return f"{first.signal.value}: {first.text.rstrip('.')}{place}" + (f", and {more} more" if more else "")


def _doubted(proof: Proof, found: Sequence[Finding]) -> Iterator[str]:
    """What Touch doubts, where something worse stands in the headline before it."""
    doubts = [doubt for doubt in worst_first(list(proof.truth.doubts)) if doubt.signal in (Signal.DANGER, Signal.WARNING)]
    if doubts and found[0].slug not in {doubt.slug for doubt in doubts}:
        yield f"station Touch doubts the readings: {doubts[0].text.rstrip('.')}"


def _deciding(rests: Sequence[Rest]) -> Iterator[str]:
    """The guesses that decide, each with where it does; what comes before what goes, and what several bring about once."""
    deciding = sorted((rest for rest in rests if rest.decides), key=lambda rest: ": no longer " in rest.how)
    alike: dict[str, list[Rest]] = {}
    for rest in deciding:
        alike.setdefault(rest.how.partition(": ")[2] or rest.how, []).append(rest)
    told = [f"{first.guess} ({first.how})" + "".join(f", likewise {rest.guess} ({rest.how.partition(': ')[0]})" for rest in same)
            for first, *same in alike.values()]  # fmt: skip
    if deciding:
        yield f"it rests on {'a guess' if len(deciding) == 1 else 'guesses'}: {', '.join(told)}"


def _untried(rests: Sequence[Rest]) -> Iterator[str]:
    """How many guesses may decide as well: nobody could try what becomes of the setup with another answer."""
    count, total = sum(rest.decides is None for rest in rests), len(rests)
    if count == total:
        yield from [f"{count} guess{'es were' if count > 1 else ' was'} not tried"] if count else []
    elif count:
        yield f"{count} of {total} guesses could not be tried"


def _named(texts: Sequence[str]) -> list[str]:
    more = len(texts) - _MOST_UNDECIDED
    return [*texts[:_MOST_UNDECIDED], *([f"{more} more undecided"] if more > 0 else [])]


def _undecided(proof: Proof) -> list[Open]:
    """What a check could not decide, each reason once."""
    found: dict[str, Open] = {}
    for one in worst_first([finding for finding in proof.findings if finding.state is State.UNDECIDED]):
        why = one.text.removeprefix("undecided: ").rstrip(".")
        found.setdefault(why, Open(why, one.file, one.line))
    return list(found.values())


# --- what nobody looked at ---------------------------------------------------------------------------------------------------


def _not_looked_at(proof: Proof) -> Iterator[Open]:
    yield from _not_run(proof)
    yield from _not_measured(proof)
    yield from _not_described(proof)
    yield from _not_understood(proof.findings)
    yield from _not_loaded(proof)


def _not_run(proof: Proof) -> Iterator[Open]:
    """What comes behind the place where the program was left."""
    path = proof.reading.interpreted.path
    if proof.stopped:
        span = proof.stopped[-1].span
        yield Open(f"what follows there{_behind(proof)}", span.file if span else "", span.line if span else 0)
    elif not proof.case.whole and len(path):
        file, line = path.files[int(path.file[-1])], int(path.line[-1])
        yield Open(f"what follows line {line} of {file}", file, line)


def _behind(proof: Proof) -> str:
    """How much stands behind the stop, and which tools and offsets are called in it."""
    unread = proof.reading.unread
    if unread is None:
        return ""
    called = [*(f"T{number}" for number in unread.tools), *unread.offsets]
    if len(called) > _MOST_CALLED:
        called = [*called[: _MOST_CALLED - 1], f"{len(called) - _MOST_CALLED + 1} more"]
    blocks = f"{unread.blocks} block{'s' * (unread.blocks != 1)}"
    return f" ({blocks}{f', with {_listed(called)}' if called else ''})"


def _not_measured(proof: Proof) -> Iterator[Open]:
    """Registers: the place of the work offset, and the lengths that nobody has measured."""
    setup, truth = proof.kit.setup, proof.truth
    used = set(proof.removed) & set(proof.kit.tools)
    missing = sorted(used & set(truth.unmeasured))
    lengths = _lengths(missing, every=len(missing) == len(used))
    if truth.source != "touch":
        also = f" and {lengths}" if lengths else ""
        yield _in_job(proof, f"{setup.offset}{also} (expected, not measured)", "offset")
    elif lengths:
        row = next(n for n, tool in enumerate(setup.tool) if tool.station == missing[0])
        yield _in_job(proof, f"{lengths} (not measured)", "tool", row)


def _lengths(stations: Sequence[int], *, every: bool) -> str:
    if not stations:
        return ""
    return "the tool lengths" if every else f"the length{'s' * (len(stations) > 1)} of {_listed(f'T{n}' for n in stations)}"


def _not_described(proof: Proof) -> Iterator[Open]:
    """What nobody has said holds the blank, and how much the blank may differ from what is stated."""
    kit = proof.kit
    if not holders_of(kit.placement.bodies):
        yield _in_job(proof, "what clamps the blank (not described)", "holding")
    blank = kit.setup.blank
    if "varies" not in blank.model_fields_set:
        yield _in_job(proof, f"how much the blank{_from(blank.from_)} varies (not stated)", "blank")
    if proof.blank_open:
        yield _in_job(proof, proof.blank_open, "blank")
    path, profile = proof.case.path, proof.reading.profile
    for station in unstated_edges(proof.moves, path, kit, profile):
        row = next(n for n, tool in enumerate(kit.setup.tool) if tool.station == station)
        yield _in_job(proof, f"where the edge of T{station} points while it stands (not stated)", "tool", row)
    if not shift_is_known(kit, proof.reading.interpreted):
        yield _in_job(proof, "which way the control moves a stopped boring bar (not stated)", "machine")


def _from(setup: str | None) -> str:
    return "" if setup is None else f" from “{setup}”"


def _not_understood(findings: Iterable[Finding]) -> Iterator[Open]:
    """Functions of the machine of which nobody has said what they do."""
    unknown = [finding for finding in findings if finding.slug == unknown_function.META.slug]
    names = dict.fromkeys(name for one in unknown for name in re.findall(r"\b(?:M\d+|E)\b", one.text))
    if unknown:
        yield Open(f"what {_listed(names)} do{'es' * (len(names) == 1)}", unknown[0].file, unknown[0].line)


def _not_loaded(proof: Proof) -> Iterator[Open]:
    """The cutting load, in one breath; what of it and why stands with the load itself."""
    load = proof.load
    if load is not None and load.open:
        span = proof.kit.folder.places.of(("job",))
        yield Open("parts of the cutting load" if load.tools else load.open[0], span.file, span.line)


def _listed(names: Iterable[str]) -> str:
    every = list(names)
    return every[0] if len(every) == 1 else f"{', '.join(every[:-1])} and {every[-1]}"


def _in_job(proof: Proof, text: str, *path: str | int) -> Open:
    """Something to put right in this setup's part of job.toml."""
    folder = proof.kit.folder
    number = [setup.name for setup in folder.job.setup].index(proof.kit.setup.name)
    span = folder.places.of(("setup", number, *path))
    return Open(text, span.file, span.line)
