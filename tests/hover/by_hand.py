"""Slips written into a job folder as a person would write them, and what a whole proof of that folder says.

Nothing of the injection is used: the folder is copied, its TOML, programs and meshes are changed, and it is read and proved from
scratch. Only the rules that make a class of the facts are those of the package.
"""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from setwright.geometry.bodies import BoxShape, CylinderShape, MeshShape
from setwright.hover.consequence import Followed, judged
from setwright.hover.course import Course, course_of
from setwright.hover.happening import breaks_by_contact, breaks_in, is_crash, loads_of, overloads
from setwright.hover.outcome import Consequence
from setwright.hover.reference import Reference
from setwright.hover.study import StudiedSlip
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.prove.chain import prove_job
from setwright.prove.plunges import with_cores
from setwright.prove.station import Proof
from setwright.removal.cut import cut
from setwright.slips.world import as_set

__all__ = ["Folder", "as_proved", "written_by_hand"]

_WIDE = 100_000.0
DEMOS = Path(__file__).parents[2] / "src" / "setwright" / "demo"
Edit = Callable[["Folder", StudiedSlip], None]


class Folder:
    """A copy of a job folder, its job.toml as plain data."""

    def __init__(self, source: Path, setup: str, at: Path) -> None:
        shutil.copytree(source, at)
        self.source, self.at = source, at
        self.job: dict[str, Any] = tomllib.loads((at / "job.toml").read_text("utf-8"))
        self.name = setup
        self.setup: dict[str, Any] = next(one for one in self.job["setup"] if one["name"] == setup)

    @property
    def per(self) -> float:
        """mm in a bare number of job.toml."""
        return 25.4 if self.job["units"] == "in" else 1.0

    def tool(self, station: int) -> dict[str, Any]:
        """The table of a tool."""
        return next(tool for tool in self.setup["tool"] if tool["station"] == station)

    def shop(self, kind: str, name: str) -> tuple[Path, dict[str, Any]]:
        """A file of the shop and its content."""
        path = self.at / "shop" / kind / f"{name}.toml"
        return path, tomllib.loads(path.read_text("utf-8"))

    def save(self) -> None:
        """Write job.toml."""
        write(self.at / "job.toml", self.job)


def write(path: Path, table: dict[str, Any]) -> None:
    """Plain data as TOML, tables in a line."""
    path.write_text("".join(f"{key} = {text(value)}\n" for key, value in table.items()), encoding="utf-8")


def text(value: Any) -> str:
    """One value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{key}" = {text(item)}' for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(text(item) for item in value) + "]"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return repr(value)


def registers(folder: Folder, slip: StudiedSlip) -> None:
    """registers.toml: everything the control holds, as it would be read off its screen."""
    held = slip.world.held.registers
    offsets = {name: {"x": f"{at.x!r} mm", "y": f"{at.y!r} mm", "z": f"{at.z!r} mm", "rotation": f"{at.rotation!r} rad"}
               for name, at in held.offsets.items()}  # fmt: skip
    numbers = sorted({*held.lengths, *held.radii})
    tools = {str(n): {"length": f"{held.lengths.get(n, 0.0)!r} mm", "radius": f"{held.radii.get(n, 0.0)!r} mm"} for n in numbers}
    x, y, z = held.external
    external = {"x": f"{x!r} mm", "y": f"{y!r} mm", "z": f"{z!r} mm"}
    write(folder.at / "registers.toml", {"format": 1, "units": "mm", "setup": folder.name, "offset": offsets, "tool": tools,
                                         "external": external})  # fmt: skip


def presets(folder: Folder, slip: StudiedSlip) -> None:
    """Tools as they really hang: preset length and radius, stick-out."""
    for station, hung in slip.world.kit.tools.items():
        tool = folder.tool(station)
        preset = tool.setdefault("preset", {})
        preset["length"] = slip.world.truth.lengths[station] / folder.per
        preset["radius"] = slip.world.truth.radii[station] / folder.per
        tool["stickout"] = hung.stickout / folder.per


def exchanged(folder: Folder, slip: StudiedSlip) -> None:
    """Two tools in each other's pockets."""
    a, b = (folder.tool(int(name.strip()[1:])) for name in slip.occurrence.subject.split(","))
    for key in ("use", "stickout"):
        a[key], b[key] = b[key], a[key]
    a["preset"], b["preset"] = b.get("preset", {}), a.get("preset", {})
    presets(folder, slip)


def part_in_jaws(folder: Folder, slip: StudiedSlip) -> None:
    """The part along the jaws: farther from their end than without the slip."""
    moved = slip.world.truth.machine_from_work.shift - good_shift(folder)
    against = folder.setup["holding"]["end_stop"]["against"]
    axis = 0 if against in ("left", "right") else 1
    corner, size = np.array(folder.setup["blank"]["corner"]) * folder.per, extent(folder)
    face = corner[axis] if against in ("left", "front") else corner[axis] + size[axis]
    jaw = folder.shop("holding", folder.setup["holding"]["use"])[1]["vise"]["jaw_width"] * folder.per
    start = corner[axis] + (size[axis] - jaw) / 2
    folder.setup["holding"]["end_stop"]["at"] = float(face - start + moved[axis]) / folder.per


def lifted(folder: Folder, slip: StudiedSlip) -> None:
    """The part higher over the bed of the vise."""
    up = float((slip.world.truth.machine_from_work.shift - good_shift(folder))[2])
    folder.setup["holding"]["parallels"] = folder.setup["holding"].get("parallels", 0.0) + up / folder.per


def moved_holding(folder: Folder, slip: StudiedSlip) -> None:
    """The holding elsewhere on the table."""
    by = slip.world.truth.machine_from_work.shift - good_shift(folder)
    place = folder.setup["holding"]["place"]
    place["x"] += float(by[0]) / folder.per
    place["y"] += float(by[1]) / folder.per


def turned_part(folder: Folder, slip: StudiedSlip) -> None:
    """The part turned against the axes: to the part it is as if the program were turned the other way."""
    turn = slip.world.truth.machine_from_work.rotation
    angle = float(np.arctan2(turn[1, 0], turn[0, 0]))
    path = folder.at / "registers.toml"
    table = tomllib.loads(path.read_text("utf-8"))
    zero = good_shift(folder)[:2]
    back = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    for at in table["offset"].values():
        x, y = zero + back @ (np.array([float(at[axis].split()[0]) for axis in "xy"]) - zero)
        at |= {"x": f"{float(x)!r} mm", "y": f"{float(y)!r} mm", "rotation": f"{-angle!r} rad"}
    write(path, table)


def other_jaw(folder: Folder, slip: StudiedSlip) -> None:
    """The vise the other way round, the part where it was."""
    holding = folder.setup["holding"]
    other = {"back": "front", "front": "back", "left": "right", "right": "left"}
    holding["fixed_jaw"]["against"] = other[holding["fixed_jaw"]["against"]]
    zero_where_it_was(folder)


def zero_where_it_was(folder: Folder) -> None:
    """The holding's place such that the program's zero lies where it lay before."""
    folder.save()
    place = folder.setup["holding"].get("place")
    if place is not None:
        by = good_shift(folder) - kit_of(folder).placement.machine_from_work.shift
        place["x"] += float(by[0]) / folder.per
        place["y"] += float(by[1]) / folder.per


def higher_jaws(folder: Folder, slip: StudiedSlip) -> None:
    """Another jaw height in the vise's file."""
    path, table = folder.shop("holding", folder.setup["holding"]["use"])
    table["vise"]["jaw_height"] += slip.occurrence.size_mm or 0.0
    write(path, table)


def higher_clamps(folder: Folder, slip: StudiedSlip) -> None:
    """Boxes and cylinders that stand above the part, taller."""
    top = folder.setup["blank"]["corner"][2] + extent(folder)[2] / folder.per
    by = (slip.occurrence.size_mm or 0.0) / folder.per
    for box in folder.setup["holding"].get("boxes", []):
        if box["corner"][2] + box["size"][2] > top:
            box["size"][2] += by
    for cylinder in folder.setup["holding"].get("cylinders", []):
        if cylinder["centre"][2] + cylinder["height"] > top:
            cylinder["height"] += by


def other_blank(folder: Folder, slip: StudiedSlip) -> None:
    """The blank of another size, or turned; a mesh is written anew."""
    blank, per = folder.setup["blank"], folder.per
    if slip.world.kit.blank is None:
        about = {"end": "z", "long": "x", "short": "y"}[next(w for w in ("end", "long", "short") if w in slip.world.lies)]
        blank["turned"] = [*blank.get("turned", []), {"about": about, "by": 180}]
        return
    shape, (low, high) = slip.world.kit.blank.shape, slip.world.kit.blank.bounds()
    blank["corner"] = (low / per).tolist()
    if isinstance(shape, BoxShape):
        blank["box"] = ((high - low) / per).tolist()
    elif isinstance(shape, CylinderShape):
        blank["cylinder"] = {"diameter": 2 * shape.radius / per, "height": (shape.top - shape.bottom) / per}
    else:
        _write_stl(folder.at / blank["mesh"], shape)
        blank["mesh_units"] = "mm"
    zero_where_it_was(folder)


def _write_stl(path: Path, shape: MeshShape) -> None:
    """A text STL, every digit."""
    lines = ["solid blank"]
    for triangle in shape.triangles.tolist():
        corners = "".join(f"vertex {x!r} {y!r} {z!r}\n" for x, y, z in triangle)
        lines.append(f"facet normal 0 0 0\nouter loop\n{corners}endloop\nendfacet")
    path.write_text("\n".join([*lines, "endsolid blank\n"]))


def program(folder: Folder, slip: StudiedSlip) -> None:
    """The program files as they run; another one is put in the place of the first."""
    runs = dict(slip.world.sources)
    if slip.world.left_modes:  # what the control ran before leaves it so
        runs = {"before.nc": f"{slip.world.left_modes}\n".encode(), **runs}
    names = list(runs)
    for name in names:
        (folder.at / name).write_bytes(runs[name])
    folder.setup["programs"] = names


EDITS: dict[str, tuple[Edit, ...]] = {
    "tool-pulled-out": (presets,), "holder-not-seated": (presets,), "stickout-short": (presets,), "cutter-reground": (presets,),
    "tools-exchanged": (exchanged,), "part-lifted": (lifted,), "chip-under-part": (lifted,), "other-parallels": (lifted,),
    "not-against-stop": (part_in_jaws,), "stop-moved": (part_in_jaws,), "holding-moved": (moved_holding,),
    "holding-not-true": (turned_part,), "jaw-changed-over": (other_jaw,), "jaws-higher": (higher_jaws,),
    "clamp-higher": (higher_clamps,), "blank-lies-otherwise": (other_blank,), "blank-too-large": (other_blank,),
    "blank-too-small": (other_blank,), "wrong-program": (program,), "program-cut-short": (program,),
    "begun-in-the-middle": (program,), "tool-of-another-diameter": (presets,), "mirror-left": (program,), "scale-left": (program,),
    "incremental-left": (program,), "control-in-other-unit": (program,),
}  # fmt: skip
"""What is written beside registers.toml, by the name of the slip; the others are all in the registers."""


def good_shift(folder: Folder) -> Any:
    """Where the zero of the untouched job lies in the machine, mm."""
    job = load_job(folder.source)
    return kit(job, job.job.setup_named(folder.name)).placement.machine_from_work.shift


def extent(folder: Folder) -> Any:
    """Size of the untouched job's blank, mm."""
    low, high = kit_of(folder).extent
    return high - low


def kit_of(folder: Folder) -> Kit:
    """The folder as it stands on disk, put together."""
    loaded = load_job(folder.at)
    return kit(loaded, loaded.job.setup_named(folder.name))


def written_by_hand(source: Path, setup: str, slip: StudiedSlip, room: Path) -> Folder:
    """The job with the slip in its files; `room`: an empty place."""
    folder = Folder(source, setup, room / source.name)
    registers(folder, slip)
    for edit in EDITS.get(slip.occurrence.slug, ()):
        edit(folder, slip)
    folder.save()
    return folder


def as_proved(folder: Folder, reference: Reference) -> Consequence:
    """The class of a whole, non-incremental proof of the folder. Where a draft guessed the machine's travel, of the worse of two:
    with the travel as guessed and with a wider one."""
    ways = [_as_proved(folder, reference)]
    if any(guess["key"].endswith(": travel") for guess in folder.job.get("guess", [])):
        path, machine = folder.shop("machines", folder.setup["machine"])
        machine["travel"] = {axis: [low - _WIDE, high + _WIDE] for axis, (low, high) in machine["travel"].items()}
        write(path, machine)
        ways.append(_as_proved(folder, reference))
    return min(ways, key=lambda one: one.outcome.rank)


def _as_proved(folder: Folder, reference: Reference) -> Consequence:
    loaded = load_job(folder.at)
    proof = prove_job(loaded, [loaded.job.setup_named(folder.name)], pitch_mm=reference.pitch_mm)[0]
    course = course_of(as_set(proof.kit, nominal_truth(proof.kit), metal=proof.before if proof.kit.blank is None else None))
    return judged(_followed(proof, course, reference), reference)


def _followed(proof: Proof, course: Course, reference: Reference) -> Followed:
    contacts = [contact for contact in proof.case.contacts if contact.row < course.stop_row]
    until = min((contact.row for contact in contacts if is_crash(contact)), default=len(course.path))
    moves = proof.moves[proof.moves.ident < min(course.stop_row, until + 1)]
    cutting, core = with_cores(moves, course.cores)
    done = cut(proof.before, cutting, course.pieces)
    breaks = [*breaks_in(done, cutting, core, course, proof.kit.tools), *breaks_by_contact(contacts, course),
              *overloads(loads_of(done, cutting, core, course), reference.most, proof.truth.radii)]  # fmt: skip
    kept = [found for found in breaks if found.row <= until and (found.row, found.station) not in reference.usual_breaks]
    crashed = any(is_crash(contact) for contact in contacts)
    return Followed(course, tuple(sorted(contacts, key=lambda c: c.row)), tuple(sorted(kept, key=lambda b: (b.row, b.station))),
                    None if crashed else done.field)  # fmt: skip
