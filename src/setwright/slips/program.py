"""The control does not run the program that was proved, or runs it with something left in force."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

from setwright.slips.case import SlipCase
from setwright.slips.catalogue import Way, scalable, slip
from setwright.slips.changes import Change
from setwright.slips.world import Triple, World


@slip("wrong-program", rate=0.004, per="a setup", by_hand="program")
def _wrong_program(case: SlipCase) -> Iterator[Way]:
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
    mine = case.kit.setup.programs
    others = [name for name in case.kit.folder.sources if name not in mine]
    for name in others:

        def change(world: World, name: str = name) -> World:
            rest = {other: data for other, data in world.sources.items() if other != mine[0]}
            return replace(world, sources={name: world.kit.folder.sources[name], **rest})

        yield Way(f"{name} is run instead of {mine[0]}", 1.0 / len(others), mine[0],
                  f"call up {mine[0]} and compare its head with the sheet", change)  # fmt: skip


@slip("program-cut-short", rate=0.001, per="a transfer", by_hand="program")
def _program_cut_short(case: SlipCase) -> Iterator[Way]:
    """The program in the control is not whole.

    What happens
        The transfer broke off; what came is run.

    What it changes
        The program ends in the middle of a tool.

    How often
        Some times in a thousand transfers over an old line.

    Where it can occur
        Every program.

    What gives it away
        The last line in the control, the length of the file.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    name = case.kit.setup.programs[0]
    lines = case.world.sources[name].splitlines(keepends=True)
    kept = 2 * len(lines) // 3

    def change(world: World) -> World:
        return replace(world, sources={**world.sources, name: b"".join(lines[:kept])})

    words = f"{name} ends in line {kept} of {len(lines)}: the transfer broke off"
    yield Way(words, 1.0, name, "transfer it again and compare its last line", change)


@slip("begun-in-the-middle", rate=0.004, per="a start", by_hand="program", hidden=("program head", "program whole"))
def _begun_in_the_middle(case: SlipCase) -> Iterator[Way]:
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
    name = case.kit.setup.programs[0]
    path = case.interpreted.path
    changes = [e.line for e in path.events if e.kind == "tool change" and path.files[e.file] == name]
    lines = case.world.sources[name].splitlines(keepends=True)
    later = [line for line in dict.fromkeys(changes) if changes and line > changes[0]]
    for line in later:

        def change(world: World, line: int = line) -> World:
            skipped = [b"\n"] * (line - changes[0])  # so that the lines keep their numbers
            text = b"".join([*lines[: changes[0] - 1], *skipped, *lines[line - 1 :]])
            return replace(world, sources={**world.sources, name: text})

        words = f"{name} is begun at line {line} instead of its top: the tools before have not cut"
        yield Way(words, 1.0 / len(later), name, "reset, and put the cursor at the top", change)


@slip("block-delete-on", rate=0.01, per="a setup")
def _block_delete_on(case: SlipCase) -> Iterator[Way]:
    """The block-delete switch stands the other way.

    What happens
        It was switched for the last job and stays so.

    What it changes
        Blocks that begin with / are skipped though they should run.

    How often
        Some times in a hundred setups whose program has such blocks.

    Where it can occur
        Programs with / at the beginning of a block.

    What gives it away
        The lamp or the line on the screen.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if any(line.startswith("/") for line in case.text.splitlines()):

        def change(world: World) -> World:
            return replace(world, skip_levels=frozenset({1}))

        yield Way("the block-delete switch is on: blocks that begin with / are skipped", 1.0,
                  "block-delete switch", "switch block delete off", change)  # fmt: skip


@slip("shift-left", rate=0.002, per="a setup", spread=3.0, either_way=True)
def _shift_left(case: SlipCase) -> Iterator[Way]:
    """A shift of G52 or G92 is still in force in the control.

    What happens
        An earlier program set it and was stopped before it took it back.

    What it changes
        Every work offset is shifted; here by one part's length or width, as if the part before had been the one beside it, or by
        its height.

    How often
        Some times in a thousand setups on controls that keep such shifts.

    Where it can occur
        Programs that do not cancel them at their start.

    What gives it away
        The active shifts on the screen; the tip over the zero.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if "G92" in case.text or "G52" in case.text:
        return
    x, y, z = (case.kit.extent[1] - case.kit.extent[0]).tolist()
    for stated in ((x, 0.0, 0.0), (0.0, y, 0.0), (0.0, 0.0, -z)):

        def at(times: float, stated: Triple = stated) -> Way:
            by = (stated[0] * times, stated[1] * times, stated[2] * times)
            words = f"a shift of {', '.join(case.length(value) for value in by)} is still in force"
            return Way(words, 1.0 / 3, "shift", "cancel it (G92.1, G52 X0 Y0 Z0) before the start",
                       lambda world: replace(world, left_shift=by), max(by, key=abs))  # fmt: skip

        yield scalable(at)


@slip("rotation-left", rate=0.002, per="a setup")
def _rotation_left(case: SlipCase) -> Iterator[Way]:
    """A rotation is still in force in the control.

    What happens
        An earlier program was stopped before its G69.

    What it changes
        The whole program runs turned about the zero; here by a quarter turn.

    How often
        Some times in a thousand setups on machines that turn programs.

    Where it can occur
        Programs that do not cancel a rotation at their start, on controls that know one.

    What gives it away
        The active functions on the screen.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if "G69" in case.text:
        return

    def change(world: World) -> World:
        return replace(world, left_turn=math.pi / 2)

    words, remedy = "a rotation of 90° is still in force", "cancel it with G69 before the start"
    yield Way(words, 1.0, "rotation", remedy, change)


@slip("mirror-left", rate=0.001, per="a setup", by_hand="program")
def _mirror_left(case: SlipCase) -> Iterator[Way]:
    """A mirror image is still in force in the control.

    What happens
        The part before was the other hand of this one, and its program was broken off before it switched the mirror off.

    What it changes
        Everything along one axis runs the other way from the zero, and climb milling becomes conventional.

    How often
        Once in a thousand setups of controls with a mirror.

    Where it can occur
        Programs that do not cancel it themselves.

    What gives it away
        The modes on the screen; the way to go at the first hold point has the wrong sign.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    for axis in ("X", "Y") if "G50.1" not in case.text else ():
        yield Way(f"a mirror of {axis} is still in force", 1.0 / 2, "modes in force", "cancel it (G50.1) before the start",
                  _left_in_force(f"G51.1 {axis}0"))  # fmt: skip


_SCALE = "0.5"


@slip("scale-left", rate=0.001, per="a setup", by_hand="program")
def _scale_left(case: SlipCase) -> Iterator[Way]:
    """A scaling is still in force in the control.

    What happens
        The program before was run smaller or larger, as a trial or for an electrode, and was broken off.

    What it changes
        Every way is longer or shorter by the same factor; here half.

    How often
        Once in a thousand setups of controls with scaling.

    Where it can occur
        Programs that do not cancel it themselves.

    What gives it away
        The modes on the screen; the way to go at the first hold point.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if re.search(r"G50(?!\d|\.)", case.text) is None:
        yield Way(f"a scaling by {_SCALE} is still in force", 1.0, "modes in force", "cancel it (G50) before the start",
                  _left_in_force(f"G51 X0 Y0 Z0 P{_SCALE}"))  # fmt: skip


@slip("incremental-left", rate=0.001, per="a start", by_hand="program")
def _incremental_left(case: SlipCase) -> Iterator[Way]:
    """Incremental mode is still in force in the control.

    What happens
        The program before, or a block run by hand, left G91 in force.

    What it changes
        Every position is taken for a distance until the program says G90.

    How often
        Once in a thousand starts.

    Where it can occur
        Programs that move before they say G90.

    What gives it away
        The modes on the screen; the way to go at the first hold point.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if re.search(r"G9[01](?!\d|\.)", case.first_move) is None:
        yield Way("incremental mode is still in force", 1.0, "modes in force", "run G90 by hand before the start",
                  _left_in_force("G91"))  # fmt: skip


@slip("control-in-other-unit", rate=0.002, per="a setup", by_hand="program")
def _control_in_other_unit(case: SlipCase) -> Iterator[Way]:
    """The control stands in the other unit when the program starts.

    What happens
        The job before was in inches, this one is in mm, or the other way round, and the program does not say which it is.

    What it changes
        Every length of the program is taken 25.4 times too long, or as many times too short.

    How often
        Once in five hundred setups of shops that work in both units.

    Where it can occur
        Programs that do not say G20 or G21 (G70 or G71) before they move.

    What gives it away
        The unit on the screen; the way to go at the first hold point.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    if re.search(r"G(?:2[01]|7[01])(?!\d|\.)", case.first_move) is None:
        inch = case.units not in ("in", "inch")
        yield Way(f"the control stands in {'inches' if inch else 'mm'}", 1.0, "modes in force",
                  f"run {'G21' if inch else 'G20'} by hand before the start", _left_in_force("G20" if inch else "G21"))  # fmt: skip


def _left_in_force(block: str) -> Change:
    """The control starts with what this block puts in force."""
    return lambda world: replace(world, left_modes=block)


_REVISION = re.compile(rb"\b(REV\.?|REVISION|VERSION|INDEX|ISSUE)[ .:]*([A-Z0-9]+)", re.IGNORECASE)


@slip("old-revision", rate=0.004, per="a setup", by_hand="program")
def _old_revision(case: SlipCase) -> Iterator[Way]:
    """An older revision of the program is in the control.

    What happens
        The program was changed on the desk; the control still has the one from last year under the same number.

    What it changes
        Nobody can say from here: the older text is not in the job. It counts as undecided.

    How often
        Some times in a thousand setups of programs that are kept in the control.

    Where it can occur
        Every program.

    What gives it away
        The program compared whole with the one of the job; its head, where a revision stands in it.

    Source
        The shop's judgement; change the rate in the shop's own words when you have counted.
    """
    name = case.kit.setup.programs[0]
    data = case.world.sources[name]
    older = _REVISION.sub(rb"\1 (OLDER)", data, count=1) if _REVISION.search(data) else data + b"\n"

    def change(world: World) -> World:
        return replace(world, sources={**world.sources, name: older})

    yield Way(f"an older revision of {name} is in the control", 1.0, name, f"transfer {name} again and compare it whole", change,
              unknown="what an older revision does is not known: its text is not in the job")  # fmt: skip
