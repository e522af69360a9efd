"""The pages in a real browser with drawing by software: first page, a reading being typed, a new moment on the bench, turning it.

    python -m benchmarks.browser.pages [--blocks BLOCKS] [--pitch MM]

Needs Chromium and the built pages. Proves the bearing cap once, outside what is measured; with --blocks instead a finishing program
of about so many blocks over 100 x 100 mm. --pitch: rays so far apart, not at the pitch a proof takes by itself. The machine's load
stands at the end: seconds by the clock are those of everything that runs.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.hover.bench_hover import wavy
from playwright.sync_api import Page, Playwright, expect, sync_playwright
from tests.browser.browsing import DEMOS, LONG_MS, bench_of, launched, serving, until_shown, why_not

MOMENTS, TURNS, SECONDS, DIGITS = 8, 40, 4.0, 20
PLACES = (0.63, 0.21, 0.87, 0.42, 0.05, 0.74, 0.33, 0.95)  # of the strip's width, where moments are asked for
Rows = list[tuple[str, str]]


def main() -> int:
    """Measure and print."""
    asked = argparse.ArgumentParser(description="Speed of the pages in a browser.")
    asked.add_argument("--blocks", type=int, default=0, help="blocks of a finishing program; the bearing cap if not given")
    asked.add_argument("--pitch", type=float, default=None, help="distance of the rays, mm; the proof's own choice if not given")
    blocks, pitch = asked.parse_args().blocks, asked.parse_args().pitch
    if why_not():
        print(why_not(), file=sys.stderr)
        return 1
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        jobs = {"cap": DEMOS / "bearing-cap"}
        if blocks:
            (Path(scratch) / "wavy").mkdir()
            wavy(Path(scratch) / "wavy", blocks)
            jobs = {"wavy": Path(scratch) / "wavy"}
        with serving(Path(scratch) / "record", jobs=jobs) as server:
            server.prove(next(iter(jobs)), patience_s=1800, pitch_mm=pitch)
            rows = measured(playwright, server.url, next(iter(jobs)))
    for name, value in [*rows, ("load of the machine", f"{os.getloadavg()[0]:.1f}")]:
        print(f"{name:58} {value}")
    return 0


def measured(playwright: Playwright, url: str, job: str) -> Rows:
    """Everything, on a server with one job that is proved."""
    browser = launched(playwright)

    def fresh() -> Page:
        page = browser.new_context(base_url=url, viewport={"width": 1280, "height": 800}).new_page()
        page.set_default_timeout(LONG_MS)
        return page

    rows = [("first page, the browser's own start with it", f"{first_page(fresh()):.2f} s")]
    page, sizes = fresh(), dict[str, int]()
    page.on("response", lambda answer: sizes.update({answer.url: int(answer.headers.get("content-length", "0"))}))
    rows.append(("first page, nothing kept from before", f"{first_page(page):.2f} s"))
    rows.append(("first page, again", f"{statistics.median(first_page(page) for _ in range(3)):.2f} s"))
    rows.append(("fetched for it, packed", f"{sum(size for url, size in sizes.items() if '/api/' not in url) / 1000:.0f} kB"))
    rows += [*(typing(page) if job == "cap" else []), *opening(page, job), *moments(page), *turning(page)]
    browser.close()
    return rows


def first_page(page: Page) -> float:
    """Seconds from the address to the heading."""
    begun = time.perf_counter()
    page.goto("/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    return time.perf_counter() - begun


def typing(page: Page) -> Rows:
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


def opening(page: Page, job: str) -> Rows:
    """From the address to the program's text, and to the metal on the bench."""
    begun = time.perf_counter()
    page.goto(f"/jobs/{job}/read")
    expect(page.get_by_role("listbox").get_by_role("option").first).to_be_visible(timeout=LONG_MS)
    text = time.perf_counter() - begun
    begun = time.perf_counter()
    page.goto(f"/jobs/{job}/prove")
    until_shown(page, "shown.triangles > 0")
    return [("read page with its program", f"{text:.2f} s"), ("prove page with its bench", f"{time.perf_counter() - begun:.2f} s")]


def moments(page: Page) -> Rows:
    """From a touch on the strip to the metal of that moment on the bench, and to all of it."""
    strip = page.get_by_role("slider")
    strip.press("Home")
    until_shown(page, "shown.moment === -1")
    taken, whole = [], []
    for place in PLACES:
        strip.scroll_into_view_if_needed()
        box = strip.bounding_box()
        assert box is not None
        before = page.evaluate("JSON.parse(document.querySelector('canvas.bench-canvas').dataset.shown).moment")
        begun = time.perf_counter()
        page.mouse.click(box["x"] + 150 + place * (box["width"] - 160), box["y"] + 60)
        until_shown(page, f"shown.moment !== {before}")
        taken.append(time.perf_counter() - begun)
        until_shown(page, "shown.boundMm === 0")
        whole.append(time.perf_counter() - begun)
    return [("a new moment on the bench, median", f"{statistics.median(taken):.2f} s"), ("the slowest", f"{max(taken):.2f} s"),
            ("in full, median", f"{statistics.median(whole):.2f} s"), ("the slowest", f"{max(whole):.2f} s")]  # fmt: skip


def turning(page: Page) -> Rows:
    """Pictures a second while the bench is dragged round."""
    page.get_by_role("slider").press("End")
    until_shown(page, "shown.boundMm === 0 && shown.coarse > 0", timeout=2 * LONG_MS)
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
    told = until_shown(page, "shown.boundMm === 0")
    return [(f"turning, {told['coarse']} of {told['triangles']} triangles drawn", f"{pictures / passed:.0f} pictures/s")]


if __name__ == "__main__":
    sys.exit(main())
