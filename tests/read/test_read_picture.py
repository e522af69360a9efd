"""The picture of a path: its scale, its kinds of line, its corners."""

import re
from xml.etree import ElementTree

import numpy as np

from setwright.program.profile import Profile
from setwright.read.picture import draw_path
from setwright.read.station import read

PROGRAM = b"""G21 G17 G90 G40 G49 G80 G54
T1 M6
S1000 M3
G0 X0. Y0. Z5.
G1 Z-10. F100.
X40.
G3 X40. Y20. I0. J10.
G1 X0.
G0 Z5.
M30
"""


def drawn() -> ElementTree.Element:
    reading = read({"p.nc": PROGRAM}, profile=Profile(rapid="dog-leg", nested_comments="count", local_calls="M97"))
    return ElementTree.fromstring(draw_path(reading.interpreted.path, title="a <b>"))


def test_feed_is_solid_rapid_is_dotted_in_both_views() -> None:
    paths = [element for element in drawn() if element.tag.endswith("path")]
    assert [element.get("stroke-dasharray") is not None for element in paths] == [True, False, True, False]


def test_one_scale_and_the_arc_bulges_to_its_true_place() -> None:
    feed = [element for element in drawn() if element.tag.endswith("path") and element.get("stroke-dasharray") is None]
    numbers = np.array([float(text) for text in re.findall(r"-?\d+\.\d", feed[0].get("d", ""))]).reshape(-1, 2)
    wide, tall = np.ptp(numbers, axis=0)
    # X 0 to 50 (40 and the arc's radius 10), Y 0 to 20
    assert abs(wide / tall - 50 / 20) < 0.01


def test_corners_are_named_with_their_unit() -> None:
    texts = [element.text for element in drawn() if element.tag.endswith("text")]
    assert "X 0" in texts
    assert "50 mm" in texts
    assert "Z -10" in texts
