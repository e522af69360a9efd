"""Touch against the shop's side: 450 touch-offs made by the oracle, every number to type compared with the true one.

`python -m tests.touch.simulated` prints how often the stated interval holds the truth; the test beside it runs a few.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from setwright.model.finding import Signal
from setwright.model.reading import Registers
from setwright.touch.station import TouchResult, Wanted, touch
from tests.oracle.touch_off import Case, case
from tests.touch.simulate import FACES, SCHEMES
from tests.touch.workshop import kit_of, readings

_GROSS = 5.0
_PER = 25.4


def solved(folder: Path, made: Case, kits: dict) -> TouchResult:
    """A case's readings, solved; `kits`: those that were put together before."""
    key = (made.scheme, made.habit)
    if key not in kits:
        place = folder / f"{len(kits)}"
        kits[key] = kit_of(place, faces=FACES, lengths=made.habit, **SCHEMES[made.scheme][1])
    kit = kits[key]
    job = kit.folder.job.model_copy(update={"registers": Registers.model_validate(made.held), "units": "in" if made.inch else "mm"})
    here = replace(kit, folder=replace(kit.folder, job=job))
    return touch(here, readings(*made.contacts, lengths=tuple(made.lengths)), wanted=Wanted.AS_FAR)


def numbers_of(result: TouchResult, made: Case) -> tuple[dict[str, tuple[float, float]], list[str]]:
    """What Touch says of a case: by register value and expanded uncertainty (mm), and its alarms."""
    plain = result.as_plain("inch" if made.inch else "mm")
    per = _PER if made.inch else 1.0
    found = {f"G54 {axis.upper()}": plain["offsets"]["G54"][axis] for axis in "xyz"}
    found |= {f"length {tool}": one for tool, one in plain["tool_lengths"].items()}
    there = {name: one for name, one in found.items() if one["value"] is not None}
    known = {name: (per * one["value"], per * one["expanded_uncertainty"]) for name, one in there.items()}
    return known, [f.text for f in result.findings if f.signal is Signal.DANGER]


def count(folder: Path, numbers: Iterable[int]) -> tuple[dict[str, Counter], list[str]]:
    """By kind of number how often its interval held the truth, and how often "no slip" led; and everything that must not be: gross
    errors, signs, alarms."""
    kits: dict = {}
    table: dict[str, Counter] = defaultdict(Counter)
    wrong = []
    for number in numbers:
        made = case(number)
        result = solved(folder, made, kits)
        said, alarms = numbers_of(result, made)
        if made.scheme != "pallet of two":  # which stands 100 mm beside the place that the workshop's job states
            table["no slip"]["of"] += 1
            table["no slip"]["inside"] += result.diagnosis.none > 0.5
        who = f"{number} ({made.scheme}, {made.habit}, {'inch' if made.inch else 'mm'})"
        wrong += [f"{who}: {text}" for text in alarms]
        for name, true in made.truth.items():
            if name not in said:
                wrong.append(f"{who}: no {name}")
                continue
            value, half = said[name]
            if half < 1e-9:  # an offset that is exact by its habit
                wrong += [f"{who}: {name} {value} for {true}"] if abs(value - true) > 1e-9 else []
                continue
            table[name]["of"] += 1
            table[name]["inside"] += abs(value - true) <= half
            if abs(value - true) > _GROSS * half:
                wrong.append(f"{who}: {name} {value:.4f} for {true:.4f} ± {half:.4f}")
            if abs(true) > 1.0 and value * true < 0.0:
                wrong.append(f"{who}: the sign of {name}")
    return table, wrong


def main() -> int:
    """Print the table; 1 when something must not be."""
    with tempfile.TemporaryDirectory() as folder:
        table, wrong = count(Path(folder), range(450))
    for name, tally in sorted(table.items()):
        print(f"{name:10} inside {tally['inside'] / tally['of']:6.1%} of {tally['of']}")
    print(f"{len(wrong)} gross errors, wrong signs and alarms", *wrong, sep="\n  ")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
