"""Sentences about what a slip leads to."""

from __future__ import annotations

from setwright.hover.course import Course
from setwright.prove.case import BLANK, Contact, Feature
from setwright.prove.wording import the_body

__all__ = ["crash_text", "part_of_tool", "size_text"]


def part_of_tool(course: Course, row: int) -> str:
    """The tool in a row as a setter calls it."""
    station = course.station(row)
    assembly = course.world.kit.tools.get(station)
    return f"T{station} {assembly.tool.name}" if assembly else f"T{station}"


def crash_text(course: Course, contact: Contact, speed: float) -> str:
    """ "T2 end mill 16: the holder hits the fixed jaw, 2.350 mm deep, at rapid, 18000 mm/min"."""
    body = "the blank" if contact.body == BLANK else the_body(contact.body)
    way = "at rapid" if contact.rapid else "at feed"
    tool, depth = part_of_tool(course, contact.row), f"{course.length(contact.depth_mm)} deep"
    return f"{tool}: the {contact.part} hits {body}, {depth}, {way}, {course.length(speed, places=0)}/min"


def size_text(course: Course, feature: Feature) -> str:
    """ "“depth of seat” comes out 12.730 mm, 0.200 mm over its upper limit"."""
    if feature.simulated is None or feature.deviation is None:
        return f"“{feature.name}” cannot come out: one of its faces is not there"
    beyond = feature.beyond_mm or 0.0
    if feature.telling is None or beyond <= feature.bound_mm:
        return f"“{feature.name}” is not whole: {feature.why}"
    side = "over its upper" if feature.telling > feature.size.nominal + feature.size.upper else "under its lower"
    out, by = (f"{size:.3f}°" if feature.unit == "deg" else course.length(size) for size in (feature.telling, beyond))
    return f"“{feature.name}” comes out {out}, {by} {side} limit"
