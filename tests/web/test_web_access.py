"""Who may do what; and that nobody gets in by another door."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from setwright.base.errors import InputRefused
from setwright.record.people import audit_lines, people
from setwright.web.app import create_app
from setwright.web.calculating import told
from setwright.web.changes import Changes
from setwright.web.limits import BodyLimit
from setwright.web.settings import Settings, is_local
from setwright.web.worker import Bounds
from setwright.web.workers import Watched, Workers
from tests.web.workbench import PASSWORD, Person, alone, programs, refused, running

BOUNDS = Bounds(processor_s=60.0, wall_s=60.0, memory=1_000_000_000)
OPEN = {("POST", "/api/session")}


def addresses(app: FastAPI) -> list[tuple[str, str]]:
    found = []
    for path, methods in app.openapi()["paths"].items():
        filled = path.format(job="cap", kind="contact", number="1", name="x", result="1", finding="x", line="2")
        found += [(method.upper(), filled) for method in methods]
    assert len(found) > 30
    return found


def test_nothing_answers_without_signing_in(shop: FastAPI) -> None:
    with_token = {"x-setwright-token": Person(shop, "Ada").token}
    nobody = TestClient(shop, base_url="http://127.0.0.1")
    for method, path in addresses(shop):
        if (method, path) not in OPEN:
            answer = nobody.request(method, path, headers=with_token, json={})
            assert answer.status_code in (401, 403), (method, path, answer.status_code)
            refused(answer, answer.status_code)


def test_every_change_needs_the_token(shop: FastAPI) -> None:
    ada = Person(shop, "Ada")
    of_somebody_else = Person(shop, "Lea").token
    changes = [one for one in addresses(shop) if one[0] != "GET" and one not in OPEN]
    assert len(changes) > 15
    for method, path in changes:
        for token in ("", "0" * 64, of_somebody_else):
            answer = ada.ask(method, path, headers={"x-setwright-token": token}, json={})
            refused(answer, 403, "does not come from a page of this server")


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_a_page_of_another_site_cannot_change_anything(ada: Person, site: str) -> None:
    refused(ada.ask("POST", "/api/jobs", files=programs(), headers={"sec-fetch-site": site}), 403)
    assert [one["name"] for one in ada.read("/api/jobs")["jobs"]] == ["cap"]


@pytest.mark.parametrize(
    ("method", "path", "body", "may"),
    [
        ("GET", "/api/jobs/cap", None, "Vic"),
        ("GET", "/api/jobs/cap/statements", None, "Vic"),
        ("PATCH", "/api/jobs/cap", {"files": {"note.txt": "x"}}, "Sam"),
        ("POST", "/api/jobs/cap/checks", {"check": "tip over the top"}, "Sam"),
        ("POST", "/api/jobs/cap/runs", {"pieces": 1}, "Sam"),
        ("POST", "/api/jobs/cap/calculations", {"station": "prove"}, "Sam"),
        ("POST", "/api/jobs/cap/signed", {"station": "kit"}, "Lea"),
        ("GET", "/api/people", None, "Ada"),
        ("GET", "/api/audit", None, "Ada"),
        ("POST", "/api/people", {"name": "New", "password": PASSWORD, "role": "viewer"}, "Ada"),
    ],
)
def test_roles(shop: FastAPI, method: str, path: str, body: object, may: str) -> None:
    order = ["Vic", "Sam", "Lea", "Ada"]
    before = order[: order.index(may)]
    for name in before[-1:]:
        refused(Person(shop, name).ask(method, path, based_on=1, json=body), 403, f"{name} is a", "this takes a")
    assert Person(shop, may).ask(method, path, based_on=1, json=body).status_code in (200, 201, 202)


def test_the_session_cookie_cannot_be_read_by_scripts_nor_sent_from_elsewhere(tmp_path: Path, shop: FastAPI) -> None:
    def cookie(app: FastAPI) -> str:
        client = TestClient(app, base_url="http://127.0.0.1")
        return client.post("/api/session", json={"name": "vic", "password": PASSWORD}).headers["set-cookie"].casefold()

    plain = cookie(shop)
    assert "httponly" in plain
    assert "samesite=strict" in plain
    assert "; secure" not in plain
    with running(tmp_path / "other", accounts=True, tls=True) as over_tls:
        assert "; secure" in cookie(over_tls)


def test_a_session_ends_when_signed_out_shut_out_or_given_a_new_password(shop: FastAPI) -> None:
    ada, sam = Person(shop, "Ada"), Person(shop, "Sam")
    kept = dict(sam.client.cookies)
    assert sam.ask("DELETE", "/api/session").status_code == 204
    sam.client.cookies.update(kept)
    refused(sam.ask("GET", "/api/jobs"), 401)
    for change in ({"password": "another long password"}, {"active": False}):
        vic = Person(shop, "Vic") if "password" in change else Person(shop, "Lea")
        name = "Vic" if "password" in change else "Lea"
        assert ada.ask("PATCH", f"/api/people/{name}", json=change).status_code == 200
        refused(vic.ask("GET", "/api/jobs"), 401)
    refused(ada.client.post("/api/session", json={"name": "Lea", "password": PASSWORD}), 401, "name or password is wrong")


def test_a_wrong_name_and_a_wrong_password_sound_alike_and_tries_run_out(shop: FastAPI) -> None:
    client = TestClient(shop, base_url="http://127.0.0.1")
    wrong = client.post("/api/session", json={"name": "Ada", "password": "wrong wrong wrong"})
    nobody = client.post("/api/session", json={"name": "Nobody", "password": "wrong wrong wrong"})
    refused(wrong, 401)
    assert wrong.json() == nobody.json()
    for _ in range(4):
        client.post("/api/session", json={"name": "ada", "password": "wrong wrong wrong"})
    refused(client.post("/api/session", json={"name": "Ada", "password": PASSWORD}), 429, "wait 15 minutes")
    assert client.post("/api/session", json={"name": "Sam", "password": PASSWORD}).status_code == 200


def test_many_tries_at_once_are_no_more_than_one_by_one_and_shut_out_nobody_else(shop: FastAPI) -> None:
    client = TestClient(shop, base_url="http://127.0.0.1")

    def wrong(_: int) -> int:
        return client.post("/api/session", json={"name": "Ada", "password": "wrong wrong wrong"}).status_code

    with ThreadPoolExecutor(20) as pool:
        statuses = list(pool.map(wrong, range(60)))
    assert statuses.count(401) == 5
    assert statuses.count(429) == 55
    assert sum(line.action == "sign-in refused" for line in audit_lines(shop.state.record)) == 5
    for name in ("Sam", "Lea"):  # at the same address
        assert client.post("/api/session", json={"name": name, "password": PASSWORD}).status_code == 200


def test_an_administrator_lets_somebody_try_again(shop: FastAPI) -> None:
    ada, client = Person(shop, "Ada"), TestClient(shop, base_url="http://127.0.0.1")
    for _ in range(5):
        client.post("/api/session", json={"name": "Sam", "password": "wrong wrong wrong"})
    refused(client.post("/api/session", json={"name": "Sam", "password": PASSWORD}), 429, "administrator")
    assert ada.ask("DELETE", "/api/people/Sam/tries").status_code == 204
    assert client.post("/api/session", json={"name": "Sam", "password": PASSWORD}).status_code == 200
    refused(ada.ask("DELETE", "/api/people/Nobody/tries"), 404)


@pytest.mark.parametrize("password", ["aaaaaaaaaa", "abababababab", "1231231231231", "Aa Aa Aa Aa Aa", "password12",
                                      "Passw0rd!2024", "qwertzuiop", "setwright1", "Ottilie Vance 1"])  # fmt: skip
def test_a_password_that_is_among_the_first_to_be_tried_is_refused(shop: FastAPI, password: str) -> None:
    given = {"name": "Ottilie Vance", "password": password, "role": "setter"}
    refused(Person(shop, "Ada").ask("POST", "/api/people", json=given), 422, "among the first")


def test_no_password_is_kept_or_told(shop: FastAPI) -> None:
    told = Person(shop, "Ada").ask("GET", "/api/people").text
    for person in people(shop.state.record):
        assert person.secret.startswith("$argon2id$")
        assert person.secret not in told
        assert PASSWORD not in person.secret
    short = {"name": "N", "password": "short", "role": "viewer"}
    refused(Person(shop, "Ada").ask("POST", "/api/people", json=short), 422, "10 to 200")


def test_the_audit_tells_who_changed_what(shop: FastAPI) -> None:
    Person(shop, "Sam").ask("PATCH", "/api/jobs/cap", based_on=1, json={"files": {"note.txt": "x"}})
    line = audit_lines(shop.state.record, most=1)[0]
    assert (line.by, line.action, line.subject, line.detail["files"]) == ("Sam", "job changed", "cap", ["note.txt"])
    assert Person(shop, "Ada").read("/api/audit")["lines"][1]["action"] == "job changed"


@pytest.mark.parametrize("host", ["evil.test", "127.0.0.1.evil.test", "", "[::2]:8420"])
def test_it_answers_under_its_own_names_only(app: FastAPI, host: str) -> None:
    refused(TestClient(app, base_url="http://127.0.0.1").get("/api/session", headers={"host": host}), 421)


@pytest.mark.parametrize("host", ["127.0.0.1:8420", "localhost", "[::1]:8420", "LOCALHOST:1"])
def test_its_own_names(app: FastAPI, host: str) -> None:
    assert TestClient(app, base_url="http://127.0.0.1").get("/api/session", headers={"host": host}).status_code == 200


def test_every_answer_binds_the_browser(ada: Person) -> None:
    for path in ("/api/jobs", "/api/nowhere", "/api/jobs/cap/folder"):
        headers = ada.ask("GET", path).headers
        policy = headers["content-security-policy"]
        assert "script-src 'self';" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


def in_pieces(size: int) -> Iterator[bytes]:
    for _ in range(size // 1000):
        yield b"x" * 1000


def test_too_much_is_refused_by_what_is_announced_and_by_what_comes(tmp_path: Path) -> None:
    with running(tmp_path / "record", largest_upload=2_000_000) as app:
        ada = Person(app)
        put = "/api/jobs/cap/file?path=a.bin"
        refused(ada.ask("PUT", put, based_on=1, content=b"x" * 2_000_001), 413, "more than 2 MB")
        refused(ada.ask("PUT", put, based_on=1, content=in_pieces(2_100_000)), 413, "more than 2 MB")
        refused(ada.ask("PUT", put, based_on=1, content=in_pieces(1_900_000)), 404, 'no job is called \\"cap\\"')


def test_accounts_are_a_must_where_others_can_reach_the_server(tmp_path: Path) -> None:
    for host in ("0.0.0.0", "::", "192.168.1.4", "mill-hall.test"):
        assert not is_local(host)
        with pytest.raises(InputRefused, match="add accounts"):
            Settings(place=tmp_path, host=host)
        assert Settings(place=tmp_path, host=host, accounts=True).host == host
    assert all(is_local(host) for host in ("127.0.0.1", "127.8.8.8", "::1", "localhost"))


def test_every_address_names_who_may_use_it(app: FastAPI) -> None:
    routes = [route for route in app.routes if isinstance(route, APIRoute)]
    for route in routes:
        needs = {dependency.call.__name__ for dependency in route.dependant.dependencies if dependency.call is not None}
        open_to_all = route.endpoint.__name__ == "post_session" or route.endpoint.__module__ == "setwright.web.pages"
        assert "needed" in needs or open_to_all, route.path


def test_the_pages_and_nothing_beside_them(tmp_path: Path) -> None:
    pages = tmp_path / "pages"
    (pages / "assets").mkdir(parents=True)
    (pages / "index.html").write_text("front page")
    (pages / "assets" / "app.js").write_text("let a")
    (pages / "built-from.txt").write_text("secret")
    (tmp_path / "secret").write_text("secret")
    app = create_app(Settings(place=tmp_path / "record"), pages=pages)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert client.get("/assets/app.js").text == "let a"
        assert "javascript" in client.get("/assets/app.js").headers["content-type"]
        for path in ("/", "/jobs/cap/touch", "/../secret", "/%2e%2e/secret", "/built-from.txt"):
            assert client.get(path).text == "front page"
            assert client.get(path).headers["cache-control"] == "no-cache"
        for path in ("/api", "/api/nowhere", "/api/jobs/cap/nothing", "/assets/..%2f..%2fsecret", "/assets/gone.js"):
            refused(client.get(path), 404)


def test_the_pages_travel_packed_to_who_takes_them_so(tmp_path: Path) -> None:
    pages = tmp_path / "pages"
    (pages / "assets").mkdir(parents=True)
    (pages / "index.html").write_text("front page")
    (pages / "assets" / "app.js").write_text("plain")
    (pages / "assets" / "app.js.gz").write_bytes(gzip.compress(b"packed"))
    app = create_app(Settings(place=tmp_path / "record"), pages=pages)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        packed = client.get("/assets/app.js", headers={"accept-encoding": "gzip, br"})
        plain = client.get("/assets/app.js", headers={"accept-encoding": "identity"})
        assert (packed.text, plain.text) == ("packed", "plain")
        assert packed.headers["content-encoding"] == "gzip"
        for answer in (packed, plain):
            assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
            assert "immutable" in answer.headers["cache-control"]
            assert answer.headers["vary"] == "accept-encoding"


def test_a_body_without_end_is_not_read_to_its_end() -> None:
    came, answers = 0, []

    async def takes_everything(scope: Scope, receive: Receive, send: Send) -> None:
        while (await receive())["more_body"]:
            pass

    async def receive() -> Message:
        nonlocal came
        came += 1
        return {"type": "http.request", "body": b"x" * 1000, "more_body": came < 1000}

    async def send(message: Message) -> None:
        answers.append(message)

    scope = {"type": "http", "headers": [], "method": "PUT", "path": "/api/jobs/cap/file"}
    alone(BodyLimit(takes_everything, largest=10_000)(scope, receive, send))
    assert came == 11
    assert answers[0]["status"] == 413


@pytest.mark.parametrize(
    ("method", "path", "largest"),
    [("POST", "/api/session", 8_000), ("POST", "/api/jobs/cap/remarks", 1_000_000), ("POST", "/api/people", 1_000_000)],
)
def test_each_address_takes_what_belongs_there(shop: FastAPI, method: str, path: str, largest: int) -> None:
    ada = Person(shop, "Ada")
    refused(ada.ask(method, path, content=b'{"x": "' + b"x" * largest + b'"}', based_on=1), 413, "were sent")
    assert ada.ask(method, path, content=b'{"x": "' + b"x" * (largest // 2) + b'"}', based_on=1).status_code == 422


@pytest.mark.parametrize("path", ["/api/jobs", "/api/jobs/import", "/api/jobs/cap/file?path=a.bin", "/api/jobs/cap/remarks"])
def test_nothing_of_a_body_is_taken_in_before_somebody_is_signed_in(shop: FastAPI, path: str) -> None:
    came, answers = 0, []

    async def receive() -> Message:
        nonlocal came
        came += 1
        return {"type": "http.request", "body": b"x" * 1_000_000, "more_body": came < 50}

    async def send(message: Message) -> None:
        answers.append(message)

    headers = [(b"host", b"127.0.0.1"), (b"content-type", b"application/json")]
    address, _, query = path.partition("?")
    scope = {"type": "http", "method": "PUT" if query else "POST", "path": address, "raw_path": address.encode(), "root_path": "",
             "query_string": query.encode(), "headers": headers, "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 80),
             "scheme": "http", "http_version": "1.1"}  # fmt: skip
    alone(shop(scope, receive, send))
    assert came == 0
    assert answers[0]["status"] in (401, 403)


def test_a_stream_of_events_ends_when_the_person_is_shut_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("setwright.web.calculating._STILL_TURNS", 1)
    monkeypatch.setattr("setwright.web.calculating._EACH_S", 0.0)
    monkeypatch.setattr("setwright.web.changes._STILL_S", -1.0)
    answers: list[bool] = []

    async def still() -> bool:
        return answers.pop(0)

    async def heard() -> tuple[int, int]:
        workers, changes = Workers(count=0, waiting=1, bounds=BOUNDS), Changes(None, each_s=0.0)  # type: ignore[arg-type]
        workers.put(Watched(1, None, lambda: True, lambda outcome: None))  # type: ignore[arg-type]
        answers[:] = [True, True, False]
        steps = [one async for one in told(None, workers, 1, after=0, still=still)]  # type: ignore[arg-type]
        left = len(answers)
        monkeypatch.setattr(changes, "_state", lambda job: _now(1))
        answers[:] = [True, True, True, False]
        said = [one async for one in changes.of("cap", still)]
        assert steps == []
        return left, len(said)

    assert alone(heard()) == (0, 3)


async def _now(revision: int) -> dict[str, int]:
    return {"revision": revision}
