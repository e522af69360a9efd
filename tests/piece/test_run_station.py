"""Run on made series: wear, typing, gaps, order, shifts, capability, pallets; each judged by hand or by a plain reckoning."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.model.measurement import ToolChange
from setwright.piece.influence import Influence
from setwright.run.station import RunResult, Series, run
from setwright.run.words import job_plain
from tests.piece.conftest import measured

BORE, DEPTH = "bore-micrometer", "depth-micrometer"


def seat(values: dict[int, float]) -> list[tuple[str, str, float, str]]:
    return [(str(piece), "seat diameter", value, BORE) for piece, value in values.items()]


def only(result: RunResult, feature: str = "seat diameter") -> Series:
    return next(one for one in result.series if one.feature == feature)


def test_a_worn_cutter_is_seen_with_its_pace_and_the_pieces_left(cap: Influence) -> None:
    """The seat grows smaller by 2 um a piece towards 52.000: after 6 pieces it stands at 52.005."""
    result = run(cap, measured(cap, seat({piece: 52.017 - 0.002 * piece for piece in range(1, 7)})))
    (tool,), one = result.tools, only(result)
    assert (tool.station, tool.feature) == (2, "seat diameter")
    assert tool.per_piece == pytest.approx(-0.002, abs=0.0006)
    assert tool.wear == pytest.approx(-0.010, abs=0.002)
    # plain reckoning of the same forecast, piece by piece
    sigma = math.hypot(0.003, 0.003)
    state, p = one.trend.state.copy(), one.trend.covariance.copy()
    chances = [0.0]
    while chances[-1] <= 0.05:
        state = np.array([state[0] + state[1], state[1]])
        cross, slope = p[0, 1] + p[1, 1], p[1, 1] + 0.0004 * sigma**2
        p = np.array([[p[0, 0] + 2 * p[0, 1] + p[1, 1] + 0.04 * sigma**2, cross], [cross, slope]])
        law = stats.norm(state[0], math.sqrt(p[0, 0] + 0.003**2))  # the machine scatters by 0.003 from piece to piece
        chances.append(float(law.cdf(52.000) + law.sf(52.030)))
    assert (tool.left, one.chance) == (len(chances) - 2, pytest.approx(chances[-1], rel=1e-6))
    assert result.next_due.feature == "seat diameter"
    assert result.next_due.pieces == 1
    assert [finding.slug for finding in result.findings if finding.slug == "limit-near"] == ["limit-near"]


def test_what_was_typed_gives_the_pieces_back_and_is_no_trend(cap: Influence) -> None:
    worn = {piece: 52.017 - 0.002 * piece for piece in range(1, 7)}
    before = only(run(cap, measured(cap, seat(worn))))
    # 5 um off the radius register make the bore 10 um larger from piece 7 on, while the cutter wears on
    rows = seat(worn | {7: 52.017 - 0.014 + 0.010})
    after = only(run(cap, measured(cap, rows, [("7", "radius 2", -0.005)])))
    assert after.values[-1] == pytest.approx(52.003, abs=1e-6)
    assert after.typed == pytest.approx(0.010, abs=1e-6)
    assert after.trend.state[1] == pytest.approx(-0.002, abs=0.0006)
    assert before.left is not None
    assert after.left is not None
    # five pieces' worth was given back, one of them is cut
    assert before.left + 2 <= after.left <= before.left + 4


def test_pieces_nobody_measured_count_and_the_order_of_lines_does_not(cap: Influence) -> None:
    rows = seat({1: 52.015, 11: 52.010, 21: 52.005, 31: 52.003})
    ordered, mixed = only(run(cap, measured(cap, rows))), only(run(cap, measured(cap, [rows[i] for i in (2, 0, 3, 1)])))
    assert ordered.numbers == mixed.numbers == (1, 11, 21, 31)
    assert mixed.trend.state == pytest.approx(ordered.trend.state)
    assert ordered.trend.state[1] == pytest.approx(-0.0004, abs=0.0003)
    # what was typed before piece 21 counts from 21 on, wherever its line stands
    typing = [("21", "radius 2", -0.005)]
    late = only(run(cap, measured(cap, [rows[i] for i in (2, 0, 3, 1)], typing)))
    assert late.values == pytest.approx((52.015, 52.010, 51.995, 51.993), abs=1e-6)


def test_a_piece_measured_twice_is_one_piece(cap: Influence) -> None:
    rows = [*seat({1: 52.015}), ("2", "seat diameter", 52.012, BORE), ("2", "seat diameter", 52.016, BORE)]
    assert only(run(cap, measured(cap, rows))).values == pytest.approx((52.015, 52.014))


def test_named_pieces_take_their_turn_and_a_mixture_is_refused(cap: Influence) -> None:
    named = [("A", "seat diameter", 52.015, BORE), ("B", "seat diameter", 52.014, BORE)]
    assert only(run(cap, measured(cap, named))).numbers == (1, 2)
    with pytest.raises(InputRefused, match="number all pieces"):
        run(cap, measured(cap, [*named, ("3", "seat diameter", 52.013, BORE)]))


def test_a_steady_process_in_its_middle_is_measured_at_the_longest_interval(cap: Influence) -> None:
    rng = np.random.default_rng(5)
    rows = [(str(piece), "depth of slot", 5.0 + 0.002 * float(rng.standard_normal()), DEPTH) for piece in range(1, 31)]
    result = run(cap, measured(cap, rows))
    one = only(result, "depth of slot")
    assert result.next_due.pieces > 10
    assert one.station == 2
    (shown,) = result.charts
    assert [chart.stable for chart in shown.charts] == [True, True, True]
    assert shown.capable is not None
    values = np.array([value for *_, value, _ in rows])
    sigma = np.abs(np.diff(values)).mean() / 1.12838
    assert shown.capable.cpk == pytest.approx(min(5.05 - values.mean(), values.mean() - 4.95) / (3 * sigma), rel=1e-4)


def test_a_step_is_told_and_an_unstable_process_has_no_capability(cap: Influence) -> None:
    rng = np.random.default_rng(6)
    values = [5.0 + 0.001 * float(rng.standard_normal()) + (0.012 if piece > 20 else 0.0) for piece in range(1, 31)]
    result = run(cap, measured(cap, [(str(n), "depth of slot", value, DEPTH) for n, value in enumerate(values, 1)]))
    assert result.charts[0].capable is None
    told = next(finding for finding in result.findings if finding.slug == "process-unstable")
    assert "look for what changed" in told.remedy


def test_a_chart_that_only_the_wear_breaks_says_so(cap: Influence) -> None:
    result = run(cap, measured(cap, seat({piece: 52.02 - 0.001 * piece - 0.0002 * (piece % 2) for piece in range(1, 16)})))
    told = next(finding for finding in result.findings if finding.slug == "process-unstable")
    assert told.remedy.startswith("it drifts")


def test_the_parts_of_a_pallet_are_a_subgroup(spacers: Influence) -> None:
    table = [[20.001, 19.998, 20.003, 20.000, 19.999, 20.002], [20.002, 20.000, 19.997, 20.001, 20.004, 20.000]]
    names = ["length", *(f"length (G5{n})" for n in range(5, 10))]
    rows = [(str(piece), name, value, "micrometer-25") for piece, each in enumerate(table, 1)
            for name, value in zip(names, each, strict=True)]  # fmt: skip
    result = run(spacers, measured(spacers, rows))
    means, ranges = next(shown for shown in result.charts if shown.feature == "length, all parts").charts
    assert means.points == pytest.approx(np.mean(table, axis=1))
    assert ranges.points == pytest.approx([0.005, 0.007])
    assert means.upper[0] - means.centre == pytest.approx(0.48325 * 0.006, rel=1e-4)  # A2 of six


def test_the_document_has_what_other_programs_rely_on(cap: Influence) -> None:
    plain = run(cap, measured(cap, seat({1: 52.015, 2: 52.014}))).as_plain("inch")
    assert set(plain) >= {"next_due", "tools", "charts"}
    assert set(plain["next_due"]) >= {"pieces", "why"}
    assert set(plain["tools"][0]) >= {"number", "wear", "left", "probability"}
    assert plain["series"][0]["values"] == pytest.approx([52.015 / 25.4, 52.014 / 25.4])


def steady(pieces: int, at: float = 52.015, scatter: float = 0.003, seed: int = 3) -> dict[int, float]:
    rng = np.random.default_rng(seed)
    return {piece: at + scatter * float(rng.standard_normal()) for piece in range(1, pieces + 1)}


def test_one_wild_value_waits_and_is_left_out_when_the_next_is_back(cap: Influence) -> None:
    calm = steady(12)
    waiting = run(cap, measured(cap, seat(calm | {13: 52.065})))
    assert (only(waiting).trend.suspect, waiting.next_due.pieces) == (True, 1)
    assert only(waiting).trend.state == pytest.approx(only(run(cap, measured(cap, seat(calm)))).trend.after(1).state, abs=0.0005)
    assert "measurement-suspect" in {one.slug for one in waiting.findings}
    back = run(cap, measured(cap, seat(calm | {13: 52.065, 14: 52.016})))
    assert only(back).misread == (13,)
    assert float(only(back).trend.state[0]) == pytest.approx(52.015, abs=0.003)
    assert 13 not in only(back).numbers


def test_a_value_measured_again_settles_which_of_the_two_was_right(cap: Influence) -> None:
    again = run(cap, measured(cap, [*seat(steady(12) | {13: 52.065}), ("13", "seat diameter", 52.014, BORE)]))
    assert only(again).misread == (13,)
    assert only(again).values[-1] == pytest.approx(52.014, abs=1e-6)


def test_a_jump_that_stays_is_told_with_its_piece_and_the_forecast_goes_on_from_there(cap: Influence) -> None:
    result = run(cap, measured(cap, seat(steady(12) | {13: 51.965, 14: 51.967, 15: 51.966})))
    assert only(result).trend.jumps == (13,)
    assert float(only(result).trend.state[0]) == pytest.approx(51.966, abs=0.003)
    told = next(one for one in result.findings if one.slug == "level-jumped")
    assert "piece 13" in told.text
    assert result.next_due.pieces == 1


def test_a_new_tool_starts_anew_and_its_first_piece_is_due(cap: Influence) -> None:
    worn = {piece: 52.024 - 0.0008 * piece for piece in range(1, 21)}
    plain = measured(cap, seat(worn))
    change = ToolChange("21", plain.measurements[0].setup, 2, Span("measured.csv", 500))
    ahead = run(cap, replace(plain, changes=(change,)))
    assert ahead.next_due.pieces == 1
    after = run(cap, replace(measured(cap, seat(worn | {21: 52.023, 22: 52.022, 23: 52.022})), changes=(change,)))
    (tool,) = after.tools
    assert tool.since == 21
    assert tool.wear == pytest.approx(-0.001, abs=0.002)  # not the 0.016 of the tool before
    assert not only(after).trend.jumps


def test_scatter_that_the_gauge_does_not_state_reaches_the_forecast(cap: Influence) -> None:
    """Limits ±0.015, single pieces scatter by 0.012: one in five is outside, whatever gauge and machine state."""
    result = run(cap, measured(cap, seat(steady(40, scatter=0.012))))
    assert result.next_due.pieces == 1
    assert float(only(result).out[0]) == pytest.approx(2.0 * float(stats.norm.sf(0.015 / 0.012)), abs=0.12)


def test_a_centre_is_out_where_both_coordinates_together_are(cap: Influence) -> None:
    """0.08 along X and Y each lies inside ±0.1 and 0.113 from the middle of a zone of radius 0.1."""
    rows = [(str(piece), f"hole 3 position {axis}", at + 0.08, "height-gauge") for piece in range(1, 9)
            for axis, at in (("x", 46.0), ("y", 26.0))]  # fmt: skip
    assert run(cap, measured(cap, rows)).next_due.pieces == 1
    one = run(cap, measured(cap, [row for row in rows if row[1].endswith("x")]))
    assert float(only(one, "hole 3 position x").out[0]) < 0.1


def test_what_is_due_is_counted_from_the_last_piece_that_was_cut(cap: Influence) -> None:
    """The seat drifts to its limit and was last measured at piece 6; piece 30 was measured for its slot only."""
    worn = {piece: 52.026 - 0.001 * piece for piece in range(1, 7)}
    result = run(cap, measured(cap, [*seat(worn), ("30", "depth of slot", 5.0, DEPTH)]))
    assert (result.next_due.feature, result.next_due.pieces) == ("seat diameter", 1)


def test_values_that_never_differ_are_called_neither_stable_nor_capable(cap: Influence) -> None:
    result = run(cap, measured(cap, seat(dict.fromkeys(range(1, 31), 52.015))))
    (shown,) = result.charts
    assert [chart.stable for chart in shown.charts] == [None] * len(shown.charts)
    assert shown.capable is None


def test_the_headline_says_what_nobody_measured(cap: Influence) -> None:
    result = run(cap, measured(cap, seat(steady(30, scatter=0.001))))
    assert f"of {len(result.not_measured)} other requirements no piece was measured" in result.next_due.why
    assert "hole 1 position" in result.not_measured


def test_a_gap_of_any_length_is_passed_over_at_once(cap: Influence) -> None:
    far = run(cap, measured(cap, seat({1: 52.015, 2_000_000_000: 52.016})))
    assert far.next_due.pieces == 1


def test_what_is_due_first_in_any_setup_stands_on_top_of_the_document(cap: Influence) -> None:
    calm = run(cap, measured(cap, seat(steady(30, scatter=0.001))))
    close = run(cap, measured(cap, seat({piece: 52.012 - 0.002 * piece for piece in range(1, 7)})))
    plain = job_plain([calm, close], "mm")
    assert plain["next_due"]["pieces"] == 1
    assert len(plain["tools"]) == len(plain["setups"]) == 2
