"""Positions from a small agent of ours: samples, waiting, gaps, restarts, unavailable values, documents that are wrong."""

from __future__ import annotations

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import pytest

from setwright.base.errors import InputRefused, LimitReached
from setwright.touch.stream import PositionStream, fetch_over_http, parse_answer

NAMESPACE = "urn:mtconnect.org:MTConnectStreams:{}"


class Agent:
    """A ring of numbered samples."""

    def __init__(self, *, size=8, instance=1, version="1.7"):
        self.size, self.instance, self.version = size, instance, version
        self.ring: list[tuple[int, str, str]] = []
        self.next = 1
        self.state: dict[str, tuple[int, str, str]] = {}
        self.moved = threading.Event()
        self.asked: list[str] = []
        self.extra = ""

    def move(self, **axes):
        for axis, value in axes.items():
            self.state[axis] = (self.next, axis, str(value))
            self.ring.append(self.state[axis])
            self.next += 1
        self.ring = self.ring[-self.size :]
        self.moved.set()

    def restart(self):
        self.instance += 1
        self.ring, self.state, self.next = [], {}, 1

    @property
    def first(self):
        return self.ring[0][0] if self.ring else self.next

    def answer(self, path):
        self.asked.append(path)
        parts = urlsplit(path)
        query = {name: values[0] for name, values in parse_qs(parts.query).items()}
        if parts.path.endswith("/current"):
            return self.document(sorted(self.state.values()))
        start = int(query["from"])
        if not self.first <= start <= self.next:
            return self.error(f"'from' must be between {self.first} and {self.next}")
        return self.document([row for row in self.ring if row[0] >= start][: int(query["count"])])

    def document(self, rows):
        body = "".join(
            f'<ComponentStream component="Linear" name="{axis.upper()}" componentId="{axis}"><Samples>'
            f'<Position dataItemId="{axis}p" subType="ACTUAL" sequence="{number}" '
            f'timestamp="2026-03-02T08:00:{number % 60:02d}Z">{value}</Position>'
            f'<Position dataItemId="{axis}c" subType="COMMANDED" sequence="{number}" timestamp="2026-03-02T08:00:00Z">9'
            f"</Position></Samples></ComponentStream>"
            for number, axis, value in rows
        )
        return (
            f'<?xml version="1.0"?><MTConnectStreams xmlns="{NAMESPACE.format(self.version)}"><Header instanceId="{self.instance}" '
            f'firstSequence="{self.first}" nextSequence="{self.next}" lastSequence="{self.next - 1}"/>'
            '<Streams><DeviceStream name="mill">'
            f"{body}{self.extra}</DeviceStream></Streams></MTConnectStreams>"
        ).encode()

    def error(self, words):
        return (f'<MTConnectError xmlns="urn:mtconnect.org:MTConnectError:1.7"><Header instanceId="{self.instance}"/>'
                f'<Errors><Error errorCode="OUT_OF_RANGE">{words}</Error></Errors></MTConnectError>').encode()  # fmt: skip


def of(positions):
    return [(p.axis, p.value) for p in positions]


@pytest.mark.parametrize("version", ["1.2", "1.7", "2.3"])
def test_current_then_what_came_since(version):
    agent = Agent(version=version)
    agent.move(x=-300.0, y=-215.5, z=-100)
    stream = PositionStream(agent.answer, device="mill 2")
    assert of(stream.read()) == [("x", -300.0), ("y", -215.5), ("z", -100.0)]
    assert agent.asked[0].startswith("/mill%202/current?")
    agent.move(x=-299.9)
    agent.move(x=-299.8)
    assert of(stream.read()) == [("x", -299.9), ("x", -299.8)]
    assert of(stream.read()) == []
    assert stream.place() == (-299.8, -215.5, -100.0)
    assert (stream.gaps, stream.restarts) == (0, 0)


def test_long_poll_passes_the_wait_on():
    agent = Agent()
    agent.move(x=1)
    stream = PositionStream(agent.answer)
    stream.read()
    stream.read(wait_ms=500)
    assert "heartbeat=500" in agent.asked[-1]


def test_samples_lost_from_the_ring_are_counted_and_the_place_is_true_again():
    agent = Agent(size=4)
    agent.move(x=0, y=0, z=0)
    stream = PositionStream(agent.answer)
    stream.read()
    for i in range(10):
        agent.move(x=i)
    assert of(stream.read())[-1] == ("x", 9.0)
    assert stream.gaps >= 6
    assert stream.restarts == 0


def test_agent_that_began_anew_is_noticed_even_when_numbers_fit():
    agent = Agent()
    agent.move(x=1, y=2, z=3)
    stream = PositionStream(agent.answer)
    stream.read()
    agent.restart()
    agent.move(x=7, y=8, z=9)
    agent.move(x=7.5)
    assert of(stream.read()) == [("y", 8.0), ("z", 9.0), ("x", 7.5)]
    assert stream.restarts == 1
    agent.restart()
    assert stream.read() == []
    assert stream.restarts == 2
    with pytest.raises(InputRefused, match="does not report X, Y, Z"):
        stream.place()


def test_unavailable_is_not_a_number():
    agent = Agent()
    agent.move(x=1, y="UNAVAILABLE", z=3)
    stream = PositionStream(agent.answer)
    assert of(stream.read()) == [("x", 1.0), ("y", None), ("z", 3.0)]
    with pytest.raises(InputRefused, match="does not report Y"):
        stream.place()


def test_inches_where_the_device_says_so():
    agent = Agent()
    agent.move(x=2)
    assert parse_answer(agent.document(agent.ring), units={"xp": "INCH"}).positions[0].value == pytest.approx(50.8)


def test_rotary_axes_and_other_components_are_left_alone():
    agent = Agent()
    agent.move(x=2)
    agent.extra = ('<ComponentStream component="Rotary" name="C"><Samples><Position dataItemId="c" sequence="2" '
                   'timestamp="2026-03-02T08:00:00Z">5</Position></Samples></ComponentStream>')  # fmt: skip
    assert of(parse_answer(agent.document(agent.ring)).positions) == [("x", 2.0)]


def test_agents_own_error_is_passed_on_in_its_words():
    with pytest.raises(InputRefused, match="must be between 1 and 1"):
        parse_answer(Agent().error("'from' must be between 1 and 1"))


BOMB = b'<?xml version="1.0"?><!DOCTYPE d [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><d>&b;</d>'
WRONG = [
    (b"", "not readable XML"), (b"<a", "not readable XML"), (b"<html><body/></html>", "not a document of samples"),
    (b"<MTConnectStreams/>", "not a document of samples"),
    (BOMB, "declares its own entities"), (b"\x00\xff\xfe", "not readable XML"),
    (b'<MTConnectStreams><Header instanceId="x" firstSequence="1" nextSequence="2"/></MTConnectStreams>', "whole number is wanted"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "said"), WRONG)
def test_wrong_documents_are_refused_with_a_remedy(data, said):
    with pytest.raises(InputRefused, match=said) as caught:
        parse_answer(data)
    assert all(problem.remedy for problem in caught.value.problems)


@pytest.mark.parametrize("text", ["abc", "nan", "inf", ""])
def test_wrong_values_are_refused(text):
    agent = Agent()
    agent.move(x=text)
    with pytest.raises(InputRefused, match="is not a position"):
        parse_answer(agent.document(agent.ring))


def test_oversized_answer_is_refused():
    with pytest.raises(LimitReached, match="MB"):
        parse_answer(b" " * 8_000_001)


@pytest.fixture
def server():
    agent = Agent()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self):
            if self.path.startswith("/away"):
                self.send_response(302)
                self.send_header("Location", "/current")
                self.end_headers()
                return
            if self.path.startswith("/broken"):
                self.send_error(500)
                return
            if "interval=" in self.path:
                agent.moved.wait(float(parse_qs(urlsplit(self.path).query)["heartbeat"][0]) / 1000)
                body = agent.answer(self.path)
                self.send_response(200)
                self.send_header("Content-Type", "multipart/x-mixed-replace;boundary=part")
                self.end_headers()
                self.wfile.write(b"--part\r\nContent-type: text/xml\r\nContent-length: %d\r\n\r\n" % len(body) + body + b"\r\n")
                return
            body = agent.answer(self.path)
            self.send_response(404 if b"MTConnectError" in body else 200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args):
            pass

    running = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=running.serve_forever)
    thread.start()
    yield agent, f"http://127.0.0.1:{running.server_port}"
    running.shutdown()
    thread.join()
    running.server_close()


def test_over_http(server):
    agent, address = server
    agent.move(x=-300.25, y=1, z=2)
    stream = PositionStream(fetch_over_http(address, timeout_s=5))
    stream.read()
    for i in range(20):
        agent.move(z=i)
    stream.read()
    assert stream.place() == (-300.25, 1.0, 19.0)
    assert stream.gaps > 0


def test_a_held_answer_comes_when_something_moves_or_the_wait_is_over(server):
    agent, address = server
    agent.move(x=1, y=2, z=3)
    stream = PositionStream(fetch_over_http(address, timeout_s=20))
    stream.read()
    agent.moved.clear()
    mover = threading.Timer(0.05, agent.move, kwargs={"x": 1.5})
    mover.start()
    assert of(stream.read(wait_ms=15_000)) == [("x", 1.5)]
    mover.join()
    agent.moved.clear()
    assert stream.read(wait_ms=20) == []


@pytest.mark.parametrize(("path", "said"), [("/away", "302"), ("/broken", "not readable XML")])
def test_http_that_is_no_agent(server, path, said):
    _, address = server
    with pytest.raises(InputRefused, match=said):
        parse_answer(fetch_over_http(address, timeout_s=5)(path))


def test_nobody_there():
    with pytest.raises(InputRefused, match="no answer from"):
        fetch_over_http("http://127.0.0.1:9", timeout_s=1)("/current")
    with pytest.raises(InputRefused, match="is not an address"):
        fetch_over_http("file:///etc/hosts")
