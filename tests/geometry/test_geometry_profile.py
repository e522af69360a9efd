"""Tool shapes against closed forms: heights, radii, volumes of revolution."""

import math
from itertools import pairwise

import pytest
from scipy.integrate import quad

from setwright.base.errors import InputRefused
from setwright.geometry.pieces import Meridian, Piece, Role
from setwright.geometry.profile import assemble, cutting_pieces, standing_body, standing_edge
from setwright.model.machine import Nose
from setwright.model.tool import HolderStep, Shank, Tool


def radius_at(piece: Piece, z: float) -> float:
    """The meridian as its definition says."""
    if piece.meridian is Meridian.ARC:
        return piece.e + math.sqrt(max(piece.rho**2 - (z - piece.f) ** 2, 0.0))
    return piece.r0 + (piece.r1 - piece.r0) * (z - piece.z0) / (piece.z1 - piece.z0)


def volume(pieces: list[Piece]) -> float:
    return sum(quad(lambda z, p=p: math.pi * radius_at(p, z) ** 2, p.z0, p.z1)[0] for p in pieces)


def make(kind: str, **numbers: object) -> Tool:
    return Tool.model_validate({"name": "t", "kind": kind, "diameter": 10.0, "flute_length": 30.0, **numbers})


R = 5.0
CYLINDER = math.pi * R**2


@pytest.mark.parametrize(
    ("tool", "expected"),
    [
        (make("end mill"), CYLINDER * 30),
        (make("ball mill"), 2 / 3 * math.pi * R**3 + CYLINDER * 25),
        (make("drill", point_angle="118 deg"), CYLINDER * (30 - 2 / 3 * R / math.tan(math.radians(59)))),
        (make("spot drill"), CYLINDER / 3 * 5 + CYLINDER * 25),
        (make("chamfer mill", tip_diameter=2.0, flute_length=4.0), math.pi * 4 / 3 * (25 + 5 + 1)),
        # a bull-nose quarter: ring by Pappus around the flat cylinder of radius 3
        (make("bull-nose mill", corner_radius=2.0),
         math.pi * 9 * 2 + 2 * math.pi * (3 + 4 * 2 / (3 * math.pi)) * math.pi * 4 / 4 + CYLINDER * 28),
        (make("free profile", points=[[0, 0], [4, 0], [5, 10], [2, 10], [2, 12]]),
         math.pi * 10 / 3 * (16 + 20 + 25) + math.pi * 4 * 2),
        # a 118° point and a cylinder of one diameter below a countersink of 60°
        (make("centre drill", tip_diameter=2.0),
         math.pi / 3 / math.tan(math.radians(59)) + math.pi * 2
         + math.pi / 3 * (4 / math.tan(math.radians(30))) * (1 + 5 + 25)
         + CYLINDER * (30 - 1 / math.tan(math.radians(59)) - 2 - 4 / math.tan(math.radians(30)))),
        (make("dovetail mill", flute_length=5.0, point_angle="60 deg"),
         math.pi * 5 / 3 * (25 + R * (R - 5 * math.tan(math.radians(30))) + (R - 5 * math.tan(math.radians(30))) ** 2)),
    ],
)  # fmt: skip
def test_volume_of_the_cutting_part(tool: Tool, expected: float) -> None:
    assert volume(cutting_pieces(tool)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("kind", ["end mill", "ball mill", "drill", "spot drill", "centre drill", "reamer", "face mill"])
def test_pieces_join_without_gap_and_their_ends_lie_on_the_meridian(kind: str) -> None:
    pieces = cutting_pieces(make(kind))
    assert pieces[0].z0 == 0.0
    for below, above in pairwise(pieces):
        assert below.z1 == above.z0
        assert below.r1 == pytest.approx(above.r0, abs=1e-12)
    for piece in pieces:
        assert radius_at(piece, piece.z0) == pytest.approx(piece.r0, abs=1e-12)
        assert radius_at(piece, piece.z1) == pytest.approx(piece.r1, abs=1e-12)


def test_drill_point_lengths_of_the_trade() -> None:
    """118° → 0.300 D, 135° → 0.207 D."""
    assert cutting_pieces(make("drill", point_angle="118 deg"))[0].z1 / 10 == pytest.approx(0.300, abs=5e-4)
    assert cutting_pieces(make("drill", point_angle="135 deg"))[0].z1 / 10 == pytest.approx(0.207, abs=5e-4)


def test_assembly_stacks_flutes_neck_shank_holder_nose() -> None:
    holder = (HolderStep(diameter=30, length=40), HolderStep(diameter=50, length=20, upper_diameter=63))
    tool = make("end mill", shank=Shank(diameter=12, neck_diameter=9, neck_length=10), holder=holder)
    hung = assemble(tool, stickout=50, nose=Nose(diameter=80, length=100))
    assert hung.length == 110
    assert [(p.role, p.z0, p.z1) for p in hung.pieces] == [
        (Role.CUTTING, 0, 30), (Role.NECK, 30, 40), (Role.SHANK, 40, 50), (Role.HOLDER, 50, 90), (Role.HOLDER, 90, 110),
        (Role.NOSE, 110, 210),
    ]  # fmt: skip


def test_measured_length_moves_the_gauge_line_not_the_stickout() -> None:
    tool = make("end mill", holder=(HolderStep(diameter=30, length=40),))
    hung = assemble(tool, stickout=50, length=90.4, radius=4.99)
    assert (hung.length, hung.radius) == (90.4, 4.99)
    assert hung.pieces[-1].z1 == 90.4
    assert hung.pieces[0].r0 == 4.99


@pytest.mark.parametrize(
    ("tool", "stickout", "length", "said"),
    [(make("end mill"), 50, None, "nothing says how long"), (make("end mill", length=40.0), 50, 100.0, "only 40 mm long"),
     (make("end mill"), 50, 45.0, "less than its stick-out")],
)  # fmt: skip
def test_what_cannot_be_is_refused(tool: Tool, stickout: float, length: float | None, said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        assemble(tool, stickout=stickout, length=length)


@pytest.mark.parametrize("corner", [0.0, 0.4, 4.0])
def test_the_edge_of_a_standing_bar_reaches_as_far_as_the_turning_one_and_lies_inside_its_round(corner: float) -> None:
    """About an axis of its own, `away` off the spindle's: at each height its far side is the meridian of the turning edge."""
    tool = make("boring bar", corner_radius=corner, flute_length=6.0, holder=[{"diameter": 40, "length": 50}])
    hung = assemble(tool, stickout=60.0)
    edge, away = standing_edge(hung)
    turning = [piece for piece in hung.pieces if piece.role is Role.CUTTING]
    for z in (0.0, 0.2, 0.4, 2.0, 4.0, 6.0):
        reach = max(away + radius_at(piece, z) for piece in edge if piece.z0 <= z <= piece.z1)
        swept = max(radius_at(piece, z) for piece in turning if piece.z0 <= z <= piece.z1)
        if corner <= away:
            assert reach == pytest.approx(swept, abs=1e-12)
        assert swept - 1e-12 <= reach <= R + 1e-12
        assert reach - 2 * max(radius_at(piece, z) for piece in edge if piece.z0 <= z <= piece.z1) <= R - 4.5  # back into the bar


def test_a_standing_bar_is_its_body_and_what_hangs_above_it() -> None:
    holder = [{"diameter": 40, "length": 50}]

    def radii(**stated: object) -> list[tuple[Role, float]]:
        tool = make("boring bar", flute_length=6.0, holder=holder, **stated)
        return [(piece.role, piece.widest) for piece in standing_body(assemble(tool, stickout=60.0))]

    assert radii(body_diameter=7) == [(Role.CUTTING, 3.5), (Role.SHANK, 3.5), (Role.HOLDER, 20.0)]
    assert radii() == [(Role.CUTTING, 4.5), (Role.SHANK, 4.5), (Role.HOLDER, 20.0)]
    assert radii(shank={"diameter": 9.5}) == [(Role.CUTTING, 4.5), (Role.SHANK, 4.75), (Role.HOLDER, 20.0)]


def test_a_turning_bar_is_as_wide_above_its_edge_as_its_body_where_that_is_stated() -> None:
    for stated, wide in (({"body_diameter": 7}, 3.5), ({}, 5.0), ({"body_diameter": 7, "shank": {"diameter": 8}}, 4.0)):
        hung = assemble(make("boring bar", flute_length=6.0, **stated), stickout=60.0, length=110.0)
        assert [piece.widest for piece in hung.pieces] == [5.0, wide]


def test_an_edge_is_told_of_a_boring_bar_only_and_a_body_is_no_wider_than_what_it_bores() -> None:
    for stated in ({"edge_angle": "90 deg"}, {"body_diameter": 8}):
        with pytest.raises(ValueError, match="boring bar only"):
            make("end mill", **stated)
    with pytest.raises(ValueError, match="body_diameter must not be larger"):
        make("boring bar", body_diameter=10.5)
