"""Piece in words and digits: what the terminal prints, the page shows and the document carries, each number from here alone.

A ± is rounded up in its last place; a probability never rounds to certainty; what is typed has the digits that the register shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from setwright.base.units import format_half, format_length, written
from setwright.piece.advice import Outlook
from setwright.piece.influence import Blind, Influence, Place
from setwright.piece.sentences import Judged, Typing
from setwright.piece.station import PieceResult

__all__ = ["blind_said", "chance", "concerns", "habits_said", "headline", "job_plain", "judged_said", "outlook_said", "piece_plain",
           "typing_said"]  # fmt: skip

_MM_PER_INCH: Final = 25.4
_SURE, _NEVER = 0.999, 0.001
_FULL, _ADVICE = "full correction", "harmonic with a prior"


def headline(result: PieceResult, units: str) -> str:
    """The answer in one sentence: what to type, or to leave it alone and why."""
    if not result.registers:
        return f"Leave it alone: {result.why}."
    return f"Type {', '.join(one.text(units) for one in result.registers)}."


def typing_said(one: Typing, units: str) -> dict[str, str]:
    """A register to change: what it `holds` and shall hold (`type`), the `change` with its sign, also as it goes into the wear of
    a tool (`wear`, "" for an offset), what stands in that wear already (`beside`, "" for nothing), and how `sure` that is."""
    change = _register(one.change, one.step, units, signed=True)
    return {"holds": _register(one.now, one.step, units), "type": written(one.now + one.change, one.step, units), "change": change,
            "wear": change if one.adds_to_wear else "",
            "beside": _register(one.wear, one.step, units, signed=True) if one.wear else "",
            "sure": f"± {format_half(one.expanded, units)}"}  # fmt: skip


def _register(value: float, step: float, units: str, *, signed: bool = False) -> str:
    text = written(value, step, units)
    return f"{'' if text.startswith('-') or not signed else '+'}{text} {'in' if units in ('in', 'inch') else 'mm'}"


def judged_said(one: Judged, units: str) -> dict[str, str]:
    """A measured `value` and its expanded uncertainty (`sure`)."""
    if one.unit == "deg":
        return {"value": f"{one.value:.3f} deg", "sure": f"± {one.expanded:.3f} deg"}
    return {"value": format_length(one.value, units), "sure": f"± {format_half(one.expanded, units)}"}


def outlook_said(now: Outlook, then: Outlook, units: str) -> dict[str, str]:
    """A feature of the next piece as it is `now` and `then`, with the change; how `sure` that is; its chance to be within limits
    before and after ("" where it has none)."""
    a, b = (" ".join(format_length(value, units).split()[0] for value in one.means) for one in (now, then))
    chances = ["" if one.within is None else chance(one.within) for one in (now, then)]
    return {"now": a, "then": b, "sure": f"± {format_half(2.0 * max(then.standards), units)}",
            "chance_now": chances[0], "chance_then": chances[1]}  # fmt: skip


def chance(probability: float) -> str:
    """A probability that never rounds to certainty.

    >>> chance(0.5), chance(0.9999), chance(0.0)
    ('50.0 %', '> 99.9 %', '< 0.1 %')
    """
    if probability >= _SURE:
        return "> 99.9 %"
    return "< 0.1 %" if probability < _NEVER else f"{100.0 * probability:.1f} %"


def blind_said(group: Blind) -> str:
    """Registers that what was measured does not tell apart, and what would."""
    *names, last = (name for name, _ in group.share)
    apart = f"{group.apart} would" if group.apart else "nothing on the part does, only touching off"
    return f"What was measured does not tell {', '.join(names)} and {last} apart; {apart}."


def habits_said(result: PieceResult, units: str) -> str:
    """What correcting every piece in full would cost beside this advice; "" where there is nothing to compare."""
    if result.habits is None:
        return ""
    spread = dict(result.habits.spread)
    full, advice = (format_length(spread[name], units) for name in (_FULL, _ADVICE))
    return (f"Over {result.habits.pieces} pieces “{result.habits.feature}” scatters by {full} (one deviation) if each piece is "
            f"corrected in full, by about {advice} with this advice.")  # fmt: skip


def job_plain(results: Sequence[PieceResult], units: str, *, typed: str = "") -> dict[str, Any]:
    """The document of all setups: what is to be typed in any of them on top, everything of each under `setups`."""
    documents = [piece_plain(one, units, typed=typed) for one in results]
    if len(documents) == 1:
        return {**documents[0], "setups": documents}
    lists = {key: [{"setup": one["setup"], **entry} for one in documents for entry in one[key]]
             for key in ("registers", "predicted", "unexplained", "judged", "inseparable")}  # fmt: skip
    names = {key: [name for one in documents for name in one[key]] for key in ("not_measured", "not_seen")}
    first = next((one for one in documents if one["advice"] == "correct"), documents[0])
    said = {key: " ".join(f"{one['setup']}: {one[key]}" for one in documents) for key in ("why", "headline")}
    return {**first, **lists, **names, **said, "setups": documents}


def piece_plain(result: PieceResult, units: str, *, typed: str = "") -> dict[str, Any]:
    """The document of a setup: its numbers in `units`, and under `said` the same as people read and type them, in `typed` if given.

    Of each predicted feature also where it is aimed (`aims`), half the width of its limits (`half`), and whether what was measured
    or the change bears on it (`concerned`).
    """
    plain, per, units = result.as_plain(units, typed=typed), _MM_PER_INCH if units in ("in", "inch") else 1.0, typed or units
    for said, register in zip(plain["registers"], result.registers, strict=True):
        said["said"] = typing_said(register, units)
    for said, judged in zip(plain["judged"], result.judged, strict=True):
        said["said"] = judged_said(judged, units)
    concerned, places = concerns(result), _places(result.influence)
    for said, now, then in zip(plain["predicted"], result.before, result.after, strict=True):
        mine = places[now.requirement]
        half = mine[0].half
        said |= {"said": outlook_said(now, then, units), "aims": [place.aim / per for place in mine],
                 "half": None if half is None else half / per, "concerned": now.requirement in concerned}  # fmt: skip
    apart = [blind_said(group) for group in result.blind]
    return plain | {"headline": headline(result, units), "apart": apart, "habits_said": habits_said(result, units)}


def concerns(result: PieceResult) -> list[str]:
    """Requirements with limits that were measured, or that the change moves: what the next piece is judged by."""
    moved = {name for one in result.registers for name, _ in one.moves}
    known = {one.requirement for one in result.judged}
    places = _places(result.influence)
    return [now.requirement for now in result.before if now.within is not None
            and (now.requirement in known or moved & {place.name for place in places[now.requirement]})]  # fmt: skip


def _places(influence: Influence) -> dict[str, Sequence[Place]]:
    """The places of each requirement."""
    found: dict[str, list[Place]] = {}
    for place in influence.places:
        found.setdefault(place.requirement, []).append(place)
    return dict(found)
