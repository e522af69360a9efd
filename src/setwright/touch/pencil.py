"""A reading as a setter writes it down: one line, in the words of the shop, with what stays the same left out.

    left -16.852              the finder met the left face, the display showed X -16.852
    back -7.597 x -120.5      and X was read as well
    bore A +x -294.850        a round face is met from a side
    bore A sweep -212.402 -118.310   an indicator swept round it: X and Y of its centre
    T7 paper -12.141          tool 7 came down on paper on the datum's Z face
    T3 -31.870                with the same thing under it as the tool before
    T3 tool setter -410.2     a tool setter stands on the table: the length of tool 3
    -16.852                   the face that is asked for
    step 0.01 · with finder   the last step of the handwheel, and the finder, from now on

Direction, axis and instrument follow from the face and what was said before; every line can still name them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from setwright.base.errors import InputRefused
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.kit.instrument import find_instrument, known_instruments
from setwright.kit.station import Kit
from setwright.model.instrument import Instrument
from setwright.model.job import SetupTool, joined
from setwright.model.reading import Contact, Display, LengthReading
from setwright.touch.conditions import conditions_of
from setwright.touch.features import Feature, Flat, features_of, find_feature, ways_of

__all__ = ["Pencil", "Wanted"]

_FINDERS = ("mechanical edge finder", "electronic finder", "3D indicator", "touch-trigger probe", "gauge pin")
_SWEEPS = ("coaxial indicator", "test indicator", "3D indicator")
_SWEPT = ("sweep", "swept")
_UNDER = ("paper", "feeler", "height setter", "gauge block", "roller", "tool setter", "tool tip")
_USUAL = {"mm": "mechanical edge finder 10 mm", "in": "mechanical edge finder 0.200 in"}
_TOOL = re.compile(r"[Tt](\d+)")
_TOWARD = re.compile(r"[+-][xyzXYZ]")
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")
_DASHES = str.maketrans("−–—", "---")
_SIGN_APART = re.compile(r"(?<=\s)([+-])\s+(?=[\d.])")
_LEAST_LETTERS = 3
"""So many letters of a word of an instrument's name stand for it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for next: `what` in words ("X: touch left"), the face or the tool; `also`: the axis to be read as well;
    `round`: the face is, so that one sweep answers every touch of it."""

    what: str
    on: str = ""
    toward: str = ""
    tool: int | None = None
    also: str = ""
    round: bool = False

    def answered_by(self, made: Contact | LengthReading) -> bool:
        """Whether a reading is what was asked for."""
        if self.tool is not None:
            return made.tool == self.tool
        toward = getattr(made, "toward", "")
        return made.on == self.on and (toward == self.toward or (toward == "sweep" and self.round))


@dataclass(slots=True)
class Pencil:
    """Remembers what stays the same from line to line. `finder`, `under`, `sweeps`: names of instruments; `step`: mm."""

    kit: Kit
    finder: str
    sweeps: str
    under: str = "paper"
    step: float = 0.0
    features: dict[str, Feature] = field(default_factory=dict)

    @classmethod
    def of(cls, kit: Kit) -> Pencil:
        """With what the setup was touched with last; else the shop's own finder, the bundled one of the job's unit, and paper."""
        job = kit.folder.job
        kinds = {name: one.kind for name, one in sorted(job.shop.instruments.items())}
        own = [name for name, kind in kinds.items() if kind in _FINDERS]
        sweeps = [name for wanted in _SWEEPS for name, kind in kinds.items() if kind == wanted]
        features = features_of(job, kit.setup, conditions_of(job, job.readings.surroundings))
        pencil = cls(kit, own[0] if own else _USUAL[job.units], sweeps[0] if sweeps else _SWEEPS[0], features=features)
        known = {**known_instruments(), **job.shop.instruments}
        for made in pencil.made():
            if isinstance(made, Contact) and made.with_ in known:
                kind = known[made.with_].kind
                if made.toward == "sweep":
                    pencil.sweeps = made.with_
                elif made.toward != "-Z" and made.tool is None and kind in _FINDERS:
                    pencil.finder = made.with_
                elif made.toward == "-Z" and made.tool is not None and kind in _UNDER:
                    pencil.under = made.with_
        return pencil

    def made(self) -> list[Contact | LengthReading]:
        """The readings of this setup that place the part or give a length."""
        held, name = self.kit.folder.job.readings, self.kit.setup.name
        contacts = [one for one in held.contact if one.setup == name and one.purpose == "place"]
        return [*contacts, *(one for one in held.tool_length if one.setup == name)]

    def plan(self) -> list[Wanted]:
        """What is still to be touched, in its order: each reading of this setup answers one touch."""
        left = list(self.order())
        for made in self.made():
            left = self.without(left, made)
        return left

    @staticmethod
    def without(order: list[Wanted], made: Contact | LengthReading) -> list[Wanted]:
        """What is still to be touched after a reading: it answers one touch, a sweep all of its face."""
        answered = [one for one in order if one.answered_by(made)]
        if getattr(made, "toward", "") != "sweep":
            answered = answered[:1]
        return [one for one in order if not any(one is other for other in answered)]

    def as_plain(self) -> list[dict[str, Any]]:
        """What is still to be touched as plain data, each with the instrument that is likely used for it."""
        return [{"what": one.what, "on": one.on, "toward": one.toward, "tool": one.tool, "also": one.also,
                 "with": self.finder if one.tool is None else self.under} for one in self.plan()]  # fmt: skip

    def usual(self) -> dict[str, str]:
        """The instrument that is likely used next for each kind of touch: sideways, under a tool, swept round."""
        return {"finder": self.finder, "under": self.under, "sweeps": self.sweeps}

    def order(self) -> Iterator[Wanted]:
        """What to touch, in the order of the datum: faces for X, Y and the angle, then on the face that gives Z the
        tools whose length nobody measured, after one whose length is known."""
        datum, seen = self.kit.setup.datum, set()
        for letter, name in (("X", datum.x), ("Y", datum.y), ("the angle", datum.angle)):
            for part in joined(name):
                face = self.features.get(part)
                if face is None or (part in seen and not (letter == "the angle" and isinstance(face, Flat))):
                    continue
                if not isinstance(face, Flat):
                    said = "X and Y" if letter == "X" and part in joined(datum.y) else letter
                    for toward in ("+X", "-X", "+Y", "-Y"):
                        sweep = "; or sweep it" if toward == "+X" else ""
                        yield Wanted(f"{said}: touch {part} moving {toward}{sweep}", part, toward, round=True)
                elif letter == "the angle":
                    yield from self._along(part, face, again=part in seen)
                else:
                    where = f"; {_across(face)} as well, if it is to give the angle" if part in joined(datum.angle) else ""
                    yield Wanted(f"{letter}: touch {part} moving {self.toward(face)}{where}", part, self.toward(face))
                seen.add(part)
        for tool in self._to_set():
            yield Wanted(f"T{tool.station}: bring its tip down on {datum.z.face}", datum.z.face, "-Z", tool.station)

    def _along(self, part: str, face: Flat, *, again: bool) -> Iterator[Wanted]:
        """The touches far from each other along a face from which the angle comes; each says where along the face it was made."""
        across = _across(face)
        if not again:
            words = f"the angle: touch {part} moving {self.toward(face)}, {across} as well"
            yield Wanted(words, part, self.toward(face), also=across)
        yield Wanted(f"the angle: touch {part} again far away, {across} as well", part, self.toward(face), also=across)

    def _to_set(self) -> list[SetupTool]:
        """The tools to bring down on the face that gives Z: all where each sets the zero, else one of known
        length and those without."""
        setup = self.kit.setup
        known = [tool for tool in setup.tool if tool.preset.length is not None and setup.lengths == "registers"]
        return [tool for tool in setup.tool if tool not in known[1:]]

    @staticmethod
    def toward(face: Feature) -> str:
        """Which way a flat face is met; "" for a round one."""
        return (ways_of(face) or ("-Z",))[0] if isinstance(face, Flat) else ""

    def read(self, line: str, asked: Wanted | None = None) -> Contact | LengthReading | None:
        """The reading a line says; None for a line that only changes what is remembered. Raises InputRefused with what to write."""
        words = _SIGN_APART.sub(r"\1", f" {line.translate(_DASHES)}").split()
        if words and words[0].lower() == "step" and len(words) > 1:
            step = self._length(" ".join(words[1:]), line)
            if step < 0.0:
                raise self._unread(line, "a step is not less than zero", "step 0.01")
            self.step = step
            return None
        if words and words[0].lower() == "with" and len(words) > 1:
            self._take(self._instrument(words[1:], line))
            return None
        swept = [word for word in words if word.lower() in _SWEPT]
        tool, on, toward, words = self._subject([word for word in words if word not in swept], asked, line)
        if swept:
            return self._sweep(line, on, words)
        shown, rest = self._numbers(words, line)
        ways = [word for word in rest if _TOWARD.fullmatch(word)]
        toward = ways[0].upper() if ways else toward
        tools = [int(match[1]) for word in rest if (match := _TOOL.fullmatch(word))]
        if len(tools) + (tool is not None) > 1:
            raise self._unread(line, "it names two tools", f"T{tools[-1]} {self.under} -12.141")
        if tools and tool is None and line.split()[0][:1] in "+-.0123456789":
            raise self._unread(line, f"it names tool {tools[0]} and no face", f"T{tools[0]} {self.under} -12.141")
        tool = tools[0] if tools else tool
        named = [word for word in rest if word not in ways and not _TOOL.fullmatch(word) and word.lower() != "with"]
        instrument = self._instrument(named, line) if named else self.under if tool is not None else self.finder
        if tool is not None and named and find_instrument(self.kit.folder.job.shop.instruments, instrument).kind in _UNDER:
            self.under = instrument
        return self._reading(line, tool=tool, on=on, toward=toward, instrument=instrument, shown=shown)

    def _take(self, instrument: str) -> None:
        """Remember an instrument for the touches it is made for: under a tool, swept round, else sideways."""
        kind = find_instrument(self.kit.folder.job.shop.instruments, instrument).kind
        if kind in _UNDER:
            self.under = instrument
        elif kind in _FINDERS:
            self.finder = instrument
        else:
            self.sweeps = instrument

    def _sweep(self, line: str, on: str, words: list[str]) -> Contact:
        """The centre that an indicator swept round a face read: "-212.402 -118.310", or with its axes "y -118.310 x -212.402"."""
        face, shown, rest, example = self.features[on], dict[str, float](), list[str](), f"{on} sweep -212.402 -118.310"
        if isinstance(face, Flat):
            raise self._unread(line, f'"{on}" is flat: a sweep reads the centre of a bore or boss', f"{on} -16.852")
        parts: list[list[str]] = [[]]
        for word in words:
            if word.lower() in ("x", "y", "z") or (_NUMBER.fullmatch(word.replace(",", ".")) and self._has_number(parts[-1])):
                parts.append([])
            parts[-1].append(word)
        for part in parts:
            numbers, others = self._numbers(part, line)
            rest += others
            for named, value in numbers.items():
                axis = named or next((one for one in ("x", "y") if one not in shown), "")
                if not axis or axis in shown:
                    raise self._unread(line, "it has two numbers for one axis", example)
                shown[axis] = value
        if not {"x", "y"} <= set(shown):
            raise self._unread(line, "a sweep reads a centre, X and Y", example)
        named_by = [word for word in rest if word.lower() != "with"]
        instrument = self._instrument(named_by, line) if named_by else self.sweeps
        if find_instrument(self.kit.folder.job.shop.instruments, instrument).kind in _SWEEPS:
            self.sweeps = instrument
        display = Display.model_construct(x=shown["x"], y=shown["y"], z=shown.get("z"))
        return Contact.model_construct(setup=self.kit.setup.name, on=on, with_=instrument, toward="sweep", display=display,
                                       last_step=self.step)  # fmt: skip

    @staticmethod
    def _has_number(words: list[str]) -> bool:
        return any(_NUMBER.fullmatch(word.replace(",", ".")) for word in words)

    def _subject(self, words: list[str], asked: Wanted | None, line: str) -> tuple[int | None, str, str, list[str]]:
        """Tool, face and direction that a line begins with, else those that are asked for; and the words after them."""
        if words and (match := _TOOL.fullmatch(words[0])):
            return int(match[1]), self.kit.setup.datum.z.face, "-Z", words[1:]
        for count in range(len(words), 0, -1):
            name = " ".join(words[:count]).lower()
            face = next((one for known, one in self.features.items() if known.lower() == name), None)
            if face is not None:
                return None, face.name, self.toward(face), words[count:]
        if words and _NUMBER.fullmatch(words[0]) and asked is not None:
            return asked.tool, asked.on, asked.toward, words
        first = next((i for i, word in enumerate(words) if _NUMBER.fullmatch(word) or _TOWARD.fullmatch(word)), len(words))
        if first == 0:
            raise self._unread(line, "it names no face and no tool")
        find_feature(self.features, " ".join(words[:first]))
        raise self._unread(line, "it names no face and no tool")

    def _numbers(self, words: list[str], line: str) -> tuple[dict[str, float], list[str]]:
        """The numbers of a line by axis ("" for the one along the way of the tip), mm, and the other words."""
        shown: dict[str, float] = {}
        rest: list[str] = []
        axis, i, plain = "", 0, ""
        while i < len(words):
            word = words[i].replace(",", ".") if _NUMBER.fullmatch(words[i].replace(",", ".")) else words[i]
            if _NUMBER.fullmatch(word):
                unit = words[i + 1] if i + 1 < len(words) and words[i + 1] in ("mm", "in", "inch") else ""
                if not axis and axis in shown and rest:  # "feeler 0.10 -12.3": the first belongs to the name
                    rest.append(plain)
                elif axis in shown:
                    raise self._unread(line, "it has two numbers for one axis")
                shown[axis], plain = self._length(f"{word} {unit}".strip(), line), words[i] if not axis else plain
                axis, i = "", i + (2 if unit else 1)
                continue
            if word.lower() in ("x", "y", "z"):
                axis = word.lower()
            else:
                rest.append(word)
            i += 1
        if axis:
            raise self._unread(line, f"it has no number for {axis.upper()}")
        return shown, rest

    def _reading(self, line: str, *, tool: int | None, on: str, toward: str, instrument: str,
                 shown: dict[str, float]) -> Contact | LengthReading:  # fmt: skip
        own = find_instrument(self.kit.folder.job.shop.instruments, instrument)
        if not toward:
            raise self._unread(line, f'"{on}" is round: it does not say from which side',
                               f"{on} +x -12.345, or {on} sweep -212.402 -118.310")  # fmt: skip
        axis = toward[-1].lower()
        if "" in shown and axis in shown:
            raise self._unread(line, "it has two numbers for one axis")
        if "" in shown:
            shown[axis] = shown.pop("")
        if axis not in shown:
            raise self._unread(line, f"it has no number for {axis.upper()}")
        if own.kind in _UNDER and tool is None:
            raise self._unread(line, f"{own.a_kind} stands under a tool", f"T1 {instrument} -12.345")
        display = Display.model_construct(x=shown.get("x"), y=shown.get("y"), z=shown.get("z"))
        if tool is not None and tool not in self.kit.tools:
            raise self._unread(line, f"this setup has no tool {tool}", f"T{next(iter(self.kit.tools), 1)} {self.under} -12.345")
        if own.kind == "tool setter" and tool is not None:
            return LengthReading.model_construct(setup=self.kit.setup.name, tool=tool, with_=instrument, on="tool setter",
                                                 display=display, last_step=self.step, when=None)  # fmt: skip
        way: Any = toward
        return Contact.model_construct(setup=self.kit.setup.name, on=on, with_=instrument, toward=way, display=display,
                                       last_step=self.step, tool=tool)  # fmt: skip

    def _instrument(self, words: list[str], line: str) -> str:
        """The name of the instrument some words mean: as written, else the only one of the shop or of the package that has them."""
        said = " ".join(words).lower()
        shop: dict[str, Instrument] = dict(self.kit.folder.job.shop.instruments)
        for known in (shop, known_instruments()):
            whole = [name for name, one in known.items() if said in (name.lower(), one.name.lower(), one.kind.lower())]
            texts = {name: re.split(r"[\s-]+", f"{name} {one.name} {one.kind}".lower()) for name, one in known.items()}
            part = [name for name, text in texts.items() if all(_meant(word, text) for word in re.split(r"[\s-]+", said))]
            for found in (whole, part):
                if len(found) == 1:
                    return found[0]
        if any(word[:1] in "+-.0123456789" for word in words) and len(words) == 1:
            raise self._unread(line, f'"{words[0]}" is neither a number nor an instrument')
        names = [*shop, *known_instruments()]
        near = get_close_matches(said, names, 3, 0.4) or [*shop][:5] or names[:5]
        raise self._unread(line, f'"{" ".join(words)}" is no instrument', f"one of: {', '.join(near)}")

    def _length(self, text: str, line: str) -> float:
        try:
            return parse_quantity(text, Dimension.LENGTH, self.kit.folder.job.units)
        except UnitError as error:
            raise self._unread(line, str(error)) from error

    @staticmethod
    def _unread(line: str, why: str, example: str = "") -> InputRefused:
        remedy = f"write for example: {example}" if example else "write for example: left -16.852, or T7 paper -12.141"
        return InputRefused.because(f'"{line.strip()}" is no reading', why=why, remedy=remedy)


def _meant(said: str, words: list[str]) -> bool:
    """Whether a word stands for one of the words of a name: whole, or its first letters."""
    return any(own == said or (len(said) >= _LEAST_LETTERS and own.startswith(said)) for own in words)


def _across(face: Flat) -> str:
    """The axis along an upright face."""
    return "XY"[1 - face.axis]
