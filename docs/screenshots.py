"""Takes the pictures of the pages that the guide shows: python -m docs.screenshots

With `--all DIR` takes every page light and dark, on a tablet held across or upright and on a desk screen, into a folder, to be
looked at. Needs Chromium and the built pages; works on a record of its own that holds the bundled jobs, one with a mistake in it,
and one drafted from a program alone.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.browser.browsing import DEMOS, LONG_MS, Server, launched, serving, until_shown, why_not
from tests.browser.conftest import batch_of_caps, crashing_cap

from setwright.jobfolder.load import load_job

__all__ = ["SHOTS", "Shot", "main"]

PICTURES: Final = Path(__file__).resolve().parent / "pictures"
SIZES: Final = {"tablet": (1280, 800), "upright": (820, 1180), "desk": (1440, 900), "phone": (390, 844)}
THEMES: Final = ("light", "dark")
JOBS: Final = {"bearing-cap": DEMOS / "bearing-cap", "pintle": DEMOS / "pintle", "spacers": DEMOS / "spacers"}


def _nothing(page: Page) -> None:
    del page


def _card(page: Page) -> None:
    expect(page.get_by_text("motions, about", exact=False)).to_be_visible()


def _path(page: Page) -> None:
    expect(page.locator(".path-picture")).to_be_visible()


def _metal(page: Page) -> None:
    until_shown(page, "shown.triangles > 0", timeout=3 * LONG_MS)


def _half_way(page: Page) -> None:
    _metal(page)
    strip = page.get_by_role("slider")
    strip.press("Home")
    strip.press("PageDown")
    for _ in range(14):
        strip.press("ArrowRight")
    page.evaluate("window.scrollTo(0, document.querySelector('.stage').offsetTop - 8)")
    until_shown(page, "shown.tool === 2 && shown.runs.length === 3", timeout=3 * LONG_MS)
    expect(page.get_by_text("Drawing the metal …")).to_have_count(0)


def _first_finding(page: Page) -> None:
    _metal(page)
    page.get_by_role("list", name="Findings, worst first").get_by_role("button").first.click()
    until_shown(page, "shown.tool === 2", timeout=3 * LONG_MS)
    expect(page.get_by_text("Drawing the metal …")).to_have_count(0)
    expect(page.get_by_role("img", name="Section through the place", exact=False).first).to_be_visible()


def _guesses(page: Page) -> None:
    page.get_by_role("heading", name="guesses").scroll_into_view_if_needed()


def _typing(page: Page) -> None:
    page.get_by_role("button", name="New reading").click()
    page.get_by_role("combobox", name="Face").select_option("bore A")
    page.get_by_role("radio", name="+X").press("Space")
    page.get_by_role("combobox", name="With").select_option("finder-10")
    page.get_by_role("textbox", name="Display X").focus()


def _studied(page: Page) -> None:
    page.get_by_role("button", name="Follow every slip").first.click()
    expect(page.get_by_text("The plan: tick off what is done")).to_be_visible(timeout=20 * LONG_MS)


def _batch(page: Page) -> None:
    expect(page.get_by_role("img", name="stands at", exact=False).first).to_be_visible()


def _piece_typing(page: Page) -> None:
    page.get_by_role("button", name="Type the values of a piece").click()
    page.get_by_role("textbox", name="Value of", exact=False).first.fill("12.516")


def _drawn(page: Page) -> None:
    expect(page.get_by_role("img", name="Outline of end mill 16", exact=False)).to_be_visible()


def _printed(page: Page) -> None:
    page.get_by_role("button", name="Prove and print").click()
    expect(page.get_by_role("img", name="The sheet of", exact=False).first).to_be_visible(timeout=10 * LONG_MS)


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture: its name, the page, what is done on it first; whether the whole page is taken, however long it is, and whether
    the job must have been proved, or what its registers move worked out.
    """

    name: str
    path: str
    first: Callable[[Page], None] = _nothing
    whole: bool = False
    proved: bool = True
    worked: bool = False


SHOTS: Final = (
    Shot("board", "/"),
    Shot("card", "/jobs/bearing-cap", _card),
    Shot("read", "/jobs/bearing-cap/read?line=24", _path, whole=True, proved=False),
    Shot("prove", "/jobs/bearing-cap/prove", _half_way),
    Shot("prove-finding", "/jobs/crash/prove", _first_finding, whole=True),
    Shot("prove-inch", "/jobs/pintle/prove", _metal, whole=True),
    Shot("prove-pallet", "/jobs/spacers/prove", _metal, whole=True),
    Shot("kit", "/jobs/bearing-cap/kit", proved=False),
    Shot("kit-guesses", "/jobs/drafted/kit", _guesses, proved=False),
    Shot("files", "/jobs/drafted/files", proved=False),
    Shot("touch-first", "/jobs/drafted/touch", proved=False),
    Shot("touch", "/jobs/bearing-cap/touch", proved=False),
    Shot("touch-typing", "/jobs/bearing-cap/touch", _typing, proved=False),
    Shot("hover", "/jobs/bearing-cap/hover", _studied),
    Shot("piece", "/jobs/bearing-cap/piece", whole=True, proved=False, worked=True),
    Shot("piece-typing", "/jobs/bearing-cap/piece", _piece_typing, whole=True, proved=False, worked=True),
    Shot("piece-inch", "/jobs/pintle/piece", whole=True, proved=False, worked=True),
    Shot("piece-pallet", "/jobs/spacers/piece", whole=True, proved=False, worked=True),
    Shot("run", "/jobs/batch/run", _batch, whole=True, proved=False, worked=True),
    Shot("run-inch", "/jobs/pintle/run", _batch, whole=True, proved=False, worked=True),
    Shot("run-pallet", "/jobs/spacers/run", _batch, whole=True, proved=False, worked=True),
    Shot("sheet", "/jobs/bearing-cap/sheet", _printed),
    Shot("history", "/jobs/bearing-cap/history"),
    Shot("shop", "/shop"),
    Shot("tool", "/shop/tools/end-mill-16", _drawn),
    Shot("people", "/people"),
)


def main(words: list[str]) -> int:
    """Take them; the status is 1 where that is not possible here."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--all", type=Path, metavar="DIR", help="every page, theme and size, into this folder")
    options.add_argument("names", nargs="*", help="only these pictures")
    asked = options.parse_args(words)
    if why_not():
        print(f"no pictures: {why_not()}", file=sys.stderr)
        return 1
    wanted = [shot for shot in SHOTS if not asked.names or shot.name in asked.names]
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        jobs = {**JOBS, "crash": crashing_cap(Path(scratch) / "crash"), "batch": batch_of_caps(Path(scratch) / "batch")}
        with serving(Path(scratch) / "record", jobs=jobs) as server:
            _draft(server)
            for job in sorted({shot.path.split("/")[2] for shot in wanted if shot.path.startswith("/jobs/") and shot.proved}):
                server.prove(job)
            for job in sorted({shot.path.split("/")[2] for shot in wanted if shot.worked}):
                server.work(job, "piece", setup=load_job(jobs[job]).job.setup[0].name)
            browser = launched(playwright)
            for shot in wanted:
                for theme in THEMES if asked.all else THEMES[:1]:
                    for size in SIZES if asked.all else ("tablet",):
                        out = asked.all / f"{shot.name}-{theme}-{size}.png" if asked.all else PICTURES / f"{shot.name}.png"
                        _take(browser, server, shot, theme=theme, size=size, out=out)
            browser.close()
    return 0


def _draft(server: Server) -> None:
    """A job that somebody has just dropped on the board, and a tool in the shop."""
    programs = [("programs", ("cap-1.nc", (DEMOS / "bearing-cap" / "cap-1.nc").read_bytes()))]
    made = server.ask("POST", "/api/jobs", files=programs, data={"name": "drafted"})
    made.raise_for_status()
    server.ask("DELETE", f"/api/calculations/{made.json()['calculation']['id']}").raise_for_status()
    tool = (DEMOS / "bearing-cap" / "shop" / "tools" / "end-mill-16.toml").read_bytes()
    server.ask("PUT", "/api/shop/tools/end-mill-16", content=tool, headers={"if-match": '"0"'}).raise_for_status()


def _take(browser: Browser, server: Server, shot: Shot, *, theme: str, size: str, out: Path) -> None:
    width, height = SIZES[size]
    scheme = "dark" if theme == "dark" else "light"
    screen = {"width": width, "height": height}
    context = browser.new_context(base_url=server.url, viewport=screen, locale="en-GB", timezone_id="UTC", color_scheme=scheme)
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    page.goto(shot.path)
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    shot.first(page)
    expect(page.get_by_text("Fetching …")).to_have_count(0)
    out.parent.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=out, full_page=shot.whole)
    context.close()
    print(out, file=sys.stderr)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
