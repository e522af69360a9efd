"""Workholding as parametric bodies that a setter fills in with a few numbers."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, model_validator

from setwright.model.quantity import Angle, Length, Name, Part, Point2, Point3, positive

__all__ = ["Against", "BoxBody", "CylinderBody", "Holding", "MeshBody", "Place", "Plate", "SetupHolding", "Vise"]

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
    """A machine vise with its jaws along X: the fixed jaw behind (+Y), the moving jaw in front unless the setup says otherwise."""

    jaw_width: Size
    jaw_height: Size
    jaw_thickness: Size = 20.0
    opening: Size
    bed_height: Size
    body_length: Size
    tram: Angle = 0.0003


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
            raise ValueError("a holding is a vise or a plate, not both; put clamps and stops of a plate under boxes")
        return self


class Place(Part):
    """Where the holding stands in machine coordinates, about: a prior, not a truth."""

    x: Length
    y: Length
    varies: Length = 2.0


class Against(Part):
    """Which face of the blank sits against it, and how far along the jaw from its left end."""

    against: Name
    at: Length | None = None


class SetupHolding(Part):
    """How the holding meets the blank in one setup."""

    use: Name
    fixed_jaw: Against | None = None
    end_stop: Against | None = None
    parallels: Length = 0.0
    place: Place | None = None
    corner: Point2 | None = None
    boxes: tuple[BoxBody, ...] = ()
    cylinders: tuple[CylinderBody, ...] = ()
    meshes: tuple[MeshBody, ...] = ()
