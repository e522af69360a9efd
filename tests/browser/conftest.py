"""One server with the bundled jobs proved, one browser, and a fresh page for each test; skipped where there is none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.browsing import DEMOS, LONG_MS, Server, Watch, launched, serving, why_not

WRONG_DEPTH = ("G1 Z-10. F1500.", "G1 Z-16. F1500.")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All on one worker, so that the jobs are proved once; it reads the groups after this."""
    reason = why_not()
    for item in items:
        if "tests/browser/" in item.path.as_posix():
            item.add_marker(pytest.mark.xdist_group("browser"))
            if reason:
                item.add_marker(pytest.mark.skip(reason=reason))


def crashing_cap(folder: Path) -> Path:
    """The bearing cap with its step cut 6 mm too deep: the end mill meets both jaws."""
    shutil.copytree(DEMOS / "bearing-cap", folder)
    program = folder / "cap-1.nc"
    text = program.read_text(encoding="utf-8")
    assert text.count(WRONG_DEPTH[0]) >= 1
    program.write_text(text.replace(*WRONG_DEPTH, 1), encoding="utf-8")
    return folder


def batch_of_caps(folder: Path) -> Path:
    """The bearing cap with the values of a morning's batch."""
    shutil.copytree(DEMOS / "bearing-cap", folder)
    shutil.copyfile(folder / "batch.csv", folder / "measured.csv")
    return folder


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The bearing cap, and the same with a mistake in it, both proved."""
    home = tmp_path_factory.mktemp("browser")
    jobs = {"cap": DEMOS / "bearing-cap", "crash": crashing_cap(home / "crash")}
    with serving(home / "record", jobs=jobs) as started:
        for job in jobs:
            started.prove(job)
        started.work("cap", "piece", setup="first side", pitch_mm=0.9)
        yield started


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = launched(playwright)
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser, server: Server) -> Iterator[Page]:
    """A tablet held across; the test fails if the page complains."""
    context = browser.new_context(base_url=server.url, viewport={"width": 1280, "height": 800}, locale="en-GB", timezone_id="UTC")
    fresh = context.new_page()
    fresh.set_default_timeout(LONG_MS)
    watch = Watch(fresh)
    fresh.watch = watch  # type: ignore[attr-defined]
    yield fresh
    context.close()
    assert watch.complaints() == []
