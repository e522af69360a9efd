"""The pages in a real browser with drawing by software: first page, a reading being typed, a new moment on the bench, turning it.

    python -m benchmarks.browser.pages

Needs Chromium and the built pages. Proves the bearing cap once, outside what is measured.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright
from tests.browser.browsing import DEMOS, LONG_MS, bench_of, launched, serving, until_shown, why_not

MOMENTS, TURNS, SECONDS, DIGITS = 8, 40, 4.0, 20


def main() -> int:
    """Measure and print."""
    if why_not():
        print(why_not(), file=sys.stderr)
        return 1
    jobs = {"cap": DEMOS / "bearing-cap"}
    with (tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright,
          serving(Path(scratch) / "record", jobs=jobs) as server):  # fmt: skip
        server.prove("cap")
        browser = launched(playwright)
        page = browser.new_context(base_url=server.url, viewport={"width": 1280, "height": 800}).new_page()
        page.set_default_timeout(LONG_MS)
        rows = [*first_page(page), *typing(page), *moments(page), *turning(page)]
        browser.close()
    for name, value in rows:
        print(f"{name:58} {value}")
    return 0


def first_page(page: Page) -> list[tuple[str, str]]:
    """From the address to the heading, with nothing kept from before and with everything kept; what is fetched."""
    sizes: dict[str, int] = {}
    page.on("response", lambda answer: sizes.update({answer.url: int(answer.headers.get("content-length", "0"))}))
    taken = []
    for _ in range(4):
        begun = time.perf_counter()
        page.goto("/")
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        taken.append(time.perf_counter() - begun)
    packed = sum(size for url, size in sizes.items() if "/api/" not in url) / 1000
    again = statistics.median(taken[1:])
    seen = [("first page, fresh", f"{taken[0]:.2f} s"), ("first page, again", f"{again:.2f} s")]
    return [*seen, ("fetched for it, packed", f"{packed:.0f} kB")]


def typing(page: Page) -> list[tuple[str, str]]:
    """From the last digit of a reading to the solution with it on the screen."""
    page.goto("/jobs/cap/touch")
    page.get_by_role("button", name="Change reading 1", exact=True).first.click()
    display = page.get_by_role("textbox", name="Display X")
    display.press("End")
    display.press("Backspace")
    expect(page.locator(".live")).to_be_visible()
    taken = []
    for turn in range(DIGITS):
        # the page itself notes when a digit came and when a line of the solution changed after it
        waiting = page.evaluate_handle(
            "() => { const line = document.querySelector('.live'); let came = 0;"
            " document.addEventListener('input', () => { came = performance.now(); }, { once: true, capture: true });"
            " return { changed: new Promise((done) => new MutationObserver((_, me) => { if (!came) return; me.disconnect();"
            " requestAnimationFrame(() => done(performance.now() - came)); })"
            ".observe(line, { subtree: true, childList: true, characterData: true })) }; }",
        )  # fmt: skip
        display.press("Backspace" if turn % 2 else str(3 + turn % 6))
        taken.append(page.evaluate("(one) => one.changed", waiting) / 1000)
    said = [("a reading as it is typed, median", f"{1000 * statistics.median(taken):.0f} ms")]
    return [*said, ("the slowest of them", f"{1000 * max(taken):.0f} ms")]


def moments(page: Page) -> list[tuple[str, str]]:
    """From a key on the strip to the metal of that moment on the bench."""
    page.goto("/jobs/cap/prove")
    until_shown(page, "shown.triangles > 0")
    strip = page.get_by_role("slider")
    strip.press("Home")
    until_shown(page, "shown.moment === -1")
    taken = []
    for _ in range(MOMENTS):
        before = page.evaluate("JSON.parse(document.querySelector('canvas.bench-canvas').dataset.shown).moment")
        for _ in range(5):
            strip.press("ArrowRight")
        begun = time.perf_counter()
        until_shown(page, f"shown.moment > {before}")
        taken.append(time.perf_counter() - begun)
    return [("a new moment on the bench, median", f"{statistics.median(taken):.2f} s"), ("the slowest", f"{max(taken):.2f} s")]


def turning(page: Page) -> list[tuple[str, str]]:
    """Pictures a second while the bench is dragged round."""
    page.get_by_role("slider").press("End")
    until_shown(page, "shown.runs.length >= 5 && shown.coarse > 0", timeout=2 * LONG_MS)
    bench = bench_of(page)
    bench.scroll_into_view_if_needed()
    box = bench.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 100, box["y"] + 150)
    page.mouse.down()
    first, begun = int(bench.get_attribute("data-drawn") or 0), time.perf_counter()
    turn = 0
    while time.perf_counter() - begun < SECONDS:
        turn += 1
        page.mouse.move(box["x"] + 100 + 4 * (turn % TURNS), box["y"] + 150)
    passed = time.perf_counter() - begun
    pictures = int(bench.get_attribute("data-drawn") or 0) - first
    page.mouse.up()
    told = until_shown(page, "true")
    return [(f"turning, {told['coarse']} of {told['triangles']} triangles drawn", f"{pictures / passed:.0f} pictures/s")]


if __name__ == "__main__":
    sys.exit(main())
