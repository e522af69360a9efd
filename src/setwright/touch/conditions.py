"""What is assumed where neither the job nor the shop says: named, with its unit, for the shop to overwrite."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from setwright.load.materials import expansion_of
from setwright.model.job import Job
from setwright.model.reading import Surroundings

__all__ = ["Conditions", "conditions_of"]

@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """Half widths (±, anything inside alike) of what bends every touch-off; mm and rad.

    face_form       waviness and roughness under the tip, each contact for itself (a milled face; a sawn one is worse)
    face_square     a face not square or parallel to the one that gives the angle (0.05 mm in 100 mm)
    feature_place   a bore, boss or face from an earlier operation that is not itself the datum
    bore_size       an unmeasured bore or boss
    off_centre      how far beside the middle a bore is touched when the other axis was not read
    growth          spindle growth along Z between touch-off and cutting, warmed up
    growth_across   the same along X and Y: column and head
    warmth          how far the part may be from 20 °C, K
    expansion       of the part's material, 1/K (steel, unless the job's material says another)
    same_depth      how far apart in height upright faces are touched in one touch-off, where the height was not read
    seating_tilt    the part not flat on its parallels, used once three heights are touched
    by_eye_angle    a part laid against nothing
    known_square    assumed difference between the fixed jaw's direction and two bores that give the angle
    nominal_radius  a tool's radius taken from its nominal diameter (one standard deviation)
    axes_square     X and Y of the machine not square to each other
    least_place     a stated place of the holding is never better than this (one standard deviation)
    least_angle     a trued vise is never better than this
    blank_size      a size of the blank for which nobody wrote how far it varies (sawn or cast)
    guessed_size    a size of the blank that a draft guessed
    table_height    the table's height in the machine's file
    guessed_table   the same where a draft guessed the machine
    unmeasured      the size of a tip that nobody measured (its diameter), and of a setter or other height under a tip
    dial_zero       where an indicator's dial was set to zero, before anything is known
    """

    face_form: float = 0.002
    face_square: float = 0.0005
    feature_place: float = 0.05
    bore_size: float = 0.1
    off_centre: float = 1.0
    growth: float = 0.005
    growth_across: float = 0.002
    warmth: float = 2.0
    expansion: float = field(default_factory=lambda: expansion_of(""))
    same_depth: float = 3.0
    seating_tilt: float = 0.0005
    by_eye_angle: float = 0.01
    known_square: float = 0.001
    nominal_radius: float = 0.02
    axes_square: float = 0.00003
    least_place: float = 0.5
    least_angle: float = 0.00002
    blank_size: float = 0.5
    guessed_size: float = 10.0
    table_height: float = 0.02
    guessed_table: float = 200.0
    unmeasured: float = 0.1
    dial_zero: float = 25.0


def conditions_of(job: Job, surroundings: Surroundings) -> Conditions:
    """The assumptions, with the expansion of the job's material, and what the shop states beside its readings."""
    stated = {name: value for name in type(surroundings).model_fields if (value := getattr(surroundings, name)) is not None}
    return replace(Conditions(expansion=expansion_of(job.job.material, job.shop.materials)), **stated)
