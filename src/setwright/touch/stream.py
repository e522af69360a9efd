"""Positions straight from the machine, by the open standard MTConnect (ANSI/MTC1.4): HTTP requests answered with XML.

Read only. An agent keeps a ring of numbered samples: `current` gives the latest of everything, `sample?from=N` what came since,
with `nextSequence` to go on from. Three things make a stream lie, and each is told rather than bridged: samples that fell out of
the ring before they were asked for (a gap), an agent that started anew (its `instanceId` changes and numbers begin again), and
values the agent itself marks UNAVAILABLE.
"""

from __future__ import annotations

import datetime
import math
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.client import HTTPException, HTTPResponse
from typing import Final

from lxml import etree  # type: ignore[import-untyped]

from setwright.base.errors import InputRefused, LimitReached

__all__ = ["Answer", "Fetch", "Position", "PositionStream", "fetch_over_http", "parse_answer"]

_LARGEST: Final = 8_000_000
_TIMEOUT_S: Final = 10.0
_INTERVAL_MS: Final = 10
_MOST_HEADERS: Final = 20
_UNAVAILABLE: Final = "UNAVAILABLE"
_AXES: Final = {"X": "x", "Y": "y", "Z": "z"}
Fetch = Callable[[str], bytes]
"""Path with query ("/mill/current?path=...") -> the answer's bytes."""


@dataclass(frozen=True, slots=True)
class Position:
    """One sample: `axis` "x", "y", "z"; `value` mm in machine coordinates, None while the agent has none; its number and time."""

    axis: str
    value: float | None
    sequence: int
    when: datetime.datetime
    item: str


@dataclass(frozen=True, slots=True)
class Answer:
    """One document of the agent. `first`, `next`: oldest number still in its ring, number to ask from next time."""

    instance: int
    first: int
    next: int
    positions: tuple[Position, ...]


def parse_answer(data: bytes, *, units: dict[str, str] | None = None) -> Answer:
    """The positions in a streams document of any version of the standard (found by local name, so any namespace will do).

    Takes actual positions of linear axes (X, Y, Z); lengths are mm by the standard, or inches where `units` (item -> "INCH") says.
    Raises InputRefused for anything that is not such a document, for an error answer of the agent (with its own words), and for
    documents that would make a parser expand entities.
    """
    root = _parse(data)
    name = etree.QName(root).localname
    if name == "MTConnectError":
        said = "; ".join(text.strip() for text in root.itertext() if text.strip()) or "no reason given"
        what = f"the machine's agent answered with an error: {said}"
        raise InputRefused.because(what, remedy="check the path and the device's name")
    header = next((e for e in root if isinstance(e.tag, str) and etree.QName(e).localname == "Header"), None)
    if name != "MTConnectStreams" or header is None:
        what = f"the answer is a {name}, not a document of samples"
        raise InputRefused.because(what, remedy="ask the agent for /current or /sample")
    positions = [found for element in root.iter() if isinstance(element.tag, str)
                 for found in _position(element, units or {})]  # fmt: skip
    positions.sort(key=lambda p: (p.sequence, p.item))
    return Answer(_whole(header, "instanceId"), _whole(header, "firstSequence"), _whole(header, "nextSequence"), tuple(positions))


def _parse(data: bytes) -> etree._Element:
    if len(data) > _LARGEST:
        raise LimitReached.because(f"the answer has more than {_LARGEST // 1_000_000} MB", remedy="ask for fewer samples at a time")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False, load_dtd=False, remove_comments=True,
                             remove_pis=True)  # fmt: skip
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise InputRefused.because("the answer is not readable XML", why=str(error), remedy="check address and port") from error
    if root.getroottree().docinfo.internalDTD is not None:
        raise InputRefused.because("the answer declares its own entities", why="that can be used to exhaust memory",
                                   remedy="no agent sends that; check the address")  # fmt: skip
    return root


def _position(element: etree._Element, units: dict[str, str]) -> Iterator[Position]:
    if etree.QName(element).localname != "Position" or element.get("subType", "ACTUAL") != "ACTUAL":
        return
    component = next((up for up in element.iterancestors() if etree.QName(up).localname == "ComponentStream"), None)
    letter = "" if component is None else (component.get("name") or component.get("nativeName") or "")
    if component is None or component.get("component") != "Linear" or letter[:1].upper() not in _AXES:
        return
    item, text = element.get("dataItemId", ""), (element.text or "").strip()
    yield Position(_AXES[letter[:1].upper()], _value(text, item, units), _whole(element, "sequence"), _time(element), item)


def _value(text: str, item: str, units: dict[str, str]) -> float | None:
    if text.upper() == _UNAVAILABLE:
        return None
    try:
        value = float(text)
    except ValueError as error:
        raise InputRefused.because(f'"{text}" is not a position (item {item})', remedy="check the agent's adapter") from error
    if not math.isfinite(value):
        raise InputRefused.because(f'"{text}" is not a position (item {item})', remedy="check the agent's adapter")
    return value * (25.4 if units.get(item, "MILLIMETER").upper().startswith("INCH") else 1.0)


def _whole(element: etree._Element, name: str) -> int:
    text = element.get(name, "")
    if not (text.isascii() and text.isdigit()):
        where = etree.QName(element).localname
        raise InputRefused.because(f'{where} has {name}="{text}", a whole number is wanted', remedy="check the agent's version")
    return int(text)


def _time(element: etree._Element) -> datetime.datetime:
    text = element.get("timestamp", "")
    try:
        when = datetime.datetime.fromisoformat(text)
    except ValueError as error:
        raise InputRefused.because(f'"{text}" is not a time', remedy="check the agent's version") from error
    return when if when.tzinfo else when.replace(tzinfo=datetime.UTC)


def fetch_over_http(address: str, *, timeout_s: float = _TIMEOUT_S) -> Fetch:
    """A fetcher for the agent at `address` ("http://localhost:5000"). Follows no redirect, reads a bounded answer.

    The fetcher raises InputRefused, with what to do, when the machine cannot be reached.
    """
    parts = urllib.parse.urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise InputRefused.because(f'"{address}" is not an address', remedy='write for example "http://localhost:5000"')
    opener = urllib.request.build_opener(_NoRedirect)
    base = address.rstrip("/")

    def fetch(path: str) -> bytes:
        try:
            with opener.open(f"{base}{path}", timeout=timeout_s) as answer:
                held = answer.headers.get_content_maintype() == "multipart"
                return _first_part(answer) if held else bytes(answer.read(_LARGEST + 1))
        except urllib.error.HTTPError as error:
            with error:
                body = bytes(error.read(_LARGEST + 1))
            if body.lstrip().startswith(b"<"):
                return body
            raise InputRefused.because(f"the machine answered {error.code} {error.reason}", remedy="check the address") from error
        except (urllib.error.URLError, HTTPException, OSError) as error:
            what, why = f"no answer from {base}", str(getattr(error, "reason", error))
            raise InputRefused.because(what, why=why, remedy="check cable, address and that the agent runs") from error

    return fetch


def _first_part(answer: HTTPResponse) -> bytes:
    """The first document of a held answer: the agent sends one part when something came or its heartbeat is due, then the next."""
    length = -1
    for _ in range(_MOST_HEADERS):
        line = answer.readline(_MOST_HEADERS * 100).strip()
        name, _, value = line.partition(b":")
        if name.lower() == b"content-length" and value.strip().isdigit():
            length = int(value)
        elif not line and length >= 0:
            return bytes(answer.read(min(length, _LARGEST + 1)))
    raise InputRefused.because("the held answer has no part of a stated length", remedy="read without waiting")


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """An agent has no reason to send a reader elsewhere."""

    def redirect_request(self, *_args: object, **_kwargs: object) -> None:
        """No redirect is followed."""


@dataclass(slots=True)
class PositionStream:
    """Follows the axis positions of one device.

    `latest`: the last sample of each axis. `gaps`: how many samples were lost before they could be read; `restarts`: how often the
    agent began anew. After either, `latest` was refilled from `current`, so it is true again, but the way in between is unknown.
    """

    fetch: Fetch
    device: str = ""
    units: dict[str, str] = field(default_factory=dict)
    latest: dict[str, Position] = field(default_factory=dict)
    gaps: int = 0
    restarts: int = 0
    _instance: int | None = None
    _next: int = 0

    def read(self, *, wait_ms: int = 0, most: int = 1000) -> list[Position]:
        """Samples since the last call, in order; the current ones at the first. `wait_ms` > 0 lets the agent hold the answer until
        something comes or that time is over; the fetcher's timeout must be longer."""
        if self._instance is None:
            return self._start()
        query = {"path": '//Linear//DataItem[@type="POSITION"]', "from": self._next, "count": most}
        if wait_ms > 0:
            query |= {"interval": _INTERVAL_MS, "heartbeat": wait_ms}
        try:
            answer = self._ask("sample", query)
        except InputRefused as refusal:
            if "OUT_OF_RANGE" not in str(refusal) and "from" not in str(refusal):
                raise
            return self._after_loss()
        if answer.instance != self._instance:
            self.restarts += 1
            return self._start()
        if answer.first > self._next:
            self.gaps += answer.first - self._next
        self._next = answer.next
        self._keep(answer.positions)
        return list(answer.positions)

    def place(self) -> tuple[float, float, float]:
        """Machine position of the three axes, mm; refused while one of them is not known."""
        missing = [axis for axis in "xyz" if axis not in self.latest or self.latest[axis].value is None]
        if missing:
            raise InputRefused.because(f"the machine does not report {', '.join(axis.upper() for axis in missing)}",
                                       remedy="reference the axes, or type the reading by hand")  # fmt: skip
        x, y, z = (self.latest[axis].value or 0.0 for axis in "xyz")
        return x, y, z

    def _start(self) -> list[Position]:
        answer = self._ask("current", {"path": '//Linear//DataItem[@type="POSITION"]'})
        self._instance, self._next = answer.instance, answer.next
        self.latest.clear()
        self._keep(answer.positions)
        return list(answer.positions)

    def _after_loss(self) -> list[Position]:
        """The agent no longer holds what was asked for: it began anew, or the ring has gone past it."""
        before, instance = self._next, self._instance
        found = self._start()
        if self._instance != instance:
            self.restarts += 1
        else:
            self.gaps += max(self._next - before, 1)
        return found

    def _ask(self, request: str, query: dict[str, object]) -> Answer:
        device = f"/{urllib.parse.quote(self.device)}" if self.device else ""
        return parse_answer(self.fetch(f"{device}/{request}?{urllib.parse.urlencode(query)}"), units=self.units)

    def _keep(self, positions: tuple[Position, ...]) -> None:
        for position in positions:
            self.latest[position.axis] = position
