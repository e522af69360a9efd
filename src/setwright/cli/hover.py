"""Hover over the setup before the first cut: which mistakes would hurt, and the cheapest checks that catch them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table
from rich.text import Text

from setwright.cli.common import All, Answer, Asked, Color, Json, Quiet, SetupName, Units, answer, ask, guarded, say_findings
from setwright.cli.format import length
from setwright.cli.progress import Bar
from setwright.cli.proving import Proving

if TYPE_CHECKING:
    from collections.abc import Sequence

    from setwright.hover.check_list import CheckHere
    from setwright.hover.check_plan import Chosen
    from setwright.hover.diagnosis import Diagnosis
    from setwright.hover.holdpoints import HoldPoint
    from setwright.hover.station import HoverResult
    from setwright.hover.station_if import Supposed
    from setwright.prove.station import Proof

__all__ = ["NAME", "command", "plain_hover", "say_hover", "study_all"]

NAME = "hover"
_REASONS = 2
_WORST = 6
_LEFT = 8


def command(
    job: Annotated[Path, typer.Argument(help="A job folder.")],
    *,
    if_: Annotated[list[str] | None, typer.Option("--if", help="What if this were so: only that is followed; repeatable.",
                                                  metavar="NAME VALUE")] = None,
    seen: Annotated[list[str] | None, typer.Option("--seen", help="What a check showed; the slip that explains it is named.",
                                                   metavar="CHECK VALUE")] = None,
    minutes: Annotated[float | None, typer.Option("--minutes", help="Plan the most protection in this time.", metavar="M")] = None,
    catch: Annotated[float, typer.Option("--catch", help="Probability with which each harmful slip shall be caught.",
                                         metavar="P")] = 0.99,
    pitch: Annotated[float | None, typer.Option("--pitch", help="Ray spacing.", metavar="MM")] = None,
    doubles: Annotated[int, typer.Option("--doubles", help="Follow also pairs of this many common slips.", metavar="N")] = 0,
    json: Json = False,
    units: Units = None,
    setup: SetupName = None,
    everything: All = False,
    quiet: Quiet = False,
    no_color: Color = False,
) -> None:  # fmt: skip
    """Follow every slip, plan the checks, give the hold points, explain what was seen."""

    def work() -> None:
        from setwright.base.errors import InputRefused
        from setwright.jobfolder.load import load_job

        _refuse_numbers(minutes, catch, if_, seen)
        folder = load_job(job).shown_in(units)
        asked = ask(NAME, as_json=json, units=units, own=folder.job.units, quiet=quiet, no_color=no_color,
                    everything=everything)  # fmt: skip
        proving = Proving(folder, asked)
        proofs = proving.run(setup, pitch=pitch)
        doubts = [doubt for proof in proofs for doubt in proof.truth.doubts]
        if seen and len(proofs) > 1:
            names = ", ".join(f'--setup "{proof.kit.setup.name}"' for proof in proofs)
            raise InputRefused.because("--seen speaks of one setup, and the job has several", remedy=f"say which: {names}")
        if if_:
            supposed = _suppose(asked, proofs, if_, pitch)
            for each in supposed:
                _say_supposed(asked, each)
            findings = (*doubts, *(finding for each in supposed for finding in each.findings))
            answer(asked, Answer(folder.name, _joined([each.as_plain(asked.units) for each in supposed]), findings))
        results = study_all(asked, proving, proofs, catch=catch, minutes=minutes, seen=seen or [], pitch=pitch, doubles=doubles)
        for result in results:
            say_hover(asked, result)
        findings = (*doubts, *(finding for result in results for finding in result.findings))
        answer(asked, Answer(folder.name, plain_hover(results, asked.units), findings))

    guarded(NAME, work, as_json=json)


def _refuse_numbers(minutes: float | None, catch: float, supposed: list[str] | None, seen: list[str] | None) -> None:
    from setwright.base.errors import InputRefused

    if not 0.0 < catch < 1.0:
        raise InputRefused.because(f"--catch {catch:g} is no probability", remedy="write a number between 0 and 1, as 0.99")
    if minutes is not None and minutes < 0.0:
        raise InputRefused.because(f"--minutes {minutes:g} is less than nothing", remedy="write how many minutes there are")
    if supposed and seen:
        raise InputRefused.because("--if and --seen are two questions", remedy="ask one after the other")


def study_all(
    asked: Asked, proving: Proving, proofs: Sequence[Proof], *, catch: float = 0.99, minutes: float | None = None,
    seen: Sequence[str] = (), pitch: float | None = None, doubles: int = 0,
) -> list[HoverResult]:
    """The station's answer for every proved setup."""
    from setwright.hover.station import hover

    results = []
    with Bar(asked.progress, quiet=asked.quiet) as bar:
        for proof in proofs:
            touched = proving.touched.get(proof.kit.setup.name)
            results.append(hover(proof, touched, catch=catch, minutes=minutes, seen=seen, doubles=doubles, pitch_mm=pitch,
                                 units=asked.units, progress=bar))  # fmt: skip
    return results


def _suppose(asked: Asked, proofs: Sequence[Proof], texts: list[str], pitch: float | None) -> list[Supposed]:
    """In every setup that has the thing spoken of; refused if none has. What of the holding is hit is said at once."""
    from setwright.base.errors import InputRefused
    from setwright.hover.station_if import contact_first, suppose

    found, refused = [], []
    for proof in proofs:
        try:
            if not asked.quiet:
                asked.people.print(Text(f"First look, setup “{proof.kit.setup.name}”: {contact_first(proof, texts).text}", "dim"))
            found.append(suppose(proof, texts, pitch_mm=pitch))
        except InputRefused as refusal:
            refused.append(refusal)
    if not found and refused:
        raise refused[0]
    return found


def plain_hover(results: Sequence[HoverResult], units: str) -> dict[str, object]:
    """All setups as one document."""
    return _joined([result.as_plain(units) for result in results])


def _joined(each: list[dict[str, object]]) -> dict[str, object]:
    """The lists of all setups one after the other, every entry with its setup; a setup's own figures under `setups`."""
    lists = ("slips", "checks", "uncaught", "hold_points")
    joined: dict[str, object] = {name: [] for name in lists}
    for said in each:
        for name in lists:
            entries = said[name]
            if isinstance(entries, list):
                joined[name] = [*joined[name], *({"setup": said["setup"], **entry} for entry in entries)]  # type: ignore[misc]
    return joined | {"setups": [{key: value for key, value in said.items() if key not in lists} for said in each]}


def say_hover(asked: Asked, result: HoverResult) -> None:
    """One setup for people: what can go wrong, what to do and why, what stays open, where to hold, what explains what was seen."""
    console, kit = asked.people, result.kit
    console.print()
    console.print(Text(f"{kit.folder.job.job.title} · setup “{kit.setup.name}” · {kit.machine.name}", "bold"))
    if result.diagnosis is not None:
        _say_diagnosis(asked, result, result.diagnosis)
    console.print(_verdict(result))
    if asked.quiet:
        return
    say_findings(asked, result.findings)
    _say_worst(asked, result)
    _say_plan(asked, result)
    _say_left(asked, result)
    _say_holds(asked, result.holds)


def _verdict(result: HoverResult) -> str:
    """One sentence: how many slips, how they end, how many checks in how many minutes."""
    count: dict[str, int] = {}
    for slip in result.study.slips:
        count[slip.consequence.outcome.value] = count.get(slip.consequence.outcome.value, 0) + 1
    ends = ", ".join(f"{number} {name}" for name, number in count.items())
    plan = result.plan
    checks = "1 check" if len(plan.checks) == 1 else f"{len(plan.checks)} checks"
    caught = f"catch every harmful one with {100.0 * plan.catch:g} %"
    if plan.within is not None:
        share = 1.0 - plan.risk_left / plan.risk if plan.risk > 0.0 else 1.0
        caught = f"protect most in {plan.within:g} minutes: they take away {100.0 * share:.0f} % of the risk"
    elif plan.uncaught:
        caught = f"catch all but {len(plan.uncaught)} of the harmful ones with {100.0 * plan.catch:g} %"
    return f"{len(result.study.slips)} slips followed: {ends}. {checks} in {plan.minutes:.1f} minutes {caught}."


def _say_worst(asked: Asked, result: HoverResult) -> None:
    """The likeliest harm, so that everybody knows what this is about."""
    worst = sorted((slip for slip in result.study.slips if slip.harmful), key=lambda slip: -slip.occurrence.rate)[:_WORST]
    if not worst:
        return
    asked.people.print()
    asked.people.print(Text("What would hurt, the likeliest first:", "bold"))
    for slip in worst:
        end = slip.consequence
        place = f" ({end.file}:{end.line})" if end.line else ""
        asked.people.print(f"  {slip.occurrence.words}")
        asked.people.print(Text(f"      → {end.outcome.value}: {end.text}{place}", "dim"))


def _say_plan(asked: Asked, result: HoverResult) -> None:
    plan, console = result.plan, asked.people
    console.print()
    console.print(Text(f"Checks before you press start, {plan.minutes:.1f} minutes:", "bold"))
    for number, chosen in enumerate(plan.checks, 1):
        check = chosen.check
        console.print(Text(f" {number:2d}. {_named(check)} · {check.minutes:g} min", "bold"))
        console.print(f"     {check.do}")
        for line in _expected(asked, chosen):
            console.print(f"     {line}")
        if check.caution:
            console.print(Text(f"     CAUTION  {check.caution}", "bold"))
        for line in _reasons(result, chosen):
            console.print(Text(f"     {line}", "dim"))
    if plan.spared:
        names = "; ".join(_named(check) for check in plan.spared)
        console.print(f"  Not needed, because the readings of the touch-off check one another: {names}.")
    console.print(f"  A setup without any slip makes you look twice in {100.0 * plan.looks_twice:.1f} % of all cases.")


def _named(check: CheckHere) -> str:
    return f"{check.check.name} · {check.on}" if check.on else check.check.name


def _expected(asked: Asked, chosen: Chosen) -> list[str]:
    """What a number must be, and how far off it may be before you stop."""
    every = zip(chosen.check.sights, chosen.check.right, strict=True)
    numbers = [(sight, right) for sight, right in every if isinstance(right, float)]
    limits = chosen.check.odds.limits.tolist()
    said = [f"{sight.what} {length(right, asked.units)}, stop if it is off by more than {length(limit, asked.units)}"
            for (sight, right), limit in zip(numbers, limits, strict=True)]  # fmt: skip
    return [f"Right: {'; '.join(said)}"] if said else []


def _reasons(result: HoverResult, chosen: Chosen) -> list[str]:
    """Which slips it is there for and what they would have done."""
    said = []
    for catch in chosen.catches[:_REASONS]:
        slip = result.study.slips[catch.suspect]
        end = slip.consequence
        place = f", {end.file}:{end.line}" if end.line else ""
        only = "only this check shows it: " if catch.alone else ""
        said.append(f"Why: {only}{slip.occurrence.words} → {end.outcome.value}{place}")
    more = len(chosen.catches) - len(said)
    others = "1 more slip" if more == 1 else f"{more} more slips"
    return said + ([f"     and {others} that would hurt"] if more > 0 else [])


def _say_left(asked: Asked, result: HoverResult) -> None:
    """What the plan leaves uncaught, in plain words."""
    if not result.plan.uncaught:
        return
    asked.people.print()
    asked.people.print(Text("Not caught as wanted:", "bold"))
    for each in result.plan.uncaught[:_LEFT]:
        suspect = result.matrix.suspects[each.suspect]
        best = f"this plan shows it with {100.0 * each.by_plan:.0f} %, all checks together with {100.0 * each.best:.0f} %"
        asked.people.print(f"  {suspect.words} → {suspect.outcome.value}: {best}")
    if len(result.plan.uncaught) > _LEFT:
        asked.people.print(Text(f"  … and {len(result.plan.uncaught) - _LEFT} more; all of them with --json", "dim"))


def _say_holds(asked: Asked, holds: Sequence[HoldPoint]) -> None:
    if not holds:
        return
    title = ("Hold points: single block on, rapid reduced, a hand on feed hold; stop before this block, or within it when Z has so "
             "far to go")  # fmt: skip
    table = Table(title=title, title_justify="left", box=None, pad_edge=False)
    for name in ("tool", "stop", "block", "control shows", "to go", "tip stands"):
        table.add_column(name)
    for hold in holds:
        shows, go = (" ".join(f"{axis}{length(value, asked.units, bare=True)}" for axis, value in zip("XYZ", values, strict=True))
                     for values in (hold.shows, hold.to_go))  # fmt: skip
        beside = f", {length(hold.beside, asked.units)} beside it" if hold.beside > 0.0 else ""
        stop = f" ({hold.stop})" if hold.stop else ""
        where = "within" if hold.within else "before"
        table.add_row(f"T{hold.station}", f"{where} {hold.place}{stop}", hold.text.strip(), shows, go,
                      f"{length(hold.height, asked.units)} over {hold.surface}{beside}")  # fmt: skip
    asked.people.print()
    asked.people.print(table)


def _say_diagnosis(asked: Asked, result: HoverResult, found: Diagnosis) -> None:
    from setwright.slips.catalogue import UNLISTED, UNLISTED_REMEDY

    console, matrix = asked.people, result.matrix
    console.print(Text("What was seen is explained by:", "bold"))
    rows = [(found.none, "no slip: as the sheet says", "")]
    rows += [(ranked.probability, result.suspect(ranked).words, result.suspect(ranked).remedy) for ranked in found.ranked[:4]]
    rows.append((found.unlisted, UNLISTED, UNLISTED_REMEDY))
    for probability, words, remedy in sorted(rows, key=lambda row: -row[0]):
        if probability >= 0.005:
            console.print(f"  {100.0 * probability:5.1f} %  {words}")
            if remedy:
                console.print(Text(f"           → {remedy}", "dim"))
    first = found.ranked[0] if found.ranked else None
    if first is not None and first.siblings and first.probability > max(found.none, found.unlisted):
        others = "; ".join(matrix.suspects[i].words if i >= 0 else "no slip" for i in first.siblings)
        console.print(f"  No check of the list can tell the first from: {others}")
    if found.next is not None:
        check = matrix.checks[found.next]
        console.print(Text(f"  Next: {_named(check)}, {check.minutes:g} min. {check.do}", "bold"))
        if check.caution:
            console.print(Text(f"  CAUTION  {check.caution}", "bold"))
    elif not found.settled:
        console.print("  No check of the list can tell these apart: touch again.")
    if found.apart is not None and found.apart != found.next:
        check = matrix.checks[found.apart]
        console.print(f"  The first two are told apart best by: {_named(check)}. {check.do}")


def _say_supposed(asked: Asked, supposed: Supposed) -> None:
    """What the supposition would do, and which checks would show it."""
    console, end = asked.people, supposed.consequence
    console.print()
    console.print(Text(f"{supposed.kit.folder.job.job.title} · setup “{supposed.kit.setup.name}”", "bold"))
    for each in supposed.suppositions:
        console.print(f"If {each.words}:")
    place = f" ({end.file}:{end.line})" if end.line else ""
    console.print(Text(f"  {end.outcome.value}: {end.text}{place}", "bold"))
    if end.lost_line and end.lost_line != end.line:
        console.print(f"  It cannot be put right any more from line {end.lost_line} on.")
    if asked.quiet:
        return
    if not supposed.shown_by:
        console.print("  No check of the list would show it.")
        return
    console.print(Text("Checks that would show it, the quickest first:", "bold"))
    for j in supposed.shown_by[:_WORST]:
        check = supposed.matrix.checks[j]
        probability = 100.0 * float(supposed.matrix.shown[0, j])
        console.print(f"  {probability:5.1f} %  {_named(check)}, {check.minutes:g} min")
