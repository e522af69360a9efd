"""Decisions of ISO 14253-1 against cases reckoned by hand."""

import pytest

from setwright.model.fits import named_limits
from setwright.model.requirement import Size
from setwright.piece.decision import decide
from setwright.piece.influence import Influence
from setwright.piece.station import advise_piece
from tests.piece.conftest import measured


@pytest.mark.parametrize(
    ("value", "wanted"),
    [(25.003, "undecided"), (25.010, "accept"), (25.018, "undecided"), (25.024, "undecided"), (25.026, "reject"),
     (24.995, "reject"), (24.997, "undecided"), (25.004, "accept"), (25.017, "accept")],
)  # fmt: skip
def test_a_bore_of_25_h7_with_a_gauge_good_to_four_micrometres(value: float, wanted: str) -> None:
    fit = named_limits("H7", 25.0)
    assert decide(value, Size(25.0, fit.lower, fit.upper), 0.004) == wanted


def test_the_guard_of_95_percent_accepts_what_the_whole_of_u_leaves_open() -> None:
    size = Size(25.0, 0.0, 0.021)
    assert decide(25.0175, size, 0.004) == "undecided"
    assert decide(25.0175, size, 0.004, guard=1.645) == "accept"


@pytest.mark.parametrize(("value", "wanted"), [(123.53, "accept"), (124.47, "accept"), (124.48, "undecided"), (124.54, "reject")])
def test_a_sawn_length_by_calliper(value: float, wanted: str) -> None:
    assert decide(value, Size(124.0, -0.5, 0.5), 0.03) == wanted


def test_what_cannot_be_less_than_nothing_has_one_limit() -> None:
    zone = Size(0.0, 0.0, 0.05)
    assert [decide(value, zone, 0.01) for value in (0.0, 0.04, 0.045, 0.061)] == ["accept", "accept", "undecided", "reject"]
    assert decide(3.0, Size(3.0, 0.0, 0.0), 0.01) == "no limits"


@pytest.mark.parametrize(("value", "limits"), [(32.080, "is out of limits, and nothing to type brings that back"), (32.020, "")])
def test_no_headline_passes_over_what_is_out_of_limits(cap: Influence, value: float, limits: str) -> None:
    """The boring bar's diameter is in no register: 32.080 where 32.000 to 32.039 is wanted is left alone, and said first."""
    found = advise_piece(cap, measured(cap, [("1", "shaft bore diameter", value, "bore-micrometer")]))
    assert found.advice == "leave"
    assert found.why.startswith(f"“shaft bore diameter” {limits}") == bool(limits)
    assert "proved good" in found.why or limits


def test_a_change_does_not_hide_what_it_does_not_mend(cap: Influence) -> None:
    found = advise_piece(cap, measured(cap, [("1", "depth of seat", 12.560, "depth-micrometer"),
                                             ("1", "shaft bore diameter", 32.080, "bore-micrometer")]))  # fmt: skip
    assert found.advice == "correct"
    assert found.why.endswith("; “shaft bore diameter” is out of limits, and nothing to type brings that back")
