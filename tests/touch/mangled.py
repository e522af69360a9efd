"""One contact of several on a face written down grossly wrong, in every way a hand does it: who is accused?

`python -m tests.touch.mangled` prints the whole table (200 seeds each); the test beside it runs a few of each.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from setwright.touch.station import Wanted, touch
from tests.touch.workshop import kit_of, readings

_INCH = 25.4
_PLACES = {3: (-30.0, 0.0, 30.0), 5: (-36.0, -18.0, 0.0, 18.0, 36.0)}
_LEAST_MM = 0.06
"""Errors smaller than this are within what burrs and repeatability do; a hand that makes them made no gross error."""


def _digits(text: str) -> list[int]:
    return [i for i, c in enumerate(text) if c.isdigit()]


def _put(text: str, place: int, digit: str) -> str:
    return text[:place] + digit + text[place + 1 :]


def _exchanged(text: str, rng) -> str:
    pairs = [(a, b) for a, b in pairwise(_digits(text)) if text[a] != text[b]]
    a, b = pairs[rng.integers(len(pairs))]
    return _put(_put(text, a, text[b]), b, text[a])


def _wrong_digit(text: str, rng) -> str:
    place = _digits(text)[rng.integers(len(_digits(text)))]
    return _put(text, place, str((int(text[place]) + rng.integers(1, 10)) % 10))


def _turn(text: str, rng) -> str:
    size = 0.1 if len(text.split(".")[1]) == 4 else 1.0
    return f"{float(text) + rng.choice([-1.0, 1.0]) * size:.{len(text.split('.')[1])}f}"


def _step(text: str, rng) -> str:
    size = 0.01 if len(text.split(".")[1]) == 4 else 0.1
    return f"{float(text) + rng.choice([-1.0, 1.0]) * size:.{len(text.split('.')[1])}f}"


WAYS: dict[str, Callable] = {
    "sign lost": lambda text, rng: text.lstrip("-"),
    "inches for mm": lambda text, rng: f"{float(text) / _INCH:.4f}",
    "mm for inches": lambda text, rng: f"{float(text) * _INCH:.3f}",
    "digits exchanged": _exchanged,
    "wrong digit": _wrong_digit,
    "decimal point": lambda text, rng: f"{float(text) * rng.choice([0.1, 10.0]):.4f}",
    "a turn of the handwheel": _turn,
    "ten steps of the handwheel": _step,
}  # fmt: skip


def shown(place: float, rng, *, inch: bool) -> str:
    """What the display shows at a contact whose axis stands at `place` (mm), with the errors of an edge finder."""
    true = place + rng.normal(0.0, 0.004) + rng.uniform(-0.002, 0.002) + rng.normal(0.0, 0.00075)
    return f"{true / _INCH:.4f}" if inch else f"{true:.3f}"


def accused(kit, count: int, way: str, seed: int, *, inch: bool) -> tuple[int, list[int]]:
    """The contact that was written wrong, and those the answer accuses: without rivals first, then readings that cannot be."""
    rng = np.random.default_rng([count, seed, list(WAYS).index(way), int(inch)])
    x, y, angle = -300.0 + rng.normal(0, 1), -215.0 + rng.normal(0, 1), rng.uniform(-3e-4, 3e-4)
    slope = rng.uniform(-4e-4, 4e-4)
    lefts = [shown(x - 62.0 - 5.0 - (angle + slope) * place, rng, inch=inch) for place in _PLACES[count]]
    guilty = int(rng.integers(count))
    for _ in range(100):
        written = WAYS[way](lefts[guilty], rng)
        if abs(float(written) - float(lefts[guilty])) * (_INCH if inch else 1.0) > _LEAST_MM:
            break
    lefts[guilty] = written
    jaws = [shown(y + 42.0 - 5.0 + angle * place, rng, inch=inch) for place in (-58.0, 58.0)]
    unit = " in" if inch else " mm"
    contacts = [{"on": "left", "with": "finder", "toward": "+X", "display": {"x": text + unit, "y": y + place}}
                for text, place in zip(lefts, _PLACES[count], strict=True)]  # fmt: skip
    contacts += [{"on": "fixed jaw", "with": "finder", "toward": "+Y", "display": {"y": text + unit, "x": x + place}}
                 for text, place in zip(jaws, (-58.0, 58.0), strict=True)]  # fmt: skip
    top = {"on": "top", "with": "setter", "toward": "-Z", "tool": 1, "display": {"z": -477.0 + 1.0 + 131.482 + 50.0}}
    result = touch(kit, readings(*contacts, top), wanted=Wanted.AS_FAR)
    return guilty, [one.reading for one in result.outliers if not one.rivals]


def kits(folder: Path) -> dict[bool, object]:
    """The workshop's job in mm and the same job in inches."""
    mm = kit_of(folder, x="left", y="fixed jaw")
    return {False: mm, True: replace(mm, folder=replace(mm.folder, job=mm.folder.job.model_copy(update={"units": "in"})))}


def count(folder: Path, seeds: range) -> dict[tuple[int, bool, str], Counter]:
    """How often the guilty one is named first, and an innocent one at all, by contacts, unit and way."""
    found: dict[tuple[int, bool, str], Counter] = {}
    for inch, kit in kits(folder).items():
        for number in _PLACES:
            for way in WAYS:
                tally = found[number, inch, way] = Counter()
                for seed in seeds:
                    guilty, named = accused(kit, number, way, seed, inch=inch)
                    tally["named"] += bool(named) and named[0] == guilty
                    tally["innocent"] += any(one != guilty for one in named)
                    tally["of"] += 1
    return found


def main() -> int:
    """Print the table; 1 when a line misses what is promised."""
    with tempfile.TemporaryDirectory() as folder:
        table = count(Path(folder), range(200))
    missed = 0
    for (number, inch, way), tally in table.items():
        named, innocent = tally["named"] / tally["of"], tally["innocent"] / tally["of"]
        missed += named < 0.95 or innocent > 0.01
        print(f"one of {number}, {'inch' if inch else 'mm  '}, {way:28} guilty first {named:6.1%}   an innocent {innocent:5.1%}")
    return int(missed > 0)


if __name__ == "__main__":
    sys.exit(main())
