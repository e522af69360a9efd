"""Another program of the job is run.

What happens
    Both sides' programs are in the control; the wrong one is called up.

What it changes
    The tools do another side's work on this one.

How often
    Some times in a thousand setups of jobs with several programs.

Where it can occur
    Jobs with more than one program.

What gives it away
    The program number and its head comment against the sheet.

Source
    The shop's judgement; change the rate in the shop's own words when you have counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from setwright.hover.injecting import JUDGEMENT, Occurrence, SlipCase, SlipMeta, split
from setwright.hover.world import World

__all__ = ["META", "occurrences"]

META = SlipMeta("wrong-program", 0.004, "a setup", JUDGEMENT)


def occurrences(case: SlipCase) -> Iterator[Occurrence]:
    """Each program of the job's other setups in place of this setup's first."""
    mine = case.kit.setup.programs
    others = [name for name in case.kit.folder.sources if name not in mine]
    for name in others:

        def change(world: World, name: str = name) -> World:
            rest = {other: data for other, data in world.sources.items() if other != mine[0]}
            return replace(world, sources={name: world.kit.folder.sources[name], **rest})

        yield Occurrence(META.slug, f"{name} is run instead of {mine[0]}", split(META.rate, len(others)), mine[0],
                         f"call up {mine[0]} and compare its head with the sheet", change)  # fmt: skip
