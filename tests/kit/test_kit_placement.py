"""The kit around the blank: every number by hand."""

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.geometry.bodies import BoxShape
from setwright.kit.placement import Placement, place_kit
from setwright.model.holding import Holding, Plate, SetupHolding, Vise
from setwright.model.job import Setup
from setwright.model.machine import Machine

VISE = Holding(name="v", vise=Vise(jaw_width=150, jaw_height=40, jaw_thickness=20, opening=160, bed_height=60, body_length=300))
MACHINE = Machine.model_validate(
    {"name": "m", "travel": {"x": [-610, 0], "y": [-460, 0], "z": [-480, 0]},
     "table": {"x": [-700, 100], "y": [-480, 20], "z": -600}, "spindle": {"max_speed": 8000}}
)  # fmt: skip
LOW, HIGH = np.array([-62.0, -42.0, -31.0]), np.array([62.0, 42.0, 1.0])


def put(holding: Holding = VISE, **stated: object) -> Placement:
    setup = Setup.model_validate(
        {"name": "s", "machine": "m", "programs": ["p"], "blank": {"box": [124, 84, 32], "corner": [-62, -42, -31]},
         "holding": {"use": "v", "parallels": 22, **stated}, "datum": {"x": "left", "y": "front", "z": {"face": "top"}}}
    )  # fmt: skip
    return place_kit(setup, holding, MACHINE, (LOW, HIGH), {})


def shapes(placement: Placement) -> dict[str, BoxShape]:
    return {body.name: body.shape for body in placement.bodies if isinstance(body.shape, BoxShape)}


def test_fixed_jaw_behind_parallels_under_table_below() -> None:
    at = shapes(put(fixed_jaw={"against": "back"}, end_stop={"against": "left", "at": 13}, place={"x": -300, "y": -215}))
    # underside of the blank −31; bed 22 lower; jaws 40 high from the bed; jaw starts 13 left of the blank's left face
    assert at["fixed jaw"] == BoxShape((-75, 42, -53), (75, 62, -13))
    assert at["moving jaw"] == BoxShape((-75, -62, -53), (75, -42, -13))
    assert at["vise body"] == BoxShape((-75, -238, -113), (75, 62, -53))
    assert at["parallel at fixed jaw"] == BoxShape((-75, 34, -53), (75, 42, -31))
    assert at["parallel at moving jaw"] == BoxShape((-75, -42, -53), (75, -34, -31))
    assert at["end stop"] == BoxShape((-74, -6, -53), (-62, 6, -22))
    assert at["table"].high[2] == -113


def test_the_place_of_the_vise_gives_the_place_of_the_work() -> None:
    placement = put(fixed_jaw={"against": "back"}, end_stop={"against": "left", "at": 13}, place={"x": -300, "y": -215})
    # left end of the jaw: W −75 is M −300; jaw face: W +42 is M −215; underside: W −31 is table −600 + 60 + 22
    assert placement.machine_from_work.shift.tolist() == [-225, -257, -487]


def test_vise_turned_a_quarter_clamps_along_x() -> None:
    at = shapes(put(fixed_jaw={"against": "left"}))
    assert at["fixed jaw"] == BoxShape((-82, -75, -53), (-62, 75, -13))
    assert at["moving jaw"] == BoxShape((62, -75, -53), (82, 75, -13))


def test_without_a_place_overtravel_cannot_be_judged() -> None:
    assert not put().placed
    assert put(place={"x": -300, "y": -215}).placed


def test_plate_lies_under_the_blank() -> None:
    plate = Holding(name="v", plate=Plate(size=(300, 200), thickness=25))
    placement = put(plate, parallels=10, corner=[-100, -90], place={"x": -500, "y": -400})
    assert shapes(placement)["fixture plate"] == BoxShape((-100, -90, -66), (200, 110, -41))
    assert placement.machine_from_work.shift.tolist() == [-400, -310, -600 + 35 + 31]


@pytest.mark.parametrize(
    ("stated", "said"),
    [({"parallels": 41}, "stand above jaws"), ({"fixed_jaw": {"against": "top"}}, 'cannot sit against "top"'),
     ({"end_stop": {"against": "back", "at": 3}}, 'cannot sit against "back"')],
)  # fmt: skip
def test_pieces_that_do_not_go_together_are_refused(stated: dict[str, object], said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        put(**stated)


def test_blank_wider_than_the_vise_opens_is_refused() -> None:
    assert VISE.vise is not None
    small = Holding(name="v", vise=VISE.vise.model_copy(update={"opening": 80.0}))
    with pytest.raises(InputRefused, match="opens 80 mm but the blank is 84 mm wide"):
        put(small)


def test_stated_holding_is_typed() -> None:
    assert SetupHolding(use="v").parallels == 0.0
