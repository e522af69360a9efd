"""What each number rests on: readings, the kit, somebody's guess or nothing; and which numbers must not be typed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from setwright.base.errors import InputRefused, Problem
from setwright.touch.case import Determined
from setwright.touch.features import Flat
from setwright.touch.gross import Sifted
from setwright.touch.guard import Beyond
from setwright.touch.registers import Entry
from setwright.touch.setting import Setting
from setwright.touch.solution import Solution
from setwright.touch.wording import remedy_for_axis

__all__ = ["LOOSE_MM", "Resting", "refuse_open", "resting"]

LOOSE_MM = 1.0
"""A number less sure than this (one standard deviation) is not known."""

_WITHHELD_MM = 0.02
_OPEN = ("kit", "nothing", "guess")


@dataclass(frozen=True, slots=True)
class Resting:
    """`determined`: what every axis and angle rests on; `withheld`: names of entries that must not be typed; `together`: Z and the
    lengths are known as sums only, and typed all together or not at all."""

    determined: Mapping[str, Determined]
    withheld: frozenset[str] = frozenset()
    together: bool = False

    def known(self, entry: Entry, solution: Solution) -> bool:
        """Whether the entry has a number to type."""
        if entry.name in self.withheld:
            return False
        if entry.axis:
            return self.determined[entry.axis.lower()].by == "readings"
        if entry.estimate.standard <= LOOSE_MM:
            return True
        return self.together and solution.spread({**dict(entry.weights), "z": 1.0})[1] <= LOOSE_MM


def resting(setting: Setting, sifted: Sifted, numbers: tuple[Entry, ...], beyond: Iterable[Beyond]) -> Resting:
    """What the numbers of a solved touch-off rest on. `beyond`: numbers that the machine cannot reach."""
    solution = sifted.solution
    own = {entry.axis.lower(): entry for entry in numbers if entry.register == setting.kit.setup.offset}
    found: dict[str, Determined] = {}
    together = _together(solution, numbers)
    for axis in "xyz":
        weights = dict(own[axis].weights)
        if not weights:
            known = [e for e in numbers if e.register.startswith("length") and e.estimate.standard <= LOOSE_MM]
            weights = dict(known[0].weights) if known else {"z": 1.0}
        placed = {name: weight for name, weight in weights.items() if name != "angle"}
        found[axis] = _axis_sentence(axis, placed, setting, solution, together=together)
    found |= _angles(setting, solution)
    if found["angle"].remedy:
        lost = {axis: one for axis, one in found.items() if axis in ("x", "y") and one.by in _OPEN}
        found |= {axis: replace(one, remedy=found["angle"].remedy) for axis, one in lost.items()}
    withheld = _contradicted(sifted, numbers)
    if sifted.because:
        withheld |= {entry.name for entry in numbers if entry.weights and (sifted.lost is None or entry.name in sifted.lost)}
    for axis, entry in own.items():
        if entry.name in withheld or (sifted.undecided and sifted.lost is None and found[axis].by == "nothing"):
            found[axis] = Determined("contradiction", _contradiction(entry, sifted))
    for one in beyond:
        if not one.question and one.reading < 0:
            found |= {axis: Determined("impossible", one.text) for axis in one.axes}
            withheld |= {entry.name for entry in numbers if one.tool is not None and entry.station == one.tool}
    return Resting(found, frozenset(withheld), together and found["z"].by == "readings")


def _together(solution: Solution, numbers: tuple[Entry, ...]) -> bool:
    """Whether a guess makes Z uncertain, and yet the sum of Z and each length is known: the guess does not move the tip."""
    lengths = [e for e in numbers if e.register.startswith("length") and e.weights]
    sums = [solution.spread({**dict(entry.weights), "z": 1.0})[1] for entry in lengths]
    return bool(sums) and max(sums) <= LOOSE_MM and solution.spread({"z": 1.0})[1] > LOOSE_MM and bool(solution.guessed({"z": 1.0}))


def _axis_sentence(
    axis: str, weights: Mapping[str, float], setting: Setting, solution: Solution, *, together: bool
) -> Determined:
    name = axis.upper()
    guess, rest = solution.guessed(weights), solution.rests_on(weights)
    if axis == "z" and together:
        text = f"Z and the lengths are known only as sums, because {guess or 'a length'} is a guess: type all of them, or none"
        return Determined("readings", text)
    if guess:
        remedy = f"measure {guess} and write it down at station Kit in place of its guess, or touch the datum's own face"
        return Determined("guess", f"{name} would rest on a guess: nobody measured {guess}", remedy)
    if not rest and solution.spread(weights)[1] <= LOOSE_MM:
        return Determined("readings", f"{name} follows from your contacts")
    lost = sorted({one.reading for one in setting.beyond if not one.question and axis in one.axes})
    if lost:
        numbers = " and ".join(str(reading + 1) for reading in lost)
        return Determined("impossible", f"contact {numbers} cannot be right, and nothing else you touched fixes {name}",
                          "read the display again and correct the reading, or touch again")  # fmt: skip
    came_down = any(contact.toward == "-Z" for contact in setting.contacts)
    lengths = [u.name for u in solution.unknowns if came_down and u.name.startswith("length of")]
    if axis == "z" and lengths:
        own = [one for one in lengths if solution.spread({one: 1.0})[1] > LOOSE_MM] or lengths
        tools = [one.removeprefix("length of tool ") for one in own if one.startswith("length of tool ")]
        names = [f"the {one.removeprefix('length of ')}" for one in own if not one.startswith("length of tool ")]
        names += [f"tool{'s' if len(tools) > 1 else ''} {' and '.join(tools)}"] if tools else []
        said = (f"the length of {names[0]} is not known, so its contact says" if len(own) == 1 else
                f"the lengths of {' and '.join(names)} are not known, so their contacts say")  # fmt: skip
        return Determined("nothing", f"Z is open: {said} nothing about the datum by itself")
    is_open = "Z is open: " if axis == "z" else ""
    return Determined("nothing", f"{is_open}nothing you touched fixes {name}")


def _unread_across(setting: Setting) -> str:
    """What to write where a face that gives the angle was touched at several places, and nobody read where along it."""
    for name, face in setting.features.items():
        if not isinstance(face, Flat) or face.axis == 2 or not face.gives_angle:
            continue
        across = "xy"[1 - face.axis]
        numbers = [i for i, c in enumerate(setting.contacts) if c.on == name]
        if len([i for i in numbers if getattr(setting.contacts[i].display, across) is None]) >= 2:
            said = " and ".join(str(i + 1) for i in numbers)
            where = f"write {across.upper()} as well at contacts {said} ({name})"
            return f"{where}: how far apart they were made along the face gives the angle"
    return ""


def _angles(setting: Setting, solution: Solution) -> dict[str, Determined]:
    found = {}
    for name in ["angle"] + [name for name in ("tilt about x", "tilt about y") if solution.unknowns.row(name) is not None]:
        rest = solution.rests_on({name: 1.0})
        size = f"± {1000.0 * solution.estimate({name: 1.0}).expanded:.2f} mrad"
        if rest:
            remedy = _unread_across(setting) if name == "angle" else ""
            found[name] = Determined("kit", f"nothing you touched fixes the {name}: taken from {rest}, {size}", remedy)
        else:
            found[name] = Determined("readings", f"the {name} follows from your contacts, {size}")
    return found


def _contradicted(sifted: Sifted, numbers: tuple[Entry, ...]) -> set[str]:
    """Entries whose number depends on which of the contradicting readings is believed."""
    found = set()
    for entry in numbers if len(sifted.solutions) > 1 else ():
        values = [one.spread(dict(entry.weights))[0] for one in sifted.solutions] if entry.weights else [0.0]
        if max(values) - min(values) > max(_WITHHELD_MM, entry.estimate.expanded):
            found.add(entry.name)
    return found


def _contradiction(entry: Entry, sifted: Sifted) -> str:
    if sifted.because:
        return f"there is no {entry.axis}: {sifted.because}"
    worst = next(one for one in sifted.outliers if one.rivals)
    who = " and ".join(str(n + 1) for n in sorted({worst.reading, *worst.rivals}))
    return f"there is no {entry.axis}: contacts {who} contradict each other"


def _parallel(setting: Setting) -> str:
    """Why an axis across is open when every upright face that was touched is parallel to the others; "" when they are not."""
    upright = [setting.features[c.on] for c in setting.contacts if c.toward not in ("-Z", "sweep")]
    axes = {face.axis for face in upright if isinstance(face, Flat)}
    if not upright or len(axes) != 1 or not all(isinstance(face, Flat) for face in upright):
        return ""
    names = ", ".join(dict.fromkeys(face.name for face in upright))
    return f"the upright faces you touched are parallel ({names})"


def refuse_open(determined: Mapping[str, Determined], setting: Setting) -> None:
    """Refuse a touch-off that leaves an axis without any number, when the whole was wanted."""
    rough, parallel = "a number from the kit alone is too rough to cut by", _parallel(setting)
    why = {axis: f"{parallel}, and {rough}" if parallel and axis != "z" else rough for axis in "xyz"}
    problems = [Problem(determined[axis].text, why[axis], determined[axis].remedy or remedy_for_axis(axis))
                for axis in "xyz" if determined[axis].by in _OPEN]  # fmt: skip
    if problems:
        raise InputRefused(problems)
