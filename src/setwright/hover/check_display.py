"""What the control's display shows at a tool's hold point when another program, or a program with blocks skipped, runs."""

from __future__ import annotations

import numpy as np

from setwright.base.errors import InputRefused
from setwright.hover.holdpoints import HoldPoint, stopped_at
from setwright.prove.motions import moves_over_part
from setwright.prove.reading import interpret_setup
from setwright.slips.world import World

__all__ = ["display_at"]


def display_at(world: World, sheet: World, hold: HoldPoint) -> str:
    """Block, position and way to go as the control shows them at the tool's first way down.

    Registers do not change this display: it speaks of the program's own coordinates. Only other programs and skipped blocks do.
    """
    if world.runs == sheet.runs:
        return _said(hold.text, hold.shows, hold.to_go)
    try:
        path = interpret_setup(sheet.kit, world.held).path
    except InputRefused:
        return "the program does not run"
    if not len(path):
        return "nothing moves"
    top = float(sheet.kit.extent[1][2]) + max(copy[2] for copy in sheet.kit.copies)
    order = {station: row for row, station in enumerate(dict.fromkeys([0, *sorted(sheet.kit.tools)]))}
    known = {state.tool for state in path.states}
    order |= {station: 0 for station in known if station not in order}
    moves = moves_over_part(path, sheet.truth, order, right_hand=np.ones(len(order), np.bool_))
    stop = stopped_at(path, moves, hold.station, top)
    if stop is None:
        return "the tool does not come down"
    file, line = path.files[int(path.file[stop.row])], int(path.line[stop.row])
    lines = world.sources.get(file, b"").splitlines()
    text = lines[line - 1].decode("utf-8", errors="replace") if 0 < line <= len(lines) else ""
    return _said(text, stop.shows, stop.to_go)


def _said(text: str, shows: object, to_go: object) -> str:
    positions = [" ".join(f"{value:.3f}" for value in np.asarray(values, np.float64).tolist()) for values in (shows, to_go)]
    return f"{' '.join(text.split())}: at {positions[0]}, to go {positions[1]}".replace("-0.000", "0.000")
