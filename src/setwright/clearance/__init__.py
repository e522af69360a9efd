"""Least distance between a moving tool assembly and bodies, with a proven bound on its error.

`Bodies.of` takes what the tool must keep clear of; `least_clearance` says how near it comes and where; `find_contacts` says what
overlaps and by how much.
"""

from setwright.clearance.bodies import Bodies, Box, Cylinder, Mesh, Shape
from setwright.clearance.contacts import ContactTable, contact_verdicts, find_contacts, moves_near
from setwright.clearance.least import ClearanceTable, least_clearance
from setwright.clearance.push import Verdict
from setwright.clearance.scene import GROUPS

__all__ = [
    "GROUPS", "Bodies", "Box", "ClearanceTable", "ContactTable", "Cylinder", "Mesh", "Shape", "Verdict", "contact_verdicts",
    "find_contacts", "least_clearance", "moves_near",
]  # fmt: skip
