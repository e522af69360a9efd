"""The radius a tool was measured with is not that of the tool its file describes.

What silence proves
    Every radius that was measured beforehand, or stands in the control for a contour that is offset there, differs from half the
    diameter in the tool's file by no more than 0.1 mm and a fiftieth of that diameter.

Why it matters
    One of the two numbers belongs to another tool. The control keeps the tool off the contour by the radius it holds: a bore comes
    out wrong by twice the difference.

How it decides
    The preset of the setup and the control's radius register against the tool's file. A register below half of that radius is taken
    to hold wear only.

Blind spots
    A tool ground smaller, or worn, by less than that; a register that is right while the tool in the spindle is another one.

What to do
    Measure the tool, then correct its file, the preset or the register.

Source
    Cutters are ground to within 0.1 mm and ground again by little; what differs by more is another tool. The shop's judgement.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.base.units import format_length
from setwright.kit.registers import radius_register
from setwright.kit.station import Kit
from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal

META = Meta("radius-unlike-tool", Signal.WARNING)
_APART_MM, _SHARE = 0.1, 0.02


def run(case: Kit) -> Iterator[Finding]:
    """One finding a tool and place of its radius."""
    stated, units = case.folder.job.registers, case.folder.units
    own = stated.setup in (None, case.setup.name)
    halved = 0.5 if case.machine.control.radius_register == "diameter" else 1.0
    for hung in case.setup.tool:
        tool = case.tools[hung.station].tool
        row = stated.tool.get(str(radius_register(hung))) if own else None
        held = None if row is None or row.radius is None else row.radius * halved
        in_register = held if _is_radius(held, tool.diameter) else None
        places = (("its preset", hung.preset.radius), (f"register D{radius_register(hung)}", in_register))
        for place, radius in places:
            if radius is None or abs(radius - tool.diameter / 2) <= _APART_MM + _SHARE * tool.diameter:
                continue
            across, is_, off = (format_length(size, units) for size in (tool.diameter, radius, abs(2.0 * radius - tool.diameter)))
            text = f"T{hung.station} is {across} across by its file, and {place} says a radius of {is_}; if the file is right, a "
            text += f"bore milled by that radius comes out {off} too {'small' if radius > tool.diameter / 2 else 'large'}"
            yield Finding(slug=META.slug, signal=META.signal, text=text, tool=hung.station, value=radius, unit="mm",
                          remedy="measure the tool, then correct its file, the preset or the register")  # fmt: skip


def _is_radius(held: float | None, diameter: float) -> bool:
    return held is not None and held > diameter / 4
