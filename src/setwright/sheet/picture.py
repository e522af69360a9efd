"""What a drawing of a touch-off shows, as plain data: the blank, what holds it, the faces that can be touched, each contact."""

from __future__ import annotations

from typing import Any

from setwright.kit.station import Kit
from setwright.sheet.contacts import contacts_of
from setwright.touch.conditions import Conditions
from setwright.touch.features import HOLDING_FACES, Feature, Flat, features_of, ways_of
from setwright.touch.station import TouchResult

__all__ = ["touch_picture"]


def touch_picture(kit: Kit, touched: TouchResult | None) -> dict[str, Any]:
    """Lengths mm, positions in W, whose origin is the program's zero. Contacts in the order they were made."""
    low, high = kit.extent
    made = {face.name for face in kit.setup.face if face.made}
    features = features_of(kit.folder.job, kit.setup, Conditions())
    return {
        "blank": {"min": low.tolist(), "max": high.tolist()},
        "bodies": [{"name": body.name, "role": body.role.value, "min": bounds[0].tolist(), "max": bounds[1].tolist()}
                   for body in kit.placement.bodies for bounds in [body.bounds()]],
        "faces": [_face(feature, made=name in made) for name, feature in features.items()],
        "contacts": [
            {"number": one.number, "on": one.on, "at": list(one.at), "toward": list(one.toward), "instrument": one.instrument,
             "shown": one.display, "off_mm": one.residual, "odd": one.left_out}
            for one in contacts_of(kit, touched, kit.folder.units)
        ],
    }  # fmt: skip


def _face(feature: Feature, *, made: bool) -> dict[str, Any]:
    named = {"name": feature.name, "made": made, "held": feature.name in HOLDING_FACES,
             "ways": list(ways_of(feature))}  # fmt: skip
    if isinstance(feature, Flat):
        return named | {"kind": "flat", "at": list(feature.middle), "half": list(feature.half), "facing": list(feature.normal),
                        "diameter_mm": None}  # fmt: skip
    return named | {"kind": "bore" if feature.inside else "boss", "at": [*feature.centre, None], "half": None, "facing": None,
                    "diameter_mm": 2.0 * feature.radius}  # fmt: skip
