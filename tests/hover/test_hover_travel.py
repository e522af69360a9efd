"""End of travel: refused, run up to the limit, or a travel that is only a guess; and that no guess makes a slip harmless.

Ten drafts of collected programs, each with its guessed travel as it stands and wider: python -m tests.hover.test_hover_travel.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.hover.consequence import consequence_of
from setwright.hover.course import course_of
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.reference import Reference, reference_of
from setwright.hover.study import occurrences_in
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.machine import Travel
from setwright.slips.world import World, as_set
from setwright.start.write import start
from tests.hover.plate import plate
from tests.start import programs

WIDER_MM = 600.0
FROM_HOME = ("%", "O1", "G21 G17 G90 G54", "T1 M6", "S5000 M3", "G0 X-10. Y20.", "G43 H1 Z5.", "Z-5.", "G1 X70. F500.", "G0 Z50.",
             "M30", "%")  # fmt: skip


def with_machine(world: World, **changes: object) -> World:
    """The same on a machine that is otherwise stated."""
    machine = world.kit.machine.model_copy(update=changes)
    return replace(world, kit=replace(world.kit, machine=machine))


def untyped(at: Path, said: str) -> Consequence:
    """The plate's tool without its length: Z is sent far below the travel, past the bed of the vise."""
    world = with_machine(plate(at, lines=FROM_HOME), beyond_travel=said)
    reference = reference_of(world, pitch_mm=2.0)
    return consequence_of(world.with_length(1, -world.truth.lengths[1]), reference)


def test_a_block_beyond_the_travel_is_harmless_only_where_it_is_said_to_be_refused(tmp_path: Path) -> None:
    refused, limit, unsure = (untyped(tmp_path / said.replace(" ", "-"), said) for said in
                              ("block refused", "runs to the limit", "not known"))  # fmt: skip
    assert refused.outcome is Outcome.HARMLESS
    # the tip would end at Z-95 of the part and is stopped 35 mm before: 60 mm below its top, 10 mm in the bed of the vise
    assert limit.outcome is Outcome.CRASH
    assert limit.body == "vise body"
    assert limit.value_mm == pytest.approx(10.0, abs=0.01)
    assert unsure.outcome is Outcome.CRASH
    assert "not stated for this machine" in unsure.text
    assert refused.stopped == limit.stopped == unsure.stopped == "Z is sent 35.000 mm beyond its travel"


def of_draft(program: Path, at: Path) -> World:
    """The first setup of a program's draft, as it should be."""
    start([program], at)
    folder = load_job(at)
    together = kit(folder, folder.job.setup[0])
    return as_set(together, nominal_truth(together))


def turned(world: World, *, most: int | None = None) -> Iterator[str]:
    """Slips that are harmless on the guessed travel and a crash on a wider one, unless told as unsure."""
    travel = world.kit.machine.travel
    sides = {axis: (low - WIDER_MM, high + WIDER_MM) for axis in "xyz" for low, high in [getattr(travel, axis)]}
    reference = reference_of(world, pitch_mm=2.0)
    wide = reference_of(with_machine(world, travel=Travel(**sides)), pitch_mm=2.0)
    stopped = [one for one in occurrences_in(reference.course.case) if not one.unknown and _beyond(one.change, world)]
    for one in stopped[:most]:
        here, there = (_end(one.change(made.course.world), made) for made in (reference, wide))
        if here.outcome is Outcome.HARMLESS and there.outcome is Outcome.CRASH:
            yield f"{one.words}: {here.text} / {there.text}"


def _beyond(change: object, world: World) -> bool:
    try:
        return course_of(change(world)).beyond  # type: ignore[operator]
    except InputRefused:
        return False


def _end(made: World, reference: Reference) -> Consequence:
    try:
        return consequence_of(made, reference)
    except InputRefused as refusal:
        return Consequence(Outcome.UNDECIDED, str(refusal))


@pytest.mark.parametrize("name", ["HINTED", "OUTSIDE"])
def test_no_guessed_travel_makes_a_slip_of_a_draft_harmless(tmp_path: Path, name: str) -> None:
    program = tmp_path / "part.nc"
    program.write_text(getattr(programs, name))
    assert list(turned(of_draft(program, tmp_path / "job"), most=12)) == []


def test_on_a_guessed_travel_what_would_hit_beyond_it_is_told_and_that_it_is_a_guess(tmp_path: Path) -> None:
    program = tmp_path / "part.nc"
    program.write_text(programs.HINTED)
    world = of_draft(program, tmp_path / "job")
    reference = reference_of(world, pitch_mm=2.0)
    stopped = [one for one in occurrences_in(reference.course.case) if _beyond(one.change, world)]
    ends = [_end(one.change(world), reference) for one in stopped if not one.unknown]
    assert any(end.outcome is Outcome.CRASH and "its travel is a guess" in end.text for end in ends)


def main() -> None:
    """Every draft: how many slips stop at an end of travel and how many a wider one turns from harmless to crash."""
    corpus = Path(os.environ["SETWRIGHT_CORPUS"])
    wanted, made = int(sys.argv[1]) if len(sys.argv) > 1 else 10, 0
    for program in sorted(path for path in corpus.iterdir() if path.suffix != ".tsv" and path.stat().st_size < 20_000):
        with tempfile.TemporaryDirectory() as room:
            try:
                world = of_draft(program, Path(room) / "job")
                found = list(turned(world))
            except InputRefused:
                continue
        print(f"{program.name}: {len(found)} turned", *found, sep="\n  ", flush=True)
        made += 1
        if made == wanted:
            return


if __name__ == "__main__":
    main()
