"""Piece and Run as a person at the machine uses them: values in, what to type out, within a minute of that person's time."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.browsing import DEMOS, LONG_MS, Server, Watch, barriers, serving, small_targets
from tests.browser.conftest import batch_of_caps

SETUP = "first side"
TAP_S, TYPED_S = 1.5, 3.0
"""What an action costs a person: a tap, a value of a few digits typed into a field. What the machine works out meanwhile costs none
of that person's time."""

BUDGET_S = 60.0
TYPE = re.compile(r"^Type .+ = -?\d+\.\d+\.$")


class Hands:
    """A person with a tablet: does what is said to it and counts what that costs."""

    def __init__(self, page: Page) -> None:
        self.page, self.spent_s = page, 0.0

    def tap(self, role: str, name: str | re.Pattern[str]) -> None:
        """A button or link."""
        self.spent_s += TAP_S
        self.page.get_by_role(role, name=name, exact=isinstance(name, str)).click()  # type: ignore[arg-type]

    def type(self, name: str, value: str) -> None:
        """A value into a field; going to the field is part of it."""
        self.spent_s += TYPED_S
        self.page.get_by_role("textbox", name=name, exact=True).fill(value)


def values() -> list[dict[str, str]]:
    """The first piece as it was measured on the bench: feature, value, gauge."""
    lines = (DEMOS / "bearing-cap" / "measured.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader([line for line in lines if not line.startswith("#")], skipinitialspace=True))


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """Jobs of which nothing was measured yet, and one with a batch; what each register moves is worked out."""
    home = tmp_path_factory.mktemp("bench")
    jobs = {name: Path(shutil.copytree(DEMOS / "bearing-cap", home / name)) for name in ("cap", "keys")}
    jobs["batch"] = batch_of_caps(home / "batch")
    (jobs["cap"] / "measured.csv").unlink()
    with serving(home / "record", jobs=jobs) as started:
        for job in jobs:
            started.work(job, "piece", setup=SETUP, pitch_mm=0.9)
        yield started


@pytest.fixture
def person(browser: Browser, bench: Server) -> Iterator[Page]:
    context = browser.new_context(base_url=bench.url, viewport={"width": 1280, "height": 800}, locale="en-GB", timezone_id="UTC",
                                  has_touch=True)  # fmt: skip
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    watch = Watch(page)
    watch.allowed = ("422",)  # the browser tells of a refusal that a test asks for
    yield page
    assert watch.complaints() == []
    context.close()


def test_from_a_measured_piece_to_what_is_typed_takes_less_than_a_minute(person: Page) -> None:
    hands = Hands(person)
    person.goto("/jobs/cap")
    hands.tap("link", "Piece")
    expect(person.get_by_role("heading", level=1)).to_have_text("No piece was measured yet.")
    for one in values():
        hands.type(f"Value of {one['feature']}", one["value"])
        gauge = person.get_by_role("combobox", name=f"Gauge for {one['feature']}", exact=True)
        expect(gauge).to_have_value(one["gauge"])  # the shop says what each can be put on: none is chosen by hand
    hands.tap("button", "Keep 9 values of piece 1")
    headline = person.get_by_role("heading", level=1)
    expect(headline).to_have_text(TYPE)
    told = re.findall(r"([a-z]+ \d+|G\d+ [XYZ]) = (-?\d+\.\d+)", headline.inner_text())
    assert told
    for register, digits in told:
        hands.type(f"What the control shows for {register}", digits)
        expect(person.get_by_role("listitem").filter(has_text=register).get_by_text("✓ the same")).to_be_visible()
        hands.tap("button", f"Typed and read back: {register}")
        typed = person.get_by_role("list", name="Typed for the next piece").get_by_role("listitem").filter(has_text=register)
        expect(typed).to_have_text(re.compile(rf"✓ {re.escape(register)} changed by [+-]\d\.\d+ mm before piece 2"))
    expect(headline).to_have_text(re.compile("^Leave it alone: "))
    print(f"person's time: {hands.spent_s:.1f} s")
    assert hands.spent_s <= BUDGET_S


def test_a_value_that_is_none_is_told_at_its_field_and_kept_through_a_reload(person: Page, bench: Server) -> None:
    person.goto("/jobs/keys/piece")
    person.get_by_role("button", name="Type the values of a piece").click()
    expect(person.get_by_role("textbox", name="Piece", exact=True)).to_have_value("2")
    field = person.get_by_role("textbox", name="Value of depth of seat", exact=True)
    field.fill("12.5o")
    expect(person.get_by_text("“12.5o” is no number")).to_be_visible()
    expect(person.get_by_role("button", name="Keep the values")).to_be_disabled()
    field.fill("12,516")
    expect(person.get_by_role("button", name="Keep one value of piece 2")).to_be_enabled()
    person.reload()
    person.get_by_role("button", name="Type the values of a piece").click()
    expect(person.get_by_role("textbox", name="Value of depth of seat", exact=True)).to_have_value("12,516")
    person.get_by_role("textbox", name="Value of depth of seat", exact=True).fill("0.4927")
    person.get_by_role("button", name="Keep one value of piece 2").click()
    expect(person.get_by_role("alert")).to_contain_text("looks like inches")
    expect(person.get_by_role("textbox", name="Value of depth of seat", exact=True)).to_have_value("0.4927")
    assert bench.ask("GET", "/api/jobs/keys").json()["revision"]["number"] == 1
    person.get_by_role("textbox", name="Value of depth of seat", exact=True).fill("")


def test_a_piece_is_entered_by_keys_alone(person: Page) -> None:
    person.goto("/jobs/keys/piece")
    expect(person.get_by_role("heading", level=1)).to_have_text(TYPE)
    focus = "(document.activeElement.getAttribute('aria-label') || document.activeElement.innerText || '').trim()"

    def tab_to(name: str) -> None:
        for _ in range(60):
            person.keyboard.press("Tab")
            if re.search(name, person.evaluate(focus)):
                return
        raise AssertionError(f"Tab does not lead to {name}")

    tab_to("^Type the values of a piece$")
    person.keyboard.press("Enter")
    # the next in the order of the page is the piece's number, then the first value; Enter leads from value to value
    known = {one["feature"]: one["value"] for one in values()}
    fields = person.locator("input[data-feature]")
    expect(fields.first).to_be_visible()
    names = fields.evaluate_all("all => all.map(one => one.dataset.feature)")
    for _ in range(60):
        person.keyboard.press("Tab")
        if person.evaluate("document.activeElement.dataset.feature") == names[0]:
            break
    for name in names:
        assert person.evaluate("document.activeElement.dataset.feature") == name
        person.keyboard.type(known.get(name, ""))
        person.keyboard.press("Enter")
    outline = person.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline != "none", "somebody who uses keys sees where they are"
    person.keyboard.press("Enter")
    expect(person.get_by_text("All values written (18)")).to_be_visible()
    expect(person.get_by_role("heading", name="Piece 2 as measured")).to_be_visible()


def test_run_says_first_when_to_measure_and_takes_the_measurement(person: Page) -> None:
    person.goto("/jobs/batch/run")
    headline = person.get_by_role("heading", level=1)
    expect(headline).to_have_text(re.compile("^Measure the .* piece"))
    charts = person.get_by_role("img", name=re.compile("stands at .*measure"))
    before = charts.count()
    assert before >= 1
    person.get_by_role("button", name="Type the values of a piece").click()
    first = person.locator("input[data-feature]").first
    feature = first.get_attribute("data-feature")
    assert feature is not None
    expect(person.get_by_role("heading", level=1)).to_contain_text(f"“{feature}”")
    piece = int(person.get_by_role("textbox", name="Piece", exact=True).input_value())
    stands = person.get_by_role("img", name=re.compile(rf"^{re.escape(feature)}: stands at")).get_attribute("aria-label") or ""
    value = re.search(r"stands at (\d+\.\d+) mm", stands)
    assert value is not None
    first.fill(value[1])
    person.get_by_role("button", name=f"Keep one value of piece {piece}").click()
    person.locator("summary", has_text="All values written").click()
    rows = person.get_by_role("table", name="All values written").get_by_role("row")
    expect(rows.last).to_contain_text(f"{piece}{feature}{value[1]} mm")
    many = rows.count()
    rows.last.get_by_role("button", name=re.compile("^Take out line")).click()
    expect(rows).to_have_count(many - 1)


@pytest.mark.parametrize("path", ["keys/piece", "cap/piece", "batch/piece", "batch/run", "keys/run"])
@pytest.mark.parametrize(("width", "theme"), [(320, "light"), (390, "dark"), (820, "light"), (1440, "dark")])
def test_no_barrier_and_nothing_wider_than_any_screen(browser: Browser, bench: Server, path: str, theme: str, width: int) -> None:
    screen = {"width": width, "height": 900}
    context = browser.new_context(base_url=bench.url, viewport=screen, color_scheme=theme)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    page.goto(f"/jobs/{path}")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_text("Fetching …")).to_have_count(0)
    if (entry := page.get_by_role("button", name="Type the values of a piece")).count():
        entry.click()
    for fold in page.locator("main summary").all():
        fold.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert barriers(page) == []
    assert small_targets(page) == []
    context.close()
