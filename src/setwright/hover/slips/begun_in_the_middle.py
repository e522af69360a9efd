"""The program is begun in the middle.

What happens
    The cursor still stands at a later tool from the last run; start is pressed.

What it changes
    The tools before have not cut: the later ones meet the full blank.

How often
    Some times in a thousand starts.

Where it can occur
    Programs with several tools.

What gives it away
    The cursor at the top of the program, the block number on the screen.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("begun-in-the-middle", 0.004, "a start", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """At each tool change but the first, where the change stands in the main part of the first program."""
    name = case.kit.setup.programs[0]
    path = case.course.path
    changes = [e.line for e in path.events if e.kind == "tool change" and path.files[e.file] == name]
    lines = case.world.sources[name].splitlines(keepends=True)
    later = [line for line in dict.fromkeys(changes) if changes and line > changes[0]]
    for line in later:

        def change(world: World, line: int = line) -> World:
            skipped = [b"\n"] * (line - changes[0])  # so that the lines keep their numbers
            text = b"".join([*lines[: changes[0] - 1], *skipped, *lines[line - 1 :]])
            return replace(world, sources={**world.sources, name: text})

        words = f"{name} is begun at line {line} instead of its top: the tools before have not cut"
        yield Occurrence(META.slug, words, split(META.rate, len(later)), name, "reset, and put the cursor at the top", change)
