"""What surrounds every request, whoever answers it: a limit on what is sent, the host it is sent to, rules for the browser."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from setwright.base.errors import InputRefused, LimitReached
from setwright.model.answer import refusal_document
from setwright.web.answers import JSON_TYPE, encoded

__all__ = ["BodyLimit", "BrowserRules", "KnownHosts", "refuse"]

_RULES: Final = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; "
        "worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


async def refuse(send: Send, refusal: InputRefused, status: int) -> None:
    """A refusal as the whole answer; the connection ends with it, since a body may still be on its way."""
    body = encoded(refusal_document("api", refusal))
    headers = [(b"content-type", JSON_TYPE.encode()), (b"content-length", str(len(body)).encode()), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


_SIGN_IN: Final = 8_000
_WRITTEN: Final = 1_000_000
_DIGITS: Final = 15


class _TooLarge(Exception):
    """More came than was announced or is allowed."""


class BodyLimit:
    """Refuses bodies larger than a limit, by what is announced and by what really comes: `largest` bytes where files are sent,
    a few kilobytes for a name and its password, and what a person can have written everywhere else."""

    def __init__(self, app: ASGIApp, *, largest: int) -> None:
        self._app = app
        self._largest = largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting what comes."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        announced, largest = Headers(scope=scope).get("content-length", "0"), self._limit(scope)
        if not announced.isascii() or not announced.isdigit() or len(announced) > _DIGITS or int(announced) > largest:
            await refuse(send, _too_much(largest), 413)
            return
        came, started = 0, False

        async def counted() -> Message:
            nonlocal came
            message = await receive()
            came += len(message.get("body", b""))
            if came > largest:
                raise _TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            if came <= largest or started:  # else whatever is said about the broken body is not the answer
                started = True
                await send(message)

        with contextlib.suppress(_TooLarge):
            await self._app(scope, counted, noted)
        if came > largest and not started:
            await refuse(send, _too_much(largest), 413)

    def _limit(self, scope: Scope) -> int:
        method, path = scope["method"], scope["path"]
        if path == "/api/session":
            return min(_SIGN_IN, self._largest)
        files = path in ("/api/jobs", "/api/jobs/import") or method == "PATCH" or (method == "PUT" and path.endswith("/file"))
        return self._largest if files else min(_WRITTEN, self._largest)


def _too_much(largest: int) -> InputRefused:
    size = f"{largest // 1_000_000} MB" if largest >= 1_000_000 else f"{largest // 1_000} kB"
    return LimitReached.because(f"more than {size} were sent",
                                remedy="send less at once, or take the job in with: setwright record import")  # fmt: skip


class KnownHosts:
    """Answers only under the server's own names, so that no page of another site can reach it by a name of its own."""

    def __init__(self, app: ASGIApp, *, names: Iterable[str]) -> None:
        self._app = app
        self._names = frozenset(name.casefold() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on if it is for this server."""
        if scope["type"] == "http" and _host_name(Headers(scope=scope).get("host", "")) not in self._names:
            remedy = "call it by the name it was started with, or start it with --name for this one"
            await refuse(send, InputRefused.because("this server does not go by that name", remedy=remedy), 421)
            return
        await self._app(scope, receive, send)


def _host_name(host: str) -> str:
    """The host without its port; an address in brackets keeps its colons."""
    if host.startswith("["):
        return host[1:].partition("]")[0].casefold()
    return host.partition(":")[0].casefold()


class BrowserRules:
    """Adds to every answer what the browser must hold to: no script but the server's own, no frame, no guessing of types."""

    def __init__(self, app: ASGIApp, *, tls: bool) -> None:
        self._app = app
        self._rules = _RULES | ({"strict-transport-security": "max-age=31536000"} if tls else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and add the rules to its answer."""

        async def bound(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self._rules.items():
                    headers.setdefault(name, value)
                if scope["path"].startswith("/api"):
                    headers.setdefault("cache-control", "no-store")
            await send(message)

        await self._app(scope, receive, bound if scope["type"] == "http" else send)
