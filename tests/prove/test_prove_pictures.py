"""Drawings of findings on a plate 100 x 50 x 20 with its top at Z0, an end mill 10 sticking out 40."""

import xml.etree.ElementTree as ET

import numpy as np
import pytest

from setwright.prove.pictures import picture_of, pictures_of
from setwright.prove.section import place_of, section_of
from tests.prove.conftest import JOB, JOB_IN_INCHES, Proving, said

RAPID = "G0 X-10. Y25.\nZ-4.\nG1 X30. F300.\nG0 X60."


def test_a_rapid_in_metal_is_shown_as_the_metal_stood(proving: Proving) -> None:
    """The slot as far as it is cut, at X35, the tool in it, and metal in front of the tool that later motions take."""
    proof = proving(RAPID + "\nG1 X110.\nG0 Z5.\nX-10.\nZ-4.\nG1 X110.")
    finding, = said(proof, "rapid-into-material")
    at = place_of(proof, finding)
    section = section_of(proof, finding)
    assert at is not None
    assert section is not None
    assert section.at == at
    assert (section.axis, section.level) == (1, 0)
    tops = {round(float(strip.points[0, 0] + 0.5), 2): float(strip.points[:, 1].max()) for strip in section.metal}
    edge = 30.0 + float(np.sqrt(25.0 - (at[1] - 25.0) ** 2))  # of the slot, in the plane of the section
    assert all(abs(top + 4.0) < 1e-9 for x, top in tops.items() if x < edge - 1.2)
    assert all(abs(top) < 1e-9 for x, top in tops.items() if x > edge + 1.2)
    assert any(x > edge + 1.2 for x in tops)
    cutter, = (outline for outline in section.tool if outline.what == "cutter")
    assert np.ptp(cutter.points[:, 0]) == pytest.approx(2 * np.sqrt(25 - (at[1] - 25) ** 2), abs=1e-9)
    assert float(cutter.points[:, 1].min()) == pytest.approx(-4.0, abs=1e-9)
    assert {outline.what for outline in section.tool} == {"cutter", "shank", "holder", "spindle nose"}


def test_the_holding_is_cut_where_it_stands(proving: Proving) -> None:
    proof = proving("G0 X-10. Y60.\nZ-12.\nG1 X110. F300.")
    finding = next(finding for finding in said(proof, "tool-into-holding") if finding.body == "fixed jaw")
    section = section_of(proof, finding)
    assert section is not None
    jaw, = (outline for outline in section.bodies if outline.what == "fixed jaw")
    assert float(jaw.points[:, 1].max()) == pytest.approx(-10.0, abs=1e-9)
    assert not section.metal or section.axis == 0


def test_the_drawing_is_well_formed_and_says_what_it_shows(proving: Proving) -> None:
    proof = proving(RAPID, job=JOB.replace('title = "Plate"', 'title = "A & B <plate>"').replace("first side", "A & B <1>"))
    finding, = said(proof, "rapid-into-material")
    picture = picture_of(proof, finding)
    assert picture is not None
    texts = [text.text or "" for text in ET.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")]
    assert "rapid into material, plate.nc:10" in texts[0]
    assert {"metal", "cutter"} <= set(texts)
    assert any(text.startswith("section at Y") and "A & B <1>" in text for text in texts)
    assert any(text.startswith("section at Y") and " mm, seen" in text for text in texts)
    assert "5 mm" in texts
    assert "way of the tip" in texts


def test_a_job_in_inches_is_drawn_in_inches(proving: Proving) -> None:
    """The tool runs along Y25.4, one inch; the square shown is 25 mm or 0.98 inches wide, and the bar a third of it at most."""
    proof = proving(RAPID.replace("Y25.", "Y25.4"), job=JOB_IN_INCHES)
    finding, = said(proof, "rapid-into-material")
    picture, at = picture_of(proof, finding), place_of(proof, finding)
    assert picture is not None
    assert at is not None
    texts = [text.text or "" for text in ET.fromstring(picture).iter("{http://www.w3.org/2000/svg}text")]
    assert f"section at Y{at[1] / 25.4:.4f} in, seen from the front, setup first side" in texts
    assert "0.2 in" in texts


def test_a_point_is_drawn_to_its_end(proving: Proving) -> None:
    """A drill of 118 degrees comes down at rapid on X50.3 Y25.2; the plane lies less than a ray spacing beside its axis."""
    drill = 'name = "drill 10"\nkind = "drill"\ndiameter = 10\nflute_length = 22\nlength = 72\n'
    drill += "holder = [{ diameter = 32, length = 60 }]\n"
    proof = proving("G0 X50.3 Y25.2\nZ-6.", job=JOB.replace("em10", "ball10"), balls=drill)
    finding, = said(proof, "rapid-into-material")
    section = section_of(proof, finding)
    assert section is not None
    aside = abs(section.at[section.axis] - (50.3, 25.2)[section.axis])
    lowest = min(float(outline.points[:, 1].min()) for outline in section.tool)
    assert lowest == pytest.approx(-6.0 + aside / np.tan(np.radians(59)), abs=0.01)


def test_what_has_no_place_has_no_drawing(proving: Proving) -> None:
    proof = proving("G0 X-10. Y25.\nZ-4.\nG1 X110. F300.\nG0 Z50.\nX900.")
    beyond = said(proof, "overtravel")
    assert beyond
    assert all(picture_of(proof, finding) is None for finding in beyond)


def test_thin_walls_are_shown_on_the_finished_part(proving: Proving) -> None:
    job = JOB.replace("datum =", "at_least = { wall = 1 }\ndatum =")
    proof = proving("G0 X-10. Y15.\nZ-6.\nG1 X110. F300.\nG0 Z5.\nX-10. Y25.75\nZ-6.\nG1 X110.", job=job)
    drawn = {finding.slug: picture for finding, picture in pictures_of(proof)}
    assert "thinner-than-asked" in drawn
    assert "metal" in drawn["thinner-than-asked"]
