"""What stands on the sheet comes from proof and readings, in the unit the job speaks."""

from pathlib import Path

import pytest

import setwright.demo
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.prove.station import prove
from setwright.sheet.fill import content_of, dimensions_of
from setwright.touch.station import touch


@pytest.fixture(scope="module")
def pintle():
    loaded = load_job(Path(setwright.demo.__file__).parent / "pintle")
    together = kit(loaded, loaded.job.setup[0])
    touched = touch(together)
    return prove(together, touched.truth()), touched


def test_what_the_display_showed_is_told_in_the_unit_of_the_sheet(pintle) -> None:
    inch, metric = (content_of(*pintle, units=unit).contacts for unit in ("in", "mm"))
    read = pintle[0].kit.folder.job.readings.contact[0]
    axis = next(name for name in "xyz" if getattr(read.display, name) is not None)
    value = getattr(read.display, axis)
    minus = "\u2212" if value < 0 else ""
    assert inch[0].display.startswith(f"{axis.upper()} {minus}{abs(value) / 25.4:.4f}".rstrip("0").rstrip("."))
    assert metric[0].display.startswith(f"{axis.upper()} {minus}{abs(value):.3f}".rstrip("0").rstrip("."))


def test_a_tool_that_came_down_on_a_setter_is_named(pintle) -> None:
    contacts = content_of(*pintle, units="in").contacts
    read = pintle[0].kit.folder.job.readings.contact
    named = [one.on for one, wrote in zip(contacts, read, strict=True) if wrote.tool is not None]
    assert named
    assert all(" · T" in on for on in named)


def test_where_the_holding_stands_carries_its_unit(pintle) -> None:
    (placement,) = content_of(*pintle, units="in").placement
    assert " in, Y " in placement
    assert "spacers" in placement or "parallels" not in placement


def test_the_table_of_tools_shows_their_whole_diameters(pintle) -> None:
    stated = {one.station: pintle[0].kit.folder.job.shop.tools[one.use].diameter for one in pintle[0].kit.setup.tool}
    shown = {one.station: one.diameter for one in content_of(*pintle, units="mm").tools}
    assert shown == pytest.approx(stated, abs=0.05), "a measured tool is not quite what is written on it"


def test_what_stands_in_the_jaws_is_their_height_less_the_parallels() -> None:
    """Jaws 40 mm high: on parallels of 22 mm they hold 18 mm of the blank, on parallels of 14 mm 26 mm."""
    loaded = load_job(Path(setwright.demo.__file__).parent / "bearing-cap")
    for setup, held in zip(loaded.job.setup, (18.0, 26.0), strict=True):
        (jaws,) = (one for one in dimensions_of(kit(loaded, setup)) if one.note == "in the jaws")
        assert jaws.high - jaws.low == pytest.approx(held)
