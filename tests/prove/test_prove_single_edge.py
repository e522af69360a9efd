"""A boring bar that stands: its bar and its one edge, in bores of which every clearance is a difference of two radii.

The bar sets Ø20 with a body of Ø16: while the edge points to -X and the bar is moved by q to +X, the edge leaves the wall by q and
the body comes to the other side when q is 10 - 8 = 2 mm. Beyond that it is q - 2 mm deep in the wall.
"""

import pytest

from setwright.model.finding import Finding, Signal
from setwright.prove.station import Proof
from setwright.prove.verdict import verdict
from tests.jobfolder.test_jobfolder_load import MACHINE
from tests.prove.conftest import JOB, Proving, said

BAR = '''name = "bar 20"
kind = "boring bar"
diameter = 20
flute_length = 4
holder = [{ diameter = 50, length = 60 }]
'''
BODY = "body_diameter = 16\n"
JOB_WITH_BAR = JOB.replace(" }]", " }, { station = 2, use = \"ball10\", stickout = 70 }]")
PITCHES = (0.1, 0.5, 1.0)
BORED = "G0 X50. Y25.\nT2 M6\nS1000 M3\nG0 G43 H2 Z50.\nG98 G76 X50. Y25. Z-12. R2. F80. {shift}\nG80"
"""Bored into the full, by rights no way to bore: line 11 holds the cycle."""


def behaving(**behaviours: str) -> dict[str, bytes]:
    """The machine's file with behaviours of its control."""
    stated = ", ".join(f'{name} = "{value}"' for name, value in behaviours.items())
    return {"shop/machines/mill.toml": f"{MACHINE}control = {{ behaviours = {{ {stated} }} }}\n".encode()}


def told(proof: Proof) -> list[Finding]:
    """What meets metal that must not."""
    slugs = ("rapid-into-material", "body-into-material", "contact-within-uncertainty")
    return [one for slug in slugs for one in said(proof, slug)]


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("shift", ["Q0.5", "Q1.9", "I0.5 J0."])
def test_a_shift_away_from_the_wall_within_the_room_behind_the_bar_is_no_contact(
    proving: Proving, shift: str, pitch: float
) -> None:
    proof = proving(BORED.format(shift=shift), balls=BAR + BODY, job=JOB_WITH_BAR, pitch_mm=pitch,
                    files=behaving(bore_shift="+X", edge_at_stop="-X"))  # fmt: skip
    assert [one.text for one in told(proof)] == []


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("q", [2.5, 3.0])
def test_a_shift_larger_than_the_room_behind_the_bar_drives_its_back_into_the_wall(
    proving: Proving, q: float, pitch: float
) -> None:
    proof = proving(BORED.format(shift=f"Q{q}"), balls=BAR + BODY, job=JOB_WITH_BAR, pitch_mm=pitch,
                    files=behaving(bore_shift="+X", edge_at_stop="-X"))  # fmt: skip
    found = {one.slug: one for one in told(proof)}
    assert {one.signal for one in found.values()} == {Signal.DANGER}
    assert found["rapid-into-material"].line == 11
    assert "stands oriented" in found["rapid-into-material"].text
    assert found["rapid-into-material"].value == pytest.approx(q - 2.0, abs=0.05 + pitch**2 / 16 + 1e-3)


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize("stated", ["machine", "tool"])
def test_an_edge_moved_the_way_it_points_is_danger(proving: Proving, stated: str, pitch: float) -> None:
    """The edge goes q = 0.5 mm into the wall it has just bored."""
    edge = {"edge_at_stop": "+X"} if stated == "machine" else {"edge_at_stop": "-X"}
    bar = BAR + BODY + ("" if stated == "machine" else 'edge_angle = "0 deg"\n')
    proof = proving(BORED.format(shift="Q0.5"), balls=bar, job=JOB_WITH_BAR, pitch_mm=pitch,
                    files=behaving(bore_shift="+X", **edge))  # fmt: skip
    finding, = told(proof)
    assert (finding.slug, finding.signal, finding.line) == ("rapid-into-material", Signal.DANGER, 11)
    assert finding.value == pytest.approx(0.5, abs=0.05 + 1e-3)
    assert "edge points" in finding.remedy


@pytest.mark.parametrize("pitch", PITCHES)
def test_an_edge_of_which_nobody_says_where_it_points_is_a_doubt(proving: Proving, pitch: float) -> None:
    proof = proving(BORED.format(shift="Q0.5"), balls=BAR + BODY, job=JOB_WITH_BAR, pitch_mm=pitch)
    finding, = told(proof)
    assert (finding.slug, finding.signal, finding.line) == ("rapid-into-material", Signal.WARNING, 11)
    assert "if its edge points the way it is moved" in finding.text
    assert "edge_angle" in finding.remedy


def test_a_direction_the_control_is_only_taken_to_shift_is_a_doubt(proving: Proving) -> None:
    """Without bore_shift in the machine's file Q is taken towards +X, where this edge points."""
    bar = BAR + BODY + 'edge_angle = "0 deg"\n'
    by_q, = told(proving(BORED.format(shift="Q0.5"), balls=bar, job=JOB_WITH_BAR))
    assert by_q.signal == Signal.WARNING
    assert "towards +X" in by_q.text
    by_words, = told(proving(BORED.format(shift="I0.5 J0."), balls=bar, job=JOB_WITH_BAR))
    assert by_words.signal == Signal.DANGER


@pytest.mark.parametrize(("q", "meets"), [(0.9, False), (1.2, True)])
def test_a_body_nobody_has_measured_is_taken_as_nine_tenths(proving: Proving, q: float, meets: bool) -> None:
    """Ø18 in Ø20 leaves 1 mm."""
    stated = behaving(bore_shift="+X", edge_at_stop="-X")
    found = told(proving(BORED.format(shift=f"Q{q}"), balls=BAR, job=JOB_WITH_BAR, files=stated))
    assert [one.signal for one in found] == [Signal.WARNING] * len(found)
    assert bool(found) is meets
    assert all("body_diameter" in one.text for one in found)


HOLE = ("G0 X50. Y25.\nZ5.\nG1 Z-21. F300.\nX53.5\nG3 I-3.5\nG1 X50.\nG0 Z50.\nT2 M6\nS1000 M3\nG0 G43 H2 Z50.\n"
        "G98 G87 X50. Y25. R-25. Z-15. F40. {shift}\nG80")  # fmt: skip
"""A hole of Ø17 right through, and G87 in line 17 that bores Ø20 from below, up to Z-11."""


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize(("q", "deep"), [(2.0, 0.0), (1.0, 0.5), (3.0, 0.5)])
def test_boring_from_below_goes_in_beside_the_axis(proving: Proving, q: float, deep: float, pitch: float) -> None:
    """A body of Ø12: with q = 2 the edge is 10 - 2 = 8 off the axis and the back 6 + 2 = 8, in a hole of radius 8.5; with 1 the
    edge is 0.5 too far out, with 3 the back."""
    proof = proving(HOLE.format(shift=f"Q{q}"), balls=BAR + "body_diameter = 12\n", job=JOB_WITH_BAR, pitch_mm=pitch,
                    files=behaving(bore_shift="-Y", edge_at_stop="+Y"))  # fmt: skip
    found = told(proof)
    assert bool(found) is bool(deep)
    assert {one.signal for one in found} == ({Signal.DANGER} if deep else set())
    assert all(one.line == 17 for one in found)
    if deep:
        assert next(one.value for one in found) == pytest.approx(deep, abs=0.05 + pitch**2 / 16 + 1e-3)


@pytest.mark.parametrize(("way", "signals"), [("-X", []), ("+X", [Signal.DANGER])])
def test_an_oriented_stop_written_out_is_the_same(proving: Proving, way: str, signals: list[Signal]) -> None:
    """M19 at the bottom, 0.5 mm off the wall, and up."""
    x = 49.5 if way == "-X" else 50.5
    moves = f"G0 X50. Y25.\nT2 M6\nS1000 M3\nG0 G43 H2 Z50.\nZ2.\nG1 Z-12. F80.\nM19\nG0 X{x}\nZ50."
    bar = BAR + BODY + 'edge_angle = "0 deg"\n'
    found = told(proving(moves, balls=bar, job=JOB_WITH_BAR))
    assert [one.signal for one in found] == signals
    stopped = told(proving(moves.replace("M19", "M5"), balls=bar, job=JOB_WITH_BAR))
    assert stopped  # nobody knows where the edge came to stand


@pytest.mark.parametrize("pitch", PITCHES)
@pytest.mark.parametrize(("degrees", "way"), [(0, "+X"), (90, "+Y"), (180, "-X"), (270, "-Y")])
def test_a_direction_that_nothing_states_is_followed_wherever_the_edge_points(
    proving: Proving, degrees: int, way: str, pitch: float
) -> None:
    """Q0.5 towards the edge drives it 0.5 into the wall. A ray that passes half a pitch beside the deepest place sees less: by that
    squared over twice the edge's circle of 5, and the wall of 10 curves the same way."""
    bar = BAR + BODY + f'edge_angle = "{degrees} deg"\n'
    proof = proving(BORED.format(shift="Q0.5"), balls=bar, job=JOB_WITH_BAR, pitch_mm=pitch)
    finding, = told(proof)
    assert (finding.slug, finding.signal, finding.line) == ("rapid-into-material", Signal.WARNING, 11)
    assert f"towards {way} (nothing states it)" in finding.text
    assert finding.value is not None
    # where the overlap is not thicker than the rays are apart, it may be grazed only: what is told is a lower bound
    assert (0.0 if pitch > 0.5 else 0.5 - (0.502 * pitch) ** 2 * (1 / 10 - 1 / 20) - 1e-4) < finding.value <= 0.5 + 1e-4
    assert "which way the control moves a stopped boring bar (not stated)" in [one.text for one in verdict(proof).open]


@pytest.mark.parametrize("shift", ["I0.5 J0.", "Q0.5"])
def test_a_direction_that_is_stated_is_the_only_one(proving: Proving, shift: str) -> None:
    bar = BAR + BODY + 'edge_angle = "180 deg"\n'
    stated = behaving(bore_shift="+X") if shift[0] == "Q" else {}
    proof = proving(BORED.format(shift=shift), balls=bar, job=JOB_WITH_BAR, files=stated)
    assert told(proof) == []
    assert not [one.text for one in verdict(proof).open if "boring bar" in one.text or "edge of" in one.text]


def test_the_bars_back_is_followed_in_every_direction_that_nothing_contradicts(proving: Proving) -> None:
    """A slot 26 wide along X from the hole's axis on leaves room to +X only. The bar of 16 in a hole of 20 has 2 to every other
    side: with Q3 it is 1 deep in the wall there."""
    slot = "G0 X50. Y25.\nZ2.\nG1 Z-13. F300.\nX58.\nX54.\nY33.\nX66.\nY17.\nX54.\nY25.\nX50.\nG0 Z50.\n"
    moves = slot + BORED.format(shift="Q3.").partition("\n")[2]
    bar = BAR + BODY + 'edge_angle = "180 deg"\n'
    stated = told(proving(moves, balls=bar, job=JOB_WITH_BAR, files=behaving(bore_shift="+X")))
    assert [one.signal for one in stated if one.slug == "rapid-into-material"] == []
    found = told(proving(moves, balls=bar, job=JOB_WITH_BAR))
    assert {one.signal for one in found} == {Signal.WARNING}
    assert all("(nothing states it)" in one.text for one in found)


def test_an_edge_that_may_point_anywhere_is_named_as_open(proving: Proving) -> None:
    moves = "G0 X50. Y25.\nT2 M6\nS1000 M3\nG0 G43 H2 Z50.\nZ2.\nG1 Z-12. F80.\nM19\nG0 {}\nZ50."
    text = "where the edge of T2 points while it stands (not stated)"
    proof = proving(moves.format("X49.5"), balls=BAR + BODY, job=JOB_WITH_BAR)
    assert text in [one.text for one in verdict(proof).open]
    straight = proving(moves.format("Z-11."), balls=BAR + BODY, job=JOB_WITH_BAR)
    assert text not in [one.text for one in verdict(straight).open]
