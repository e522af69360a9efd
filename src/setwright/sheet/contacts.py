"""Where each contact was made, as far as the display says, for the dots on the drawing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from setwright.kit.instrument import find_instrument
from setwright.kit.station import Kit
from setwright.model.job import BOX_FACES
from setwright.model.reading import Contact as Touched
from setwright.sheet.content import Contact, Point
from setwright.sheet.wording import plain_length
from setwright.touch.station import TouchResult

__all__ = ["contacts_of"]

_BELOW_TOP = 8.0


def contacts_of(kit: Kit, touched: TouchResult | None, units: str) -> tuple[Contact, ...]:
    """The contacts of the kit's setup in the order they were made, what was read in `units`; empty before anything was touched."""
    if touched is None:
        return ()
    odd = {outlier.reading: outlier.text() for outlier in touched.outliers}
    off: dict[int, float] = {}
    for row, residual in zip(touched.solution.rows, touched.solution.fit.residuals.tolist(), strict=True):
        off[row.reading] = max(off.get(row.reading, 0.0), residual, key=abs)  # a sweep reads two numbers; the worse one counts
    machine_from_work = touched.truth().machine_from_work
    found = []
    mine = [contact for contact in kit.folder.job.readings.contact if contact.setup == kit.setup.name]
    for number, contact in enumerate(mine):
        toward = np.zeros(3)
        if contact.toward != "sweep":
            toward["XYZ".index(contact.toward[1])] = 1.0 if contact.toward[0] == "+" else -1.0
        read = {axis.upper(): value for axis in "xyz" if (value := getattr(contact.display, axis)) is not None}
        shown = " ".join(f"{axis} {plain_length(value, units)}" for axis, value in read.items())
        on = contact.on if contact.tool is None else f"{contact.on} · T{contact.tool}"
        instrument = find_instrument(kit.folder.job.shop.instruments, contact.with_)
        tip = machine_from_work.inverse().points(_shown(contact, machine_from_work.points(_middle(contact.on, kit))))
        at = tip + toward * instrument.tip_diameter / 2
        at[2] = kit.extent[1][2] if contact.toward.endswith("Z") else kit.extent[1][2] - _BELOW_TOP
        found.append(Contact(number + 1, on, _point(at), _point(toward), instrument.name, shown, off.get(number),
                             odd.get(number, "")))  # fmt: skip
    return tuple(found)


def _shown(contact: Touched, otherwise: NDArray[np.float64]) -> list[float]:
    """Machine position of the tip's axis: as shown, and where an axis was not read as it should be."""
    position: list[float] = otherwise.tolist()
    for number, value in enumerate((contact.display.x, contact.display.y, contact.display.z)):
        if value is not None:
            position[number] = value
    return position


def _middle(on: str, kit: Kit) -> list[float]:
    """The middle of a named face in W; the middle of the blank's back for a jaw or a stop."""
    low, high = kit.extent
    middle: list[float] = ((low + high) / 2).tolist()
    for face in kit.setup.face:
        if face.name == on:
            stated = face.bore or face.boss
            return [*stated.centre, middle[2]] if stated is not None else list(face.flat.at if face.flat is not None else middle)
    if on in BOX_FACES:
        number = BOX_FACES.index(on)
        middle[number // 2] = float(high[number // 2] if number % 2 else low[number // 2])
    return middle


def _point(values: NDArray[np.float64]) -> Point:
    x, y, z = values.tolist()
    return x, y, z
