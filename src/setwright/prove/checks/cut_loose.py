"""The program parts the metal, and a piece is left that nothing holds.

What silence proves
    What is left of the blank is in one piece after the program, pieces of less than three cells of the rays each way aside.

Why it matters
    A piece that comes loose is caught by the turning tool: it jams, breaks the tool or is thrown.

How it decides
    Overlapping intervals of neighbouring rays belong to one piece; of the three directions of rays the one that shows the fewest
    pieces is believed. A piece is held when bodies of the kit stand against it from two opposite sides, surface on surface. The
    line named frees the piece: the program is halved again and again until the motion is found. What runs into the piece after
    that, where it came loose, is told with it. Where a draft guessed how high the blank lies, and none comes loose from it if it
    lies at the other end of what is plausible, the piece is a WARNING.

Blind spots
    A gap thinner than the ray spacing does not part, and a bridge thinner than it in two directions does not join. A clamp that
    pulls from one side alone (glue, vacuum, a screw through the piece) counts as not holding. A piece loose for a while and then
    cut away whole. A loose piece that falls aside and lies in the way of another motion.

What to do
    Leave bridges, or a floor that is cut last; clamp the piece, or take it out at a stop before it comes loose.

Source
    Removal along rays: see the algorithm note of the removal engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.case import BLANK, ProveCase

META = Meta("cut-loose", Signal.DANGER)


def run(case: ProveCase) -> Iterator[Finding]:
    """One finding a piece: DANGER when nothing holds it, WARNING where the blank is only guessed to lie so, CAUTION when it is
    clamped by itself."""
    for piece in case.parted:
        sides = " x ".join(case.length(side, places=1) for side in piece.size)
        what = f"{case.volume(piece.volume)}, {sides} about {case.point(piece.middle, places=1)}"
        if piece.held:
            text = f"the part is cut in two here at the latest; the smaller piece ({what}) is still clamped"
            remedy = "check that every piece is clamped firmly by itself"
            yield case.finding(META.slug, Signal.CAUTION, piece.row, text, body=BLANK, remedy=remedy)
        else:
            low, high = (case.length(float(corner[2])).split()[0] for corner in case.kit.extent)
            lies = f" if the blank stands from Z{low} to Z{high} as it is guessed" if piece.guessed else ""
            text = f"a piece comes loose here{lies} and nothing holds it: {what}"
            if piece.struck_row >= 0:
                tool, line = case.tool_name(piece.struck_row), case.line_at(piece.struck_row)
                text += f"; the program runs on, and {tool} strikes it in line {line}"
            remedy = "leave bridges or a thin floor, clamp it, or take it out at a stop before this line"
            if piece.guessed:
                remedy = f"measure where the blank's top lies and answer its guess in job.toml; if it lies there, {remedy}"
            yield case.finding(META.slug, Signal.WARNING if piece.guessed else META.signal, piece.row, text, body=BLANK,
                               remedy=remedy, question=piece.guessed)  # fmt: skip
