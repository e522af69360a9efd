"""Kit, Touch, Hover, sheet, shop, history and people by roles and keys: what is typed is kept, nothing is silently overwritten."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from setwright.record.artefacts import keep_artefact
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job
from setwright.record.people import Role, add_person
from setwright.record.store import open_record
from setwright.web.passwords import hashed
from setwright.web.wire.hover import HoverAnswer
from tests.browser.browsing import DEMOS, LONG_MS, Server, barriers, serving
from tests.touch.workshop import kit_of

SETUP = "first side"
HARM = {
    "outcome": "crash", "text": "the holder meets the fixed jaw", "file": "cap-1.nc", "first_line": 21, "lost_line": None,
    "tool": 1, "part": "holder", "body": "fixed jaw", "value": 3.0, "requirement": "", "speed_per_min": None, "stopped": "",
}  # fmt: skip
FINE = HARM | {"outcome": "harmless", "text": "nothing", "first_line": None}
STUDY: dict[str, Any] = {
    "setup": SETUP, "as_set": FINE, "risk": {"crash": 0.01}, "harmful": 0.01, "worlds": 2,
    "slips": [HARM | {"slug": "digits-swapped", "words": "two digits of G54 X exchanged", "subject": "G54 X", "size": 9.0,
                      "probability": 0.01, "remedy": "type it again"}],
    "checks": [{
        "slug": "offset-read-aloud", "on": "G54", "name": "Read G54 aloud", "minutes": 0.4, "do": "Read G54 aloud.",
        "needs": ["the sheet"], "caution": "Spindle stopped.", "stage": "before", "risk_share": 1.0,
        "catches": [{"slug": "digits-swapped", "text": "two digits of G54 X exchanged", "outcome": "crash", "probability": 0.97}],
        "sees": [{"what": "offset register", "sheet": "X -304.863", "spread_mm": None}],
    }],
    "minutes": 0.8, "catch": 0.99, "within_minutes": None, "false_alarm": 0.0, "risk_before": 0.01, "risk_left": 0.0003,
    "harmful_left": 0.0003,
    "uncaught": [], "spared": [], "elapsed_s": 1.0,
    "hold_points": [{"tool": 1, "file": "cap-1.nc", "line": 21, "block": "Z5.", "block_number": None, "stop": None, "offset": "G54",
                     "shows": {"x": 1.0, "y": 2.0, "z": 50.0}, "to_go": {"x": 0.0, "y": 0.0, "z": -45.0}, "within": False,
                     "height": 49.0, "surface": "the blank's top", "beside": 0.0, "surface_made_by": None}],
}  # fmt: skip
STUDY["diagnosis"] = {
    "no_slip": 0.3, "unlisted": 0.001, "settled": False,
    "next_check": {"name": "Read G54 aloud", "bits": 0.4, "do": "Read G54 aloud."},
    "tells_apart": {"name": "Feeler at the stop", "do": "Try a feeler at the stop."},
    "ranked": [{"slug": "digits-swapped", "text": "two digits of G54 X exchanged", "probability": 0.6, "outcome": "crash",
                "remedy": "type it again", "cannot_tell_from": []}],
}  # fmt: skip
STUDY["checks"] = [STUDY["checks"][0], STUDY["checks"][0] | {"on": "G55", "catches": []}]
HEAD = {"schema": 1, "command": "hover", "version": "0", "job": "cap", "units": "mm", "findings": []}
DOCUMENT = HEAD | STUDY | {"setups": [STUDY]}
PAPER = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 595 842"><path d="M50 50h495v742h-495z" stroke="black"/></svg>'


@pytest.fixture(scope="module")
def floor(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server on which people change things: a job with a study and a sheet, and a tool in the shop."""
    home = tmp_path_factory.mktemp("floor")
    HoverAnswer.model_validate(DOCUMENT)
    cap = shutil.copytree(DEMOS / "bearing-cap", home / "cap")
    undated = [line for line in (cap / "readings.toml").read_text(encoding="utf-8").splitlines() if not line.startswith("when")]
    (cap / "readings.toml").write_text("\n".join(undated) + "\n", encoding="utf-8")
    with serving(home / "record", jobs={"cap": cap}) as started:
        with open_record(home / "record") as record:
            made = (("hover", "hover.json", "application/json", json.dumps(DOCUMENT).encode()), ("sheet", "sheet-first-side.pdf",
                     "application/pdf", b"%PDF-1.7"), ("sheet", "sheet-first-side-1.svg", "image/svg+xml", PAPER))  # fmt: skip
            for station, name, media_type, data in made:
                keep_artefact(record, "cap", data, revision=1, station=station, setup=SETUP, name=name, media_type=media_type,
                              inputs="them", by="Ada")  # fmt: skip
        tool = (DEMOS / "bearing-cap" / "shop" / "tools" / "end-mill-16.toml").read_bytes()
        headers = {"if-match": '"0"', "content-type": "text/plain"}
        put = started.ask("PUT", "/api/shop/tools/end-mill-16", content=tool, headers=headers)
        assert put.status_code == 200, put.text
        yield started


@pytest.fixture
def person(browser: Browser, floor: Server) -> Iterator[Page]:
    context = browser.new_context(base_url=floor.url, viewport={"width": 1280, "height": 800}, locale="en-GB", timezone_id="UTC")
    page = context.new_page()
    page.set_default_timeout(LONG_MS)
    yield page
    context.close()


def begin_reading(page: Page) -> None:
    """Bore A once more, moving to +X: everything but the digits."""
    page.goto("/jobs/cap/touch")
    page.get_by_role("button", name="New reading").click()
    page.get_by_role("combobox", name="Face").select_option("bore A")
    page.get_by_role("radio", name="+X").press("Space")
    page.get_by_role("combobox", name="With").select_option("finder-10")
    page.get_by_role("textbox", name="Display Y").fill("-182.740")


class Hand:
    """Touches the page and types on keys, and counts both; what it types goes where the cursor is."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps, self.fields = page, 0, 0
        page.add_init_script("window.pressed = 0; document.addEventListener('pointerdown', () => { window.pressed += 1; }, true);")

    def tap(self, what: Locator) -> None:
        what.click()
        self.taps += 1

    def write(self, label: str, digits: str) -> None:
        field = self.page.get_by_role("textbox", name=label)
        expect(field).to_be_focused()
        expect(field).to_have_value("")
        self.page.keyboard.type(digits)
        self.fields += 1


def touch_off(folder: Path) -> Path:
    """A block in a vise, five tools whose lengths nobody measured."""
    kit_of(folder, x="left", y="fixed jaw", lengths="tip on datum", preset1="", preset2="")
    more = "".join(f'\n[[setup.tool]]\nstation = {n}\nuse = "end-mill-12"\nstickout = {40 + n}\n' for n in (3, 4, 5))
    (folder / "job.toml").write_text((folder / "job.toml").read_text(encoding="utf-8") + more, encoding="utf-8")
    return folder


def revision(server: Server) -> int:
    return int(server.ask("GET", "/api/jobs/cap").json()["revision"]["number"])


def test_kit_says_whether_it_goes_together(person: Page) -> None:
    person.goto("/jobs/cap/kit")
    expect(person.get_by_role("heading", level=1)).to_have_text("It goes together.")
    expect(person.get_by_role("img", name="From above: X to the right, Y away")).to_be_visible()
    row = person.get_by_role("row", name=re.compile("T2"))
    expect(row).to_contain_text("end mill 16")
    expect(row.get_by_role("img", name="Outline of end mill 16")).to_be_visible()


def test_a_number_is_read_back_digit_by_digit(person: Page) -> None:
    person.goto("/jobs/cap/touch")
    digits = person.get_by_role("button", name=re.compile("^G54 X")).locator(".number-digits")
    wanted = digits.inner_text()
    assert re.fullmatch(r"-304\.\d{3}", wanted)
    back = person.get_by_role("textbox", name="What the control shows for G54 X")
    back.fill(wanted.replace("304", "314"))
    expect(person.get_by_text("differs at digit 2")).to_be_visible()
    back.fill(wanted)
    expect(person.get_by_text("the same")).to_be_visible()
    person.reload()
    expect(back).to_have_value(wanted)
    back.fill("")


def test_the_solution_follows_what_is_typed_on_the_pad(person: Page, floor: Server) -> None:
    begin_reading(person)
    before = len(floor.ask("GET", "/api/jobs/cap/readings").json()["contact"])
    person.get_by_role("textbox", name="Display X").focus()
    pad = person.get_by_role("group", name="Number pad")
    for key in "294.860":
        pad.get_by_text(key, exact=True).click()
    pad.get_by_role("button", name="Change the sign").click()
    expect(person.get_by_role("textbox", name="Display X")).to_have_value("-294.860")
    live = person.get_by_role("status").filter(has_text="With what you are typing")
    expect(live).to_contain_text(re.compile(r"G54 X -304\.\d{3}"))
    person.get_by_role("button", name="Keep this reading").press("Enter")
    expect(person.get_by_role("button", name=f"Take out reading {before + 1}")).to_be_visible()
    first = person.get_by_role("textbox", name="Display X")
    expect(first).to_have_value("")
    expect(first).to_be_focused()
    expect(person.get_by_role("combobox", name="Face")).to_have_value("bore A")
    kept = floor.ask("GET", "/api/jobs/cap/readings").json()["contact"]
    assert len(kept) == before + 1
    assert (kept[-1]["on"], kept[-1]["toward"], kept[-1]["display"]) == ("bore A", "+X", {"x": "-294.860 mm", "y": "-182.740 mm"})
    expect(person.get_by_role("button", name=f"Take out reading {before + 1}")).to_be_visible()
    person.get_by_role("button", name=f"Take out reading {before + 1}").click()
    expect(person.get_by_role("button", name=f"Take out reading {before + 1}")).to_have_count(0)


def test_a_touch_off_of_five_tools_takes_few_fields_and_taps(person: Page, floor: Server, tmp_path: Path) -> None:
    with open_record(floor.place) as record:
        add_job(record, gather_folder(touch_off(tmp_path / "block")), name="block", by="Ada")
    hand = Hand(person)
    person.goto("/jobs/block/touch")
    keep = person.get_by_role("button", name="Keep this reading")
    expect(person.get_by_text("X: touch left moving +X")).to_be_visible()
    hand.tap(person.get_by_role("textbox", name="Display X"))
    hand.write("Display X", "-367.004")
    hand.tap(keep)
    expect(person.get_by_text("Y: touch fixed jaw moving +Y")).to_be_visible()
    hand.write("Display Y", "-178.010")
    hand.tap(keep)
    expect(person.get_by_text("the angle: touch fixed jaw again far away, X as well")).to_be_visible()
    person.get_by_role("textbox", name="Display Y").fill("-178.010")
    expect(keep).to_be_disabled()  # without X it says nothing about the angle
    person.get_by_role("textbox", name="Display Y").fill("")
    hand.tap(person.get_by_role("button", name="Pass over"))
    down = ("-344.438", "-357.670", "-360.100", "-359.100", "-358.100")
    for station, z in enumerate(down, start=1):
        expect(person.get_by_text(f"T{station}: bring its tip down on top")).to_be_visible()
        hand.write("Display Z", z)
        hand.tap(keep)
    expect(person.get_by_role("button", name="Take out reading 7")).to_be_visible()
    expect(person.get_by_text("To touch now:")).to_have_count(0)
    assert person.evaluate("window.pressed") == hand.taps
    assert (hand.fields, hand.taps) == (7, 9)
    assert hand.fields <= 12
    assert hand.taps <= 30
    contacts = floor.ask("GET", "/api/jobs/block/readings").json()["contact"]
    told = [(one["on"], one["toward"], one["with"], one.get("tool"), *one["display"].items()) for one in contacts]
    assert told == [
        ("left", "+X", "finder", None, ("x", "-367.004 mm")), ("fixed jaw", "+Y", "finder", None, ("y", "-178.010 mm")),
        *(("top", "-Z", "paper", n, ("z", f"{z} mm")) for n, z in enumerate(down, start=1)),
    ]  # fmt: skip
    offset = floor.ask("GET", "/api/jobs/block/touch").json()["offsets"]["G54"]
    half_a_step, tip, half_the_block = 0.005, 5.0, 62.0
    assert offset["x"]["value"] == pytest.approx(-367.004 - half_a_step + tip + half_the_block, abs=0.001)


def test_readings_follow_one_another_faster_than_the_page_hears_of_them(person: Page, floor: Server, tmp_path: Path) -> None:
    with open_record(floor.place) as record:
        add_job(record, gather_folder(touch_off(tmp_path / "quick")), name="quick", by="Ada")
    hand, before = Hand(person), floor.ask("GET", "/api/jobs/quick")
    answer = {"body": before.text, "headers": {"content-type": "application/json", "etag": before.headers["etag"]}}
    person.route("**/api/jobs/quick", lambda way: way.fulfill(**answer))  # the page hears of no revision after the first
    person.goto("/jobs/quick/touch")
    keep = person.get_by_role("button", name="Keep this reading")
    expect(person.get_by_text("X: touch left moving +X")).to_be_visible()
    hand.tap(person.get_by_role("textbox", name="Display X"))
    for label, digits, after in (("X", "-367.004", "Y: touch fixed jaw"), ("Y", "-178.010", "the angle: touch fixed jaw again")):
        hand.write(f"Display {label}", digits)
        hand.tap(keep)
        expect(person.get_by_text(after)).to_be_visible()
    expect(person.get_by_role("alert")).to_have_count(0)
    assert [one["on"] for one in floor.ask("GET", "/api/jobs/quick/readings").json()["contact"]] == ["left", "fixed jaw"]


def test_only_what_can_be_is_offered(person: Page) -> None:
    person.goto("/jobs/cap/touch")
    person.get_by_role("button", name="New reading").click()
    face, moving = person.get_by_role("combobox", name="Face"), person.get_by_role("group", name="Moving")
    for name, ways in (("back", ["−Y"]), ("top", ["−Z"]), ("bore A", ["+X", "−X", "+Y", "−Y", "swept round"])):
        face.select_option(name)
        expect(moving.get_by_role("radio")).to_have_count(len(ways))
        assert moving.locator("label").all_inner_texts() == ways
        assert moving.get_by_role("radio", checked=True).count() == (1 if len(ways) == 1 else 0)


def test_a_diameter_is_typed_and_told(person: Page, floor: Server) -> None:
    person.goto("/jobs/cap/touch")
    person.get_by_role("button", name="New reading").click()
    person.get_by_role("radio", name="A tool's diameter").press("Space")
    person.get_by_role("combobox", name="Tool").select_option("2")
    person.get_by_role("combobox", name="With").select_option("tool-setter-80")
    expect(person.get_by_role("button", name="Keep this reading")).to_be_disabled()
    person.get_by_role("textbox", name="Diameter").fill("15.98")
    expect(person.get_by_role("button", name=re.compile("^radius 2"))).to_contain_text("7.990")
    person.get_by_role("button", name="Keep this reading").click()
    expect(person.get_by_role("row", name=re.compile("tool 2, diameter"))).to_contain_text("Ø 15.98 mm")
    assert floor.ask("GET", "/api/jobs/cap/readings").json()["tool_diameter"][-1]["shown"] == "15.98 mm"


def test_a_dropped_job_is_set_right_settled_and_touched(person: Page, floor: Server) -> None:
    program = [("programs", ("cap-1.nc", (DEMOS / "bearing-cap" / "cap-1.nc").read_bytes()))]
    made = floor.ask("POST", "/api/jobs", files=program, data={"name": "dropped"}).json()
    floor.ask("DELETE", f"/api/calculations/{made['calculation']['id']}")
    person.goto("/jobs/dropped/kit")
    guesses = person.get_by_role("heading", name=re.compile("guesses"))
    before = int(guesses.inner_text().split()[0])
    person.get_by_role("button", name="It is so now: T1: face mill 50 mm").click()
    expect(guesses).to_have_text(f"{before - 1} guesses")
    person.get_by_role("link", name="boring bar 32.02 mm").click()
    length = person.get_by_role("textbox", name="flute length")
    expect(length).to_have_value("4")
    length.fill("30")
    person.reload()
    expect(length).to_have_value("30")
    person.get_by_role("button", name="Keep the change").click()
    expect(person.get_by_text("Kept as revision 3.")).to_be_visible()
    text = floor.ask("GET", "/api/jobs/dropped/file?path=shop/tools/boring-bar-32-02.toml").text
    assert "flute_length = 30" in text
    person.get_by_role("link", name="Touch").click()
    expect(person.get_by_role("heading", level=1)).to_have_text(re.compile("^Nothing is touched yet: touch "))
    expect(person.get_by_role("combobox", name="Face")).to_have_value("left")
    expect(person.get_by_role("radio", name="+X")).to_be_checked()
    expect(person.get_by_role("combobox", name="With")).to_have_value("default-edge-finder")
    person.get_by_role("textbox", name="Display X").fill("-467.01")
    person.get_by_role("button", name="Keep this reading").click()
    expect(person.get_by_role("button", name="Take out reading 1")).to_be_visible()
    expect(person.get_by_role("textbox", name="Display Y")).to_be_focused()
    person.get_by_role("button", name="Touch again from the start").click()
    person.get_by_role("button", name="Take them all out").click()
    expect(person.get_by_text("Nothing was touched yet.")).to_be_visible()


def test_a_lost_connection_keeps_what_was_typed(person: Page, floor: Server) -> None:
    begin_reading(person)
    person.context.set_offline(True)
    person.get_by_role("textbox", name="Display X").fill("-294.855")
    expect(person.get_by_text(re.compile("The server does not answer"))).to_be_visible()
    person.context.set_offline(False)
    person.reload()
    person.get_by_role("button", name="New reading").click()
    expect(person.get_by_role("textbox", name="Display X")).to_have_value("-294.855")
    expect(person.get_by_role("combobox", name="Face")).to_have_value("bore A")
    expect(person.get_by_role("button", name="Keep this reading")).to_be_enabled()


def test_two_people_at_the_same_readings(person: Page, browser: Browser, floor: Server) -> None:
    begin_reading(person)
    person.get_by_role("textbox", name="Display X").fill("-294.850")
    other = browser.new_context(base_url=floor.url).new_page()
    other.goto("/jobs/cap/history")
    held: list[str] = []
    person.route("**/api/jobs/cap/events", lambda route: held.append(route.request.url))  # this one hears of nothing
    person.reload()
    person.get_by_role("button", name="New reading").click()
    at = revision(floor)
    put = floor.ask("PUT", "/api/jobs/cap/file?path=note.txt", content=b"cleaned the jaws", headers={"if-match": f'"{at}"'})
    assert put.status_code == 200, put.text
    person.get_by_role("button", name="Keep this reading").click()
    expect(person.get_by_role("alert")).to_contain_text(re.compile("changed"))
    expect(person.get_by_role("textbox", name="Display X")).to_have_value("-294.850")
    assert revision(floor) == at + 1
    expect(other.get_by_text(f"Revision {at + 1}", exact=True)).to_be_visible()
    other.context.close()


def test_two_people_at_one_file_keep_both_changes_and_choose_where_they_overlap(person: Page, floor: Server) -> None:
    """The other one changes two values of job.toml; this one, who typed before, changes one of them too."""
    path, at = "/api/jobs/cap/file?path=job.toml", revision(floor)
    person.goto("/jobs/cap/files")
    person.get_by_role("combobox", name="File").select_option("job.toml")
    person.get_by_role("textbox", name="drawing").fill("HL-2042")
    person.get_by_role("textbox", name="revision").fill("E")
    before = floor.ask("GET", path).text
    others = before.replace('revision = "C"', 'revision = "D"').replace('title = "Bearing cap', 'title = "Big bearing cap')
    put = floor.ask("PUT", path, content=others.encode(), headers={"if-match": f'"{at}"'})
    assert put.status_code == 200, put.text
    expect(person.get_by_text(re.compile("^The file was changed meanwhile"))).to_be_visible()
    person.get_by_role("button", name="Keep the change").click()
    asked = person.get_by_role("alert")
    expect(asked.get_by_role("heading")).to_have_text("One value was changed by somebody else too")
    expect(asked.get_by_role("group")).to_have_count(1)
    expect(asked.get_by_role("group")).to_contain_text("job › revision")
    settle = asked.get_by_role("button", name="Keep it with these")
    expect(settle).to_be_disabled()
    expect(asked.get_by_role("radio", name=re.compile("^Yours.*E"))).not_to_be_checked()
    asked.get_by_role("radio", name=re.compile("^Theirs.*D")).check()
    assert revision(floor) == at + 1  # nothing is written before it is chosen
    settle.click()
    expect(person.get_by_text(f"Kept as revision {at + 2}.")).to_be_visible()
    expect(person.get_by_text(re.compile("^Put together with what others changed meanwhile: .*job › title"))).to_be_visible()
    assert floor.ask("GET", path).text == others.replace('drawing = "HL-2041"', 'drawing = "HL-2042"')
    put = floor.ask("PUT", path, content=before.encode(), headers={"if-match": f'"{at + 2}"'})
    assert put.status_code == 200, put.text


def test_a_check_of_the_plan_is_ticked_by_keys(person: Page) -> None:
    person.goto("/jobs/cap/hover")
    said = "2 checks, 0.8 min: the chance that a slip does harm falls from 1 in 100 to 1 in 3,333."
    expect(person.get_by_role("heading", level=1)).to_have_text(said)
    expect(person.get_by_role("img", name="Read G54 aloud, G54: 97 %")).to_be_visible()
    expect(person.get_by_role("row", name=re.compile("T1.*cap-1.nc line 21"))).to_contain_text("49.0 mm over the blank's top")
    expect(person.get_by_text("two digits of G54 X exchanged → crash")).to_be_visible()
    expect(person.get_by_text("X −304.863 mm").first).to_be_visible()
    person.get_by_role("textbox", name="What you saw or read: Read G54 aloud, G54").fill("X -304.863")
    person.get_by_role("button", name="Done, as on the sheet: Read G54 aloud, G54").press("Enter")
    expect(person.get_by_text(re.compile(r"Done by .*: X -304\.863"))).to_be_visible()
    expect(person.get_by_text("1 of 2 done")).to_be_visible()
    expect(person.get_by_role("textbox", name="What you saw or read: Read G54 aloud, G55")).to_be_visible()


def test_what_looks_odd_is_said_in_the_words_of_the_check(person: Page) -> None:
    person.goto("/jobs/cap/hover")
    person.get_by_role("textbox", name="What you saw or read: Read G54 aloud, G55").fill("X -304.683")
    person.get_by_role("button", name="Not as on the sheet: Read G54 aloud, G55").press("Enter")
    check = person.get_by_role("combobox", name="Check", exact=True)
    expect(check).to_be_focused()
    expect(check.get_by_role("option", selected=True)).to_have_text("Read G54 aloud, G55")
    person.get_by_role("button", name="Add it").click()
    seen = person.get_by_role("list", name="What you saw")
    expect(seen).to_contain_text("Read G54 aloud, G55: offset register: X -304.683")
    answers = person.get_by_role("list", name="This would explain it").get_by_role("listitem")
    expect(answers).to_have_text([re.compile("^60 %: two digits of G54 X exchanged"), re.compile("^30 %: No slip at all$")])
    expect(person.get_by_text("The first two are told apart best so: Try a feeler at the stop.")).to_be_visible()
    person.reload()
    asked: list[str] = []
    person.on("request", lambda one: asked.append(one.post_data or "") if one.method == "POST" else None)
    person.route("**/api/jobs/cap/calculations", lambda way: way.abort() if way.request.method == "POST" else way.continue_())
    person.get_by_role("button", name="What explains it?").click()
    person.wait_for_timeout(300)
    assert [json.loads(one)["seen"] for one in asked] == [["offset-read-aloud G55 offset X -304.683"]]
    seen.get_by_role("button", name=re.compile("^Take it out")).click()
    expect(seen).to_have_count(0)


def test_the_sheet_is_shown_as_it_will_be_printed(person: Page) -> None:
    person.goto("/jobs/cap/sheet")
    picture = person.get_by_role("img", name=re.compile("The sheet of first side"))
    expect(picture).to_be_visible()
    assert picture.evaluate("one => one.complete && one.naturalWidth > 0")
    assert person.get_by_role("link", name="Save the PDF").get_attribute("href")


def test_a_tool_is_drawn_as_it_is_typed(person: Page, floor: Server) -> None:
    person.goto("/shop/tools/end-mill-16")
    cutter = person.get_by_role("img", name=re.compile("Outline of end mill 16")).locator("path.cuts").first
    before = cutter.get_attribute("d")
    person.get_by_role("textbox", name="diameter", exact=True).fill("8")
    expect(cutter).not_to_have_attribute("d", str(before))
    person.get_by_role("textbox", name="diameter", exact=True).fill("-8")
    expect(person.get_by_role("alert")).to_contain_text("line 6 must be more than zero")
    person.get_by_role("textbox", name="diameter", exact=True).fill("15.98")
    expect(person.get_by_role("alert")).to_have_count(0)
    person.get_by_role("button", name="Keep it").click()
    expect(person.get_by_text("Kept as revision 2.")).to_be_visible()
    kept = floor.ask("GET", "/api/shop/tools/end-mill-16").json()
    assert "15.98" in kept["text"]


def test_what_changed_since_the_last_run(person: Page, floor: Server) -> None:
    person.goto("/jobs/cap/history")
    expect(person.get_by_role("heading", level=1)).to_have_text("This job has not run yet.")
    person.get_by_role("textbox", name="Pieces made").fill("6")
    person.get_by_role("button", name="State that it ran").click()
    expect(person.get_by_role("heading", level=1)).to_have_text(re.compile("Nothing has changed since"))
    at = revision(floor)
    put = floor.ask("PUT", "/api/jobs/cap/file?path=note2.txt", content=b"x", headers={"if-match": f'"{at}"'})
    assert put.status_code == 200, put.text
    expect(person.get_by_role("heading", level=1)).to_have_text(re.compile("One thing changed since"))
    expect(person.get_by_role("cell", name="Ran: 6 pieces")).to_be_visible()
    person.get_by_text(f"Revision {at + 1}", exact=True).click()
    changed = person.get_by_role("table", name=f"What revision {at + 1} changed")
    expect(changed.get_by_role("row", name=re.compile(r"note2\.txt"))).to_contain_text("1 byte")
    person.reload()  # every part of the page now speaks of the revision that somebody else made
    person.get_by_role("textbox", name="Leave a remark").fill("the stop leaves a mark")
    person.get_by_role("button", name="Leave it").click()
    expect(person.get_by_role("listitem").filter(has_text="the stop leaves a mark")).to_be_visible()


def test_people_sign_in_and_out(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> None:
    place = tmp_path_factory.mktemp("accounts") / "record"
    with open_record(place) as record:
        add_person(record, "Lea", role=Role.ADMINISTRATOR, secret=hashed("two parallels and a stop", name="Lea"))
    with serving(place, "--accounts") as server:
        page = browser.new_context(base_url=server.url).new_page()
        page.set_default_timeout(LONG_MS)
        page.goto("/shop")
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        page.get_by_role("textbox", name="Name").fill("Lea")
        page.get_by_label("Password").fill("wrong")
        page.get_by_label("Password").press("Enter")
        expect(page.get_by_role("alert")).to_contain_text("name or password is wrong")
        page.get_by_label("Password").fill("two parallels and a stop")
        page.get_by_role("button", name="Sign in").click()
        expect(page).to_have_url(re.compile("/shop$"))
        page.goto("/people")
        expect(page.get_by_role("rowheader", name="Lea")).to_be_visible()
        page.get_by_role("textbox", name="Name").fill("Ada")
        page.get_by_label("First password").fill("a chip under the blank")
        page.get_by_role("radio", name="Viewer").press("Space")
        page.get_by_role("button", name="Add", exact=True).click()
        expect(page.get_by_role("combobox", name="What Ada may do")).to_have_value("viewer")
        expect(page.get_by_role("row", name=re.compile("Person added.*Ada"))).to_be_visible()
        assert barriers(page) == []
        page.goto("/sign-in")
        page.get_by_role("button", name="Sign out").click()
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        page.goto("/people")
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        page.context.close()
