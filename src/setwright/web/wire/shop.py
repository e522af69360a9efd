"""Answers about the shop."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from setwright.web.wire.stations import Shape, ToolShape

__all__ = ["Drawn", "Put", "Shop", "ThingSaid", "ThingShown", "Things"]


class ThingSaid(BaseModel):
    """A revision of a thing of the shop; `sha256` null when it was taken out."""

    kind: str
    name: str
    number: int
    sha256: str | None
    note: str
    by: str
    at: str


class Shop(BaseModel):
    """Everything in the shop; by job, its files that differ from what the shop has now."""

    things: list[ThingSaid]
    differing: dict[str, list[str]]


class ThingShown(BaseModel):
    """A thing, the text it is written in, and its document, quantities with their unit."""

    thing: ThingSaid
    text: str
    document: dict[str, Any]


class Things(BaseModel):
    """Every revision of a thing, the first one first."""

    revisions: list[ThingSaid]


class Drawn(BaseModel):
    """A thing as it is being typed: a tool from the tip upward, or bodies, mm."""

    tool: ToolShape | None
    bodies: list[Shape]


class Put(BaseModel):
    """The revision that a change made."""

    thing: ThingSaid
