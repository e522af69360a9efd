"""The faces a program made, found on the simulated part and named in the words of the trade, ready to be tied to a drawing.

A name says what the face is, its size and its place, and nothing of rays, lines or tools: proved again at another pitch, or after
an edit of the program that leaves the face as it was, the same face has the same name and the same statement in job.toml.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from setwright.base.errors import InputRefused
from setwright.base.tolerance import DECIMALS_ROUND_OFF, FACE_ROUND_MM
from setwright.base.units import format_length
from setwright.program.path import Path
from setwright.prove.patches import Cone, FlatPatch, RoundPatch, patches_of
from setwright.prove.station import Proof
from setwright.removal.ready import Ends

__all__ = ["Distance", "FoundFace", "FoundFaces", "MadeBy", "Pattern", "found_faces"]

_ROUND_TURN_RAD: Final = 1.1 * math.pi
"""More of a circle than this is called a bore or a boss, less an inside or an outside radius."""

_TOWARD: Final = {(0, -1): "left", (0, 1): "right", (1, -1): "front", (1, 1): "back"}
_Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MadeBy:
    """A tool and the lines, first and last, of a program in which it made some of a face."""

    tool: int
    file: str
    first: int
    last: int

    @property
    def words(self) -> str:
        """ "T3, cap-1.nc lines 92–97"."""
        lines = f"line {self.first}" if self.first == self.last else f"lines {self.first}–{self.last}"
        return f"T{self.tool}, {self.file} {lines}"


@dataclass(frozen=True, slots=True)
class FoundFace:
    """A face of the part. `kind`: flat, leaning, bore, boss, inside radius, outside radius or cone; `diameter` of a round one;
    `at`: a place on it, or on its axis; `facing`: unit vector it looks along, nought for a round one; `level`: of a flat one along
    it; `low`, `high`: the box about it; `form`: how far its ends are off it, greatest less least; all mm, in W. `stated`: what
    job.toml says of it, in the job's unit; empty where no requirement can be tied to such a face."""

    name: str
    kind: str
    at: tuple[float, float, float]
    facing: tuple[float, float, float]
    level: float
    diameter: float | None
    low: tuple[float, float, float]
    high: tuple[float, float, float]
    areas: int
    area: float
    form: float
    made_by: tuple[MadeBy, ...]
    stated: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance between two faces found: `what` it is (slot, wall thickness, width over all, depth), mm."""

    what: str
    between: tuple[str, str]
    value: float


@dataclass(frozen=True, slots=True)
class Pattern:
    """Bores of one size that stand in an order: how, in words."""

    words: str
    faces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FoundFaces:
    """All faces of one setup. `left_share`: of the area that the program made, what is none of them: curved, stepped, or narrower
    than two rays; `left_tools`: the tools that made that."""

    units: str
    faces: tuple[FoundFace, ...]
    distances: tuple[Distance, ...]
    patterns: tuple[Pattern, ...]
    left_share: float
    left_tools: tuple[int, ...]
    grid_mm: float

    def as_plain(self) -> dict[str, Any]:
        """For JSON; lengths in mm, places in W."""
        return {"faces": [_plain(face) for face in self.faces], "left_share": self.left_share, "left_tools": list(self.left_tools),
                "distances": [{"what": one.what, "between": list(one.between), "mm": one.value} for one in self.distances],
                "patterns": [{"words": one.words, "faces": list(one.faces)} for one in self.patterns],
                "grid_mm": self.grid_mm, "toml": self.as_toml()}  # fmt: skip

    def as_toml(self) -> str:
        """The faces as they are pasted into job.toml, below their setup."""
        return "\n".join(_table(face) for face in self.faces if face.stated)


def found_faces(proof: Proof) -> FoundFaces:
    """The faces of the part after a proof; on a pallet those of the first part. Sizes and places are within 1 um of the programmed
    ones, extents inside the face. Raises InputRefused where the proof stopped on its way: a face could still be cut away."""
    if proof.stopped or not proof.case.whole or proof.part is None:
        raise InputRefused.because("the program was not proved to its end", why="what it makes later is not known",
                                   remedy="put right what the proof stops at, or prove without --until")  # fmt: skip
    reach = np.full(3, proof.grid_mm)
    low, high = (np.array(corner) for corner in proof.kit.extent)
    patches = patches_of(proof.part, (low - reach).tolist(), (high + reach).tolist())
    units = proof.kit.folder.job.units
    namer = _Namer(proof.reading.interpreted.path, "in" if units in ("in", "inch") else "mm")
    flats, rounds = [namer.flat(one) for one in _joined(patches.flat, namer)], [namer.round(one) for one in patches.round]
    faces = _numbered(_in_order([*_topped(flats, patches.highest), *rounds, *(namer.cone(one) for one in patches.cones)]))
    tools = tuple(sorted({one.tool for one in namer.made_by(patches.left)})) if patches.left.axis.size else ()
    share = patches.left_area / patches.area if patches.area else 0.0
    return FoundFaces(namer.unit, faces, tuple(_distances(faces, proof.grid_mm)), tuple(_patterns(faces, namer)), share, tools,
                      proof.grid_mm)  # fmt: skip


@dataclass(slots=True)
class _Namer:
    """Says in the job's unit what a patch is."""

    path: Path
    unit: str

    def number(self, mm: float) -> str:
        """A length in as few digits as it has, to a tenth of a micrometre or a hundred-thousandth of an inch: one place more than
        programs are written with, so that halves of what they write do not turn with the last bit."""
        text = format_length(mm, self.unit, places=5 if self.unit == "in" else 4).rsplit(" ", 1)[0]
        return text.rstrip("0").rstrip(".") if "." in text else text

    def value(self, mm: float) -> float:
        """The same as a number of job.toml."""
        return float(self.number(mm))

    def inside(self, low: float, high: float) -> tuple[float, float]:
        """Two ends as numbers of job.toml, drawn in to 0.1 mm or 0.005 inch where there is room."""
        scale = 25.4 if self.unit == "in" else 1.0
        for step in ((0.005, 0.001, 0.0001) if self.unit == "in" else (0.1, 0.01, 0.001)):
            a = math.ceil(low / scale / step - DECIMALS_ROUND_OFF) * step
            b = math.floor(high / scale / step + DECIMALS_ROUND_OFF) * step
            if b - a >= 0.9 * (high - low) / scale:
                return round(a, 4), round(b, 4)
        return round(low / scale, 4), round(high / scale, 4)

    def made_by(self, ends: Ends) -> tuple[MadeBy, ...]:
        """Who made some ends, in the order of the program."""
        found: dict[tuple[int, str], list[int]] = {}
        for row in np.unique(ends.ident).tolist():
            tool, file = self.path.states[int(self.path.state[row])].tool, self.path.files[int(self.path.file[row])]
            found.setdefault((tool, file), []).append(int(self.path.line[row]))
        return tuple(MadeBy(tool, file, min(lines), max(lines)) for (tool, file), lines in found.items())

    def flat(self, patches: Sequence[FlatPatch]) -> FoundFace:
        """Areas of one plane as one face; the widest of them is what is measured."""
        widest = max(patches, key=lambda one: one.area)
        normal, ends = widest.normal, _together([one.ends for one in patches])
        low, high = ends.points.min(axis=0), ends.points.max(axis=0)
        form = float(np.ptp(ends.points @ normal))
        area = sum(one.area for one in patches)
        if not widest.square:
            at, across = _disc_in(widest)
            name = self._leaning_name(normal, widest.level)
            stated = {"slope": {"facing": [round(float(x), 6) for x in normal], "at": [self.value(x) for x in at],
                                "across": self.value(across)}} if across > 0.0 else {}  # fmt: skip
            return FoundFace(name, "leaning", _three(at), _three(normal), widest.level, None, _three(low), _three(high),
                             len(patches), area, form, self.made_by(ends), stated)  # fmt: skip
        axis = int(np.abs(normal).argmax())
        side, level = int(normal[axis]), widest.level * float(normal[axis])
        place = f"{'XYZ'[axis]}{self.number(level)}"
        name = f"{'floor' if side > 0 else 'underside'} {place}" if axis == 2 else f"wall {place} facing {_TOWARD[axis, side]}"
        place_at, size = [self.value(level)] * 3, []
        for c in (c for c in range(3) if c != axis):
            begin, end = self.inside(float(widest.low[c]), float(widest.high[c]))
            place_at[c] = round((begin + end) / 2.0, 5)
            size.append(round(end - begin, 4))
        stated = {"flat": {"facing": f"{'+' if side > 0 else '-'}{'XYZ'[axis]}", "at": place_at, "size": size}}
        middle = (widest.low + widest.high) / 2.0
        return FoundFace(name, "flat", _three(middle), _three(normal), widest.level, None, _three(low), _three(high), len(patches),
                         area, form, self.made_by(ends), stated)  # fmt: skip

    def _leaning_name(self, normal: _Array, level: float) -> str:
        lean = self._degrees(math.acos(float(np.clip(normal[2], -1.0, 1.0))))
        toward = self._degrees(math.atan2(float(normal[1]), float(normal[0])) % math.tau)
        return f"face leaning {lean}° toward {toward}° at {self.number(level)}"

    def _degrees(self, rad: float) -> str:
        text = f"{math.degrees(rad):.2f}".rstrip("0").rstrip(".")
        return "0" if text in ("-0", "360") else text

    def round(self, patch: RoundPatch) -> FoundFace:
        """A bore, a boss or a part of one."""
        x, y = patch.centre
        whole = patch.arc is None or (patch.arc[1] - patch.arc[0]) % math.tau >= _ROUND_TURN_RAD
        place = f"at X{self.number(x)} Y{self.number(y)}"
        if whole:
            kind = "bore" if patch.hole else "boss"
            name = f"{kind} Ø{self.number(patch.diameter)} {place}"
        else:
            kind = "inside radius" if patch.hole else "outside radius"
            name = f"{kind} R{self.number(patch.diameter / 2.0)} {place}"
        begin, end = self.inside(patch.low, patch.high)
        stated: dict[str, Any] = {"centre": [self.value(x), self.value(y)], "diameter": self.value(patch.diameter), "from": end,
                                  "to": begin}  # fmt: skip
        if patch.arc is not None:
            begin, end = (math.degrees(angle) * 10.0 for angle in patch.arc)
            stated["arc"] = [math.ceil(begin) / 10.0, math.floor(end) / 10.0]
        low, high = patch.ends.points.min(axis=0), patch.ends.points.max(axis=0)
        return FoundFace(name, kind, (x, y, patch.high), (0.0, 0.0, 0.0), patch.high, patch.diameter, _three(low), _three(high), 1,
                         patch.area, patch.form, self.made_by(patch.ends), {"bore" if patch.hole else "boss": stated})  # fmt: skip

    def cone(self, cone: Cone) -> FoundFace:
        """A countersink, the end a drill leaves, a chamfer about a bore or a boss."""
        x, y = cone.centre
        name = f"cone {self._degrees(cone.angle)}° at X{self.number(x)} Y{self.number(y)}"
        low, high = cone.ends.points.min(axis=0), cone.ends.points.max(axis=0)
        return FoundFace(name, "cone", (x, y, float(high[2])), (0.0, 0.0, 0.0), float(high[2]), cone.greatest, _three(low),
                         _three(high), 1, cone.area, 0.0, self.made_by(cone.ends), {})  # fmt: skip


def _joined(patches: Sequence[FlatPatch], namer: _Namer) -> Iterator[list[FlatPatch]]:
    """Areas of one plane that the same tools made are one face: a slot's floor on both sides of a bore that crosses it."""
    groups: dict[tuple[object, ...], list[FlatPatch]] = {}
    for one in patches:
        tools = tuple(sorted({made.tool for made in namer.made_by(one.ends)}))
        key = (*np.round(one.normal, 4).tolist(), round(one.level / FACE_ROUND_MM), tools)
        groups.setdefault(key, []).append(one)
    yield from groups.values()


def _topped(flats: list[FoundFace], highest: float) -> list[FoundFace]:
    """What looks up with nothing of the part above it is the top."""
    top = [face.facing == (0.0, 0.0, 1.0) and face.level >= highest - FACE_ROUND_MM for face in flats]
    return [replace(face, name=face.name.replace("floor", "top", 1)) if its else face for face, its in zip(flats, top, strict=True)]


def _in_order(faces: Iterable[FoundFace]) -> list[FoundFace]:
    """From the top down, then from left to right and front to back."""
    kinds = ("flat", "leaning", "bore", "boss", "inside radius", "outside radius", "cone")
    first = {2: 0, 0: 1, 1: 2}  # Z before X before Y
    return sorted(faces, key=lambda one: (kinds.index(one.kind), first[int(np.abs(one.facing).argmax())], -round(one.level, 3),
                                          round(one.at[0], 3), round(one.at[1], 3)))  # fmt: skip


def _numbered(faces: Sequence[FoundFace]) -> tuple[FoundFace, ...]:
    """Faces with one name told apart by their order."""
    seen: dict[str, int] = {}
    named = []
    for face in faces:
        seen[face.name] = seen.get(face.name, 0) + 1
        named.append(face if seen[face.name] == 1 else replace(face, name=f"{face.name} ({seen[face.name]})"))
    return tuple(named)


def _distances(faces: Sequence[FoundFace], pitch: float) -> Iterator[Distance]:
    """Widths of slots and walls, the width over all, depths from the top."""
    flat = [face for face in faces if face.kind == "flat"]
    for axis in (0, 1):
        up = sorted((face for face in flat if face.facing[axis] == 1.0), key=lambda face: face.level)
        down = sorted((face for face in flat if face.facing[axis] == -1.0), key=lambda face: -face.level)
        outer = down[0] if down else None
        for one in up:  # looks along the axis: a slot's lower wall
            across = next((other for other in down if -other.level > one.level and _beside(one, other, axis, pitch)), None)
            if across is not None:
                yield Distance("slot", (one.name, across.name), -across.level - one.level)
        for one in down:
            solid = next((other for other in up if other.level > -one.level and _beside(one, other, axis, pitch)), None)
            if solid is not None and (one is not outer or solid is not up[-1]):
                yield Distance("wall thickness", (one.name, solid.name), solid.level + one.level)
        if outer is not None and up and up[-1].level > -outer.level:
            yield Distance("width over all", (outer.name, up[-1].name), up[-1].level + outer.level)
    upward = [face for face in flat if face.facing[2] == 1.0]
    if upward and upward[0].name.startswith("top"):
        for floor in upward[1:]:
            yield Distance("depth", (floor.name, upward[0].name), upward[0].level - floor.level)


def _beside(a: FoundFace, b: FoundFace, axis: int, pitch: float) -> bool:
    """Whether two faces lie opposite each other."""
    return all(min(a.high[c], b.high[c]) - max(a.low[c], b.low[c]) > pitch for c in range(3) if c != axis)


def _patterns(faces: Sequence[FoundFace], namer: _Namer) -> Iterator[Pattern]:
    """Three or more bores of one size in a row, a rectangle or on a circle."""
    groups: dict[tuple[int, str], list[FoundFace]] = {}
    for face in faces:
        if face.kind in ("bore", "boss") and face.diameter is not None:
            groups.setdefault((round(face.diameter / FACE_ROUND_MM), face.kind), []).append(face)
    for group in (one for one in groups.values() if len(one) >= 3):
        words = _order_of(np.array([face.at[:2] for face in group]), namer)
        if words:
            size = namer.number(group[0].diameter or 0.0)
            yield Pattern(f"{len(group)} × {group[0].kind} Ø{size} {words}", tuple(face.name for face in group))


def _order_of(at: _Array, namer: _Namer) -> str:
    middle = (at.min(axis=0) + at.max(axis=0)) / 2.0
    about = f"about X{namer.number(float(middle[0]))} Y{namer.number(float(middle[1]))}"
    xs, ys = (np.unique(np.round(at[:, c], 3)) for c in (0, 1))
    if xs.size * ys.size == len(at) and min(xs.size, ys.size) > 1:
        sizes = " × ".join(namer.number(float(np.ptp(one))) for one in (xs, ys))
        return f"in a rectangle of {xs.size} × {ys.size}, {sizes} over their middles, {about}"
    off = at - at.mean(axis=0)
    far = np.hypot(*off.T)
    turns = np.sort(np.arctan2(off[:, 1], off[:, 0]))
    even = np.ptp(np.diff(turns, append=turns[0] + math.tau)) * far.mean() <= 2.0 * FACE_ROUND_MM
    if np.ptp(far) <= FACE_ROUND_MM and even:
        x, y = at.mean(axis=0).tolist()
        return f"evenly on a circle of Ø{namer.number(2.0 * float(far.mean()))} about X{namer.number(x)} Y{namer.number(y)}"
    direction = np.linalg.svd(off, full_matrices=False)[2][0]
    if np.abs(off @ np.array([-direction[1], direction[0]])).max() <= FACE_ROUND_MM:
        steps = np.diff(np.sort(off @ direction))
        each = f", {namer.number(float(steps.mean()))} apart" if np.ptp(steps) <= FACE_ROUND_MM else ""
        return f"in a row{each}"
    return ""


def _disc_in(patch: FlatPatch) -> tuple[_Array, float]:
    """Middle and diameter of the greatest circle of a leaning face that holds no gap, seen on a grid three rays wide."""
    u = np.cross(patch.normal, [0.0, 0.0, 1.0] if abs(patch.normal[2]) < 0.9 else [1.0, 0.0, 0.0])
    u /= np.linalg.norm(u)
    v = np.cross(patch.normal, u)
    flat = np.column_stack([patch.ends.points @ u, patch.ends.points @ v])
    cell = 2.0 * math.sqrt(patch.area / len(flat))
    at = np.floor((flat - flat.min(axis=0)) / cell).astype(np.int64) + 1
    there = np.zeros(at.max(axis=0) + 2, np.bool_)
    there[at[:, 0], at[:, 1]] = True
    away = distance_transform_edt(there)
    i, j = np.unravel_index(int(away.argmax()), away.shape)
    radius = max(0.0, (float(away[i, j]) - 1.0) * cell)
    place = flat.min(axis=0) + (np.array([i, j]) - 0.5) * cell
    return np.asarray(place[0] * u + place[1] * v + patch.level * patch.normal), 2.0 * radius


def _together(each: Sequence[Ends]) -> Ends:
    return Ends(*(np.concatenate([getattr(one, name) for one in each]) for name in ("points", "normals", "axis", "ident")))


def _three(values: Sequence[float] | _Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _plain(face: FoundFace) -> dict[str, Any]:
    made = [{"tool": one.tool, "file": one.file, "first_line": one.first, "last_line": one.last} for one in face.made_by]
    return {"name": face.name, "kind": face.kind, "at_mm": list(face.at), "facing": list(face.facing), "level_mm": face.level,
            "diameter_mm": face.diameter, "low_mm": list(face.low), "high_mm": list(face.high), "areas": face.areas,
            "area_mm2": face.area, "form_mm": face.form, "made_by": made, "stated": dict(face.stated)}  # fmt: skip


def _table(face: FoundFace) -> str:
    (kind, fields), = face.stated.items()
    inner = ", ".join(f"{key} = {_toml(value)}" for key, value in fields.items())
    return f'[[setup.face]]\nname = "{face.name}"\n{kind} = {{ {inner} }}\n'


def _toml(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return f'"{value}"'
    return f"{value:.6f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)

