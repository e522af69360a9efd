"""A program dropped on the board; long work with progress and an end; a server that goes away and comes back; two people."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.browsing import DEMOS, LONG_MS, Server, serving, until_shown

DROP = """async ([name, text]) => {
  const carried = new DataTransfer();
  carried.items.add(new File([text], name));
  const target = document.querySelector('.drop');
  for (const type of ['dragover', 'drop'])
    target.dispatchEvent(new DragEvent(type, {bubbles: true, cancelable: true, dataTransfer: carried}));
}"""
SMALL = "%\nO0007 (SMALL PLATE)\n(T1 END MILL D10)\nG21 G17 G40 G49 G80 G90\nT1 M6\nG54\nS5000 M3\nG0 X-10. Y0.\nG43 H1 Z20.\n" \
        "G1 Z-1. F500.\nX60.\nY20.\nX-10.\nG0 Z20.\nG53 G0 Z0.\nM30\n%\n"  # fmt: skip


@pytest.fixture
def person(browser: Browser, server: Server) -> Page:
    page = browser.new_context(base_url=server.url, viewport={"width": 1280, "height": 800}).new_page()
    page.set_default_timeout(LONG_MS)
    return page


def test_a_dropped_program_is_drafted_proved_and_shown(person: Page) -> None:
    person.goto("/")
    expect(person.get_by_role("table")).to_be_visible()
    person.evaluate(DROP, ["plate.nc", SMALL])
    expect(person).to_have_url(re.compile("/jobs/plate/prove"))
    told = until_shown(person, "shown.triangles > 0 && shown.runs.some(run => run.kind === 1)", timeout=4 * LONG_MS)
    assert "table" in told["bodies"]
    expect(person.get_by_role("heading", level=1)).to_contain_text("not looked at: G54")


def test_a_program_that_is_none_is_refused_with_place_and_remedy(person: Page) -> None:
    person.goto("/")
    expect(person.get_by_role("region", name="Drop part programs here")).to_be_visible()
    person.evaluate(DROP, ["empty.nc", ""])
    expect(person.get_by_role("alert")).to_be_visible()
    expect(person).to_have_url(re.compile(r":\d+/$"))


def test_a_proof_shows_its_progress_and_can_be_ended(person: Page) -> None:
    person.goto("/jobs/cap/prove")
    person.get_by_role("button", name="Prove again").click()
    going = person.get_by_role("region", name="Proof:")
    expect(going.get_by_role("progressbar")).to_be_visible()
    going.get_by_role("button", name="End it").click()
    expect(person.get_by_text("The last proof was ended by somebody.")).to_be_visible()
    expect(person.get_by_role("button", name="Prove again")).to_be_visible()
    until_shown(person, "shown.triangles > 0")


def test_a_server_that_comes_back_loses_nothing_that_was_typed(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> None:
    home = tmp_path_factory.mktemp("away")
    with serving(home / "record", jobs={"cap": DEMOS / "bearing-cap"}) as server:
        page = browser.new_context(base_url=server.url).new_page()
        page.set_default_timeout(LONG_MS)
        page.goto("/jobs/cap/prove")
        page.get_by_role("button", name="Prove it").click()
        expect(page.get_by_role("progressbar")).to_be_visible()
        server.kill()
        expect(page.get_by_text(re.compile("The server does not answer"))).to_be_visible()
        server.start()
        expect(page.get_by_text("The last proof broke off; start it again.")).to_be_visible()
        expect(page.get_by_text(re.compile("The server does not answer"))).to_have_count(0)
        page.get_by_role("button", name="Prove it").click()
        expect(page.get_by_role("progressbar")).to_be_visible()
        page.context.close()


def test_two_people_see_each_others_changes(person: Page, browser: Browser, server: Server) -> None:
    person.goto("/jobs/crash")
    expect(person.get_by_role("list", name="Stations")).to_be_visible()
    path = "/api/jobs/crash/file?path=cap-2.nc"
    changed = server.ask("GET", path).content + b"(CHECKED)\n"
    put = server.ask("PUT", path, content=changed, headers={"if-match": '"1"'})
    assert put.status_code == 200, put.text
    expect(person.get_by_text(re.compile("^Revision 2, by"))).to_be_visible()
    expect(person.get_by_role("listitem").filter(has_text="Prove").filter(has_text="the job has changed since")).to_be_visible()
