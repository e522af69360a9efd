"""A tool takes more power than the spindle gives at its speed.

What silence proves
    For every tool that is modelled, of a material whose cutting force is known: with the greatest force of the band the power lies
    below what the spindle gives at that speed.

Why it matters
    The spindle slows down or stops in the cut while the axes go on: the tool breaks, the part is pushed out of the vise. A tap that
    stands in its hole breaks there.

How it decides
    Where around the tool each motion takes metal off gives the chip and from it the cutting force (see Load in the chapter
    Prove); power is force times removal, mean over a turn. It is held against the curve of the spindle at the programmed speed:
    torque constant up to the speed at which it makes its power, unless the machine's file has another curve. WARNING where the
    likely power is beyond it (beyond the short power, where that is stated), CAUTION where only the upper end of the band is.
    Error bound: the band of the coefficients, two standard deviations, and the distance of the rays.

Blind spots
    A dull tool takes 30 to 50 % more. Losses of the drive. Feed that the control never reaches on short motions is taken as
    programmed. Tools that are not modelled (reamers, boring bars, thread mills) are listed as not looked at.

What to do
    Take less depth or width, or less feed; or a speed at which the spindle has its power. The figures are a model's.

Source
    Kienzle's formula and its table of materials; P = T n / 9549.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.prove.load import LoadCase

META = Meta("load-beyond-spindle", Signal.WARNING, needs=("load",))


def run(case: LoadCase) -> Iterator[Finding]:
    """One finding a tool."""
    for one in case.load.tools:
        if one.limit_kw is None:
            continue
        limit = max(one.limit_kw, one.short_kw or 0.0)
        high = one.power.high * (1.0 + one.bound)
        if max(one.power.likely, high) <= limit:
            continue
        surely = one.power.likely > limit
        what = "takes about" if surely else "may take up to"
        kw, torque = (one.power.likely, one.torque.likely) if surely else (high, one.torque.high)
        text = (f"{case.tool_name(one.power_row)} {what} {kw:.1f} kW ({torque:.0f} N·m) at S{one.rpm:.0f}, where the spindle gives "
                f"{limit:.1f} kW{' for a short time' if limit > one.limit_kw else ''}; {_sure(case)}")  # fmt: skip
        yield case.finding(META.slug, META.signal if surely else Signal.CAUTION, one.power_row, text,
                           remedy="take less depth, width or feed, or a speed at which the spindle has the power")  # fmt: skip


def _sure(case: LoadCase) -> str:
    known = case.load.material
    name = known.material.name if known is not None else ""
    return f"a model's figure for {name}"
