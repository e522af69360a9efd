"""What surrounds every request, whoever answers it: limits on what is sent and how long that may take, the host and the way it is
sent by, rules for the browser."""

from __future__ import annotations

import asyncio
import contextlib
import time
from collections.abc import Iterable
from typing import Any, ClassVar, Final

import anyio
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware
from uvicorn.protocols.http.h11_impl import H11Protocol

from setwright.base.errors import InputRefused, LimitReached
from setwright.model.answer import refusal_document
from setwright.web.answers import JSON_TYPE, encoded
from setwright.web.refusals import NotAllowed, TooSlow

__all__ = ["CONNECTION", "BodyLimit", "BrowserRules", "KnownHosts", "PromptProtocol", "ThroughProxy", "refuse"]

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


class PromptProtocol(H11Protocol):
    """A connection that is closed when the head of a request is not whole `header_s` after it was opened, or after the first byte
    of the next request."""

    header_s: ClassVar[float] = 15.0
    _due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for the first request."""
        super().connection_made(transport)
        self._due = self.loop.call_later(self.header_s, self._too_late)

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._wait_no_more()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take it in, and wait for the rest of a head where that is not whole."""
        super().data_received(data)
        if repr(self.conn.their_state) != "IDLE":
            self._wait_no_more()
        elif self._due is None and self.conn.trailing_data[0]:
            self._due = self.loop.call_later(self.header_s, self._too_late)

    def _wait_no_more(self) -> None:
        if self._due is not None:
            self._due.cancel()
            self._due = None

    def _too_late(self) -> None:
        self._due = None
        if not self.transport.is_closing():
            self.transport.close()


CONNECTION: Final[dict[str, Any]] = {
    "http": PromptProtocol, "timeout_keep_alive": 15, "limit_concurrency": 1000, "proxy_headers": False, "server_header": False,
}  # fmt: skip
"""How a server treats connections: a head within its time, 15 s without a request, a thousand at the same time, and nobody's word
on who asks by which way but that of a proxy that was named."""


_SIGN_IN: Final = 8_000
_WRITTEN: Final = 1_000_000
_DIGITS: Final = 15
_PAUSE_S: Final = 20.0
_BEGIN_S: Final = 30.0
_BYTES_PER_S: Final = 20_000


class _TooLarge(Exception):
    """More came than was announced or is allowed."""


class _TooLate(Exception):
    """What was to come did not, or too slowly."""


class BodyLimit:
    """Refuses bodies larger than a limit, by what is announced and by what really comes: `largest` bytes where files are sent,
    a few kilobytes for a name and its password, and what a person can have written everywhere else. Refuses as well one that does
    not go on for `pause_s`, or has not come whole after `begin_s` and the time that so much takes at 20 kB/s."""

    def __init__(self, app: ASGIApp, *, largest: int, pause_s: float = _PAUSE_S, begin_s: float = _BEGIN_S) -> None:
        self._app = app
        self._largest = largest
        self._pause_s, self._begin_s = pause_s, begin_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, counting what comes."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        announced, largest = Headers(scope=scope).get("content-length", "0"), self._limit(scope)
        if not announced.isascii() or not announced.isdigit() or len(announced) > _DIGITS or int(announced) > largest:
            await refuse(send, _too_much(largest), 413)
            return
        came, whole, late, started, began = 0, False, False, False, time.monotonic()

        async def counted() -> Message:
            nonlocal came, whole, late
            if whole:  # what comes now is word that whoever asked has left
                return await receive()
            left = began + self._begin_s + came / _BYTES_PER_S - time.monotonic()
            message: Message | None = None
            if left > 0.0:
                with anyio.move_on_after(min(self._pause_s, left)):
                    message = await receive()
            if message is None:
                late = True
                raise _TooLate
            came += len(message.get("body", b""))
            whole = not message.get("more_body", False)
            if came > largest:
                raise _TooLarge
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            if started or (came <= largest and not late):  # else whatever is said about the broken body is not the answer
                started = True
                await send(message)

        with contextlib.suppress(_TooLarge, _TooLate):
            await self._app(scope, counted, noted)
        if late and not started:
            said = f"{came:,} bytes came, and then nothing more in time"
            await refuse(send, TooSlow.because(said, remedy="send it again"), 408)
        elif came > largest and not started:
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


class ThroughProxy:
    """Behind a proxy: answers nobody who does not come through it, and takes its word, and no one else's, for who asks and whether
    that went by HTTPS. `proxy`: its address."""

    def __init__(self, app: ASGIApp, *, proxy: str) -> None:
        self._proxy = proxy
        self._app: Any = ProxyHeadersMiddleware(app, trusted_hosts=[proxy])  # type: ignore[arg-type]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on if the proxy sent it."""
        if scope["type"] == "http" and (scope.get("client") or ("", 0))[0] != self._proxy:
            said = "this server answers through its proxy only"
            await refuse(send, NotAllowed.because(said, remedy="call it by the address of the proxy, with https"), 403)
            return
        await self._app(scope, receive, send)


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
