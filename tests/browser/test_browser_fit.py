"""Every page for everybody: no barrier, no target too small for a thumb, nothing cut off, light and dark, by keys alone."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.browsing import LONG_MS, Server, Watch, barriers, small_targets, until_shown

PAGES = (
    "/", "/jobs/cap", "/jobs/cap/read", "/jobs/cap/prove", "/jobs/crash/prove", "/jobs/cap/kit", "/jobs/cap/files",
    "/jobs/cap/touch", "/jobs/cap/hover", "/jobs/cap/piece", "/jobs/cap/run", "/jobs/cap/sheet", "/jobs/cap/history", "/shop",
    "/shop/tools/new", "/people", "/sign-in", "/nowhere",
)  # fmt: skip
SIZES = ((1280, 800), (1920, 1080))


def settled(page: Page, path: str) -> None:
    page.goto(path)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    if path.endswith("/prove"):
        until_shown(page, "shown.triangles > 0")
    expect(page.get_by_text("Fetching …")).to_have_count(0)


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_page_has_a_barrier_or_a_target_too_small(browser: Browser, server: Server, path: str, theme: str) -> None:
    context = browser.new_context(base_url=server.url, viewport={"width": 1280, "height": 800}, color_scheme=theme)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    settled(page, path)
    for fold in page.get_by_role("group").locator("summary").all():
        fold.click()
    page.keyboard.press("Escape")
    assert barriers(page) == []
    assert small_targets(page) == []
    context.close()


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("size", SIZES, ids=["tablet", "desk"])
def test_no_page_is_wider_than_the_screen(browser: Browser, server: Server, path: str, size: tuple[int, int]) -> None:
    context = browser.new_context(base_url=server.url, viewport={"width": size[0], "height": size[1]})
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    settled(page, path)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    context.close()


def test_nothing_is_fetched_from_elsewhere_and_little_of_it(browser: Browser, server: Server) -> None:
    context = browser.new_context(base_url=server.url)
    page = context.new_page()
    watch = Watch(page)
    asked: list[str] = []
    packed: dict[str, int] = {}
    page.on("request", lambda request: asked.append(request.url))
    page.on("response", lambda answer: packed.update({answer.url: int(answer.headers.get("content-length", "0"))}))
    settled(page, "/")
    assert [url for url in asked if not url.startswith((server.url, "blob:", "data:"))] == []
    assert sum(size for url, size in packed.items() if "/api/" not in url) <= 300_000
    assert not any("bench" in url for url in asked), "the bench is fetched when it is first shown"
    assert watch.complaints() == []
    context.close()


def test_light_dark_and_inch_are_the_persons_own(page: Page) -> None:
    page.goto("/jobs/cap/read")
    expect(page.get_by_role("table", name="Tools the program calls")).to_contain_text("mm/min")
    page.get_by_role("banner").locator("summary").click()
    page.get_by_role("radio", name="inch").check()
    expect(page.get_by_role("table", name="Tools the program calls")).to_contain_text("in/min")
    before = page.evaluate("getComputedStyle(document.body).backgroundColor")
    page.get_by_role("radio", name="Dark").check()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") != before
    page.reload()
    expect(page.get_by_role("table", name="Tools the program calls")).to_contain_text("in/min")
    assert page.evaluate("document.documentElement.dataset.mantineColorScheme") == "dark"


def test_by_keys_alone_from_the_board_to_a_moment_of_the_proof(page: Page) -> None:
    page.goto("/")
    expect(page.get_by_role("table")).to_be_visible()

    said = "(document.activeElement.getAttribute('aria-label') || document.activeElement.innerText || '').trim()"

    def tab_to(name: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if re.search(name, page.evaluate(said)):
                return
        raise AssertionError(f"Tab does not lead to {name}")

    tab_to(r"^Bearing cap, irrigation pump\s+cap$")
    page.keyboard.press("Enter")
    expect(page.get_by_role("list", name="Stations")).to_be_visible()
    tab_to("^Prove$")
    page.keyboard.press("Enter")
    until_shown(page, "shown.triangles > 0")
    tab_to("^Strip")
    page.keyboard.press("Home")
    page.keyboard.press("PageDown")
    expect(page.get_by_role("slider")).to_have_attribute("aria-valuetext", re.compile("– T2,"))
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none", "somebody who uses keys sees where they are"
