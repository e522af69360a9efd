"""Every numeric bound of the package, named, with its unit and where it comes from.

Three kinds are kept apart: ROUND-OFF (what float64 does to coordinates of machine size), SAME (when two values a person
wrote are the same value) and STATED (a tolerance that a person or a control profile may choose; the value here is the default).
No other module writes a bare small number.
"""

from __future__ import annotations

from typing import Final

# --- ROUND-OFF -------------------------------------------------------------------------------------------------------
COORDINATE_ROUND_OFF_MM: Final = 1e-9
"""Bound on the accumulated float64 error of a coordinate of size <= 10 m after <= 1000 operations: 1e4 * 2**-52 * 1000 ~ 2e-9,
in practice far below; used as "numerically equal" for lengths."""

UNIT_VECTOR_ROUND_OFF: Final = 1e-12
"""Bound on the error of a normalised direction's components (a few units in the last place)."""

TINY: Final = 1e-300
"""Guards a division whose numerator vanishes with the denominator."""

# --- SAME ------------------------------------------------------------------------------------------------------------
SAME_PLACE_MM: Final = 1e-6
"""Two written positions closer than this are one place: 1 nm, a thousandth of the finest register increment in use."""

SAME_ANGLE_RAD: Final = 1e-9
"""Two directions closer than this are one: moves a point 1 m away by 1 nm."""

# --- STATED ----------------------------------------------------------------------------------------------------------
CHORD_SAGITTA_MM: Final = 0.0005
"""Default radial error allowed where an arc is replaced by chords."""

ARC_RADIUS_MISMATCH_MM: Final = 0.01
"""Default difference allowed between start and end radius of an arc given by its centre (0.002 to 0.05 mm are in use)."""

ARC_RADIUS_MISMATCH_INCH_DOC_MM: Final = 0.0254
"""The same where the program is written in inches with three or four decimals: one thousandth of an inch."""

CONTACT_DEPTH_MM: Final = 1e-6
"""Overlap below this is touching, not contact: blank and jaw share a face by design, and both are exact to round-off."""

# --- ESTIMATION ------------------------------------------------------------------------------------------------------
FIT_RELATIVE_OFFSET: Final = 1e-9
"""A least-squares fit has converged when its next step is this share of the standard uncertainty (or of the residuals, if larger).
Above the noise of evaluation: coordinates of 1 m read to 1 um leave 1e6 * 2**-52 ~ 2e-10. That last step is still taken."""

RANK_RELATIVE: Final = 1e-10
"""A singular value of the column-scaled Jacobian below this share of the largest is taken as zero: far above round-off
(1e-16 times the rows), far below the weakest prior in use (1 m beside a reading good to 1 um is 1e-6)."""

DIFFERENCE_STEP_RELATIVE: Final = 6e-6
"""Step of a central first difference as a share of the argument's scale: cube root of 2**-52, where truncation meets round-off."""

MANY_RELATIVE_OFFSET: Final = 1e-6
"""The same where many sets are solved at once to count or draw: far below what a figure of two or three digits of u can show."""

COVERAGE_TAIL: Final = 1e-7
"""A part of a sum of errors this much smaller than the whole, and a bracket of a coverage interval this narrow, no longer show in
a figure printed with two or three digits."""

DISTANCE_GAP_MM: Final = 1e-7
"""A least distance is refined until its proven bounds are this close: a tenth of the finest length that is reported."""

SIMPLEX_FLATNESS: Final = 1e-13
"""A tetrahedron whose volume is below this share of the product of its edge lengths is flat to round-off (some hundred units in the
last place); which side of it a point lies on is then decided by its faces alone."""

NO_REDUNDANCY: Final = 1e-6
"""Below this redundancy number an observation counts as unchecked: a blunder in it would show to one millionth."""

PLAN_GAP: Final = 1e-9
"""Two plans of checks differ only if their times or their protection differ by more than this share: the round-off of some hundred
logarithms of probabilities, far below any rate that is known."""

# --- RAYS ------------------------------------------------------------------------------------------------------------
RAY_SHIFT_SHARE: Final = 0.0018033988749894848
"""Rays stand this share of their pitch beside the middle of their cell: digits of the golden ratio, so that no wall or floor
written with decimals runs along a ray; small enough to leave the midpoint rule's accuracy as it is."""

NORMAL_ROUND_OFF: Final = 1e-4
"""Bound on the error of a packed normal, rad: 16 bits for each of two coordinates in a square of side 2, seen aslant."""

CREASE_SHARE: Final = 1 / 8
"""A surface that turns by A rad between two rays puts the midpoint rule wrong by at most A/8 of pitch²: a bend right on a ray is a
triangle of half a pitch and of height A/2 half pitches on either side, 2 * (pitch/2)² * A/2 / 2; in the middle between rays it is
0; a smooth bend gives A/24. Where a wall ends square on a floor, the corner that is taken for in or out has at most half a pitch on
either side, 1/4 of pitch²; two bundles see it, so that 1/8 falls to each."""

SEARCH_SHARE: Final = 2.0**-42
"""A bracketed search along a motion ends when the bracket is this share of the motion: at a greatest value the ordinate is then
exact to its square, far below round-off."""

DEPTH_STEP_MM: Final = 0.001
"""A contact's depth (the push that frees the tool) is found to this step and rounded up to it."""

ARC_MISMATCH_NOTICE_MM: Final = 0.002
"""An arc end farther off its circle than this is mentioned: the limit of the open RS-274 description of 2000."""

INFLUENCE_SEEN: Final = 1e-6
"""A feature that moves by less than this share of a register's move does not follow it: ten times the round-off of a difference
over a hundredth of a millimetre, far below what any gauge can tell."""

# --- FACES FOUND -----------------------------------------------------------------------------------------------------
FACE_LEVEL_MM: Final = 1e-4
"""Ends of one flat face lie nearer than this to the next along its normal: far above round-off, far below what is programmed."""

FACE_ROUND_MM: Final = 0.001
"""Ends of one round face lie within this of it, and two of one size and place are one: chords follow an arc to half of it."""

FACE_CHORDS_MM: Final = 0.02
"""The same where a program writes an arc as short lines of its own."""

FACE_UPRIGHT: Final = 0.001
"""A wall's normal rises by less than this: ten times the error of a packed one."""

ROW_SHARE: Final = 0.001
"""Rays are told into rows by their place to this share of their distance."""

DECIMALS_ROUND_OFF: Final = 1e-6
"""A number is drawn in to a step of its decimals unless it lies on one to this share of the step."""
