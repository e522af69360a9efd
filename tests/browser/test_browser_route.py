"""From the board to the signed proof, by roles and keys, as somebody at the machine goes."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.browsing import Server, bench_of, shown, until_shown


def chosen_line(page: Page) -> str:
    """The text of the chosen line."""
    return page.get_by_role("listbox").get_by_role("option", selected=True).locator("code").inner_text()


def chosen_number(page: Page) -> int:
    return int(page.get_by_role("listbox").get_by_role("option", selected=True).get_attribute("aria-posinset") or 0)


def test_the_board_leads_to_the_route_card_and_on(page: Page) -> None:
    page.goto("/")
    expect(page.get_by_role("heading", name="Jobs", level=1)).to_be_visible()
    page.get_by_role("row", name=re.compile("Bearing cap.*cap")).get_by_role("link").first.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Bearing cap, irrigation pump")
    stations = page.get_by_role("list", name="Stations")
    expect(stations.get_by_role("listitem").filter(has_text="Prove")).to_contain_text("first side: Nothing hits")
    asked = re.compile(r"tools, \d+ motions, about \d+ min")
    read = page.get_by_role("link", name="Read", exact=True)
    expect(stations.get_by_role("listitem").filter(has=read)).to_contain_text(asked)
    stations.get_by_role("link", name="Read").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile(r"^5 tools, 150 motions, about 3 min"))
    page.go_back()
    expect(stations).to_be_visible()


def test_every_station_on_the_card_leads_to_a_page(page: Page) -> None:
    page.goto("/jobs/cap")
    links = page.get_by_role("list", name="Stations").get_by_role("link")
    expect(links.first).to_be_visible()
    addresses = [link.get_attribute("href") for link in links.all()]
    assert {"/jobs/cap/read", "/jobs/cap/prove"} <= set(addresses)
    for address in addresses:
        page.goto(str(address))
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        assert page.get_by_role("heading", level=1).inner_text() != "There is no such page."


def test_read_shows_tools_and_finds_a_line_from_the_path(page: Page) -> None:
    page.goto("/jobs/cap/read")
    rows = page.get_by_role("table", name="Tools the program calls").get_by_role("row")
    expect(rows).to_have_count(6)
    expect(rows.nth(2)).to_contain_text("T2 END MILL D16 3 FLUTES H2 D2")
    rows.nth(2).get_by_role("button", name="T2").click()
    assert "N2 T2 M6" in chosen_line(page)
    page.get_by_role("listbox").press("ArrowDown")
    assert "G54" in chosen_line(page)
    picture = page.get_by_role("img", name=re.compile("From above"))
    box = picture.bounding_box()
    assert box is not None
    picture.click(position={"x": box["width"] / 2, "y": box["height"] / 2})
    assert "N2 T2 M6" not in chosen_line(page)
    assert "line=" in page.url


def test_a_finding_opens_its_line_and_its_place(page: Page) -> None:
    page.goto("/jobs/crash/prove")
    expect(page.get_by_role("heading", level=1)).to_contain_text("DANGER: the cutter of T2 end mill 16 hits the fixed jaw")
    findings = page.get_by_role("list", name="Findings, worst first").get_by_role("listitem")
    expect(findings.first).to_contain_text("DANGER")
    expect(findings.first).to_contain_text("hits the fixed jaw")
    until_shown(page, "shown.triangles > 0 && shown.pointers >= 2")
    findings.first.get_by_role("button", name=re.compile("cap-1.nc line")).click()
    line = re.search(r"line (\d+)", findings.first.get_by_role("button", name=re.compile("cap-1.nc line")).inner_text())
    assert line is not None
    assert chosen_number(page) == int(line[1])
    told = until_shown(page, "shown.tool === 2 && shown.tip !== undefined && Math.abs(shown.tip[2] + 16) < 0.01")
    assert {"fixed jaw", "moving jaw", "table"} <= set(told["bodies"])
    assert told["tip"][1] > 30, "the end mill stands at the fixed jaw"
    expect(page.get_by_role("slider")).to_have_attribute("aria-valuetext", re.compile(rf"line {line[1]} – T2"))


def test_the_strip_steps_block_by_block(page: Page) -> None:
    page.goto("/jobs/cap/prove")
    strip = page.get_by_role("slider")
    strip.focus()
    strip.press("Home")
    expect(strip).to_have_attribute("aria-valuetext", "Before the first motion")
    lines = []
    for _ in range(6):
        strip.press("ArrowRight")
        lines.append(chosen_number(page))
    assert lines == sorted(lines)
    assert len(set(lines)) == 6
    strip.press("ArrowLeft")
    assert chosen_number(page) == lines[-2]
    strip.press("PageDown")
    expect(strip).to_have_attribute("aria-valuetext", re.compile("– T2,"))
    strip.press("End")
    expect(strip).to_have_attribute("aria-valuetext", re.compile(r"^3 min \d\d s"))


def test_dragging_over_the_strip_shows_the_metal_of_that_moment(page: Page) -> None:
    page.goto("/jobs/cap/prove")
    strip = page.get_by_role("slider")
    at_end = until_shown(page, "shown.triangles > 0 && shown.runs.length >= 5")
    assert {run["kind"] for run in at_end["runs"]} >= {1, 2, 3, 4, 5}
    strip.press("Home")
    at_start = until_shown(page, "shown.triangles > 0 && shown.runs.length === 1")
    assert at_start["runs"][0]["kind"] == 0, "nothing is cut before the first motion"
    assert "tool" not in at_start
    strip.scroll_into_view_if_needed()
    box = strip.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 160, box["y"] + 100)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.45, box["y"] + 100, steps=8)
    page.mouse.up()
    on_the_way = until_shown(page, "shown.triangles > 0 && shown.runs.length === 3")
    assert [run["kind"] for run in on_the_way["runs"]] == [0, 1, 2], "face mill and end mill have cut, nothing else"
    assert shown(page)["tool"] == 2


def test_a_line_puts_the_tool_there_and_the_metal_leads_to_a_line(page: Page) -> None:
    page.goto("/jobs/cap/prove?line=23")
    told = until_shown(page, "shown.triangles > 0 && shown.tool === 1")
    assert told["tip"] == pytest.approx([90, 21, 0], abs=0.2), "X90. at Y21. Z0."
    page.get_by_role("button", name="From above").click()
    bench = bench_of(page)
    box = bench.bounding_box()
    assert box is not None
    page.get_by_role("slider").press("End")
    until_shown(page, "shown.triangles > 0 && shown.runs.length >= 5")
    bench.click(position={"x": box["width"] / 2, "y": box["height"] / 2 - 60})
    expect(page.get_by_role("slider")).not_to_have_attribute("aria-valuetext", re.compile("line 132"))


def test_the_bench_is_turned_by_keys_and_rests_when_nothing_changes(page: Page) -> None:
    page.goto("/jobs/cap/prove")
    until_shown(page, "shown.triangles > 0")
    bench = bench_of(page)
    before, drawn = bench.screenshot(), int(bench.get_attribute("data-drawn") or 0)
    bench.focus()
    bench.press("ArrowLeft")
    page.wait_for_function("drawn => Number(document.querySelector('canvas.bench-canvas').dataset.drawn) >= drawn", arg=drawn + 2)
    assert bench.screenshot() != before
    frames = """() => new Promise(done => { const bench = document.querySelector('canvas.bench-canvas'), seen = [];
      const look = () => seen.push(bench.dataset.drawn) < 12 ? requestAnimationFrame(look) : done(seen); look(); })"""
    seen = page.evaluate(frames)
    assert seen[-1] == seen[-3], "it goes on drawing though nothing changes"


def test_a_finding_is_accepted_and_a_station_signed(page: Page, server: Server) -> None:
    page.goto("/jobs/crash/prove")
    finding = page.get_by_role("list", name="Findings, worst first").get_by_role("listitem").first
    finding.get_by_text("Accept this finding").click()
    finding.get_by_label("Why it is accepted").fill("jaws are soft and bored out there")
    finding.get_by_label("Until, last day included").fill("2099-12-31")
    finding.get_by_role("button", name="Accept it").click()
    expect(finding).to_contain_text("until 2099-12-31: jaws are soft and bored out there")
    stated = server.ask("GET", "/api/jobs/crash/statements").json()["accepted"]
    assert [one["body"]["reason"] for one in stated] == ["jaws are soft and bored out there"]
    page.get_by_role("button", name="Sign Prove off").click()
    expect(page.get_by_role("region", name="Signing off")).to_contain_text("Signed: ")
    page.goto("/jobs/crash")
    expect(page.get_by_role("list", name="Stations").get_by_role("listitem").filter(has_text="Prove")).to_contain_text("Signed: ")
