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
