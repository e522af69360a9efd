"""A slow plain machine: draws a true place of the part and every error, and gives what the display would have shown.

Knows geometry and dice only; nothing of how Touch solves. What belongs to tip and face (where the tip trips, how wavy the face is)
acts along the face's normal; what belongs to an axis (its repeatability, the last step, the last digit) along that axis.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

TIP_RADIUS = {"finder": 5.0, "probe": 3.0}
REPEAT = {"finder": 0.004, "probe": 0.001, "setter": 0.003, "coaxial indicator": 0.004}
TIP_SPREAD = {"finder": 0.0015, "probe": 0.002}
AXIS_REPEAT, FORM = 0.003 / 4, 0.002
ROUND = {"bore A": ((0.0, 0.0), 15.0), "bore B": ((40.0, 0.0), 6.0), "boss": ((-30.0, 10.0), 12.0),
         "dowel bore": ((-80.0, -50.0), 10.0)}  # fmt: skip
OUTSIDE = ("boss",)
FLAT = {"left": (0, -1, -62.0), "right": (0, 1, 62.0), "front": (1, -1, -42.0), "back": (1, 1, 42.0), "top": (2, 1, 1.0),
        "fixed jaw": (1, -1, 42.0), "end stop": (0, 1, -62.0), "slot, left wall": (0, 1, -10.0),
        "slot, right wall": (0, -1, 10.0)}  # fmt: skip
LENGTHS = {1: 131.482, 2: 118.25}
PRESET_SPREAD = 0.01
TABLE_Z = -600.0
SHIFT = (200.0, 0.0)
_INCH = 25.4


@dataclass
class World:
    """One true state of things. `exact`: faces that lie where the job says; others vary by `loose` along their normal.

    `digit`: last digit of the display, mm; 0 shows everything. `quiet`: no reading has an error of its own. `true_face`: the face
    that gives the part's direction.
    """

    rng: np.random.Generator
    exact: tuple[str, ...]
    middle: tuple[str, str] | None = None
    loose: float = 0.5
    digit: float = 0.0
    quiet: bool = False
    true_face: str = "fixed jaw"
    most_tilt: float = 0.0
    place: np.ndarray = field(init=False)

    def __post_init__(self):
        rng = self.rng
        self.place = np.array([*rng.normal(0, 1, 3), rng.uniform(-3e-4, 3e-4)]) - (300.0, 215.0, 477.0, 0.0)
        self.tip = {name: rng.normal(0, s) for name, s in TIP_SPREAD.items()}
        self.backlash = rng.uniform(-0.002, 0.002, 3)
        self.scale = rng.uniform(-1e-5, 1e-5, 3)
        self.growth = rng.uniform(-0.005, 0.005)
        self.across = rng.uniform(-0.002, 0.002, 2)
        self.warmth = rng.uniform(-2.0, 2.0) * 11.5e-6
        self.setter = 50.0 + rng.normal(0, 0.002)
        self.lengths = {tool: length + rng.normal(0, PRESET_SPREAD) for tool, length in LENGTHS.items()}
        self.radius = {name: r + rng.uniform(-0.05, 0.05) for name, (_, r) in ROUND.items()}
        self.face = {name: 0.0 if name in self.exact else rng.uniform(-self.loose, self.loose) for name in FLAT}
        if self.middle:
            self.face |= dict.fromkeys(self.middle, rng.uniform(-self.loose, self.loose))
        self.centre = {name: np.array(centre) for name, (centre, _) in ROUND.items()}
        self.centre["bore B"] += [rng.uniform(-0.05, 0.05), 0.0 if "bore B" in self.exact else rng.uniform(-0.05, 0.05)]
        self.square = {name: rng.uniform(-5e-4, 5e-4) for name in FLAT}
        self.tilt = rng.uniform(-self.most_tilt, self.most_tilt, 2)
        self.depth = rng.uniform(-31.0, 1.0) if self.most_tilt and not self.quiet else -15.0

    @property
    def length(self):
        return self.lengths[1]

    @length.setter
    def length(self, value):
        self.lengths[1] = value

    def turn(self, w):
        """Machine place of a point of the part: about X by tilt[0], then Y by tilt[1], then Z by the angle; then moved."""
        (a, b), t = self.tilt, self.place[3]
        x, y, z = w
        y, z = np.cos(a) * y - np.sin(a) * z, np.sin(a) * y + np.cos(a) * z
        x, z = np.cos(b) * x + np.sin(b) * z, -np.sin(b) * x + np.cos(b) * z
        return np.array([np.cos(t) * x - np.sin(t) * y, np.sin(t) * x + np.cos(t) * y, z]) + self.place[:3]

    def _trip(self, instrument):
        """Along the face's normal: where the tip trips, and the face's form."""
        return 0.0 if self.quiet else self.rng.normal(0, REPEAT[instrument]) + self.rng.uniform(-FORM, FORM)

    def _axis(self):
        return 0.0 if self.quiet else self.rng.normal(0, AXIS_REPEAT)

    def _overrun(self, step):
        return step / 2 if self.quiet else self.rng.uniform(0, step)

    def _digits(self, display):
        return display if self.digit == 0.0 else np.round(display / self.digit) * self.digit

    def shown(self, point, axis, sign, step):
        """The display at a true contact point, `axis` last moved; the other axis came from one side or the other."""
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale + self.warmth)
        display[:2] -= self.across
        display[axis] += sign * self.backlash[axis] + self._axis() + sign * self._overrun(step)
        if axis < 2 and not self.quiet:
            display[1 - axis] += self.rng.choice([-1, 1]) * self.backlash[1 - axis]
        return self._digits(display)

    def touch(self, on, toward, work, *, instrument="finder", step=0.0):
        """A contact with an upright face near `work` (x, y)."""
        axis, sign = "XY".index(toward[1]), 1 if toward[0] == "+" else -1
        reach = TIP_RADIUS[instrument] + self.tip[instrument] + self._trip(instrument)
        # nobody reads how deep an upright face was touched; much the same depth all round, anywhere on the block
        depth = (self.depth if self.quiet else self.depth + self.rng.uniform(-3.0, 3.0)) if self.most_tilt else 0.0
        c, s = np.cos(self.place[3]), np.sin(self.place[3])
        back = np.array([[c, s], [-s, c]])  # work from machine
        p = self.turn([*work, depth])[:2].copy()
        # a tilted part leans over by tilt times depth; at the depth of the contact its zero stands here
        zero = self.turn([0.0, 0.0, depth])[:2]
        if on in FLAT:
            face, side, at = FLAT[on]
            other = 1 - face
            lean = 0.0 if on in (self.true_face, "fixed jaw", "back") else self.square[on]
            n = np.zeros(2)
            n[face], n[other] = side, -side * lean
            n /= np.hypot(*n)
            along = n @ back[:, axis]
            # the face's outward deviation; a face of the holding looks the other way
            on_face = np.zeros(2)
            on_face[face] = at + side * self.face[on]
            p[axis] -= (n @ (back @ (p - zero) - on_face) - reach) / along
        else:
            centre = self.centre[on]
            inside = on not in OUTSIDE
            free = self.radius[on] + (-reach if inside else reach)
            direction = back[:, axis]
            from_centre = back @ (p - zero) - centre
            b, k = from_centre @ direction, from_centre @ from_centre - free * free
            p[axis] += -b + (sign if inside else -sign) * np.sqrt(b * b - k)
        display = self.shown(np.array([*p, self.place[2]]), axis, sign, step)
        return {"on": on, "with": instrument, "toward": toward, "display": {"x": float(display[0]), "y": float(display[1])}} | (
            {"last_step": step} if step else {}
        )

    def sweep(self, on):
        point = self.turn([*self.centre[on], 0.0])
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale + self.warmth)
        display[:2] -= self.across
        for axis in (0, 1):
            display[axis] += self._trip("coaxial indicator") + self._axis() + self.rng.uniform(-0.002, 0.002)
        x, y, _ = self._digits(display).tolist()
        return {"on": on, "with": "coaxial indicator", "toward": "sweep", "display": {"x": x, "y": y}}

    def top(self, *, step=0.0, at=(0.0, 0.0), on="top", tool=1, place=False):
        """A tool comes down on a setter that stands on a face that looks up, 1 above the program's zero."""
        point = self.turn([*at, 1.0])
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale + self.warmth)
        z = display[2] + self.lengths[tool] + self.setter - self.growth - self.backlash[2] + self._trip("setter") + self._axis()
        display[2] = z - self._overrun(step)
        display = self._digits(display)
        across = {"x": float(display[0]), "y": float(display[1])} if place else {}
        return {"on": on, "with": "setter", "toward": "-Z", "tool": tool, "display": across | {"z": float(display[2])}} | (
            {"last_step": step} if step else {}
        )

    def on_table(self, tool, *, step=0.0):
        """A tool comes down on a setter that stands on the table."""
        z = TABLE_Z + self.lengths[tool] + self.setter - self.growth - self.backlash[2] + self._trip("setter") + self._axis()
        z = float(self._digits(np.array([z - self._overrun(step)]))[0])
        return {"tool": tool, "with": "setter", "display": {"z": z}} | ({"last_step": step} if step else {})


def in_inches(contact):
    """The same contact, read off a display switched to inches."""
    shown = {axis: round(mm / _INCH, 9) for axis, mm in contact["display"].items()}
    return contact | {"display": shown, "units": "in"} | (
        {"last_step": contact["last_step"] / _INCH} if "last_step" in contact else {}
    )


def quarters(world, on, **more):
    cx, cy = ROUND[on][0]
    return [world.touch(on, toward, (cx, cy), **more) for toward in ("+X", "-X", "+Y", "-Y")]


def corner(world):
    return [world.touch("left", "+X", (-62, 5), step=0.01), world.touch("front", "+Y", (3, -42), step=0.01), world.top(step=0.01)]


def jaw_and_stop(world):
    jaw = [world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, 58)]
    return [*jaw, world.touch("left", "+X", (-62, -20)), world.top()]


def middle(world):
    sides = [world.touch("left", "+X", (-62, 0)), world.touch("right", "-X", (62, 0))]
    return [*sides, world.touch("fixed jaw", "+Y", (-50, 42)), world.touch("fixed jaw", "+Y", (50, 42)), world.top(step=0.01)]


def slot(world):
    walls = [world.touch("slot, left wall", "-X", (-10, 4), step=0.01), world.touch("slot, right wall", "+X", (10, -4), step=0.01)]
    return [*walls, world.touch("fixed jaw", "+Y", (-50, 42)), world.touch("fixed jaw", "+Y", (50, 42)), world.top()]


def bore(world):
    return [*quarters(world, "bore A"), world.top()]


def boss(world):
    return [*quarters(world, "boss", step=0.01), world.top()]


def swept(world):
    return [world.sweep("bore A"), world.top()]


def two_bores(world):
    return [*quarters(world, "bore A", instrument="probe"), *quarters(world, "bore B", instrument="probe"), world.top()]


def arc(world):
    angles = np.radians([-60, -30, 0, 30, 60])
    along = [world.touch("bore A", "+X", (0.0, 9.0 * np.sin(a))) for a in angles]
    return [*along, *quarters(world, "bore A")[2:], world.top()]


def long_face(world):
    along = [world.touch("back", "-Y", (x, 42), instrument="probe") for x in (-55, 55)]
    return [*quarters(world, "bore A", instrument="probe"), *along, world.top()]


def fixture(world):
    return [*quarters(world, "dowel bore", instrument="probe"), world.top()]


def pallet(world):
    return [*quarters(world, "bore A", instrument="probe"), *quarters(world, "bore B", instrument="probe"), world.top()]


def parallels(world):
    return [*quarters(world, "bore A"), world.top(on="parallels", step=0.01)]


def jaw_top(world):
    return [*quarters(world, "bore A"), world.top(on="jaw top"), world.top(on="jaw top", step=0.01)]


def tilted(world):
    heights = [world.top(at=at, place=True) for at in ((-55, -35), (55, -35), (0, 38))]
    jaw = [world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, 58)]
    return [world.touch("left", "+X", (-62, -20)), world.touch("left", "+X", (-62, 20)), *jaw, *heights]


SCHEMES = {
    "corner from two faces": (corner, {"x": "left", "y": "front"}, ("left", "front"), None),
    "fixed jaw and end stop": (jaw_and_stop, {"x": "end stop", "y": "fixed jaw"}, ("left", "fixed jaw", "back", "end stop"), None),
    "middle of two faces": (middle, {"x": "left and right", "y": "fixed jaw"}, ("fixed jaw", "back"), ("left", "right")),
    "middle of a slot": (slot, {"x": "slot, left wall and slot, right wall", "y": "fixed jaw"}, ("fixed jaw", "back"),
                         ("slot, left wall", "slot, right wall")),
    "bore by four contacts": (bore, {}, ("bore A",), None),
    "boss by four contacts": (boss, {"x": "boss", "y": "boss"}, ("boss",), None),
    "bore swept": (swept, {}, ("bore A",), None),
    "bore over part of its wall": (arc, {}, ("bore A",), None),
    "two bores": (two_bores, {"angle": "bore A and bore B"}, ("bore A", "bore B"), None),
    "bore and face of the last setup": (long_face, {"angle": "back"}, ("bore A",), None),
    "origin of a fixture": (fixture, {"x": "dowel bore", "y": "dowel bore"}, ("dowel bore",), None),
    "pallet of two": (pallet, {"angle": "bore A and bore B", "setup": f"shifts = {{ G55 = [{SHIFT[0]}, {SHIFT[1]}, 0] }}"},
                      ("bore A", "bore B"), None),
    "height by the parallels": (parallels, {"z": "parallels"}, ("bore A",), None),
    "height by the jaw": (jaw_top, {"z": "jaw top"}, ("bore A",), None),
    "tilt by three heights": (tilted, {"x": "left", "y": "fixed jaw"}, ("left", "fixed jaw", "back"), None),
}  # fmt: skip
"""Name -> contacts of one touch-off, the datum, faces that are exact, faces whose middle is the datum."""

TILT = 5e-4


def world_of(scheme, seed, **more):
    """A world for a scheme, drawn from `seed`."""
    _, datum, exact, middle = SCHEMES[scheme]
    # walls of a slot milled earlier lie within the 0.05 of such a feature, a sawn face within 0.5
    loose = 0.05 if middle and middle[0].startswith("slot") else 0.5
    tilt = TILT if scheme.startswith("tilt") else 0.0
    true_face = datum.get("angle", "fixed jaw")
    return World(np.random.default_rng(seed), exact, middle, loose=loose, true_face=true_face, most_tilt=tilt, **more)


FACES = """
[[setup.face]]
name = "boss"
made = false
boss = { centre = [-30, 10], diameter = 24, from = 1, to = -31 }
[[setup.face]]
name = "dowel bore"
made = false
bore = { centre = [-80, -50], diameter = 20, from = -5, to = -31 }
[[setup.face]]
name = "slot, left wall"
made = false
flat = { facing = "+X", at = [-10, 0, -4], size = [40, 8] }
[[setup.face]]
name = "slot, right wall"
made = false
flat = { facing = "-X", at = [10, 0, -4], size = [40, 8] }
"""
"""Faces some of the schemes need beside those of the workshop's job."""
