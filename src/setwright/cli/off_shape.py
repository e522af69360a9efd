"""What prove says of the whole surface beside the wanted shape, and the file it writes."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from setwright.base.errors import InputRefused
from setwright.cli.common import Asked
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.prove.shape_map import ShapePlace
    from setwright.prove.station import Proof

__all__ = ["compare_surface"]


def compare_surface(asked: Asked, proofs: list[Proof], file: Path) -> dict[str, Any]:
    """Write the map of the one setup that states a wanted shape, say its worst lines, and give the same as plain data, mm."""
    from setwright.jobfolder.append import replace_bytes
    from setwright.prove.shape_map import map_file, shape_map

    if file.suffix.casefold() != ".ply":
        raise InputRefused.because(f"--off-shape {file.name} is of a kind that is not written", remedy="name a file ending in .ply")
    stated = [proof for proof in proofs if proof.kit.setup.wanted is not None]
    if len(stated) > 1:
        names = ", ".join(f'"{proof.kit.setup.name}"' for proof in stated)
        raise InputRefused.because("a file shows the part of one setup", why=f"a wanted shape is stated in {names}",
                                   remedy="name the one with --setup")  # fmt: skip
    proof = stated[0] if stated else proofs[-1]
    shown = shape_map(proof)
    try:
        replace_bytes(file, map_file(shown))
    except OSError as error:
        raise InputRefused.because(f"{file} cannot be written", why=error.strerror or str(error),
                                   remedy="name a file in a folder that can be written") from error  # fmt: skip
    share = "all" if shown.share_within >= 1.0 else f"{math.floor(1000 * shown.share_within) / 10:.1f} %"  # never rounded up to all
    asked.people.print(
        f"Beside the wanted shape of “{proof.kit.setup.name}”: {share} of the surface lies within "
        f"{length(shown.within_mm, asked.units)}."
    )
    for place in shown.places:
        asked.people.print("  " + _said(asked, place))
    asked.people.print(f"{len(shown.triangles)} triangles with their distances written to {file}")
    worst = [{"distance_mm": place.distance_mm, "at_mm": list(place.at), "file": place.file, "line": place.line}
             for place in shown.places]  # fmt: skip
    return {"setup": proof.kit.setup.name, "within_mm": shown.within_mm, "share_within": shown.share_within,
            "bound_mm": shown.bound_mm, "worst": worst}  # fmt: skip


def _said(asked: Asked, place: ShapePlace) -> str:
    at = ", ".join(length(value, asked.units, bare=True) for value in place.at)
    what = "of metal left" if place.distance_mm > 0 else "missing"
    made = f"{place.file}:{place.line}" if place.line else "no line cuts there"
    return f"{length(abs(place.distance_mm), asked.units)} {what} at ({at}): {made}"
