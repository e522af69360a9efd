"""What is assumed where neither the job nor the shop says: named, with its unit, for the shop to overwrite."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Conditions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Half widths (±, anything inside alike) of what bends every touch-off; mm and rad.

    face_form       waviness and roughness under the tip, each contact for itself (a milled face; a sawn one is worse)
    face_square     a face not square or parallel to the one that gives the angle (0.05 mm in 100 mm)
    feature_place   a bore, boss or face from an earlier operation that is not itself the datum
    bore_size       an unmeasured bore or boss
    off_centre      how far beside the middle a bore is touched when the other axis was not read
    growth          spindle growth along Z between touch-off and cutting, warmed up
    seating_tilt    the part not flat on its parallels, used once three heights are touched
    by_eye_angle    a part laid against nothing
    known_square    assumed difference between the fixed jaw's direction and two bores that give the angle
    nominal_radius  a tool's radius taken from its nominal diameter (one standard deviation)
    axes_square     X and Y of the machine not square to each other
    least_place     a stated place of the holding is never better than this (one standard deviation)
    least_angle     a trued vise is never better than this
    dial_zero       where an indicator's dial was set to zero, before anything is known
    """

    face_form: float = 0.002
    face_square: float = 0.0005
    feature_place: float = 0.05
    bore_size: float = 0.1
    off_centre: float = 1.0
    growth: float = 0.005
    seating_tilt: float = 0.0005
    by_eye_angle: float = 0.01
    known_square: float = 0.001
    nominal_radius: float = 0.02
    axes_square: float = 0.00003
    least_place: float = 0.5
    least_angle: float = 0.00002
    dial_zero: float = 25.0
