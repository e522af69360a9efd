"""Who is asking, whether they may, and whether the request really comes from a page of this server.

A session is a random token in a cookie that scripts cannot read; the record keeps its SHA-256. Every request that changes something
must carry a second token in a header, which only a page of this server can have read. Without accounts there is one person, and the
second token alone keeps pages of other sites out.
"""

from __future__ import annotations

import datetime
import hashlib
import secrets
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Annotated, Any, Final

from anyio.to_thread import run_sync
from fastapi import Depends, Request, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from setwright.base.errors import InputRefused
from setwright.record.people import (
    Role,
    close_sessions,
    count_try,
    forget_tries,
    note_audit,
    open_session,
    people,
    session_person,
)
from setwright.record.schema import now
from setwright.record.store import Record
from setwright.web.limits import refuse
from setwright.web.passwords import fits
from setwright.web.refusals import NotAllowed, NotSignedIn, TooManyTries, WrongOrigin, status_of
from setwright.web.settings import Settings

__all__ = [
    "COOKIE", "TOKEN_HEADER", "Administrator", "Lead", "RecordOf", "Setter", "SettingsOf", "SignedInFirst", "Still", "Viewer",
    "Who", "sign_in", "sign_out",
    "token_of",
]  # fmt: skip

COOKIE: Final = "setwright_session"
TOKEN_HEADER: Final = "x-setwright-token"
_READING: Final = ("GET", "HEAD", "OPTIONS")
_TRIES_HERE, _TRIES = 5, 30
"""For one name: from one address, and from all together, within the window."""
_WINDOW: Final = datetime.timedelta(minutes=15)
_REFUSED: Final = "sign-in refused"


@dataclass(frozen=True, slots=True)
class Who:
    """Who is asking: name, role, and from where."""

    name: str
    role: Role
    address: str


def _record(request: Request) -> Record:
    record: Record = request.app.state.record
    return record


def _settings(request: Request) -> Settings:
    settings: Settings = request.app.state.settings
    return settings


RecordOf = Annotated[Record, Depends(_record)]
SettingsOf = Annotated[Settings, Depends(_settings)]


def token_of(request: Request) -> str:
    """The second token of whoever asks: made from the session's, or the server's own when there are no accounts."""
    settings = _settings(request)
    base = request.cookies.get(COOKIE, "") if settings.accounts else str(request.app.state.own_token)
    return hashlib.sha256(f"second {base}".encode()).hexdigest()


def _kept(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


def _asking(request: Request) -> Who:
    settings, record = _settings(request), _record(request)
    if request.method not in _READING:
        _from_own_page(request)
    if not settings.accounts:
        return Who(settings.local_name, Role.ADMINISTRATOR, _address(request))
    token = request.cookies.get(COOKIE, "")
    idle = datetime.timedelta(hours=settings.idle_hours)
    person = session_person(record, _kept(token), idle=idle) if token else None
    if person is None:
        raise NotSignedIn.because("nobody is signed in", remedy="sign in and try again")
    return Who(person.name, person.role, _address(request))


def _from_own_page(request: Request) -> None:
    given = request.headers.get(TOKEN_HEADER, "")
    site = request.headers.get("sec-fetch-site", "same-origin")
    if site not in ("same-origin", "none") or not secrets.compare_digest(given.encode(), token_of(request).encode()):
        remedy = f"read the token with GET /api/session and send it as {TOKEN_HEADER}"
        raise WrongOrigin.because("the request does not come from a page of this server", remedy=remedy)


class SignedInFirst:
    """Asks who is there before anything of a body is taken in. What a person's role allows is asked again by each address."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on if it may come with a body."""
        changes = scope["type"] == "http" and scope["path"].startswith("/api") and scope["method"] not in _READING
        if changes and (scope["method"], scope["path"]) != ("POST", "/api/session"):
            try:
                await run_sync(_asking, Request(scope))
            except InputRefused as refusal:
                await refuse(send, refusal, status_of(refusal))
                return
        await self._app(scope, receive, send)


def _at_least(role: Role) -> Callable[..., Who]:
    def needed(who: Annotated[Who, Depends(_asking)]) -> Who:
        if not who.role.may(role):
            said = f"{who.name} is a {who.role.value}; this takes a {role.value}"
            raise NotAllowed.because(said, remedy=f"ask a {role.value}")
        return who

    return needed


Viewer = Annotated[Who, Depends(_at_least(Role.VIEWER))]
Setter = Annotated[Who, Depends(_at_least(Role.SETTER))]
Lead = Annotated[Who, Depends(_at_least(Role.LEAD))]
Administrator = Annotated[Who, Depends(_at_least(Role.ADMINISTRATOR))]


def _still(request: Request) -> Callable[[], Awaitable[bool]]:
    async def may() -> bool:
        try:
            await run_sync(_asking, request)
        except InputRefused:
            return False
        return True

    return may


Still = Annotated[Callable[[], Awaitable[bool]], Depends(_still)]
"""Whether whoever asked may still look, for an answer that goes on for long."""


def sign_in(request: Request, response: Response, name: str, password: str) -> dict[str, Any]:
    """Open a session and set its cookie. Refuses a wrong name or password alike, and for a while after too many of them."""
    settings, record, address = _settings(request), _record(request), _address(request)
    subject = " ".join(name.casefold().split())[:200]
    if not count_try(record, subject, address=address, most_here=_TRIES_HERE, most=_TRIES, since=now() - _WINDOW):
        remedy = "wait 15 minutes and try again, or ask an administrator to let you try at once"
        raise TooManyTries.because("too many refused sign-ins", remedy=remedy)
    known = {person.name.casefold(): person for person in people(record)}
    person = known.get(subject)
    good = fits(password, person.secret if person else "")
    if person is None or not good or not person.active:
        note_audit(record, _REFUSED, by="", subject=subject, address=address)
        raise NotSignedIn.because("name or password is wrong", remedy="try again, or ask an administrator for a new password")
    forget_tries(record, subject, address=address)
    if request.cookies.get(COOKIE):
        close_sessions(record, token=_kept(request.cookies[COOKIE]))
    token = secrets.token_urlsafe(32)
    open_session(record, person, _kept(token), ends_at=now() + datetime.timedelta(hours=settings.session_hours))
    response.set_cookie(COOKIE, token, httponly=True, samesite="strict", secure=settings.encrypted, path="/")
    note_audit(record, "signed in", by=person.name, subject=person.name, address=address)
    second = hashlib.sha256(f"second {token}".encode()).hexdigest()
    return {"accounts": True, "name": person.name, "role": person.role.value, "token": second}


def sign_out(request: Request, response: Response, who: Who) -> None:
    """End the session and take its cookie back."""
    record = _record(request)
    token = request.cookies.get(COOKIE)
    if token:
        close_sessions(record, token=_kept(token))
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict", secure=_settings(request).encrypted)
    note_audit(record, "signed out", by=who.name, subject=who.name, address=who.address)
