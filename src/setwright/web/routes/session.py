"""Signing in and out, and who is there."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field

from setwright import __version__
from setwright.base.errors import InputRefused
from setwright.record.people import Role, add_person, audit_lines, change_person, find_person, forget_tries, people
from setwright.web.answers import JSON_TYPE, encoded, said
from setwright.web.passwords import hashed
from setwright.web.routes.common import audited
from setwright.web.signin import Administrator, RecordOf, SettingsOf, Viewer, sign_in, sign_out, token_of
from setwright.web.wire.people import Audit, People, PersonSaid, SessionSaid

__all__ = [
    "Credentials", "NewPerson", "PersonChange", "delete_session", "delete_tries", "get_audit", "get_people", "get_session",
    "patch_person", "post_people", "post_session", "router",
]  # fmt: skip

router = APIRouter(tags=["people"])


class Credentials(BaseModel, extra="forbid"):
    """A name and its password."""

    name: str = Field(max_length=200)
    password: str = Field(max_length=1000)


class NewPerson(Credentials):
    """Somebody new."""

    role: Role


class PersonChange(BaseModel, extra="forbid"):
    """What changes; what is left out stays."""

    role: Role | None = None
    password: str | None = Field(default=None, max_length=1000)
    active: bool | None = None


@router.get("/api/session", summary="Who is asking, and the token for what changes something", response_model=SessionSaid)
def get_session(request: Request, who: Viewer, settings: SettingsOf) -> Response:
    """`token` goes into the header X-Setwright-Token of every request that changes something."""
    return said({"accounts": settings.accounts, "name": who.name, "role": who.role.value, "token": token_of(request),
                 "version": __version__})  # fmt: skip


@router.post("/api/session", summary="Sign in", response_model=SessionSaid)
def post_session(request: Request, given: Credentials, settings: SettingsOf) -> Response:
    """Sets the session's cookie and answers as GET does."""
    if not settings.accounts:
        raise InputRefused.because("this server knows no accounts", remedy="go on without signing in")
    response = Response(media_type=JSON_TYPE)
    answer = sign_in(request, response, given.name, given.password) | {"version": __version__}
    response.body = encoded(answer)
    response.headers["content-length"] = str(len(response.body))
    return response


@router.delete("/api/session", summary="Sign out", status_code=204)
def delete_session(request: Request, who: Viewer, record: RecordOf) -> Response:
    """Ends the session; its cookie is worth nothing any more."""
    del record
    response = Response(status_code=204)
    sign_out(request, response, who)
    return response


@router.get("/api/people", summary="Everybody", response_model=People)
def get_people(record: RecordOf, _who: Administrator) -> Response:
    """Names, roles, and who may sign in."""
    return said({"people": [person.as_plain() for person in people(record)]})


@router.post("/api/people", summary="Add somebody", response_model=PersonSaid, status_code=201)
def post_people(record: RecordOf, who: Administrator, given: NewPerson) -> Response:
    """A person with a first password."""
    made = add_person(record, given.name, role=given.role, secret=hashed(given.password, name=given.name))
    audited(record, who, "person added", made.name, role=made.role.value)
    return said(made.as_plain(), status=201)


@router.patch("/api/people/{name}", summary="Change somebody's role or password, or shut the door", response_model=PersonSaid)
def patch_person(record: RecordOf, who: Administrator, name: str, given: PersonChange) -> Response:
    """Ends all sessions of that person."""
    secret = None if given.password is None else hashed(given.password, name=name)
    changed = change_person(record, name, role=given.role, secret=secret, active=given.active)
    detail = {"role": changed.role.value, "active": changed.active, "password": given.password is not None}
    audited(record, who, "person changed", changed.name, **detail)
    return said(changed.as_plain())


@router.delete("/api/people/{name}/tries", summary="Let somebody try to sign in again at once", status_code=204)
def delete_tries(record: RecordOf, who: Administrator, name: str) -> Response:
    """Forgets the refused sign-ins for that name; they stay in the audit."""
    found = find_person(record, name)
    forget_tries(record, found.name)
    audited(record, who, "sign-in freed", found.name)
    return Response(status_code=204)


@router.get("/api/audit", summary="Who changed what, newest first", response_model=Audit)
def get_audit(record: RecordOf, _who: Administrator, before: int | None = None) -> Response:
    """200 lines; `before` takes the number of the oldest line seen, for those before it."""
    return said({"lines": [line.as_plain() for line in audit_lines(record, before=before)]})
