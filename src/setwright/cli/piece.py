"""Piece: what to measure on a piece; then what to type, or to leave it alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.base.units import format_length
from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from setwright.jobfolder.load import JobFolder
    from setwright.model.finding import Finding
    from setwright.model.measurement import Measured
    from setwright.piece.influence import Influence
    from setwright.piece.plan import ToMeasure
    from setwright.piece.station import PieceResult
    from setwright.prove.found import FoundFaces

__all__ = ["NAME", "command", "influences", "list_faces", "list_to_measure", "say_piece"]

NAME = "piece"
_COVERAGE = {2.0: "the whole of U", 1.645: "95 % probability of conformance"}


def command(
    job: Annotated[Path, typer.Argument(help="A job folder with measured.csv in it.")],
    *,
    measured: Annotated[Path | None, typer.Option("--measured", help="Take the values from another file, a table or QIF results.",
                                                  metavar="FILE")] = None,
    enter: Annotated[bool, typer.Option("--enter", help="Take values one a line, typed or sent by a gauge, in the order of what "
                                        "there is to measure; they are written into measured.csv.")] = False,
    piece: Annotated[str | None, typer.Option("--piece", help="With --enter: the piece, else the one after the last.",
                                              metavar="NUMBER")] = None,
    add: Annotated[Path | None, typer.Option("--add", help="Write the values of another file, a table or QIF results, into "
                                             "measured.csv.", metavar="FILE")] = None,
    gauge: Annotated[str, typer.Option("--gauge", help="The gauge of the shop that QIF results were taken with.",
                                       metavar="NAME")] = "",
    out: Annotated[Path | None, typer.Option("-o", "--out", help="Write the judged values: a table, or QIF results.",
                                             metavar="FILE.csv|FILE.qif")] = None,
    guard: Annotated[float, typer.Option("--guard", help="Guard band at each limit in halves of the gauge's U (k = 2): 2, the "
                                         "whole of U, or 1.645, 95 % probability of conformance.", metavar="K")] = 2.0,
    faces: Annotated[bool, typer.Option("--faces", help="Only list the faces that the program makes, as tables to paste into "
                                        "job.toml; needs nothing measured.")] = False,
    pitch: Annotated[float | None, typer.Option("--pitch", help="Ray spacing.", metavar="MM")] = None,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:  # fmt: skip
    """Say what to type after a measured piece, what it will do, how sure that is and why; before one is measured, what to measure
    on it, in which order and with which gauge."""

    written: list[str] = []

    def work() -> None:
        from setwright.cli.piece_entry import add_file, enter_values, kind_of_file, write_results
        from setwright.jobfolder.load import load_job, setup_numbered
        from setwright.piece.station import advise_piece
        from setwright.piece.words import job_plain

        if not 0.0 <= guard <= 4.0:
            raise InputRefused.because(f"--guard {guard:g} is no guard band", remedy="write 2 for the whole of U, or 1.645")
        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        if faces:
            list_faces(asked, folder, setup, pitch)
            return
        if out is not None:
            kind_of_file(out)
        if piece is not None and not enter:
            raise InputRefused.because("--piece says of which piece values come in", remedy="write it with --enter")
        if add is not None:
            _say_written(asked, written, add_file(folder, add, gauge=gauge, setup=setup), add.name)
        if enter:
            _say_written(asked, written, enter_values(asked, folder, setup=setup, guard=guard, piece=piece), "")
        if measured is None and not _measured_yet(folder, setup):
            if out is not None:
                raise InputRefused.because("nothing was measured that could be written",
                                           remedy="measure a piece, or leave --out away")  # fmt: skip
            list_to_measure(asked, folder, setup, guard)
            return
        doubts: list[Finding] = []
        read, found = influences(asked, folder, measured, setup, pitch, doubts, gauge=gauge)
        typed = replace(asked, units=asked.units if units or folder.job.units == "mm" else "inch")  # as at the control
        results = [advise_piece(one, read, guard=guard, units=typed.units) for one in found]
        for result in results:
            say_piece(typed, result, guard)
        known = {result.kit.setup.name for result in results}
        rest = [one.name for one in setup_numbered(folder.job, setup) if one.name not in known]
        for name in rest:
            asked.people.print(Text(f"Of setup “{name}” nothing was measured; --setup '{name}' says what to measure there."))
        findings = (*doubts, *(finding for result in results for finding in result.findings))
        document = {**job_plain(results, asked.units, typed=typed.units), "guard": guard, "setups_not_measured": rest,
                    "measured": {"file": read.file, "sha256": read.digest}}  # fmt: skip
        if out is not None:
            write_results(asked, out, results, read, typed.units)
        answer(asked, Answer(folder.name, document, findings))

    guarded(NAME, work, as_json=json, written=written)


def _say_written(asked: Asked, written: list[str], count: int, source: str) -> None:
    """How many values went into measured.csv."""
    if count:
        written.append(f"{count} value{'s' * (count != 1)}{f' of {source}' if source else ''} in measured.csv")
        asked.people.print(Text(f"Written: {written[-1]}."))


def _measured_yet(folder: JobFolder, setup: str | None) -> bool:
    """Whether the job has a value of any asked setup."""
    from setwright.jobfolder.load import setup_numbered
    from setwright.jobfolder.measured import MEASURED_FILE, read_measured

    wanted = {one.name for one in setup_numbered(folder.job, setup)}
    place = folder.root / MEASURED_FILE
    if not place.exists() and not place.is_symlink():
        return False
    return any(one.setup in wanted for one in read_measured(folder).measurements)


def list_to_measure(asked: Asked, folder: JobFolder, setup: str | None, guard: float) -> None:
    """What to measure on a piece of every asked setup, in which order and with which gauge; writes nothing."""
    from setwright.jobfolder.load import setup_numbered
    from setwright.jobfolder.measured import NEEDED
    from setwright.kit.station import kit
    from setwright.piece.plan import plan

    documents, headlines, found = [], [], False
    for one in setup_numbered(folder.job, setup):
        rows = plan(kit(folder, one), None, guard=guard)
        told = f"Measure first: {rows[0].feature}." if rows else "The job asks for nothing that can be measured."
        headlines.append((one.name, told))
        found = found or bool(rows)
        documents.append({"setup": one.name, "headline": told, "plan": [row.as_plain(asked.units) for row in rows]})
        _say_plan(asked, folder, one.name, told, rows)
    if found and not asked.quiet:
        head = ", ".join(NEEDED)
        asked.people.print(f"Type the values with --enter, or write them into measured.csv, one a line, below “{head}”.")
    headline = " ".join(told if len(headlines) == 1 else f"{name}: {told}" for name, told in headlines)
    answer(asked, Answer(folder.name, {"advice": "measure", "headline": headline, "guard": guard, "setups": documents}, ()))


def _say_plan(asked: Asked, folder: JobFolder, setup: str, told: str, rows: Sequence[ToMeasure]) -> None:
    console = asked.people
    console.print()
    console.print(Text(f"{folder.job.job.title} · setup “{setup}”: no piece was measured yet", "bold"))
    console.print(Text(told, "bold"))
    if asked.quiet or not rows:
        return
    units = "inch" if folder.job.units == "in" and not asked.json else asked.units
    before = ""
    for turn, row in enumerate(rows, 1):
        if row.group != before:
            before, gauge = row.group, row.chosen
            console.print(Text(f"With {gauge.name} ({gauge.key})" if gauge is not None else row.proves_said(units), "bold"))
        proves = f"; {row.proves_said(units)}" if row.chosen is not None else ""
        console.print(Text(f"  {turn:2} {row.feature}: {row.limits_said(units)}{proves}"), soft_wrap=True)


def list_faces(asked: Asked, folder: JobFolder, setup: str | None, pitch: float | None) -> None:
    """The faces of every asked setup: a table, what could be measured between them, and what job.toml takes."""
    from setwright.cli.proving import Proving
    from setwright.jobfolder.load import setup_numbered
    from setwright.prove.found import found_faces

    wanted = [one.name for one in setup_numbered(folder.job, setup)]
    proofs = {proof.kit.setup.name: proof for proof in Proving(folder, asked, nominal=True).run(setup, pitch=pitch)}
    found = {name: found_faces(proofs[name]) for name in wanted}
    for name, one in found.items():
        _say_faces(asked, name, one)
    documents = [{"setup": name, **one.as_plain()} for name, one in found.items()]
    answer(asked, Answer(folder.name, {"faces": documents}, ()))


def _say_faces(asked: Asked, setup: str, found: FoundFaces) -> None:
    console, units = asked.people, asked.units
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("face", "made by"):
        table.add_column(column)
    for face in found.faces:
        areas = f" (in {face.areas} areas)" if face.areas > 1 else ""
        table.add_row(face.name + areas, "; ".join(one.words for one in face.made_by))
    console.print()
    console.print(Text(f"Faces that the program makes in setup “{setup}”", "bold"))
    console.print(table)
    for pattern in found.patterns:
        console.print(f"  {pattern.words}")
    for one in found.distances:
        console.print(f"  {one.what} {format_length(one.value, units)}: from {one.between[0]} to {one.between[1]}")
    if found.left_share >= 0.001:
        tools = ", ".join(f"T{tool}" for tool in found.left_tools)
        narrow = format_length(2.0 * found.grid_mm, units)
        console.print(f"  {100.0 * found.left_share:.1f} % of what the program makes ({tools}) is none of these: curved, stepped, "
                      f"or narrower than two rays ({narrow}); a finer --pitch finds narrower faces.")  # fmt: skip
    if not asked.quiet:
        console.print()
        console.print(Text("To paste below the setup in job.toml; give each the name that the drawing has:", "bold"))
        console.print(Text(found.as_toml()), soft_wrap=True)


def influences(asked: Asked, folder: JobFolder, measured: Path | None, setup: str | None, pitch: float | None,
               doubts: list[Finding], *, gauge: str = "") -> tuple[Measured, list[Influence]]:  # fmt: skip
    """What was measured, and how features follow registers in every setup of it; `doubts` gathers what Touch leaves open."""
    from setwright.cli.progress import Bar
    from setwright.cli.proving import Proving
    from setwright.jobfolder.load import setup_numbered
    from setwright.jobfolder.measured import read_measured
    from setwright.piece.influence import influence_of
    from setwright.piece.station import register_names
    from setwright.slips.world import as_set

    read = read_measured(folder, measured, gauge=gauge, setup=setup)
    names = {one.setup for one in read.measurements}
    wanted = [one.name for one in setup_numbered(folder.job, setup)]
    if not names & set(wanted):
        raise InputRefused.because(f"{read.file} has no value of {'this setup' if setup else 'any setup'}",
                                   remedy="write piece, feature, value, gauge: one measured value a line")  # fmt: skip
    found = []
    for name in wanted:
        if name in names:
            proof = Proving(folder, asked).run(name, pitch=pitch)[-1]
            doubts += proof.truth.doubts
            world = as_set(proof.kit, proof.truth, metal=None if proof.kit.blank is not None else proof.before)
            with Bar(asked.progress, quiet=asked.quiet) as bar:
                found.append(influence_of(world, pitch_mm=pitch, progress=bar))
    registers = {one.kit.setup.name: register_names(one) for one in found}
    return read_measured(folder, measured, registers=registers, gauge=gauge, setup=setup), found


def say_piece(asked: Asked, result: PieceResult, guard: float) -> None:
    """One setup for people: what to type, what it will do, how sure, why."""
    from setwright.piece.words import blind_said, habits_said, headline, typing_said

    console, units = asked.people, asked.units
    console.print()
    console.print(Text(f"{result.kit.folder.job.job.title} · setup “{result.kit.setup.name}” · {result.kit.machine.name}", "bold"))
    if not result.registers:
        console.print(Text(headline(result, units), "bold"))
    for one in result.registers:
        said = typing_said(one, units)
        beside = f" and {said['beside']} in its wear" if said["beside"] else ""
        wear = f", or {said['wear']} into its wear" if said["wear"] else ""
        console.print(Text(f"Type {one.text(units)}   (it holds {said['holds']}{beside}: {said['change']}{wear}; sure to "
                           f"{said['sure']})", "bold"))  # fmt: skip
    if result.registers:
        console.print(f"Why: {result.why}. Read every number back before you start.")
    if asked.quiet:
        return
    _say_judged(asked, result, guard)
    _say_outlook(asked, result)
    for group in result.blind:
        console.print(f"  {blind_said(group)}")
    if habits := habits_said(result, units):
        console.print(f"  {habits}")
    if result.not_measured:
        console.print(f"  Not measured, so not judged: {'; '.join(result.not_measured)}.")
    if result.not_seen:
        console.print(f"  Registers that nothing measured shows: {', '.join(result.not_seen)}.")
    if result.belief.drifts:
        console.print("  The pieces drift: the later ones count for more. See run for how fast, and when to measure next.")
    say_findings(asked, result.findings)


def _say_judged(asked: Asked, result: PieceResult, guard: float) -> None:
    from setwright.piece.words import judged_said

    name = _COVERAGE.get(guard, f"{guard:g} halves of U")
    table = Table(box=None, pad_edge=False, header_style="bold", title_justify="left",
                  title=f"Measured, decided by ISO 14253-1 with a guard band of {name}")  # fmt: skip
    for column in ("piece", "feature", "value", "U (k = 2)", "gauge", "decision"):
        table.add_column(column, justify="right" if column in ("value", "U (k = 2)") else "left")
    for one in result.judged:
        said = judged_said(one, asked.units)
        table.add_row(one.piece, one.requirement, said["value"], said["sure"], one.gauge, one.decision.value)
    asked.people.print(table)


def _say_outlook(asked: Asked, result: PieceResult) -> None:
    """The next piece as it would come out now, and with the numbers typed; only what has limits and was measured or moves."""
    from setwright.piece.words import concerns, outlook_said

    after = "with the change" if result.registers else "as it is"
    table = Table(box=None, pad_edge=False, header_style="bold", title=f"The next piece, now and {after}", title_justify="left")
    for column in ("feature", "now", "then", "± (k = 2)", "in limits now", "then"):
        table.add_column(column, justify="left" if column == "feature" else "right")
    concerned = concerns(result)
    for now, then in zip(result.before, result.after, strict=True):
        if now.requirement in concerned:
            said = outlook_said(now, then, asked.units)
            table.add_row(now.requirement, said["now"], said["then"], said["sure"], said["chance_now"], said["chance_then"])
    asked.people.print(table)

