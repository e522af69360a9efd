"""What to measure: every requirement once, one gauge after the other, and what each gauge can prove, reckoned by hand."""

from pathlib import Path

import pytest

from setwright.jobfolder.load import load_job
from setwright.jobfolder.measured import read_measured
from setwright.kit.station import kit
from setwright.piece.plan import ToMeasure, plan
from tests.piece.conftest import demo


@pytest.fixture(scope="module")
def cap(tmp_path_factory: pytest.TempPathFactory) -> dict[str, ToMeasure]:
    folder = demo("bearing-cap", tmp_path_factory.mktemp("plan"))
    rows = plan(kit(folder, folder.job.setup[0]), read_measured(folder))
    return {one.feature: one for one in rows}


def good(one: ToMeasure, gauge: str) -> tuple[float, float] | None:
    return next(each.good for each in one.instruments if each.key == gauge)


def test_every_size_and_both_coordinates_of_every_centre_are_there_once(cap: dict[str, ToMeasure]) -> None:
    centres = ("seat to datum A", "hole 1 position", "hole 2 position", "hole 3 position", "hole 4 position")
    sizes = {"depth of seat", "seat diameter", "shaft bore diameter", "width of slot", "depth of slot", "length of step",
             "width of step", "hole 1 diameter"}  # fmt: skip
    assert set(cap) == sizes | {f"{name} {axis}" for name in centres for axis in "xy"}


def test_the_uncertainty_is_taken_off_at_both_ends(cap: dict[str, ToMeasure]) -> None:
    seat = cap["depth of seat"]
    assert good(seat, "depth-micrometer") == pytest.approx((12.508, 12.522))  # 12.50 +0.03, U 0.008
    assert good(seat, "calliper") is None  # U 0.030 at both ends of 0.03
    centre = cap["seat to datum A x"]
    assert good(centre, "height-gauge") == pytest.approx((0.0, 0.050 - 2 * 0.016))  # both coordinates count twice
    assert centre.as_plain("mm")["zone_said"] == "within Ø 0.050 mm"
    assert seat.as_plain("mm")["said"] == "12.500 to 12.530 mm"
    said = {one["gauge"]: one["said"] for one in seat.as_plain("mm")["instruments"]}
    assert said["depth-micrometer"] == "± 0.008 mm, proves good from 12.508 to 12.522 mm"
    assert said["calliper"] == "± 0.030 mm: too coarse to prove it good"


def test_one_gauge_after_the_other_and_the_tightest_first(cap: dict[str, ToMeasure]) -> None:
    gauges = [one.gauge for one in cap.values()]
    assert gauges == [gauge for gauge in dict.fromkeys(gauges) for _ in range(gauges.count(gauge))]
    assert {one.gauge for name, one in cap.items() if "position" in name} == {"height-gauge"}  # all centres alike
    assert cap["hole 1 diameter"].gauge == "bore-micrometer"
    room = {"depth-micrometer": 0.014, "height-gauge": 0.018, "bore-micrometer": 0.018, "calliper": 0.140}
    for gauge in room:
        widths = [one.room() for one in cap.values() if one.gauge == gauge]
        assert widths == sorted(widths)
    assert gauges[0] == "calliper"  # the width of the slot: 0.05 wide, U 0.030 at both ends leaves nothing
    assert cap["width of slot"].room() == 0.0


def test_before_anything_is_measured_the_shop_says_with_what(tmp_path: Path) -> None:
    folder = demo("pintle", tmp_path)
    rows = {one.feature: one for one in plan(kit(folder, folder.job.setup[0]), None)}
    # a tenth of the bore's 0.001 no gauge has: the finest; the recess takes either, a tenth of 0.005 only the bore gauge
    by_gauge = {"pintle bore": "plug-bore-gauge", "recess diameter": "plug-bore-gauge", "recess depth": "depth-micrometer",
                "arc of the waist, back": "calliper-6", "hole 3 position x": "calliper-6"}  # fmt: skip
    assert {name: rows[name].gauge for name in by_gauge} == by_gauge
    assert rows["pintle bore"].proves_said("inch") == "± 0.0004 in, proves good from 0.5004 to 0.5006 in; takes 80 % of the limits"
    assert rows["arc of the waist, back"].kind == "inside diameter"
    bore = rows["pintle bore"].as_plain("inch")
    assert (bore["unit"], bore["said"]) == ("in", "0.5000 to 0.5010 in")
    assert bore["limits"] == pytest.approx([0.5, 0.501])
    plug = next(one for one in bore["instruments"] if one["gauge"] == "plug-bore-gauge")
    assert (plug["said"], plug["takes"]) == ("± 0.0004 in, proves good from 0.5004 to 0.5006 in", pytest.approx(0.8))


def test_inside_outside_and_depth_are_told_by_where_the_faces_look(cap: dict[str, ToMeasure]) -> None:
    kinds = {"width of slot": "inside width", "length of step": "outside width", "depth of seat": "depth",
             "seat diameter": "inside diameter", "seat to datum A x": "position"}  # fmt: skip
    assert {name: cap[name].kind for name in kinds} == kinds


def test_a_gauge_that_is_too_coarse_says_which_would_do_and_one_that_nobody_names_is_asked_for(tmp_path: Path) -> None:
    folder = demo("bearing-cap", tmp_path)
    (folder.root / "shop/gauges/depth-micrometer.toml").unlink()
    setup = load_job(folder.root).job.setup[0]
    rows = {one.feature: one for one in plan(kit(load_job(folder.root), setup), None)}
    assert rows["width of slot"].proves_said("mm") == "± 0.030 mm: too coarse to prove it good; that takes a U below 0.025 mm"
    assert (rows["depth of seat"].gauge, rows["depth of seat"].group) == ("", "depth")
    assert 'write measures = ["depth"]' in rows["depth of seat"].proves_said("mm")
    half = {one.feature: one for one in plan(kit(load_job(folder.root), setup), None, guard=1.0)}["width of slot"]
    assert half.proves_said("mm") == "± 0.030 mm, proves good from 20.015 to 20.035 mm; takes 60 % of the limits"


def test_the_parts_of_a_pallet_are_measured_each_at_its_place(tmp_path: Path) -> None:
    folder = demo("spacers", tmp_path)
    setup = folder.job.setup[0]
    rows = {one.feature: one for one in plan(kit(folder, setup), read_measured(folder))}
    assert rows["length (G57)"].shift == setup.shifts["G57"]
    assert rows["bore to outside (G59) x"].shift == setup.shifts["G59"]
    assert rows["bore to outside (G59) x"].requirement == "bore to outside (G59)"
    assert rows["bore (G55)"].gauge == "bore-micrometer"  # as on the other parts
