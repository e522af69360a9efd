"""One setup's touch-off on one screen: what to type, how sure, what it rests on, what is doubtful, what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from setwright.cli.common import Asked, say_findings
from setwright.cli.format import length

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from setwright.touch.drawn import Compared
    from setwright.touch.registers import Entry
    from setwright.touch.shown import Shown
    from setwright.touch.station import TouchResult

__all__ = ["say_compared", "say_lengths", "say_shown", "say_touch"]


def say_touch(asked: Asked, result: TouchResult) -> None:
    """The whole screen; with -q only what to type."""
    console, kit = asked.people, result.kit
    console.print()
    console.print(Text(f"{kit.folder.job.job.title} · setup “{kit.setup.name}” · {kit.machine.name}", "bold"))
    console.print(_offsets(asked, result))
    tools = [entry for entry in result.entries if not entry.axis]
    if tools:
        console.print(_tools(asked, tools, result))
    if asked.quiet:
        return
    console.print(f"  {_rests(result)}")
    console.print(f"  {_budget(result)}")
    for drifted in result.drifts:
        console.print(f"  {drifted.text(asked.units)}")
    block = result.g10(asked.units)
    if block:
        console.print(Text(f"\n{block}"))
    console.print()
    say_findings(asked, result.findings)
    if result.next is not None:
        console.print(f"Next best contact: {result.next.text(asked.units)}")


def _plain_table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in columns:
        table.add_column(column, justify="left" if column in ("into", "tool") else "right", no_wrap=True)
    return table


def _size(mm: float, asked: Asked) -> str:
    return length(mm, asked.units, bare=True)


def _offsets(asked: Asked, result: TouchResult) -> Table:
    unit = "in" if asked.units == "inch" else "mm"
    table = _plain_table("into", "X", "Y", "Z", f"± X ({unit}, 95 %)", "± Y", "± Z")
    for name in dict.fromkeys(entry.register for entry in result.entries if entry.axis):
        own = [next(entry for entry in result.entries if entry.register == name and entry.axis == axis) for axis in "XYZ"]
        known = [result.known(entry) for entry in own]
        numbers = [Text(e.text(asked.units), "bold") if there else Text("open") for e, there in zip(own, known, strict=True)]
        sizes = [_size(e.estimate.expanded, asked) if there else "–" for e, there in zip(own, known, strict=True)]
        table.add_row(name, *numbers, *sizes)
    return table


def _tools(asked: Asked, entries: Sequence[Entry], result: TouchResult) -> Table:
    table = _plain_table("tool", "length", "±", "radius", "±")
    for station in dict.fromkeys(entry.station for entry in entries):
        cells: list[str | Text] = [str(station)]
        for kind in ("length", "radius"):
            entry = next((e for e in entries if e.station == station and e.register.startswith(kind)), None)
            if entry is None or not result.known(entry):
                cells += ["–", ""]
                continue
            cells += [Text.assemble((entry.text(asked.units), "bold"), f" into {entry.register}"),
                      _size(entry.estimate.expanded, asked)]  # fmt: skip
        table.add_row(*cells)
    return table


def _rests(result: TouchResult) -> str:
    """What the numbers rest on, in one line where all is well."""
    axes = [axis.upper() for axis in "xyz" if result.determined[axis].by == "readings"]
    others = [found.text for name, found in result.determined.items() if name not in "xyz" or found.by != "readings"]
    said = f"{', '.join(axes)} {'follow' if len(axes) > 1 else 'follows'} from your contacts" if axes else ""
    return "; ".join(part for part in (said, *others) if part)


def _budget(result: TouchResult) -> str:
    own = [entry for entry in result.entries if entry.register == result.kit.setup.offset and entry.estimate.contributions
           and result.known(entry)]  # fmt: skip
    if not own:
        return "no number to type yet"
    largest = [(entry.axis, max(entry.estimate.contributions, key=lambda part: part.share)) for entry in own]
    return "most of the ± from: " + ", ".join(f"{axis} {part.source} ({part.share:.0%})" for axis, part in largest)


def say_lengths(asked: Asked, want: str, result: TouchResult) -> None:
    """Offset Z and lengths as another convention would hold them."""
    from setwright.base.units import written

    step, offset = result.kit.machine.control.increment, result.kit.setup.offset
    z, lengths = result.lengths_in(want)
    asked.people.print(f'\nOn a machine that holds lengths "{want}": {offset} Z = {written(z, step, asked.units)}')
    for station, value in sorted(lengths.items()):
        asked.people.print(f"  tool {station}  {written(value, step, asked.units)}")


def say_shown(asked: Asked, shown: Sequence[Shown]) -> None:
    """The numbers read off the control, each against what should stand there."""
    asked.people.print()
    for one in shown:
        for line in one.lines():
            asked.people.print(Text(line, "" if one.right else "bold"))


def say_compared(asked: Asked, compared: Mapping[str, Compared]) -> None:
    """The budget against drawing, number by number."""
    words = {"agree": "agrees", "differ": "DIFFERS: believe the drawn figure", "undecided": "undecided: drawing stopped too early"}
    asked.people.print("\nUncertainty by drawing every error anew (JCGM 101), against the budget:")
    for name, one in compared.items():
        if name == "angle":
            budget, drawn = (f"± {1000 * value:.3f} mrad" for value in (one.budget.expanded, one.drawn.expanded))
        else:
            budget, drawn = (f"± {length(value, asked.units)}" for value in (one.budget.expanded, one.drawn.expanded))
        asked.people.print(f"  {name}  budget {budget}, drawn {drawn} in {one.drawn.trials:,} touch-offs: {words[one.verdict]}")
