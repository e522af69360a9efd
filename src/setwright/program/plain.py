"""Runs of plain motion blocks (G0-G3 with axis, centre, radius and feed words), executed by a compiled modal machine.

The kernel is only ever the happy path: at the first block that is not plain, or that needs a word with the reader (an arc off its
circle, a missing feed, a direction of travel not yet chosen), it hands back, and the careful interpreter executes that block.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from setwright.base.jit import kernel
from setwright.base.tolerance import ARC_MISMATCH_NOTICE_MM, COORDINATE_ROUND_OFF_MM, SAME_PLACE_MM
from setwright.program.arc import centre_arc, radius_arc
from setwright.program.machine import Machine
from setwright.program.scan import PLAIN, POINT
from setwright.program.words import LARGEST_NUMBER

__all__ = ["PlainRunner"]

_BATCH = 1 << 16
_WORTH_IT = 6


class PlainRunner:
    """Executes plain blocks on a machine when its state allows."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self._breaks: dict[int, NDArray[np.intp]] = {}

    def run(self, line: int, last: int) -> int:
        """Execute plain blocks from `line` up to `last` at most; the line to go on with (`line` if there is none)."""
        machine, modal = self.machine, self.machine.modal
        ready = machine.moved and machine.chain is None and machine.corner is None and machine.transform.linear is None
        if not ready or modal.polar or modal.motion not in (-1, 0, 10, 20, 30) or modal.feed_mode != 940 or modal.exact_stop:
            return line
        stop = min(last + 1, self._run_end(line))
        if stop - line < _WORTH_IT:
            return line
        machine.rows.reserve(stop - line)
        while line < stop:
            following = self._batch(line, min(stop, line + _BATCH))
            if following < min(stop, line + _BATCH):
                return following
            line = following
        return line

    def _run_end(self, line: int) -> int:
        """The first line from `line` on that is not plain."""
        file = self.machine.file
        breaks = self._breaks.get(file)
        if breaks is None:
            flags = self.machine.sources[file].scan.flags
            breaks = self._breaks[file] = np.append(np.flatnonzero((flags & PLAIN) == 0), flags.size)
        return int(breaks[breaks.searchsorted(line - 1)]) + 1

    def _batch(self, line: int, stop: int) -> int:
        machine, modal, profile = self.machine, self.machine.modal, self.machine.profile
        scan = machine.sources[machine.file].scan
        whole = 1.0
        if profile.decimal == "least increment":
            whole = profile.increment_mm if modal.unit == 1.0 else profile.increment_inch
        ints = np.array([modal.motion // 10 if modal.motion >= 0 else -1, modal.plane, modal.absolute, modal.arc_absolute,
                         (modal.turning != 0 and modal.speed > 0.0) or "spindle stands in a feed move" in machine.said,
                         "no feed" in machine.said],
                         np.int64)  # fmt: skip
        notice = max(ARC_MISMATCH_NOTICE_MM, profile.arc_mismatch_mm / 10.0)
        floats = np.array([*machine.prog, *machine.transform.shift, modal.unit, whole, modal.feed,
                           min(notice, profile.arc_mismatch_mm)])
        r, a, first_arc = machine.rows.room(stop - line, stop - line)
        following, rows, arcs = _run_plain(
            scan.first_word, scan.flags, scan.letter, scan.value, scan.mark, line, stop, ints, floats, machine.at, first_arc,
            r["kind"], r["line"], r["arc"], r["start"], r["end"], r["feed"], a["centre"], a["sweep"], a["axis"],
        )  # fmt: skip
        modal.motion = int(ints[0]) * 10 if ints[0] >= 0 else -1
        modal.plane, modal.absolute, modal.feed = int(ints[1]), bool(ints[2]), float(floats[8])
        machine.prog = (float(floats[0]), float(floats[1]), float(floats[2]))
        if rows:
            r["state"][:rows], r["frame"][:rows], r["file"][:rows] = machine.state_number(), machine.frame_number(), machine.file
            machine.rows.took(rows, arcs)
            x, y, z = r["end"][rows - 1].tolist()
            machine.at = (x, y, z)
        return int(following)


@kernel
def _run_plain(
    first_word: NDArray[np.int32], flags: NDArray[np.uint8], letter: NDArray[np.uint8], value: NDArray[np.float64],
    mark: NDArray[np.uint8], line: int, stop: int, ints: NDArray[np.int64], floats: NDArray[np.float64],
    at: tuple[float, float, float], first_arc: int, kind: NDArray[np.uint8], row_line: NDArray[np.int32],
    row_arc: NDArray[np.int32], row_start: NDArray[np.float64], row_end: NDArray[np.float64], row_feed: NDArray[np.float64],
    centre: NDArray[np.float64], sweep: NDArray[np.float64], axis: NDArray[np.uint8],
) -> tuple[int, int, int]:  # fmt: skip
    """Execute lines `line` (from 1) to `stop` - 1; returns (next line, rows, arcs).

    `ints`: motion, plane, absolute, arc centre absolute, spindle fit, feed fit. `floats`: programmed point (3), shift (3), mm per
    unit, factor of numbers without a point, feed mm/min, largest arc mismatch mm. Both are updated in place. Rows: kind, line, arc
    (-1 or number from `first_arc`), start and end (work coordinates, mm; the
    first start is `at`), feed; arcs: centre, sweep (rad), axis.
    """
    p = np.empty(3)
    v = np.empty(7)
    here = np.array([at[0], at[1], at[2]])
    rows = 0
    arcs = 0
    while line < stop and flags[line - 1] & PLAIN:
        motion, plane, absolute, feed = ints[0], ints[1], ints[2], floats[8]
        has = 0
        for w in range(first_word[line - 1], first_word[line]):
            c = letter[w]
            number = value[w]
            if number > LARGEST_NUMBER or number < -LARGEST_NUMBER:
                has = -1
                break
            if c == 71:
                code = int(number)
                if code <= 3:
                    motion = code
                elif code <= 19:
                    plane = code - 17
                else:
                    absolute = 1 if code == 90 else 0
            elif c == 70:
                feed = number * floats[6]
            elif c != 78:
                slot = c - 88 if c >= 88 else (c - 70 if c <= 75 else 6)
                v[slot] = number * floats[6] * (1.0 if mark[w] & POINT else floats[7])
                has |= 1 << slot
        if has < 0:
            break
        centres = has & 56
        if has == 0 or ((has & 7) == 0 and not (centres and motion >= 2)):
            if has != 0 or feed < 0.0:
                break
            ints[0], ints[1], ints[2], floats[8] = motion, plane, absolute, feed
            line += 1
            continue
        if motion < 0 or feed < 0.0 or (motion < 2 and has > 7) or (motion > 0 and not ((feed > 0.0 or ints[5]) and ints[4])):
            break
        for i in range(3):
            p[i] = floats[i]
            if has & (1 << i):
                p[i] = v[i] if absolute else p[i] + v[i]
        if motion < 2:
            moved = False
            square = 0.0
            for i in range(3):
                square += (p[i] - floats[i]) ** 2
            moved = math.sqrt(square) > COORDINATE_ROUND_OFF_MM
            if moved:
                kind[rows] = motion
                row_arc[rows] = -1
                row_feed[rows] = feed if motion == 1 else math.nan
        else:
            one = 0 if plane == 0 else (2 if plane == 1 else 1)
            two = 1 if plane == 0 else (0 if plane == 1 else 2)
            normal = 3 - one - two
            if centres and has & 64:
                break
            if has & 64:
                if math.hypot(p[one] - floats[one], p[two] - floats[two]) <= SAME_PLACE_MM:
                    break
                cu, cv, turn, off = radius_arc(floats[one], floats[two], p[one], p[two], v[6], motion == 2)
            else:
                if centres == 0 or (has & (8 << normal) and v[3 + normal] != 0.0):
                    break
                cu, cv = floats[one], floats[two]
                if has & (8 << one):
                    cu = v[3 + one] if ints[3] else cu + v[3 + one]
                if has & (8 << two):
                    cv = v[3 + two] if ints[3] else cv + v[3 + two]
                if ints[3] or math.hypot(floats[one] - cu, floats[two] - cv) <= SAME_PLACE_MM:
                    break
                cu, cv, turn, off, eu, ev = centre_arc(floats[one], floats[two], p[one], p[two], cu, cv, motion == 2)
                if eu != p[one] or ev != p[two]:
                    break
            if off > floats[9]:
                break
            moved = True
            kind[rows] = 2
            row_arc[rows] = first_arc + arcs
            row_feed[rows] = feed
            centre[arcs, one] = cu + floats[3 + one]
            centre[arcs, two] = cv + floats[3 + two]
            centre[arcs, normal] = floats[normal] + floats[3 + normal]
            sweep[arcs] = turn
            axis[arcs] = normal
            arcs += 1
        if moved:
            for i in range(3):
                row_start[rows, i] = here[i]
                here[i] = p[i] + floats[3 + i]
                row_end[rows, i] = here[i]
            row_line[rows] = line
            rows += 1
        for i in range(3):
            floats[i] = p[i]
        ints[0], ints[1], ints[2], floats[8] = motion, plane, absolute, feed
        line += 1
    return line, rows, arcs
