"""The metal at a moment and the maker of a place, against what a short program leaves no doubt about."""

import pytest

from setwright.base.errors import InputRefused
from setwright.kit.registers import nominal_truth
from setwright.prove.moment import made_by, moment_before
from setwright.prove.station import prove
from tests.prove.test_prove_again import LINES, plate  # noqa: F401


@pytest.fixture
def proof(plate):  # noqa: F811
    together = plate()
    return prove(together, nominal_truth(together), pitch_mm=0.5, bench=True)


def line_of(text):
    return LINES.index(text) + 4  # after %, O1 and the first line of codes


def test_before_the_first_cut_the_blank_is_whole(proof):
    moment = moment_before(proof, ("plate.nc", line_of("G1 X110. F500.")))
    assert moment.rest.value == pytest.approx(100 * 50 * 20, rel=1e-12)
    assert moment.above_mm is None  # beside the blank
    slot = 100 * 10 * 2
    assert moment.removes == pytest.approx(slot, rel=0.03)


def test_a_slot_stands_in_the_metal_before_the_next_line(proof):
    moment = moment_before(proof, ("plate.nc", line_of("G1 X-10.")))
    assert moment.rest.value == pytest.approx(100 * 50 * 20 - 100 * 10 * 2, rel=0.003)
    plunge = moment_before(proof, ("plate.nc", line_of("G1 Z-3. F100.")))
    assert plunge.above_mm == pytest.approx(5.0, abs=1e-9)
    after = moment_before(proof, ("plate.nc", line_of("G2 X50. Y25. I8. J0. F300.")))
    assert after.above_mm == pytest.approx(0.0, abs=1e-9)


def test_a_place_of_the_surface_knows_its_line(proof):
    floor = made_by(proof, proof.after, (40.3, 10.2, -2.0))
    assert (floor.file, floor.line) == ("plate.nc", line_of("G1 X110. F500."))
    assert floor.at[2] == pytest.approx(-2.0, abs=1e-9)
    assert floor.away_mm < 0.5
    skin = made_by(proof, proof.after, (20.0, 25.0, 0.0))
    assert (skin.row, skin.file, skin.line) == (-1, "", 0)
    early = made_by(proof, moment_before(proof, ("plate.nc", 1)).metal, (40.3, 10.2, -2.0))
    assert early.row == -1


def test_no_motion_after_the_line_is_refused(proof):
    with pytest.raises(InputRefused, match=r"nothing moves in plate\.nc from line 900 on"):
        moment_before(proof, ("plate.nc", 900))
