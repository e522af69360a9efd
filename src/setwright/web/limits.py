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

__all__ = ["BodyLimit", "BrowserRules", "KnownHosts"]

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


async def _refuse(send: Send, refusal: InputRefused, status: int) -> None:
    body = encoded(refusal_document("api", refusal))
    headers = [(b"content-type", JSON_TYPE.encode()), (b"content-length", str(len(body)).encode()), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


class _TooLarge(Exception):
    """More came than was announced or is allowed."""


class BodyLimit:
    """Refuses bodies larger than a limit, by what is announced and by what really comes."""

    def __init__(self, app: ASGIApp, *, largest: int) -> None:
        self._app = app
        self._largest = largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting what comes."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        announced = Headers(scope=scope).get("content-length", "0")
        if not announced.isdigit() or int(announced) > self._largest:
            await _refuse(send, self._refusal(), 413)
            return
        came, started = 0, False

        async def counted() -> Message:
            nonlocal came
            message = await receive()
            came += len(message.get("body", b""))
            if came > self._largest:
                raise _TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            if came <= self._largest or started:  # else whatever is said about the broken body is not the answer
                started = True
                await send(message)

        with contextlib.suppress(_TooLarge):
            await self._app(scope, counted, noted)
        if came > self._largest and not started:
            await _refuse(send, self._refusal(), 413)

    def _refusal(self) -> InputRefused:
        said = f"more than {self._largest // 1_000_000} MB were sent"
        return LimitReached.because(said, remedy="send less at once, or take the job in with: setwright record import")


class KnownHosts:
    """Answers only under the server's own names, so that no page of another site can reach it by a name of its own."""

    def __init__(self, app: ASGIApp, *, names: Iterable[str]) -> None:
        self._app = app
        self._names = frozenset(name.casefold() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on if it is for this server."""
        if scope["type"] == "http" and _host_name(Headers(scope=scope).get("host", "")) not in self._names:
            remedy = "call it by the name it was started with, or start it with --name for this one"
            await _refuse(send, InputRefused.because("this server does not go by that name", remedy=remedy), 421)
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
