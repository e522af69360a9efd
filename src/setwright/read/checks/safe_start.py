"""The program does not state a mode before it moves, and the mode changes what it does.

What silence proves
    Before its first motion the program states the distance mode and, as far as they change anything in it, plane, work offset and
    units.

Why it matters
    What the last program left in force then decides where this one goes.

How it decides
    The interpreter notes which modes the first motion finds unstated. The plane counts only in a program with arcs, compensation or
    cycles that never states it before them, the offset only where the program names another one later, the units always. An
    unstated distance mode is a CAUTION, the rest a NOTICE; all of it is one finding.

Blind spots
    Compensation, length or cycle left on by the program before: controls cancel them at the end of a program or by reset.

What to do
    Begin with a block such as G21 G17 G90 G40 G49 G80 and the offset.

Source
    The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase

META = Meta("safe-start-missing", Signal.CAUTION)
_PLANES = re.compile(r"G0*1[789](?!\d)")
_UNITS = re.compile(r"G0*(?:2[01]|7[01])(?!\d)")
_AXIS = re.compile(r"[XYZUVW][-+.\d#\[]")
_HOME = re.compile(r"G0*(?:28|30|53|10|92|52|4)(?!\d)")


def run(case: ReadCase) -> Iterator[Finding]:
    """One finding with everything that is left to the control and matters here."""
    met = next((remark for remark in case.interpreted.remarks if remark.slug == "modes not stated"), None)
    noted = met.text if met is not None else ""
    offsets = [name for name in case.interpreted.registers if name.startswith("G5")]
    missing = [name for name, matters in (
        ("distance (G90 is taken)", "distance (" in noted),
        ("plane (G17 is taken)", "plane (" in noted and _plane_matters(case)),
        ("work offset (G54 is taken)", "work offset (" in noted and len(offsets) > 1),
    ) if matters]  # fmt: skip
    line, no_units = _units(case)
    missing += ["units (G20 or G21)"] if no_units else []
    if not missing:
        return
    span = met.span if met is not None else case.span(next(iter(case.lines)), line)
    signal = META.signal if "distance (G90 is taken)" in missing else Signal.NOTICE
    text = f"Before its first move the program does not state {', '.join(missing)}."
    yield case.finding(META.slug, signal, span, text, remedy="Write it in the first block: a control may start with another.")


def _plane_matters(case: ReadCase) -> bool:
    """Whether an arc, a compensated move or a cycle comes before the program first states a plane."""
    path = case.path
    uses = np.array([bool(state.compensation or state.cycle) for state in path.states])[path.state] | (path.arc >= 0)
    if not uses.any():
        return False
    first = int(np.flatnonzero(uses)[0])
    stated = next((number for number, text in case.words(path.files[int(path.file[first])]) if _PLANES.search(text)), None)
    return stated is None or stated > int(path.line[first])


def _units(case: ReadCase) -> tuple[int, bool]:
    """Line of the first axis word of the first program, and whether no unit is stated up to there."""
    file = next(iter(case.lines), None)
    for number, text in case.words(file) if file is not None and len(case.path) else ():
        if _UNITS.search(text):
            return number, False
        if _AXIS.search(text) and not _HOME.search(text):
            return number, True
    return 0, False
