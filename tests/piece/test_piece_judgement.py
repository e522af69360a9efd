"""What Piece may not say: a name nobody measured, a change on a value in doubt, all well where nobody looked."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.jobfolder.load import load_job
from setwright.jobfolder.measured import read_measured
from setwright.model.measurement import ToolChange
from setwright.model.reading import Registers, ToolRegister
from setwright.piece.advice import advise
from setwright.piece.belief import Values, believe
from setwright.piece.influence import Influence
from setwright.piece.station import PieceResult, advise_piece, register_names
from setwright.piece.words import job_plain
from tests.piece.conftest import demo, measured

BORE, DEPTH, CALLIPER, HEIGHT = "bore-micrometer", "depth-micrometer", "calliper", "height-gauge"
Row = tuple[str, str, float, str]


def changes(result: PieceResult) -> dict[str, float]:
    return {one.name: round(one.change, 6) for one in result.registers}


def series(feature: str, values: list[float], gauge: str = BORE) -> list[Row]:
    return [(str(piece), feature, value, gauge) for piece, value in enumerate(values, 1)]


def test_a_cutter_that_wears_is_corrected_from_where_it_is_now(cap: Influence) -> None:
    """The seat shrinks by 1.5 um a piece from 52.024 to 52.003: the average lies near the middle, the next piece at 52.0015."""
    worn = [52.024 - 0.0015 * piece for piece in range(15)]
    found = advise_piece(cap, measured(cap, series("seat diameter", worn)))
    next_one = next(one for one in found.before if one.requirement == "seat diameter")
    assert found.belief.drifts
    assert next_one.means[0] == pytest.approx(52.0015, abs=0.0015)
    # a bore grows by twice what the radius register shrinks
    assert changes(found)["radius 2"] == pytest.approx(-0.0065, abs=0.0016)


def test_a_steady_process_is_not_taken_for_a_drift(cap: Influence) -> None:
    rng = np.random.default_rng(4)
    batches = [(52.015 + 0.004 * rng.standard_normal(12)).tolist() for _ in range(40)]
    assert sum(advise_piece(cap, measured(cap, series("seat diameter", batch))).belief.drifts for batch in batches) <= 4


def test_a_jump_within_the_batch_is_followed_and_told_with_its_piece(cap: Influence) -> None:
    jumped = [52.015] * 12 + [51.935] * 3
    found = advise_piece(cap, measured(cap, series("seat diameter", jumped)))
    assert changes(found)["radius 2"] == pytest.approx(-0.040, abs=0.001)
    assert "from piece 13 on" in found.why


def test_a_new_tool_starts_anew(cap: Influence) -> None:
    plain = measured(cap, series("seat diameter", [*[52.030] * 10, 52.015]))
    renewed = replace(plain, changes=(ToolChange("11", plain.measurements[0].setup, 2, Span("measured.csv", 105)),))
    assert changes(advise_piece(cap, renewed)) == {}
    with pytest.raises(AssertionError):
        assert changes(advise_piece(cap, plain)) == {}


def test_the_reason_names_only_what_was_measured(cap: Influence) -> None:
    """The radius moves the width of the slot and the steps as well; only the seat was measured."""
    found = advise_piece(cap, measured(cap, series("seat diameter", [52.027])))
    assert changes(found).keys() == {"radius 2"}
    assert found.why.startswith("measured, “seat diameter” lay")


def test_leaving_says_what_was_not_looked_at(cap: Influence) -> None:
    found = advise_piece(cap, measured(cap, series("seat diameter", [52.015])))
    assert found.advice == "leave"
    assert {"G54 X", "G54 Y", "length 2"} <= set(found.not_seen)
    assert "nothing measured shows G54 X" in found.why
    blind = advise_piece(cap, measured(cap, series("shaft bore diameter", [32.02])))
    assert "no register was looked at" in blind.why


def test_a_position_given_as_one_number_asks_for_its_coordinates(cap: Influence) -> None:
    found = advise_piece(cap, measured(cap, series("hole 1 position", [0.5], HEIGHT)))
    assert found.advice == "leave"
    assert "only its x and y say what to type" in found.why
    assert "not-followed" in {one.slug for one in found.findings}


def test_no_change_is_typed_that_a_doubtful_value_forbids(cap: Influence) -> None:
    """Slot and steps ask for a smaller radius, the seat, made by the same tool, for a larger one: misread, or made otherwise."""
    rows = [("1", "width of slot", 20.055, CALLIPER), ("1", "length of step", 117.94, CALLIPER),
            ("1", "width of step", 77.94, CALLIPER),
            ("1", "seat diameter", 52.003, BORE)]  # fmt: skip
    found = advise_piece(cap, measured(cap, rows))
    for one in found.registers:
        seat = 52.003 + dict(one.moves).get("seat diameter", 0.0)
        assert 52.000 <= seat <= 52.030


def test_a_feature_made_otherwise_in_every_piece_is_named(cap: Influence) -> None:
    """Slot and steps, made by the same cutter, come out as programmed; the seat is 0.060 too large in all four pieces."""
    sizes = {"seat diameter": (52.075, BORE), "width of slot": (20.025, CALLIPER), "length of step": (118.0, CALLIPER),
             "width of step": (78.0, CALLIPER)}  # fmt: skip
    rows = [(str(piece), name, value, gauge) for piece in range(1, 5) for name, (value, gauge) in sizes.items()]
    (told,) = [one for one in advise_piece(cap, measured(cap, rows)).findings if one.slug == "made-otherwise"]
    assert "“seat diameter” comes out +0.06" in told.text


def test_two_registers_that_explain_it_equally_ask_for_what_tells_them_apart(cap: Influence) -> None:
    """A depth from a face that another tool made: far too deep, one length or the other."""
    found = advise_piece(cap, measured(cap, series("depth of seat", [12.815, 12.815], DEPTH)))
    assert found.advice == "leave"
    assert "tells them apart" in found.why


def test_no_change_puts_a_good_feature_out(cap: Influence) -> None:
    """All but one ask for the same change, one inside its limit for the opposite: least squares would sacrifice it."""
    moved = [number for number, row in enumerate(cap.matrix) if abs(row[[c.name for c in cap.causes].index("radius 2")]) > 1.0]
    places = list(cap.places)
    for count, number in enumerate(moved):
        sign = math.copysign(1.0, float(cap.matrix[number, [c.name for c in cap.causes].index("radius 2")]))
        share = -0.5 if count == 0 else 0.9
        places[number] = replace(places[number], half=0.02, simulated=places[number].aim + sign * share * 0.02)
    held = replace(cap, places=tuple(places))
    off, covariance = np.zeros(len(cap.causes)), np.zeros((len(cap.causes),) * 2)
    found = advise(held, off, covariance, shown=[(number, 0.001) for number in moved])
    by = np.zeros(len(cap.causes))
    for change in found:
        by[change.cause] = change.by
    after = [place.simulated - place.aim + float(row @ by) for place, row in zip(held.places, held.matrix, strict=True)]
    assert found
    assert all(abs(after[number]) <= 0.02 + 1e-9 for number in moved)


def test_wear_beside_a_register_is_not_counted_twice(cap: Influence) -> None:
    """The control holds 131.482 and -0.012 as wear; 131.470 is what the machine reckons with."""
    stated = Registers(tool={"2": ToolRegister(length=131.482, length_wear=-0.012)})
    job = cap.kit.folder.job.model_copy(update={"registers": stated})
    kit = replace(cap.kit, folder=replace(cap.kit.folder, job=job))
    number = [cause.name for cause in cap.causes].index("length 2")
    causes = list(cap.causes)
    own = causes[number].typed
    assert own is not None
    causes[number] = replace(causes[number], typed=replace(own, value=131.470))
    held = replace(cap, kit=kit, causes=tuple(causes))
    rows = [("1", "depth of seat", 12.527, DEPTH), ("1", "depth of slot", 5.012, DEPTH)]
    (one,) = [one for one in advise_piece(held, measured(held, rows)).registers if one.name == "length 2"]
    assert (one.now, one.wear) == pytest.approx((131.482, -0.012))
    assert float(one.text("mm").split("= ")[1]) == pytest.approx(131.482 + one.change, abs=1e-9)
    assert {"length 2 wear", "radius 2 wear"} <= set(register_names(cap))


def test_the_document_of_several_setups_says_correct_if_any_does(cap: Influence) -> None:
    calm = advise_piece(cap, measured(cap, series("seat diameter", [52.015])))
    off = advise_piece(cap, measured(cap, series("seat diameter", [52.027])))
    plain = job_plain([calm, off], "mm")
    assert plain["advice"] == "correct"
    assert [one["name"] for one in plain["registers"]] == ["radius 2"]
    assert [one["advice"] for one in plain["setups"]] == ["leave", "correct"]


def test_the_rivals_weigh_what_their_densities_say() -> None:
    """Every rival adds a direction to the covariance; its weight against the plain density, each reckoned whole."""
    rows = np.array([[1.0, 0.0], [1.0, 0.5], [0.0, 2.0], [1.0, 0.0]])
    off = np.array([0.010, 0.004, -0.012, 0.030])
    values = Values(rows, off, np.full(4, 0.003), [0, 1, 2, 3], [0, 0, 1, 0], [0, 1, 2, 0], [1, 1, 1, 2])
    found = believe(values, np.array([0.006, 0.004]), between_mm=0.002)
    plain = rows @ np.diag([0.006**2, 0.004**2]) @ rows.T + values.noise(0.002)

    def weight(kind: str, number: int, *directions: np.ndarray) -> float:
        covariance = plain + sum((np.outer(one, one) for one in directions), np.zeros((4, 4)))
        return float(np.exp(stats.multivariate_normal(np.zeros(4), covariance).logpdf(off))) * {
            "none": 1.0, "value": 0.002, "place": 0.002, "cause": 0.003, "unlisted": 0.0005}[kind]

    unit, late = np.eye(4), np.array([0.0, 0.0, 0.0, 1.0])
    wanted = {("none", -1): weight("none", -1)}
    wanted |= {("value", n): weight("value", n, unit[n]) for n in range(4)}
    wanted |= {("place", 0): weight("place", 0, unit[0] + unit[3]), ("place", 1): weight("place", 1, unit[1]),
               ("place", 2): weight("place", 2, unit[2])}  # fmt: skip
    wanted |= {("unlisted", 1): weight("unlisted", 1, *unit[:3]), ("unlisted", 2): weight("unlisted", 2, unit[3])}
    # the second cause shows in no value of the second piece, so that only the first can have come to be off by then
    wanted |= {("cause", 0): weight("cause", 0, rows[:, 0]) + weight("cause", 0, rows[:, 0] * late) / 2,
               ("cause", 1): weight("cause", 1, rows[:, 1])}  # fmt: skip
    whole = sum(wanted.values())
    assert {(one.kind, one.number): one.probability for one in found.rivals} == pytest.approx(
        {key: value / whole for key, value in wanted.items()}, rel=1e-9)  # fmt: skip


@pytest.mark.parametrize(("left", "right", "same"), [("1", "01", True), ("7", "007", True), ("1", "2", False)])
def test_idle_zeros_make_no_other_piece(tmp_path: Path, left: str, right: str, same: bool) -> None:
    folder = demo("bearing-cap", tmp_path)
    path = folder.root / "other.csv"
    path.write_text(f"piece, feature, value, gauge\n{left}, depth of seat, 12.515, depth-micrometer\n"
                    f"{right}, depth of seat, 12.516, depth-micrometer\n")  # fmt: skip
    assert (len(read_measured(folder, path).pieces("first side")) == 1) == same


@pytest.mark.parametrize(
    ("line", "wanted"),
    [("9" * 20 + ", depth of seat, 12.5, depth-micrometer", "20 digits"), ("1, T2, 8, changed", "which tool was changed"),
     ("1, T77, new, changed", "there is no T77"), ("1, depth of seat, " + "1" * 140_000 + ", depth-micrometer", "no table")],
)  # fmt: skip
def test_odd_lines_are_refused_with_what_to_write(tmp_path: Path, line: str, wanted: str) -> None:
    folder = demo("bearing-cap", tmp_path)
    path = folder.root / "other.csv"
    path.write_text("piece, feature, value, gauge\n" + line + "\n")
    with pytest.raises(InputRefused) as refusal:
        read_measured(load_job(folder.root), path)
    assert wanted in str(refusal.value)
