"""Prove a job: what the program will do to the metal, what hits what, what comes out."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.base.units import format_share, format_volume
from setwright.cli.common import (
    All,
    Answer,
    Asked,
    Color,
    Json,
    Quiet,
    SetupName,
    Units,
    answer,
    ask,
    guarded,
    refuse_after,
    say_findings,
)
from setwright.cli.format import duration, length
from setwright.cli.moment import look
from setwright.cli.off_shape import compare_surface
from setwright.cli.proving import Proving, until_place

if TYPE_CHECKING:
    from setwright.prove.case import Feature
    from setwright.prove.station import Proof
    from setwright.prove.verdict import Verdict

__all__ = ["NAME", "command", "say_proof"]

NAME = "prove"


def command(
    job: Annotated[Path, typer.Argument(help="A job folder.")],
    *,
    pitch: Annotated[float | None, typer.Option("--pitch", help="Ray spacing; features do not depend on it.", metavar="MM")] = None,
    until: Annotated[str | None, typer.Option("--until", help="Stop after this line of a program.", metavar="FILE:LINE")] = None,
    nominal: Annotated[bool, typer.Option("--nominal", help="On expected offsets, even where readings are there.")] = False,
    pictures: Annotated[
        Path | None, typer.Option("--pictures", help="Write a drawing of every finding's place into this folder.", metavar="FOLDER")
    ] = None,
    at: Annotated[
        str | None, typer.Option("--at", help="Show the metal before this line, and what the line does.", metavar="FILE:LINE")
    ] = None,
    point: Annotated[
        str | None, typer.Option("--point", help="Name the line that made the surface here, a place of W.", metavar="X,Y,Z")
    ] = None,
    surface: Annotated[
        Path | None, typer.Option("--surface", help="Write the metal's surface, at the end or at --at.", metavar="FILE.stl")
    ] = None,
    off_shape: Annotated[
        Path | None,
        typer.Option("--off-shape", help="Write the surface with its distances from the wanted shape.", metavar="FILE.ply"),
    ] = None,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:
    """Say what will happen to the metal."""

    def work() -> None:
        from setwright.jobfolder.load import load_job
        from setwright.prove.report import plain_job

        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        proving = Proving(folder, asked, nominal=nominal)
        looks = at is not None or point is not None or surface is not None
        proofs = proving.run(setup, pitch=pitch, until=until_place(until, folder), bench=at is not None, guesses=True)
        for proof in proofs:
            say_proof(asked, proof)
        if looks:
            shown = look(asked, proofs, at=until_place(at, folder, option="--at"), point=point, surface=surface)
        compared = {} if off_shape is None else {"off_shape": compare_surface(asked, proofs, off_shape)}
        if pictures is not None:
            _write_pictures(asked, proofs, pictures)
        findings = tuple(finding for proof in proofs for finding in proof.findings)
        body = plain_job(proofs, asked.units) | compared
        given = Answer(folder.name, {**body, "moment": shown} if looks else body, findings)
        stopped = [problem for proof in proofs for problem in proof.stopped]
        if stopped:
            refuse_after(asked, given, stopped)
        answer(asked, given)

    guarded(NAME, work, as_json=json)


def _write_pictures(asked: Asked, proofs: list[Proof], folder: Path) -> None:
    from setwright.prove.pictures import pictures_of

    drawn = [(finding.slug, picture) for proof in proofs for finding, picture in pictures_of(proof)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number, (slug, picture) in enumerate(drawn, 1):
            (folder / f"{number:02d}-{slug}.svg").write_text(picture, encoding="utf-8")
    except OSError as error:
        raise InputRefused.because(f"the drawings cannot be written into {folder}", why=error.strerror or str(error),
                                   remedy="name a folder that can be written") from error  # fmt: skip
    asked.people.print(f"{len(drawn)} drawings written into {folder}, worst finding first")


def say_proof(asked: Asked, proof: Proof) -> None:
    """One setup for people: the verdict, findings worst first, requirements, tools, what it rests on."""
    from setwright.prove.verdict import verdict

    console, kit = asked.people, proof.kit
    console.print()
    console.print(Text(f"{kit.folder.job.job.title} · setup “{kit.setup.name}” · {kit.machine.name}", "bold"))
    said = verdict(proof)
    console.print(said.text)
    if asked.quiet:
        return
    console.print()
    say_findings(asked, proof.findings)
    _say_features(asked, proof.features)
    _say_tools(asked, proof)
    _say_nearest(asked, proof)
    _say_open(asked, said)
    volume = proof.blank.value - proof.rest.value
    spread = proof.rest.disagreement + proof.blank.disagreement
    console.print(
        f"Removed {format_volume(volume, asked.units)} (rays {length(proof.grid_mm, asked.units)} apart along X, Y and Z agree to "
        f"{format_volume(spread, asked.units).split()[0]}), "
        f"cycle about {duration(proof.timing.total_s, proof.timing.within_s)}; computed in {proof.elapsed_s:.1f} s."
    )
    console.print(Text("A proof is a calculation about a model, never a permission to start.", "italic"))


def _say_features(asked: Asked, features: tuple[Feature, ...]) -> None:
    if not features:
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column, side in (("requirement", "left"), ("drawing", "right"), ("limits", "right"), ("comes out", "right"),
                         ("least to greatest", "right"), ("of the face", "right"), ("", "left")):  # fmt: skip
        table.add_column(column, justify="right" if side == "right" else "left")
    for feature in features:
        limits, of = "–", feature.unit
        if feature.toleranced:
            limits = " / ".join(_number(asked, of, value, signed=True) for value in (feature.size.upper, feature.size.lower))
        out = "not measured" if feature.simulated is None else _number(asked, of, feature.simulated)
        table.add_row(feature.name, _number(asked, of, feature.size.nominal), limits, out, _spread(asked, feature),
                      format_share(feature.found), _word(feature))  # fmt: skip
    asked.people.print(table)


def _number(asked: Asked, unit: str, value: float, *, signed: bool = False) -> str:
    """A length or an angle as a table shows it; limits bare, with their sign."""
    if unit == "deg":
        return f"{value:+.3f}" if signed else f"{value:.3f}°"
    return length(value, asked.units, bare=signed, signed=signed)


def _spread(asked: Asked, feature: Feature) -> str:
    """The least and greatest size of a feature; nothing where they are shown alike."""
    if feature.least is None or feature.greatest is None:
        return ""
    least, greatest = (_number(asked, feature.unit, value) for value in (feature.least, feature.greatest))
    return "" if least == greatest else f"{least.split()[0]} to {greatest}"


def _word(feature: Feature) -> str:
    return {"measured": "", "out": "OUT"}.get(feature.state, feature.state)


def _say_tools(asked: Asked, proof: Proof) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in ("tool", "", "removes", "most", "time", "power at most"):
        table.add_column(column, justify="left" if column in ("tool", "") else "right")
    for station, volume in proof.removed.items():
        if station in proof.kit.tools:
            rate = proof.rates.get(station)
            most = "–" if rate is None else f"{format_volume(rate, asked.units)}/min"
            took = duration(proof.timing.by_tool.get(station))
            load = None if proof.load is None else proof.load.of(station)
            power = "" if load is None else f"{load.power.likely:.1f} kW ({load.power.low:.1f} to {load.power.high:.1f})"
            took_off = format_volume(volume, asked.units, places=2)
            table.add_row(f"T{station}", proof.kit.tools[station].tool.name, took_off, most, took, power)
    asked.people.print(table)
    _say_load(asked, proof)


def _say_load(asked: Asked, proof: Proof) -> None:
    """What the figures of load rest on, and the feeds that would bring one that is far off back."""
    from setwright.prove.load import CAUTION

    load = proof.load
    if load is None or not load.tools or load.material is None:
        return
    for text in load.open:
        asked.people.print(f"Of the load not looked at: {text}.")
    unsure = "" if load.material.stated else " (grade not stated)"
    asked.people.print(f"Load in {load.material.material.name}{unsure}: {CAUTION}.")
    for one in load.tools:
        if one.advice is not None:
            saves = one.advice.saves_s
            gain = f"saves about {duration(saves)}" if saves > 0.0 else f"costs about {duration(-saves)} and spares the tool"
            to, now = (f"{length(value, asked.units)}/min" for value in (one.advice.to, one.advice.feed))
            asked.people.print(f"T{one.station}, line {proof.case.line_at(one.advice.row)}: {to} instead of {now} would bring it "
                               f"to {one.advice.why}; {gain}. Nothing is written into the program.")  # fmt: skip


def _say_open(asked: Asked, said: Verdict) -> None:
    """What was not looked at, and every guess as a question with the line that answers it."""
    if said.open:
        asked.people.print(Text("Not looked at:", "bold"))
        for one in said.open:
            asked.people.print(f"  {one.text}{_at(one.file, one.line)}")
    if said.rests_on:
        asked.people.print(Text("Open questions; write what is true, and delete the guess:", "bold"))
        for rest in said.rests_on:
            how = f": {rest.how}" if rest.how else ""
            asked.people.print(f"  {rest.guess}{how}{_at(rest.file, rest.line)}")


def _at(file: str, line: int) -> str:
    return f"  ({file}:{line})" if line else f"  ({file})" if file else ""


def _say_nearest(asked: Asked, proof: Proof) -> None:
    """The closest pass to the holding that is no contact."""
    from setwright.prove.case import BLANK
    from setwright.prove.wording import the_body

    clear = [near for near in proof.case.nearness if near.least_mm > 0.0 and near.body != BLANK]
    if clear:
        near = min(clear, key=lambda one: one.least_mm)
        tool, line = proof.case.tool_name(near.row), proof.case.line_at(near.row)
        by = length(near.least_mm, asked.units)
        asked.people.print(f"Closest to the holding: the {near.part} of {tool} clears {the_body(near.body)} by {by} (line {line}).")
