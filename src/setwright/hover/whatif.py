"""What if: one value of the setup other than it should be, said in a few words, and what it would do.

    T3 length +0.5 mm       the tool itself is longer; its register stays          (also: stickout, radius, diameter)
    length 3 +0.5 mm        the register; also H3, radius 2, D2
    G55 X -10 mm            the register is 10 mm less; G55 X = -310 mm            gives it a value
    external Z +10 mm       the external offset; shift X 50 mm: a shift of G52 or G92 still in force; rotation 90 deg likewise
    blank 1 mm higher       the part stands higher than the control believes       (lower, left, right, back, forward)
    blank 2 mm taller       the blank is larger                                    (flatter, longer, shorter, wider, narrower)
    vise 2 mm left          the holding with the part in it                        (also: holding)
    part turned 0.2 deg     the part with its holding
    parallels 14 mm         of another height, the zero as it was; jaws 50 mm: of another height
    block delete on         program cap-2.nc: another program of the job; T2 and T3 exchanged

A value with a sign is a change, one without is the value itself; after = it is always the value itself.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Final

from setwright.base.errors import InputRefused
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.hover.consequence import consequence_of, contact_of
from setwright.hover.outcome import Consequence
from setwright.hover.reference import Reference
from setwright.kit.registers import length_register, radius_register
from setwright.program.registers import WorkOffset
from setwright.slips.case import SlipCase
from setwright.slips.changes import Change, blank_grown, hung_by
from setwright.slips.world import World, holding_moved, offset_moved, part_moved, part_turned, set_up_as, tool_hung

__all__ = ["FORMS", "WhatIf", "combined", "parse_if", "what_if"]

FORMS: Final = (
    "T3 length +0.5 mm", "length 3 +0.5 mm", "G54 X -10 mm", "external Z +10 mm", "shift X 50 mm", "rotation 90 deg",
    "blank 1 mm higher", "blank 2 mm taller", "vise 2 mm left", "part turned 0.2 deg", "parallels 14 mm", "jaws 50 mm",
    "block delete on", "program NAME", "T2 and T3 exchanged",
)  # fmt: skip
"""One example of each form."""

_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_VALUE = rf"(?P<by>=|by)?\s*(?P<value>{_NUMBER}\s*[a-zA-Z°\"']*)"
_WAYS: Final = {"higher": (0, 0, 1), "lower": (0, 0, -1), "left": (-1, 0, 0), "right": (1, 0, 0), "back": (0, 1, 0),
                "forward": (0, -1, 0)}  # fmt: skip
_SIZES: Final = {"taller": (2, 1), "flatter": (2, -1), "longer": (0, 1), "shorter": (0, -1), "wider": (1, 1), "narrower": (1, -1)}
_TOOL_SIZES: Final = ("length", "stickout", "radius", "diameter")


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One supposition: as it was written, what it was taken for, and the world it makes; `about`: what of the setup it changes."""

    text: str
    words: str
    change: Change = field(repr=False, compare=False)
    about: str = ""


def combined(suppositions: Sequence[WhatIf]) -> Change:
    """All of them at once, in the order given. Refuses two that say one number differently."""
    for first, second in combinations(suppositions, 2):
        if first.about and first.about == second.about:
            raise InputRefused.because(f"“{first.text}” and “{second.text}” are about the same number",
                                       why="it cannot be both", remedy="suppose one of them")  # fmt: skip

    def change(world: World) -> World:
        for supposed in suppositions:
            world = supposed.change(world)
        return world

    return change


def what_if(world: World, suppositions: Sequence[WhatIf], *, reference: Reference | None = None) -> Consequence:
    """What they would do together: with a `reference` the whole answer, without one only where the control stops and what of the
    holding is hit (undecided if nothing is). Raises InputRefused where the things do not go together so."""
    changed = combined(suppositions)(world)
    return contact_of(changed) if reference is None else consequence_of(changed, reference)


def parse_if(text: str, case: SlipCase) -> WhatIf:
    """A supposition from its words. Raises InputRefused with the nearest names, or the forms there are."""
    bare = " ".join(text.split())
    for pattern, made in _FORMS:
        match = re.fullmatch(pattern, bare, re.IGNORECASE)
        if match is not None:
            words, change = made(match, case)
            return WhatIf(text, words, change, _about(made, match))
    first = bare.split(" ")[0] if bare else ""
    near = difflib.get_close_matches(bare, FORMS, n=1, cutoff=0.4) or difflib.get_close_matches(first, FORMS, n=1, cutoff=0.0)
    raise InputRefused.because(f"“{text}” cannot be taken for anything of the setup", why="a name and a value are wanted",
                               remedy=f"write for example “{(near or FORMS)[0]}”; forms: {'; '.join(FORMS)}")  # fmt: skip


Made = tuple[str, Change]
_SAME: Final = {"h": "length", "d": "radius", "diameter": "radius"}


def _about(form: Callable[[re.Match[str], SlipCase], Made], match: re.Match[str]) -> str:
    """What of the setup a supposition changes: its form and words without the value."""
    leaves_out = ("by", "value", "state", *(("name",) if form is _program else ()))
    kept = [word.lower() for name, word in sorted(match.groupdict().items()) if word and name not in leaves_out]
    return " ".join([form.__name__, *(_SAME.get(word, word) for word in kept)])


def _quantity(text: str, case: SlipCase, dimension: Dimension = Dimension.LENGTH) -> float:
    try:
        return parse_quantity(text.strip().replace(",", "."), dimension, "deg" if dimension is Dimension.ANGLE else case.units)
    except UnitError as error:
        raise InputRefused.because(f"“{text.strip()}” is no {dimension.value}", why=str(error),
                                   remedy="write a number with its unit, for example 0.5 mm") from error  # fmt: skip


def _amount(match: re.Match[str], case: SlipCase, now: float, per: float = 1.0) -> float:
    """How much greater a value becomes, mm: signed numbers are changes, others (and all behind =) the value itself; `per`: mm of
    the value for one mm written."""
    value, written = _quantity(match["value"], case) * per, match["value"].strip()
    if match["by"] == "by" or (match["by"] != "=" and written[0] in "+-"):
        return value
    return value - now


def _tool(match: re.Match[str], case: SlipCase) -> Made:
    station, what = _station(match["station"], case), match["what"].lower()
    hung = case.kit.tools[station]
    now = {"length": case.world.truth.lengths[station], "stickout": hung.stickout, "radius": case.world.truth.radii[station],
           "diameter": case.world.truth.radii[station]}[what]  # fmt: skip
    by = _amount(match, case, now, 0.5 if what == "diameter" else 1.0)
    change = {"length": hung_by(station, length=by), "stickout": hung_by(station, stickout=by, length=by),
              "radius": hung_by(station, radius=by), "diameter": hung_by(station, radius=by)}[what]  # fmt: skip
    times = 2.0 if what == "diameter" else 1.0
    if now + by <= 0.0:
        raise InputRefused.because(f"“{match.string}” makes T{station} a tool of {what} {case.length(times * (now + by))}",
                                   why="a tool has more than nothing", remedy="suppose a smaller change")  # fmt: skip
    words = f"T{station}: {what} {case.length(times * (now + by))} instead of {case.length(times * now)}, the registers as they are"
    return words, change


def _station(text: str, case: SlipCase) -> int:
    if int(text) not in case.kit.tools:
        known = ", ".join(f"T{number}" for number in sorted(case.kit.tools))
        raise InputRefused.because(f"there is no tool {text} in this setup", why=f"it has {known}", remedy="name one of these")
    return int(text)


def _register(match: re.Match[str], case: SlipCase) -> Made:
    kind = {"h": "length", "d": "radius"}.get(match["kind"].lower(), match["kind"].lower())
    number = int(match["number"])
    numbers = {(length_register if kind == "length" else radius_register)(tool): tool.station for tool in case.kit.setup.tool}
    if number not in numbers:
        raise InputRefused.because(f"no tool of this setup has {kind} register {number}",
                                   why=f"there are {', '.join(map(str, sorted(numbers)))}", remedy="name one of these")  # fmt: skip
    registers = case.world.registers_of(numbers[number])
    now = (registers.lengths if kind == "length" else registers.radii).get(number, 0.0)
    by = _amount(match, case, now)

    def change(world: World) -> World:
        return world.with_length(number, by) if kind == "length" else world.with_radius(number, by)

    return f"{kind} register {number} holds {case.length(now + by)} instead of {case.length(now)}", change


def _offset(match: re.Match[str], case: SlipCase) -> Made:
    name = re.sub(r"\s+", " ", match["name"].upper())
    axis = "XYZ".index(match["axis"].upper())
    known = case.world.registers.offsets
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1, cutoff=0.0)
        raise InputRefused.because(f"{name} is not an offset of this setup", why=f"it has {', '.join(sorted(known))}",
                                   remedy=f"did you mean {near[0]}?" if near else "name one of these")  # fmt: skip
    at = known.get(name, WorkOffset())
    now = (at.x, at.y, at.z)[axis]
    by = _amount(match, case, now)
    words = f"{name} {match['axis'].upper()} holds {case.length(now + by)} instead of {case.length(now)}"
    return words, lambda world: offset_moved(world, name, case.along(axis, by))


def _external(match: re.Match[str], case: SlipCase) -> Made:
    axis = "XYZ".index(match["axis"].upper())
    by = case.along(axis, _amount(match, case, case.world.registers.external[axis]))

    def change(world: World) -> World:
        def moved(at: tuple[float, float, float]) -> tuple[float, float, float]:
            return at[0] + by[0], at[1] + by[1], at[2] + by[2]

        return world.with_registers(lambda registers: replace(registers, external=moved(registers.external)))

    return f"the external offset is {case.length(by[axis])} greater in {match['axis'].upper()}", change


def _shift(match: re.Match[str], case: SlipCase) -> Made:
    axis, value = "XYZ".index(match["axis"].upper()), _quantity(match["value"], case)
    words = f"a shift of {match['axis'].upper()} {case.length(value)} is still in force"
    return words, lambda world: replace(world, left_shift=case.along(axis, value))


def _rotation(match: re.Match[str], case: SlipCase) -> Made:
    angle = _quantity(match["value"], case, Dimension.ANGLE)
    return f"a rotation of {match['value'].strip()} is still in force", lambda world: replace(world, left_turn=angle)


def _moved(match: re.Match[str], case: SlipCase) -> Made:
    way, value = match["way"].lower(), _quantity(match["value"], case)
    x, y, z = (value * part for part in _WAYS[way])
    if match["what"].lower() in ("blank", "part"):
        return f"the part stands {case.length(value)} {way} than the control believes", lambda world: part_moved(world, (x, y, z))
    return f"the holding stands {case.length(value)} {way} with the part in it", lambda world: holding_moved(world, (x, y, z))


def _sized(match: re.Match[str], case: SlipCase) -> Made:
    axis, sign = _SIZES[match["way"].lower()]
    value = _quantity(match["value"], case)
    change = blank_grown(case.world, axis, sign * value)
    if change is None:
        raise InputRefused.because("the blank of this setup is what an earlier setup leaves", why="its size cannot be supposed",
                                   remedy="suppose something of the earlier setup")  # fmt: skip
    return f"the blank is {case.length(value)} {match['way'].lower()} than stated", change


def _turned(match: re.Match[str], case: SlipCase) -> Made:
    angle = _quantity(match["value"], case, Dimension.ANGLE)
    return f"the part is turned by {match['value'].strip()} about the zero", lambda world: part_turned(world, angle)


def _parallels(match: re.Match[str], case: SlipCase) -> Made:
    setup = case.kit.setup
    height = setup.holding.parallels + _amount(match, case, setup.holding.parallels)
    laid = setup.model_copy(update={"holding": setup.holding.model_copy(update={"parallels": height})})
    words = f"parallels of {case.length(height)} instead of {case.length(setup.holding.parallels)}, the zero as it was"
    return words, lambda world: set_up_as(world, laid)


def _jaws(match: re.Match[str], case: SlipCase) -> Made:
    holding = case.kit.folder.job.shop.holding[case.kit.setup.holding.use]
    if holding.vise is None:
        raise InputRefused.because("this setup has no vise", remedy="suppose something of its own holding")
    height = holding.vise.jaw_height + _amount(match, case, holding.vise.jaw_height)
    other = holding.model_copy(update={"vise": holding.vise.model_copy(update={"jaw_height": height})})
    words = f"jaws {case.length(height)} high instead of {case.length(holding.vise.jaw_height)}"
    return words, lambda world: set_up_as(world, world.kit.setup, holding=other)


def _block_delete(match: re.Match[str], _case: SlipCase) -> Made:
    levels = frozenset({1}) if match["state"].lower() == "on" else frozenset[int]()
    return f"block delete {match['state'].lower()}", lambda world: replace(world, skip_levels=levels)


def _program(match: re.Match[str], case: SlipCase) -> Made:
    sources, name = case.kit.folder.sources, match["name"]
    if name not in sources:
        near = difflib.get_close_matches(name, sources, n=1, cutoff=0.0)
        raise InputRefused.because(f"{name} is no program of this job", why=f"it has {', '.join(sources)}",
                                   remedy=f"did you mean {near[0]}?")  # fmt: skip
    return f"{name} is run", lambda world: replace(world, sources={name: sources[name]})


def _exchanged(match: re.Match[str], case: SlipCase) -> Made:
    a, b = _station(match["a"], case), _station(match["b"], case)
    if a == b:
        raise InputRefused.because(f"T{a} cannot be exchanged with itself", remedy="name two tools")

    def change(world: World) -> World:
        of_a, of_b, truth = world.kit.tools[a], world.kit.tools[b], world.truth
        in_a = replace(of_b, length=truth.lengths[b], radius=truth.radii[b])
        in_b = replace(of_a, length=truth.lengths[a], radius=truth.radii[a])
        return tool_hung(tool_hung(world, a, in_a), b, in_b)

    return f"T{a} and T{b} are in each other's pockets", change


_FORMS: Final[tuple[tuple[str, Callable[[re.Match[str], SlipCase], Made]], ...]] = (
    (rf"T(?P<station>\d+) (?P<what>{'|'.join(_TOOL_SIZES)})\s*{_VALUE}", _tool),
    (r"T(?P<a>\d+) and T(?P<b>\d+) exchanged", _exchanged),
    (rf"(?P<kind>length|radius|H|D) ?(?P<number>\d+)\s*{_VALUE}", _register),
    (rf"(?P<name>G5\d(?:\.\d+ ?P\d+)?) (?P<axis>[XYZ])\s*{_VALUE}", _offset),
    (rf"external (?P<axis>[XYZ])\s*{_VALUE}", _external),
    (rf"shift (?P<axis>[XYZ])\s*{_VALUE}", _shift),
    (rf"rotation\s*{_VALUE}", _rotation),
    (rf"(?P<what>blank|part|vise|holding)\s*{_VALUE} (?P<way>{'|'.join(_WAYS)})", _moved),
    (rf"(?:blank|part)\s*{_VALUE} (?P<way>{'|'.join(_SIZES)})", _sized),
    (rf"part turned\s*{_VALUE}", _turned),
    (rf"parallels\s*{_VALUE}", _parallels),
    (rf"jaws\s*{_VALUE}", _jaws),
    (r"block delete (?P<state>on|off)", _block_delete),
    (r"program (?P<name>\S+)", _program),
)
