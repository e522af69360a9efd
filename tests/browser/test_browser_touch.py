"""Odd touch-offs typed on the Touch page as a setter makes them: what is kept gives the place that was meant."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.browsing import LONG_MS, Server, serving
from tests.touch.simulate import FACES
from tests.touch.workshop import kit_of

X, Y, Z = -300.0, -215.0, -477.0
"""Where the program's zero stands, mm."""
TIP, PAPER, STEP, LONG, SHORT = 5.0, 0.08, 0.005, 131.482, 118.25
"""The finder's radius, paper, half of the last step that the page fills in, the lengths of the tools."""
SWEEP, JAW, DOWN = "swept round", {"Y": Y + 42.0 - TIP + STEP}, {"Z": Z + 1.0 + LONG + PAPER - STEP}


def round_about(x: float, y: float, free: float) -> list[dict[str, float]]:
    """A round face met moving +X, -X, +Y, -Y; `free`: from its centre to the tip's axis, less than nothing outside of a boss."""
    return [{"X": x + free + STEP}, {"X": x - free - STEP}, {"Y": y + free + STEP}, {"Y": y - free - STEP}]


LEFT = {"X": X - 62.0 - TIP + STEP}
ALONG = [JAW | {"X": X + at} for at in (-50.0, 50.0)]
TURNED = [{"Y": Y + 42.0 + TIP - STEP + 0.002 * at, "X": X + at} for at in (-50.0, 50.0)]
ODD: dict[str, tuple[dict[str, str], list[dict[str, float]]]] = {
    "bore": ({}, [*round_about(X, Y, 15.0 - TIP), *ALONG, DOWN]),
    "swept": ({}, [{"X": X, "Y": Y}, *ALONG, DOWN]),
    "boss": ({"x": "boss", "y": "boss"}, [*round_about(X - 30.0, Y + 10.0, -12.0 - TIP), *ALONG, DOWN]),
    "corner": ({"x": "left", "y": "front"}, [LEFT, {"Y": Y - 42.0 - TIP + STEP}, *ALONG, DOWN]),
    "turned": ({"x": "left", "y": "back", "angle": "back"}, [LEFT | {"Y": Y}, *TURNED, DOWN]),
    "master": ({"x": "left", "y": "fixed jaw", "lengths": "reference tool", "preset1": "", "preset2": ""},
               [LEFT, *ALONG, DOWN, {"Z": Z + 1.0 + SHORT + PAPER - STEP}]),
}  # fmt: skip
"""Datum and registers of the job, and what the display shows in the order in which the page asks, mm."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server with the odd jobs, nothing touched."""
    home = tmp_path_factory.mktemp("odd")
    for name, (job, _) in ODD.items():
        kit_of(home / name, faces=FACES, **job)
    with serving(home / "record", jobs={name: home / name for name in ODD}) as started:
        yield started


@pytest.mark.parametrize("name", ODD)
def test_an_odd_touch_off_is_typed_as_the_page_asks(browser: Browser, shop: Server, name: str) -> None:
    page: Page = browser.new_context(base_url=shop.url, viewport={"width": 1280, "height": 800}).new_page()
    page.set_default_timeout(LONG_MS)
    page.goto(f"/jobs/{name}/touch")
    keep = page.get_by_role("button", name="Keep this reading")
    for number, shown in enumerate(ODD[name][1], start=1):
        expect(page.get_by_text("To touch now:")).to_be_visible()
        if name == "swept" and number == 1:
            page.get_by_role("radio", name=SWEEP).press("Space")
            expect(page.get_by_role("combobox", name="With")).to_have_value("coaxial indicator")
        for axis, value in shown.items():
            page.get_by_role("textbox", name=f"Display {axis}").fill(f"{value:.3f}")
        keep.click()
        expect(page.get_by_role("button", name=f"Take out reading {number}")).to_be_visible()
        expect(page.get_by_role("textbox", name=f"Display {next(iter(shown))}")).to_have_value("")
        assert "cannot be solved" not in page.get_by_role("heading", level=1).inner_text()
    told = shop.ask("GET", f"/api/jobs/{name}/touch").json()
    found, differences = told["offsets"]["G54"], name == "master"
    assert found["x"]["value"] == pytest.approx(X, abs=0.15 if name == "turned" else 0.003)  # the left face turns with the part
    assert found["y"]["value"] == pytest.approx(Y, abs=0.003)
    assert found["z"]["value"] == pytest.approx(Z + (LONG if differences else 0.0), abs=0.003)
    if name == "turned":
        assert found["rotation_deg"]["value"] == pytest.approx(0.1146, abs=0.001)
    assert [one["slug"] for one in told["findings"] if one["signal"] == "DANGER"] == []
    page.context.close()
