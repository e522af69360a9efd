"""What prove shows of one moment: the metal before a line, the maker of a place, the surface as a file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from setwright.base.errors import InputRefused
from setwright.base.units import format_volume
from setwright.cli.common import Asked
from setwright.cli.format import length

if TYPE_CHECKING:
    from setwright.prove.station import Proof
    from setwright.removal.field import Field

__all__ = ["look"]

_MM = {"mm": 1.0, "inch": 25.4}


def look(
    asked: Asked, proofs: list[Proof], *, at: tuple[str, int] | None, point: str | None, surface: Path | None
) -> dict[str, Any]:
    """Say what was asked of the moment, write the surface if asked, and give the same as plain data: lengths mm, volumes mm³."""
    proof = _the_one(proofs, at)
    shown: dict[str, Any] = {"setup": proof.kit.setup.name}
    metal = proof.after
    if at is not None:
        metal = _say_moment(asked, proof, at, shown)
    if point is not None:
        _say_maker(asked, proof, metal, _place(asked, point), shown)
    if surface is not None:
        _write(asked, metal, surface)
    return shown


def _the_one(proofs: list[Proof], at: tuple[str, int] | None) -> Proof:
    these = [proof for proof in proofs if at is None or proof.kit.setup.runs(*at)]
    if len(these) == 1:
        return these[0]
    names = ", ".join(f'"{proof.kit.setup.name}"' for proof in proofs)
    raise InputRefused.because("a moment belongs to one setup", why=f"asked are {names}", remedy="name the one with --setup")


def _say_moment(asked: Asked, proof: Proof, at: tuple[str, int], shown: dict[str, Any]) -> Field:
    from setwright.prove.bench import COURSE_WITHIN_MM
    from setwright.prove.moment import moment_before

    moment = moment_before(proof, at)
    under = "no metal is under the tip"
    if moment.above_mm is not None:
        by = length(abs(moment.above_mm), asked.units)
        under = f"the tip stands {by} {'above' if moment.above_mm >= 0 else 'inside'} the metal under it"
    near = length(moment.clears_mm, asked.units)
    beyond = "more than" if moment.clears_mm >= COURSE_WITHIN_MM else "at least"
    clear = "touches holding or table" if moment.clears_mm <= 0 else f"clears holding and table by {beyond} {near}"
    asked.people.print(
        f"Before {moment.file}:{moment.line}: {format_volume(moment.rest.value, asked.units)} of metal, and {under}. "
        f"The line removes {format_volume(moment.removes, asked.units, places=2)} and {clear}."
    )
    shown |= {"file": moment.file, "line": moment.line, "rest_mm3": moment.rest.value, "above_mm": moment.above_mm,
              "removes_mm3": moment.removes, "clears_mm": moment.clears_mm}  # fmt: skip
    return moment.metal


def _place(asked: Asked, text: str) -> tuple[float, float, float]:
    try:
        x, y, z = (float(part) * _MM[asked.units] for part in text.split(","))
    except ValueError as error:
        raise InputRefused.because(f'--point "{text}" is no place', remedy="write three numbers, as --point 12.5,30,-4") from error
    return x, y, z


def _say_maker(asked: Asked, proof: Proof, metal: Field, point: tuple[float, float, float], shown: dict[str, Any]) -> None:
    from setwright.prove.moment import made_by

    made = made_by(proof, metal, point)
    where = ", ".join(length(value, asked.units, bare=True) for value in made.at)
    maker = f"{made.file}:{made.line} made it" if made.line else "it is the blank's own skin"
    asked.people.print(f"Surface at ({where}), {length(made.away_mm, asked.units)} from the point asked for: {maker}.")
    shown["made_by"] = {"at_mm": list(made.at), "away_mm": made.away_mm, "file": made.file, "line": made.line}


def _write(asked: Asked, metal: Field, file: Path) -> None:
    from setwright.geometry.stl import write_stl
    from setwright.jobfolder.append import replace_bytes
    from setwright.removal.surface import surface_of

    if file.suffix.casefold() != ".stl":
        raise InputRefused.because(f"--surface {file.name} is of a kind that is not written", remedy="name a file ending in .stl")
    drawn = surface_of(metal)
    try:
        replace_bytes(file, write_stl(drawn.corners[drawn.triangles]))
    except OSError as error:
        raise InputRefused.because(f"{file} cannot be written", why=error.strerror or str(error),
                                   remedy="name a file in a folder that can be written") from error  # fmt: skip
    asked.people.print(f"{len(drawn.triangles)} triangles written to {file}")
