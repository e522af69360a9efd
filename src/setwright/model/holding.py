"""Workholding as parametric bodies that a setter fills in with a few numbers."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Point2, Point3, Spread, Torque, positive

__all__ = ["Against", "BoxBody", "CylinderBody", "Holding", "MeshBody", "Place", "Plate", "SetupHolding", "Stop", "StrapClamp",
           "Vise"]  # fmt: skip

Side = Literal["left", "right", "front", "back"]

Size = Annotated[Length, AfterValidator(positive)]


class BoxBody(Part):
    """A box by its least corner and its sizes along X, Y, Z."""

    name: Name
    corner: Point3
    size: tuple[Size, Size, Size]


class CylinderBody(Part):
    """An upright cylinder by the centre of its lower face."""

    name: Name
    centre: Point3
    diameter: Size
    height: Size


class MeshBody(Part):
    """A closed mesh from a file of the job folder, moved by `shift`."""

    name: Name
    mesh: Name
    units: Literal["mm", "in"] = "mm"
    shift: Point3 = (0.0, 0.0, 0.0)


class Vise(Part):
    """A machine vise with its jaws along X: the fixed jaw behind (+Y), the moving jaw in front unless the setup says otherwise.

    `clamp_force_kn`: with how much it clamps, kN, as measured or as its maker states; else `screw_lead` and the torque by which
    the setup tightens it tell about how much. `friction`: of its jaws on the part, where the shop knows it.
    """

    jaw_width: Size
    jaw_height: Size
    jaw_thickness: Size = 20.0
    opening: Size
    bed_height: Size
    body_length: Size
    tram: Angle = 0.0003
    clamp_force_kn: Annotated[float, AfterValidator(positive)] | None = None
    screw_lead: Size | None = None
    friction: Annotated[float, AfterValidator(positive)] | None = None


class Plate(Part):
    """A fixture plate lying on the table."""

    size: tuple[Size, Size]
    thickness: Size


class Holding(Part):
    """One piece of workholding: a vise, a plate, or bodies listed one by one (in the frame of the setup's work offset)."""

    name: Name
    vise: Vise | None = None
    plate: Plate | None = None
    boxes: tuple[BoxBody, ...] = ()
    cylinders: tuple[CylinderBody, ...] = ()
    meshes: tuple[MeshBody, ...] = ()

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if self.vise is not None and self.plate is not None:
            raise ValueError("a holding is a vise or a plate, not both; put clamps and stops into the setup")
        return self


class Place(Part):
    """Where the holding stands in machine coordinates, about: a prior, not a truth."""

    x: Length
    y: Length
    varies: Spread = 2.0


class Against(Part):
    """Which face of the blank sits against it, and how far along the jaw from its left end."""

    against: Name
    at: Length | None = None


class StrapClamp(Part):
    """A strap pressed on the part by a bolt, its other end on a heel; stands on what the part or its parallels stand on.

    `at`: middle of the toe's front edge on the part; `from`: the side it comes from; `top`: height of the face it presses on, the
    blank's top unless said. `length`, `width`, `thickness` of the strap; `bolt`: its diameter; `bolt_at`: from the toe's edge to
    the bolt's axis; `bolt_above`: how far bolt and nut stand above the strap.
    """

    name: Name
    at: Point2
    from_: Annotated[Side, Field(alias="from")]
    top: Length | None = None
    length: Size = 100.0
    width: Size = 30.0
    thickness: Size = 16.0
    bolt: Size = 12.0
    bolt_at: Size = 45.0
    bolt_above: Size = 20.0

    @model_validator(mode="after")
    def _bolt_in_strap(self) -> Self:
        if not self.bolt_at + self.bolt / 2 < self.length:
            raise ValueError("the bolt must go through the strap: bolt_at less than length")
        return self


class Stop(Part):
    """A pin or a block beside the part: `diameter` of a round one, or `square`, its side; both missing means a pin of 12 mm.

    `against`: the face of the blank that sits against it; `at`: how far along that face from its left or front end, its middle
    unless said; `height`: how far it reaches above the blank's underside.
    """

    name: Name
    against: Side
    at: Length | None = None
    diameter: Size | None = None
    square: Size | None = None
    height: Size = 10.0

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if self.diameter is not None and self.square is not None:
            raise ValueError("a stop is round or square: write diameter or square, not both")
        return self


class SetupHolding(Part):
    """How the holding meets the blank in one setup. `tightened`: the torque at the vise's handle. `varies`: how far its bodies may
    stand off what is stated of them along X, Y and Z (heights of jaws and clamps, places of stops), ±."""

    use: Name
    fixed_jaw: Against | None = None
    end_stop: Against | None = None
    parallels: Length = 0.0
    parallel_thickness: Size = 8.0
    place: Place | None = None
    corner: Point2 | None = None
    tightened: Torque | None = None
    varies: tuple[Spread, Spread, Spread] = (0.0, 0.0, 0.0)
    clamps: tuple[StrapClamp, ...] = ()
    stops: tuple[Stop, ...] = ()
    boxes: tuple[BoxBody, ...] = ()
    cylinders: tuple[CylinderBody, ...] = ()
    meshes: tuple[MeshBody, ...] = ()
