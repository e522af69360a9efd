"""The shop's library: machines, holding, tools, instruments."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Body, Response
from pydantic import BaseModel, Field

from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode
from setwright.record.refusals import NotThere
from setwright.record.shop import (
    KINDS,
    Thing,
    find_thing,
    jobs_that_differ,
    put_thing,
    take_out_thing,
    thing_bytes,
    thing_revisions,
    things,
)
from setwright.record.store import Record
from setwright.web.answers import said
from setwright.web.routes.common import BasedOn, RevisionNumber, ShortOf, audited, etag
from setwright.web.short import drawn, thing_said
from setwright.web.signin import Lead, RecordOf, Viewer
from setwright.web.wire.shop import Drawn, Put, Shop, Things, ThingShown

__all__ = ["ThingTyped", "delete_shop", "get_shop", "get_thing", "get_thing_revisions", "post_drawing", "put_shop", "router"]

router = APIRouter(tags=["shop"])


@router.get("/api/shop", summary="Everything in the shop, and the jobs that differ from it", response_model=Shop)
def get_shop(record: RecordOf, _who: Viewer) -> Response:
    """`differing`: by job, its files that are not what the shop has now."""
    return said({"things": [one.as_plain() for one in things(record)], "differing": jobs_that_differ(record)})


@router.get("/api/shop/{kind}/{name}", summary="One thing: its text and its document", response_model=ThingShown)
def get_thing(
    record: RecordOf, short: ShortOf, _who: Viewer, kind: str, name: str, number: RevisionNumber = None
) -> Response:
    """As it is now, or as it was in a revision."""
    found = _thing(record, kind, name, number)
    data, shown = thing_bytes(record, found), f"{kind}/{name}.toml"
    document = short(thing_said, kind, data, shown)
    return said({"thing": found.as_plain(), "text": decode(data, shown=shown), "document": document}, headers=etag(found.number))


def _thing(record: Record, kind: str, name: str, number: int | None) -> Thing:
    if kind not in KINDS:
        raise NotThere.because(f'a shop has no "{kind}"', remedy=f"it has {', '.join(KINDS)}")
    if number is None:
        return find_thing(record, kind, name)
    found = [one for one in thing_revisions(record, kind, name) if one.number == number]
    if not found:
        raise NotThere.because(f"{kind}/{name} has no revision {number}", remedy="look at its revisions")
    return found[0]


class ThingTyped(BaseModel, extra="forbid"):
    """The text of a thing as it is being typed."""

    text: str = Field(max_length=1_000_000)


@router.post("/api/shop/{kind}/drawing", summary="A thing as it is being typed, drawn", response_model=Drawn)
def post_drawing(short: ShortOf, _who: Viewer, kind: str, given: ThingTyped) -> Response:
    """Nothing is kept. `tool` is a tool's outline, `bodies` a vise or plate around a part; refused with line and key of what is
    wrong."""
    if kind not in KINDS:
        raise NotThere.because(f'a shop has no "{kind}"', remedy=f"it has {', '.join(KINDS)}")
    return said(short(drawn, kind, given.text))


@router.get("/api/shop/{kind}/{name}/revisions", summary="Every revision of a thing", response_model=Things)
def get_thing_revisions(record: RecordOf, _who: Viewer, kind: str, name: str) -> Response:
    """The first one first."""
    return said({"revisions": [one.as_plain() for one in thing_revisions(record, kind, name)]})


@router.put("/api/shop/{kind}/{name}", summary="Put a thing in or change it", response_model=Put)
def put_shop(
    record: RecordOf, short: ShortOf, who: Lead, kind: str, name: str, based_on: BasedOn,
    text: Annotated[str, Body(media_type="text/plain")], note: str = "",
) -> Response:  # fmt: skip
    """The body is the thing's TOML text. If-Match "0" for a new thing."""
    if len(note) > 500:
        raise InputRefused.because("the note has more than 500 characters", remedy="write it shorter", key="note")
    made = put_thing(record, kind, name, text.encode(), based_on=based_on, by=who.name, note=note,
                     read=lambda *given: short(thing_said, *given))  # fmt: skip
    audited(record, who, "shop changed", f"{kind}/{name}", revision=made.number)
    return said({"thing": made.as_plain()}, headers=etag(made.number))


@router.delete("/api/shop/{kind}/{name}", summary="Take a thing out of the shop", response_model=Put)
def delete_shop(record: RecordOf, who: Lead, kind: str, name: str, based_on: BasedOn) -> Response:
    """Its revisions stay."""
    made = take_out_thing(record, kind, name, based_on=based_on, by=who.name)
    audited(record, who, "shop changed", f"{kind}/{name}", revision=made.number, out=True)
    return said({"thing": made.as_plain()}, headers=etag(made.number))
