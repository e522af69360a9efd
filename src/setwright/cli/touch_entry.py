"""Two helpers of touch: a repeat test of an instrument, and contacts taken from the machine's own position at a key press."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from setwright.base.errors import InputRefused
from setwright.base.units import Dimension, UnitError, parse_quantity
from setwright.cli.common import Answer, Asked
from setwright.cli.format import length
from setwright.model.finding import Finding
from setwright.touch.slips import Hovered

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.model.reading import Contact, LengthReading
    from setwright.touch.pencil import Wanted
    from setwright.touch.station import TouchResult

__all__ = ["enter_readings", "further", "hovered", "qualify_answer", "take_contacts"]


def qualify_answer(asked: Asked, folder: JobFolder, instrument: str, repeats: str) -> Answer:
    """Repeatability of an instrument from what the display showed at repeated contacts on one place."""
    from setwright.kit.instrument import find_instrument, qualify

    values = [_length(text, folder.job.units) for text in repeats.replace(",", " ").split()]
    known = find_instrument(folder.job.shop.instruments, instrument)
    found = qualify(known, values)
    say = asked.people.print
    say(f"{known.name}: {found.count} contacts repeat with a standard deviation of {length(found.standard, asked.units)} "
        f"(with 95 % between {length(found.low, asked.units)} and {length(found.high, asked.units)}).")  # fmt: skip
    if found.odd is not None:
        say(f"Contact {found.odd + 1} does not belong to the others: look for a chip, and touch again.")
    say(f"To use it, write in shop/instruments/{instrument}.toml:")
    say(f'    repeatability = "{found.standard:.4f} mm"\n    repeats = {found.count}')
    document = {
        "instrument": instrument, "contacts": found.count, "repeatability": found.standard, "low": found.low, "high": found.high,
        "odd": None if found.odd is None else found.odd + 1, "prior": known.repeatability,
    }  # fmt: skip
    return Answer(folder.name, document)


def _length(text: str, units: str) -> float:
    try:
        return parse_quantity(text, Dimension.LENGTH, units)
    except UnitError as error:
        remedy = "write the readings with blanks between them"
        raise InputRefused.because(f'"{text}" is not a reading ({error})', remedy=remedy) from error


def hovered(said: list[str], units: str) -> tuple[Hovered, ...]:
    """ "X -5 mm": over the datum the spindle stands 5 mm to the left. Several axes make one observation."""
    seen: dict[str, float] = {}
    for text in said:
        axis, _, value = text.strip().partition(" ")
        if axis.lower() not in ("x", "y", "z") or not value:
            raise InputRefused.because(f'"{text}" is not an observation', remedy='write for example --hover "X -5 mm"')
        seen[axis.lower()] = _length(value, units)
    return (Hovered(x=seen.get("x"), y=seen.get("y"), z=seen.get("z")),) if seen else ()


def further(
    asked: Asked, result: TouchResult, *, shows: list[str], lengths: str | None, draw: bool, units: str,
) -> tuple[dict[str, Any], list[Finding]]:  # fmt: skip
    """What was asked for beyond the touch-off itself, said and as keys of the document, whose lengths are in `units`; findings for
    numbers read back wrong."""
    from setwright.cli.touch_screen import say_compared, say_lengths, say_shown

    document: dict[str, Any] = {}
    findings: list[Finding] = []
    per = 25.4 if units == "inch" else 1.0
    if lengths is not None:
        z, by_tool = result.lengths_in(lengths)
        of_tools = {str(station): value / per for station, value in by_tool.items()}
        document["lengths_in"] = {"convention": lengths, "offset_z": z / per, "tool_lengths": of_tools}
        say_lengths(asked, lengths, result)
    if shows:
        shown = result.read_off(shows, asked.units)
        findings = result.wrong_digits(shown, asked.units)
        document["shows"] = [{"register": s.entry.name, "shown": s.shown, "wanted": s.wanted, "right": s.right,
                              "first_different": s.first} for s in shown]  # fmt: skip
        say_shown(asked, shown)
    if draw:
        compared = result.compared()
        document["by_drawing"] = {name: one.as_plain(1.0 if name == "angle" else per) for name, one in compared.items()}
        say_compared(asked, compared)
    return document, findings


def take_contacts(
    asked: Asked, folder: JobFolder, address: str, *, setup: str, on: str, instrument: str, toward: str,
    purpose: str = "place", key: Callable[[], str] = sys.stdin.readline,
) -> int:  # fmt: skip
    """Write a contact into readings.toml each time Enter is pressed, with the position the machine publishes, until q.

    Returns how many were taken.
    """
    from setwright.jobfolder.append import append_contact
    from setwright.model.reading import Contact
    from setwright.touch.stream import PositionStream, fetch_over_http

    stream = PositionStream(fetch_over_http(address))
    stream.read()
    asked.progress.print(f"Touch “{on}” moving {toward} with {instrument}; press Enter at each contact, q and Enter to end.")
    taken = 0
    while key().strip().lower() != "q":
        stream.read()
        x, y, z = stream.place()
        when = datetime.datetime.now().astimezone().replace(microsecond=0)
        said = {"setup": setup, "on": on, "with": instrument, "toward": toward, "display": {"x": x, "y": y, "z": z}, "when": when,
                "purpose": purpose}  # fmt: skip
        append_contact(Path(folder.root), Contact.model_validate(said))
        taken += 1
        shown = "  ".join(f"{axis} {length(value, asked.units)}" for axis, value in zip("XYZ", (x, y, z), strict=True))
        asked.progress.print(f"Contact {taken}: {shown}")
    return taken


def enter_readings(
    asked: Asked, folder: JobFolder, *, setup: str | None, line: Callable[[], str] = lambda: sys.stdin.readline(),
) -> int:  # fmt: skip
    """Ask for readings in the order of the datum, one line a reading, until an empty line after the last or "end".

    Each line is judged at once together with those before it: what cannot be is said and not written, what is written stands in
    readings.toml before the next line is asked for. "undo" takes the last one back. Returns how many were written.
    """
    from setwright.jobfolder.append import append_contact, append_length
    from setwright.jobfolder.load import load_job, setup_numbered
    from setwright.kit.station import kit
    from setwright.model.reading import Contact
    from setwright.touch.pencil import Pencil

    read = {contact.setup for contact in folder.job.readings.contact}
    setups = setup_numbered(folder.job, setup)
    here = next((one for one in setups if one.name not in read), setups[0])
    pencil, path = Pencil.of(kit(folder, here)), Path(folder.root) / "readings.toml"
    say = asked.progress.print
    say(f"Setup “{here.name}”, {pencil.finder}, {folder.job.units}. One line a reading, as the display shows it:")
    say("  left -16.852 · T7 paper -12.141 · bore A sweep -212.402 -118.310")
    say("  also: step 0.01 · with NAME · undo · empty: pass on · end")
    order, before = pencil.plan(), list[_Kept]()
    while True:
        wanted = order[0] if order else None
        say(f"{wanted.what if wanted else 'more, or end'} > ", end="")
        text = line()
        if not text:
            say()
        if not text or text.strip().lower() in ("end", "q") or (not text.strip() and wanted is None):
            return len(before)
        if not text.strip():
            order.pop(0)
            continue
        if text.strip().lower() == "undo":
            order = _undo(path, before, say) or order
            continue
        try:
            made = pencil.read(text, wanted)
            if made is None:
                say("  noted")
                continue
            kept = path.read_text(encoding="utf-8") if path.exists() else None
            said = _judged(asked, load_job(Path(folder.root)), here.name, made)
            if isinstance(made, Contact):
                append_contact(Path(folder.root), made)
            else:
                append_length(Path(folder.root), made)
        except InputRefused as refusal:
            for problem in refusal.problems:
                say(f"  not written: {problem}")
            continue
        before.append(_Kept(kept, path.read_text(encoding="utf-8"), order))
        order = pencil.without(order, made)
        say(f"  {said}")


@dataclass(frozen=True)
class _Kept:
    """A reading that was written: the file's text before (None: there was none) and after it, what was to be touched before it."""

    text: str | None
    after: str
    order: list[Wanted]


def _undo(path: Path, before: list[_Kept], say: Callable[..., None]) -> list[Wanted] | None:
    """Take the last reading back; what is to be touched then, None when nothing was taken back."""
    from setwright.jobfolder.append import replace_text

    if not before:
        say("  nothing was written yet")
        return None
    if not path.exists() or path.read_text(encoding="utf-8") != before[-1].after:
        say("  not taken back: somebody else wrote into readings.toml since; take the reading out there")
        return None
    last = before.pop()
    if last.text is None:
        path.unlink()
    else:
        replace_text(path, last.text)
    say("  the last reading is taken back")
    return list(last.order)


def _judged(asked: Asked, folder: JobFolder, setup: str, made: Contact | LengthReading) -> str:
    """What the readings say with the new one among them. Raises InputRefused when it cannot be."""
    from setwright.jobfolder.load import setup_numbered
    from setwright.kit.station import kit
    from setwright.model.reading import Contact
    from setwright.touch.station import Wanted as Far
    from setwright.touch.station import touch

    old = folder.job.readings
    if isinstance(made, Contact):
        readings = old.model_copy(update={"contact": (*old.contact, made)})
        number = sum(one.setup == setup and one.purpose == "place" for one in readings.contact) - 1
    else:
        readings = old.model_copy(update={"tool_length": (*old.tool_length, made)})
        number = sum(one.setup == setup and one.purpose == "place" for one in old.contact) + sum(
            one.setup == setup for one in readings.tool_length) - 1  # fmt: skip
        if not any(one.setup == setup for one in old.contact):
            return "written; it counts once a face was touched"
    result = touch(kit(folder, setup_numbered(folder.job, setup)[0]), readings, wanted=Far.AS_FAR, units=asked.units)
    for one in result.beyond:
        if one.reading == number and not one.question:
            raise InputRefused.because(one.text, remedy=one.remedy)
    odd = [one.text(asked.units) for one in result.outliers if number in (one.reading, *one.rivals)]
    asks = [one.text for one in result.beyond if one.reading == number]
    asks += [one.text for one in result.findings if one.slug == "readings-contradict" and not odd]
    own = [entry for entry in result.entries if entry.register == result.kit.setup.offset]
    known = " · ".join(f"{e.axis} {e.text(asked.units)} ± {length(e.estimate.expanded, asked.units, bare=True)}" if result.known(e)
                       else f"{e.axis} open" for e in own)  # fmt: skip
    return "\n  ".join([known, *(f"look again: {text}" for text in (*odd, *asks))])
