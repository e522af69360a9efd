"""Which guesses decide: each one is moved to the ends of its plausible range, and the setup is proved again.

A guess decides where a finding that would hurt or spoil (DANGER or WARNING) comes or goes with it. The number from which on it does
is looked for between the guess and that end, by halving; what is named is the last number at which nothing had changed yet. A guess
without a range, one for which the work would be too much, and one whose other end does not go together stay untried: that is not
the same as "it does not matter". Flutes and stick-outs need no proof where all that they change stays above everything.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from setwright.base.errors import InputRefused
from setwright.base.tolerance import SAME_PLACE_MM
from setwright.base.units import format_size, rounded_towards
from setwright.geometry.moves import extent_of
from setwright.kit.findings import kit_findings
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.finding import Finding, Signal, State, worst_first
from setwright.model.job import BOX_FACES, Guess
from setwright.program.motions import moves_in_machine
from setwright.prove.case import Rest
from setwright.prove.checks import contact_within_uncertainty
from setwright.prove.compute import Progress
from setwright.prove.margin import spread_of
from setwright.prove.readings import READING_SLUG
from setwright.prove.stage import default_pitch
from setwright.prove.station import Proof, prove

__all__ = ["with_tried_guesses"]

_MOST_MOTIONS: Final = 200_000
"""Motions run in trying the ends of a setup's guesses, all together; the guesses behind that stay untried."""
_MOST_HALVED: Final = 20_000
"""Motions run in halving, all together; behind that the end itself is named, not the number from which on it hurts."""
_MOST_RAYS: Final = 30_000
"""Rays of a try: it is coarser than the proof where the blank is large. Contacts with the holding do not depend on it."""
_UP: Final = 2
_HALVINGS: Final = 5
"""A thirty-second of the way between the guess and its end: near enough for somebody who is about to measure it."""

Values = tuple[float, ...]
Key = tuple[str, int | None, str]


def with_tried_guesses(proof: Proof, *, progress: Progress | None = None) -> Proof:
    """The proof with every guess of its setup judged: whether it decides, and how. Lengths are told in the job's units."""
    guesses = [guess for guess in proof.kit.folder.job.guess if guess.setup in ("", proof.kit.setup.name)]
    trials, judged = _Trials(proof), list(proof.rests_on)
    deciding: list[tuple[int, Values, str]] = []
    for number, guess in enumerate(guesses):
        if progress is not None:
            progress("trying the guesses", number, len(guesses))
        known = _by_reading(proof, guess, judged[number])
        decides, end, told = (known.decides, (), known.how) if known is not None else trials.decides(guess)
        judged[number] = replace(judged[number], decides=decides, how=told)
        if end:
            deciding.append((number, end, told))
    trials.left = _MOST_HALVED
    for number, end, told in deciding:
        judged[number] = replace(judged[number], how=trials.how(guesses[number], end, told))
    return replace(proof, rests_on=tuple(judged))


def _by_reading(proof: Proof, guess: Guess, rest: Rest) -> Rest | None:
    """A behaviour of the control whose other readings were proved already."""
    name = guess.key.partition("control.behaviours.")[2]
    if not name or not any(other.behaviour == name for other in proof.reading.others):
        return None
    found = [finding for finding in proof.findings if finding.slug == READING_SLUG and f"reads {name} as" in finding.text]
    if any(finding.state is State.UNDECIDED for finding in found):
        return rest
    bad = worst_first([finding for finding in found if finding.signal in (Signal.DANGER, Signal.WARNING)])
    return replace(rest, decides=bool(bad), how=bad[0].text.rstrip(".") if bad else "")


def _that_matter(findings: Sequence[Finding]) -> dict[Key, Finding]:
    """What would hurt or spoil, one of a kind: by check, tool and body."""
    found: dict[Key, Finding] = {}
    for one in worst_first([finding for finding in findings if finding.state is State.FOUND and finding.slug != READING_SLUG]):
        if one.signal in (Signal.DANGER, Signal.WARNING):
            found.setdefault((one.slug, one.tool, one.body), one)
    return found


def _coarse(of: Kit) -> float:
    """The ray spacing at which a blank of that size has as many rays as a try may have, mm."""
    x, y, z = (of.extent[1] - of.extent[0]).tolist()
    return max(default_pitch(of), math.sqrt((x * y + y * z + z * x) / _MOST_RAYS))


@dataclass(slots=True)
class _Trials:
    """Proofs of one setup with one guess moved; `left`: how many motions may still be run."""

    proof: Proof
    left: int = field(default_factory=lambda: _MOST_MOTIONS)
    pitch_mm: float = field(init=False)
    first: dict[Key, Finding] | None = None

    def __post_init__(self) -> None:
        self.pitch_mm = _coarse(self.proof.kit)

    def decides(self, guess: Guess) -> tuple[bool | None, Values, str]:
        """Whether a guess decides, None where that is not known; the end that does, the larger first, and what happens there."""
        if guess.low and self._above_all(guess):
            return False, (), ""
        undecided = not guess.low
        for end in _ends(guess, self._now(guess)) if guess.low else ():
            told = self._change(guess, end)
            if told:
                return True, end, told[1]
            undecided = undecided or told is None
        return (None if undecided else False), (), ""

    def _above_all(self, guess: Guess) -> bool:
        """Whether a guess of flutes or of a stick-out changes nothing but what always stays above metal and holding: then it
        decides nothing, and no proof is needed to know it."""
        file, _, place = guess.key.partition(": ")
        of, tools = self.proof.kit, self.proof.kit.setup.tool
        sticks = place.startswith("setup.tool.") and place.endswith(".stickout")
        stations = [tool.station for tool in tools if sticks and place.split(".")[2] == str(tool.station)]
        stations += [tool.station for tool in tools if place == "flute_length" and file == f"shop/tools/{tool.use}.toml"]
        if not stations or (sticks and not self._own_lengths()):
            return False
        (now,) = self._now(guess)
        least, most = min(guess.low[0], now), max(guess.high[0], now)
        if not all(self._stays_above(station, least, most - now if sticks else 0.0, now - least if sticks else 0.0)
                   for station in stations):  # fmt: skip
            return False
        bad = []
        for value in (least, now, most):
            job = of.folder.job.with_guess(guess, (value,))
            try:
                moved = kit(replace(of.folder, job=job), job.setup_named(of.setup.name), extent=of.extent)
            except InputRefused:
                return False
            bad.append(set(_that_matter(kit_findings(moved))))
        return bad[0] == bad[1] == bad[2]

    def _own_lengths(self) -> bool:
        """Whether every tool works with its own length, wherever one is applied."""
        own = {tool.station: tool.length_register or tool.station for tool in self.proof.kit.setup.tool}
        states = self.proof.reading.interpreted.path.states
        return all(state.length_register in (0, own.get(state.tool, 0)) for state in states)

    def _stays_above(self, station: int, height: float, longer: float, shorter: float) -> bool:
        """Whether a tool from `height` above its tip on stays above metal and holding, and inside the travel, also where it sticks
        out by so much more or less (mm)."""
        proof, of, path = self.proof, self.proof.kit, self.proof.reading.interpreted.path
        mine = np.array([state.tool == station for state in path.states])[path.state]
        if not mine.any():
            return True
        applied = np.array([frame.offset != "machine" and (of.setup.lengths != "registers" or frame.length_applied != 0.0)
                            for frame in path.frames])[path.frame]  # fmt: skip
        held = applied & np.roll(applied, 1) & np.roll(mine, 1)  # at both its ends the tip is where the program says
        held[0] = False
        bounds = [body.bounds() for body in of.placement.bodies]
        corners = np.array([*bounds, of.extent])
        spread = spread_of(of, proof.truth, (corners[:, 0].min(axis=0), corners[:, 1].max(axis=0))).half[2]
        top = float(corners[:, 1, 2].max()) + float(spread) + max(copy[2] for copy in of.copies)
        low = extent_of(proof.moves)[0][:, 2] - np.where(held[proof.moves.ident], 0.0, longer)
        in_machine = moves_in_machine(path).end[mine & applied, 2]
        least, most = of.machine.travel.z
        inside = not in_machine.size or (in_machine.min() - shorter >= least and in_machine.max() + longer <= most)
        return bool(inside and (low[mine[proof.moves.ident]] + height > top + SAME_PLACE_MM).all())

    def _change(self, guess: Guess, values: Values) -> tuple[()] | tuple[str, str] | None:
        """What comes or goes with a guess answered so, its check and its text; () for nothing, None where that could not be found
        out."""
        if all(abs(a - b) <= SAME_PLACE_MM for a, b in zip(values, self._now(guess), strict=True)):
            return ()
        found = self._found(guess, values)
        if self.first is None:
            self.first = self._found(guess, self._now(guess))
        if found is None or self.first is None:
            return None
        came = worst_first([finding for key, finding in found.items() if key not in self.first])
        gone = worst_first([finding for key, finding in self.first.items() if key not in found])
        if came:
            return came[0].slug, _said(came[0])
        return (gone[0].slug, f"no longer “{_said(gone[0])}”") if gone else ()

    def _found(self, guess: Guess, values: Values) -> dict[Key, Finding] | None:
        """What a proof of the setup finds with a guess answered so; None where that does not go together, or is too much work."""
        self.left -= len(self.proof.moves)
        if self.left < 0:
            return None
        before = self.proof.kit
        job = before.folder.job.with_guess(guess, values)
        setup = job.setup_named(before.setup.name)
        blank = self.proof.before if setup.blank.from_ is not None else None
        truth = self.proof.truth
        try:
            moved = kit(replace(before.folder, job=job), setup, extent=before.extent if blank is not None else None)
            truth = truth if truth.source == "touch" else nominal_truth(moved)
            return _that_matter(prove(moved, truth, blank=blank, pitch_mm=self.pitch_mm, distances=False).findings)
        except InputRefused:
            return None

    def _now(self, guess: Guess) -> Values:
        return self.proof.kit.folder.job.answer_of(guess)

    def how(self, guess: Guess, end: Values, told: str) -> str:
        """From which number on what happens; the number is the last one at which nothing had changed yet."""
        now = self._now(guess)
        if self.left < _HALVINGS * len(self.proof.moves):
            return f"{self._at(guess, now, end, end, '', '')}: {told}"
        same, other = 0.0, 1.0
        for _ in range(_HALVINGS):
            middle = (same + other) / 2
            change = self._change(guess, _between(now, end, middle))
            if change is None:
                break
            if change and change[0] != contact_within_uncertainty.META.slug:  # nearness only announces what is told of the end
                told = change[1]
            same, other = (same, middle) if change else (middle, other)
        return f"{self._at(guess, now, end, _between(now, end, same), 'above ', 'below ')}: {told}"

    def _at(self, guess: Guess, now: Values, end: Values, values: Values, above: str, below: str) -> str:
        """ "above 27 mm", "with its bottom below Z -27 mm", in the job's units; `values` lie on the way from `now` to `end`."""
        units = self.proof.kit.folder.units
        per, halved = 25.4 if units == "in" else 1.0, 2.0**_HALVINGS if above else math.inf

        def size(value: float, was: float, to: float) -> str:
            """In no more digits than the halving tells, on the side on which nothing had changed yet."""
            step = abs(to - was) / halved / per
            return format_size(per * rounded_towards(value / per, was / per, step) if step else value, units)

        if guess.faces == ("bottom",):
            top = float(self.proof.kit.extent[1][2])
            thick = size(top - values[0], top - now[0], top - end[0])
            return f"{('thinner than' if end > now else 'thicker than') if above else 'at'} {thick}"
        parts = []
        for number, (was, to, value) in enumerate(zip(now, end, values, strict=True)):
            way, told = above if to > was else below, size(value, was, to)
            if was != to and guess.faces:
                parts.append(f"its {guess.faces[number]} {way or 'at '}{'XYZ'[BOX_FACES.index(guess.faces[number]) // 2]} {told}")
            elif was != to and _is_place(guess) and number == _UP:
                tall = float(self.proof.kit.extent[1][_UP] - self.proof.kit.extent[0][_UP])
                parts.append(f"its top {way or 'at '}Z {size(value + tall, was + tall, to + tall)}")
            elif was != to and _is_place(guess):
                parts.append(f"it {way or 'at '}{'XYZ'[number]} {told}")
            elif was != to:
                parts.append(f"{way}{told}")
        with_it = guess.faces or _is_place(guess) or not above
        return f"{'with ' if with_it else ''}{' and '.join(parts)}"


def _is_place(guess: Guess) -> bool:
    """Whether a guess is answered by the place of the blank's least corner."""
    return guess.key.endswith("setup.blank.corner")


def _between(now: Values, end: Values, share: float) -> Values:
    return tuple(a + share * (b - a) for a, b in zip(now, end, strict=True))


def _said(finding: Finding) -> str:
    """A finding without how deep and how often, which the guess decides as well."""
    text = re.sub(r", (in \d+ motions from here on, )?[\d.]+ \S+ deep.*$", "", finding.text.rstrip("."))
    text = re.sub(r"; so in \d+ motions$", "", text)
    return text + (f" ({finding.file}:{finding.line})" if finding.line else "")


def _ends(guess: Guess, now: Values) -> Iterator[Values]:
    """The largest and the smallest answer; of the blank's faces those furthest out, those furthest in; of a place
    one axis after the other, the height first, for what one axis brings about another may take away again."""
    if _is_place(guess):
        for axis in reversed(range(len(now))):
            for end in (guess.high[axis], guess.low[axis]):
                yield (*now[:axis], end, *now[axis + 1 :])
        return
    upper = [not guess.faces or BOX_FACES.index(guess.faces[number]) % 2 == 1 for number in range(len(guess.low))]
    for out in (True, False):
        yield tuple(high if up is out else low for up, low, high in zip(upper, guess.low, guess.high, strict=True))
