"""Clamps and stops around a blank 124 x 84 x 32, underside at Z-31 on parallels 22 high: every number by hand."""

import pytest

from setwright.base.errors import InputRefused
from setwright.geometry.bodies import BodyRole, BoxShape, CylinderShape
from setwright.kit.placement import Placement
from setwright.model.holding import Holding, Plate, Stop, StrapClamp
from tests.kit.test_kit_placement import put

PLATE = Holding(name="v", plate=Plate(size=(300, 200), thickness=25))


def shapes(placement: Placement) -> dict[str, BoxShape | CylinderShape]:
    return {body.name: body.shape for body in placement.bodies if not hasattr(body.shape, "triangles")}  # type: ignore[misc]


def clamp(**stated: object) -> dict[str, object]:
    return {"name": "strap", "at": [-52, 0], "from": "left", **stated}


def test_a_clamp_with_its_usual_sizes_presses_on_the_blanks_top() -> None:
    placement = put(PLATE, clamps=[clamp()])
    at = shapes(placement)
    assert at["strap"] == BoxShape((-152, -15, 1), (-52, 15, 17))
    assert at["strap, heel"] == BoxShape((-152, -15, -53), (-132, 15, 1))
    assert at["strap, bolt"] == CylinderShape((-97, 0), 6, -53, 37)
    assert at["strap, nut"] == CylinderShape((-97, 0), 12, 17, 29)
    assert all(body.role is BodyRole.HOLDING for body in placement.bodies if body.name.startswith("strap"))


def test_a_clamp_with_every_number_said() -> None:
    stated = {"at": [10, 30], "from": "back", "top": -5, "length": 60, "width": 20, "thickness": 10, "bolt": 8, "bolt_at": 30,
              "bolt_above": 6}  # fmt: skip
    at = shapes(put(PLATE, clamps=[clamp(**stated)]))
    assert at["strap"] == BoxShape((0, 30, -5), (20, 90, 5))
    assert at["strap, heel"] == BoxShape((0, 78, -53), (20, 90, -5))
    assert at["strap, bolt"] == CylinderShape((10, 60), 4, -53, 11)
    assert at["strap, nut"] == CylinderShape((10, 60), 8, 5, 11)


@pytest.mark.parametrize(
    ("side", "low", "high"),
    [("right", (52, -15, 1), (152, 15, 17)), ("front", (-15, -132, 1), (15, -32, 17)), ("back", (-15, 32, 1), (15, 132, 17))],
)
def test_a_clamp_from_each_side(side: str, low: tuple[float, ...], high: tuple[float, ...]) -> None:
    toe = {"right": [52, 0], "front": [0, -32], "back": [0, 32]}[side]
    assert shapes(put(PLATE, clamps=[clamp(**{"at": toe, "from": side})]))["strap"] == BoxShape(low, high)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ({"at": [-70, 0]}, "beside the blank"),
        ({"top": 4}, "presses at Z4"),
        ({"top": -60}, "presses at Z-60"),
        ({"at": [0, 0]}, "would go through the blank"),
        ({"at": [-52, 0], "bolt_at": 12}, "would go through the blank"),
    ],
)
def test_a_clamp_that_cannot_be_is_refused(stated: dict[str, object], says: str) -> None:
    with pytest.raises(InputRefused, match=says) as refusal:
        put(PLATE, clamps=[clamp(**stated)])
    assert "remedy" not in str(refusal.value)
    assert refusal.value.problems[0].remedy


def test_numbers_that_contradict_are_refused() -> None:
    with pytest.raises(ValueError, match="through the strap"):
        StrapClamp.model_validate(clamp(bolt_at=100))
    with pytest.raises(ValueError, match="round or square"):
        Stop.model_validate({"name": "s", "against": "left", "diameter": 10, "square": 10})


def test_stops_touch_the_face_they_are_against() -> None:
    at = shapes(put(PLATE, stops=[
        {"name": "pin", "against": "left", "at": 20},
        {"name": "block", "against": "back", "square": 20, "height": 15},
        {"name": "thick pin", "against": "front", "at": 0, "diameter": 30, "height": 5},
    ]))  # fmt: skip
    assert at["pin"] == CylinderShape((-68, -22), 6, -53, -21)
    assert at["block"] == BoxShape((-10, 42, -53), (10, 62, -16))
    assert at["thick pin"] == CylinderShape((-62, -57), 15, -53, -26)


def test_a_stop_beside_its_face_is_refused() -> None:
    with pytest.raises(InputRefused, match="200 mm along the left face"):
        put(PLATE, stops=[{"name": "pin", "against": "left", "at": 200}])


def test_parallels_as_thick_as_said() -> None:
    at = shapes(put(fixed_jaw={"against": "back"}, parallel_thickness=5))
    assert at["parallel at fixed jaw"] == BoxShape((-75, 37, -53), (75, 42, -31))
