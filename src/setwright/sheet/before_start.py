"""What to do before the first cut, as it stands on the sheet: checks of Hover's plan with their reasons, and hold points."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.hover.check_plan import Chosen
from setwright.hover.holdpoints import HoldPoint as Held
from setwright.hover.station import HoverResult
from setwright.sheet.content import Check, HoldPoint
from setwright.sheet.wording import plain_length, signed_length

__all__ = ["planned_checks", "stops"]

_REASONS = 2


def planned_checks(result: HoverResult, units: str) -> tuple[Check, ...]:
    """The plan's checks in their order: what to do, what must be seen, what to mind, and which slips it would show."""
    return tuple(_check(result, chosen, units) for chosen in result.plan.checks)


def _check(result: HoverResult, chosen: Chosen, units: str) -> Check:
    check = chosen.check
    name = f"{check.check.name}, {check.on}" if check.on else check.check.name
    parts = [f"{name}. {check.do}", _right(chosen, units), f"CAUTION: {check.caution}" if check.caution else ""]
    return Check(" ".join(part for part in parts if part), check.minutes, _shows(result, chosen))


def _right(chosen: Chosen, units: str) -> str:
    """The numbers to find, each with how far off it may be."""
    check, limits = chosen.check, iter(chosen.check.odds.limits.tolist())
    said = [f"{sight.what} {signed_length(right, units)} ± {plain_length(next(limits), units)}"
            for sight, right in zip(check.sights, check.right, strict=True) if isinstance(right, float)]  # fmt: skip
    return f"Right is: {'; '.join(said)} {_unit(units)}." if said else ""


def _shows(result: HoverResult, chosen: Chosen) -> str:
    suspects = [result.matrix.suspects[catch.suspect] for catch in chosen.catches]
    said = [f"{suspect.words} ({suspect.outcome.value})" for suspect in suspects[:_REASONS]]
    more = len(suspects) - len(said)
    return "; ".join(said) + (f"; and {more} more" if more > 0 else "")


def stops(holds: Sequence[Held], units: str) -> tuple[HoldPoint, ...]:
    """One line a tool: where to stop, what the control shows and has to go, where the tip stands."""
    return tuple(HoldPoint(hold.place, _stop(hold, units)) for hold in holds)


def _stop(hold: Held, units: str) -> str:
    shows, to_go = (" ".join(f"{axis}{signed_length(value, units)}" for axis, value in zip("XYZ", values, strict=True))
                    for values in (hold.shows, hold.to_go))  # fmt: skip
    beside = f", {plain_length(hold.beside, units)} beside it" if hold.beside > 0.0 else ""
    after = f"; {hold.stop} serves" if hold.stop else ""
    where = "within" if hold.within else "before"
    return (f"T{hold.station}, {where} {hold.text.strip()}: control shows {shows}, to go {to_go}; tip "
            f"{plain_length(hold.height, units)} {_unit(units)} over {hold.surface}{beside}{after}")  # fmt: skip


def _unit(units: str) -> str:
    return "in" if units in ("in", "inch") else "mm"
