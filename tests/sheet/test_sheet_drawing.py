"""The drawing, measured: what is a millimetre on the part is scale × a millimetre on paper, in both views."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.sheet.content import Axis, Body, BodyKind, Contact, Dimension, SheetContent, box
from setwright.sheet.drawing import Drawing, draw_setup
from tests.sheet.sample import SAMPLE

SVG = "{http://www.w3.org/2000/svg}"
ROOM = {"width": 112.0, "height": 162.0}
Spot = tuple[float, float]


def shapes(drawing: Drawing, name: str) -> list[list[Spot]]:
    """The outlines of one class, in drawing order."""
    found = [e for e in ET.fromstring(drawing.svg).iter(f"{SVG}polygon") if e.get("class") == name]
    return [[tuple(float(n) for n in pair.split(",")) for pair in e.get("points", "").split()] for e in found]  # type: ignore[misc]


def discs(drawing: Drawing, name: str) -> list[Spot]:
    found = [e for e in ET.fromstring(drawing.svg).iter(f"{SVG}circle") if e.get("class") == name]
    return [(float(e.get("cx", "")), float(e.get("cy", ""))) for e in found]


def sides(outline: list[Spot]) -> tuple[float, float, float, float]:
    return min(x for x, _ in outline), min(y for _, y in outline), max(x for x, _ in outline), max(y for _, y in outline)


def test_blank_is_drawn_to_scale_and_the_views_stand_under_each_other() -> None:
    drawing = draw_setup(SAMPLE, **ROOM)
    above, front = (sides(outline) for outline in shapes(drawing, "blank"))
    assert drawing.scale == 1 / 2
    assert (above[2] - above[0], above[3] - above[1]) == pytest.approx((62.0, 42.0), abs=2e-4)
    assert (front[2] - front[0], front[3] - front[1]) == pytest.approx((62.0, 16.0), abs=2e-4)
    assert (front[0], front[2]) == pytest.approx((above[0], above[2]), abs=2e-4)
    assert front[1] > above[3]


def test_zero_lies_where_the_program_has_it() -> None:
    drawing = draw_setup(replace(SAMPLE, datum=(-62.0, 42.0, 1.0)), **ROOM)
    above, front = (sides(outline) for outline in shapes(drawing, "blank"))
    in_top, in_front = discs(drawing, "datum")
    assert in_top == pytest.approx((above[0], above[1]), abs=2e-4)
    assert in_front == pytest.approx((front[0], front[1]), abs=2e-4)


@pytest.mark.parametrize(("units", "bar"), [("mm", 50.0), ("inch", 2 * 25.4)])
def test_scale_bar_is_as_long_as_it_says(units: str, bar: float) -> None:
    drawing = draw_setup(replace(SAMPLE, units=units), **ROOM)
    halves = [sides(outline) for outline in shapes(drawing, "scale-bar")]
    assert halves[1][2] - halves[0][0] == pytest.approx(bar * drawing.scale, abs=2e-4)
    assert f"{bar / (25.4 if units == 'inch' else 1):g} {'in' if units == 'inch' else 'mm'}" in drawing.svg


def test_nearer_bodies_are_drawn_over_farther_ones() -> None:
    """The three are 20, 40 and 60 wide, so that a view's drawing order can be read off the widths."""
    boxes = {
        "near": Body(BodyKind.JAW, "", box((0.0, -50.0, 5.0), (20.0, -40.0, 15.0))),
        "far": Body(BodyKind.JAW, "", box((0.0, 40.0, 0.0), (40.0, 50.0, 20.0))),
        "under": Body(BodyKind.JAW, "", box((0.0, -5.0, -9.0), (60.0, 5.0, 1.0))),
    }
    drawing = draw_setup(SheetContent(title="t", setup="s", bodies=tuple(boxes.values())), **ROOM)
    wide = [round((sides(outline)[2] - sides(outline)[0]) / drawing.scale) for outline in shapes(drawing, "jaw")]
    assert wide == [60, 20, 40, 40, 60, 20], "from above by height, then from the front by nearness"


def test_every_contact_is_numbered_once_in_each_view_that_shows_it() -> None:
    numbers = re.findall(r"<text[^>]*>(\d)</text>", draw_setup(replace(SAMPLE, dimensions=()), **ROOM).svg)
    shown_twice = [1, 2, 7]
    assert sorted(int(n) for n in numbers if n != "0") == sorted([1, 2, 3, 4, 5, 6, 7, *shown_twice])


def test_arrow_ends_where_the_finder_touched() -> None:
    contact = Contact(1, "left", (-62.0, 10.0, -5.0), (2.0, 0.0, 0.0))
    drawing = draw_setup(replace(SAMPLE, contacts=(contact,), dimensions=(), datum=None), **ROOM)
    left, top, _, bottom = sides(shapes(drawing, "blank")[0])
    heads = [outline for outline in shapes(drawing, None) if len(outline) == 3]  # type: ignore[arg-type]
    middle = (top + bottom) / 2
    assert heads[0][0] == pytest.approx((left, middle - 10.0 * drawing.scale), abs=2e-4)
    assert heads[0][1][0] < left


def test_left_out_readings_are_struck_through() -> None:
    kept = draw_setup(replace(SAMPLE, contacts=SAMPLE.contacts[:5]), **ROOM)
    struck = draw_setup(replace(SAMPLE, contacts=(*SAMPLE.contacts[:4], replace(SAMPLE.contacts[4], left_out="burr"))), **ROOM)
    assert struck.svg.count("<line") == kept.svg.count("<line") + 1


def test_bed_and_table_are_cut_at_the_edge_and_do_not_shrink_the_rest() -> None:
    smaller = tuple(body for body in SAMPLE.bodies if body.kind not in (BodyKind.FIXTURE, BodyKind.TABLE))
    without = draw_setup(replace(SAMPLE, bodies=smaller), **ROOM)
    drawing = draw_setup(SAMPLE, **ROOM)
    assert shapes(drawing, "blank") == shapes(without, "blank")
    assert all(e.get("clip-path") for e in ET.fromstring(drawing.svg).iter(f"{SVG}polygon") if e.get("class") == "fixture")


@pytest.mark.parametrize(("low", "high", "words"), [(-42.0, 42.0, "84"), (0.0, 1.5, "1.5")])
@pytest.mark.parametrize("axis", list(Axis))
def test_dimensions_say_the_length(axis: Axis, low: float, high: float, words: str) -> None:
    drawing = draw_setup(replace(SAMPLE, dimensions=(Dimension(axis, low, high, "deep"),)), **ROOM)
    assert f">{words} deep</text>" in drawing.svg


def test_nothing_known_is_said_and_not_drawn() -> None:
    drawing = draw_setup(SheetContent(title="t", setup="s"), **ROOM)
    assert "Nothing is known yet" in drawing.svg
    assert "<polygon" not in drawing.svg


SIZE = st.floats(0.5, 1500.0)


Point = tuple[float, float, float]


@given(SIZE, SIZE, SIZE, st.lists(st.tuples(*[st.floats(-1.0, 1.0)] * 3), max_size=8), st.integers(0, 3))
def test_any_blank_fits_at_the_largest_scale(x: float, y: float, z: float, spots: list[Point], tiers: int) -> None:
    contacts = tuple(Contact(n + 1, "top", (u * x, v * y, w * z), (u, v, w)) for n, (u, v, w) in enumerate(spots))
    dimensions = tuple(Dimension(Axis.Y, 0.0, y) for _ in range(tiers))
    content = SheetContent(title="t", setup="s", bodies=(Body(BodyKind.BLANK, "blank", box((-x, -y, -z), (x, y, z))),),
                           contacts=contacts, dimensions=dimensions)  # fmt: skip
    drawing = draw_setup(content, **ROOM)
    assert drawing.height <= ROOM["height"] or drawing.scale == 1 / 100
    above, front = (sides(outline) for outline in shapes(drawing, "blank"))
    assert above[0] >= 0.0
    assert above[1] >= 0.0
    assert above[2] <= drawing.width or drawing.scale == 1 / 100
    assert front[3] <= drawing.height
    assert front[1] > above[3]
    assert above[2] - above[0] == pytest.approx(2 * x * drawing.scale, abs=2e-4)
    bigger = {5.0: math.inf, 2.0: 5.0, 1.0: 2.0}.get(drawing.scale, 1.0)
    assert 2 * x * bigger > 60.0 or 2 * (y + z) * bigger > 60.0, "a larger scale would have fitted"


def words_at(drawing: Drawing) -> list[tuple[str, float, float, float]]:
    """Every name on the drawing, with its middle and its size."""
    texts = ET.fromstring(drawing.svg).iter(f"{SVG}text")
    found = [e for e in texts if e.get("font-weight") == "normal" and not e.get("transform")]
    return [(e.text or "", float(e.get("x", "")), float(e.get("y", "")), float(e.get("font-size", ""))) for e in found]


def test_names_never_stand_over_each_other_however_many_there_are() -> None:
    crowd = tuple(Body(BodyKind.CLAMP, f"clamp, place {n}", box((9.0 * n, 0.0, 0.0), (9.0 * n + 6.0, 8.0, 9.0))) for n in range(12))
    drawing = draw_setup(SheetContent(title="t", setup="s", bodies=crowd, datum=None), **ROOM)
    placed = [(x, y, size) for words, x, y, size in words_at(drawing) if words == "clamp"]
    assert 2 <= len(placed) <= 12
    for i, (x, y, size) in enumerate(placed):
        for other_x, other_y, _ in placed[:i]:
            assert abs(x - other_x) >= 0.5 * size * len("clamp") or abs(y - other_y) >= size


def test_a_member_of_a_family_bears_its_word_and_a_single_one_its_name() -> None:
    pair = (Body(BodyKind.STOP, "stop, left", box((-9.0, 0.0, 0.0), (0.0, 9.0, 9.0))),
            Body(BodyKind.STOP, "stop, right", box((90.0, 0.0, 0.0), (99.0, 9.0, 9.0))))  # fmt: skip
    single = Body(BodyKind.CLAMP, "clamp, middle", box((40.0, 30.0, 0.0), (50.0, 39.0, 9.0)))
    drawing = draw_setup(SheetContent(title="t", setup="s", bodies=(*pair, single), datum=None), **ROOM)
    names = sorted(words for words, *_ in words_at(drawing) if words.startswith(("stop", "clamp")))
    assert names == ["clamp, middle", "stop", "stop"]


def test_a_table_out_of_the_picture_is_not_named() -> None:
    names = [words for words, *_ in words_at(draw_setup(SAMPLE, **ROOM))]
    assert "table" not in names
    assert "blank" in names


def test_numbers_of_contacts_do_not_cover_each_other() -> None:
    spots = [Contact(n, "top", (3.0 * (n % 3), 3.0 * (n // 3), 1.0), (0.0, 0.0, -1.0)) for n in range(1, 9)]
    drawing = draw_setup(replace(SAMPLE, contacts=tuple(spots)), **ROOM)
    middles = discs(drawing, "contact")[:8]
    apart = [math.dist(a, b) for i, a in enumerate(middles) for b in middles[:i]]
    assert len(middles) == 8
    assert min(apart) >= 4.39
