"""A slow plain machine: draws a true place of the part and every error, and gives what the display would have shown.

Knows geometry and dice only; nothing of how Touch solves.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

TIP_RADIUS = {"finder": 5.0, "probe": 3.0}
REPEAT = {"finder": 0.004, "probe": 0.001, "setter": 0.003, "coaxial indicator": 0.004}
TIP_SPREAD = {"finder": 0.0015, "probe": 0.002}
ROUND = {"bore A": ((0.0, 0.0), 15.0), "bore B": ((40.0, 0.0), 6.0)}
FLAT = {"left": (0, -1, -62.0), "right": (0, 1, 62.0), "front": (1, -1, -42.0), "back": (1, 1, 42.0), "top": (2, 1, 1.0),
        "fixed jaw": (1, -1, 42.0), "end stop": (0, 1, -62.0)}  # fmt: skip


@dataclass
class World:
    """One true state of things. `exact`: faces that lie where the job says; others vary by `loose` along their normal."""

    rng: np.random.Generator
    exact: tuple[str, ...]
    middle: tuple[str, str] | None = None
    loose: float = 0.5
    place: np.ndarray = field(init=False)

    def __post_init__(self):
        rng = self.rng
        self.place = np.array([*rng.normal(0, 1, 3), rng.uniform(-3e-4, 3e-4)]) - (300.0, 215.0, 477.0, 0.0)
        self.tip = {name: rng.normal(0, s) for name, s in TIP_SPREAD.items()}
        self.backlash = rng.uniform(-0.002, 0.002, 3)
        self.scale = rng.uniform(-1e-5, 1e-5, 3)
        self.growth = rng.uniform(-0.005, 0.005)
        self.setter = 50.0 + rng.normal(0, 0.002)
        self.length = 131.482 + rng.normal(0, 0.01)
        self.radius = {name: r + rng.uniform(-0.05, 0.05) for name, (_, r) in ROUND.items()}
        self.face = {name: 0.0 if name in self.exact else rng.uniform(-self.loose, self.loose) for name in FLAT}
        if self.middle:
            half = rng.uniform(-self.loose, self.loose)
            self.face |= dict.fromkeys(self.middle, half)
        self.centre = {"bore A": np.zeros(2), "bore B": np.array([40.0, 0.0])}
        self.centre["bore B"] += [rng.uniform(-0.05, 0.05), 0.0 if "bore B" in self.exact else rng.uniform(-0.05, 0.05)]
        self.square = {name: rng.uniform(-5e-4, 5e-4) for name in FLAT}

    def turn(self, w):
        c, s = np.cos(self.place[3]), np.sin(self.place[3])
        return np.array([c * w[0] - s * w[1], s * w[0] + c * w[1], w[2]]) + self.place[:3]

    def _own_error(self, instrument):
        rng = self.rng
        return rng.normal(0, REPEAT[instrument]) + rng.normal(0, 0.003 / 4) + rng.uniform(-0.002, 0.002)

    def _overrun(self, step):
        return self.rng.uniform(0, step)

    def shown(self, point, axis, sign, instrument, step):
        """The display at a true contact point, the axis last moved being `axis`."""
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale)
        display[axis] += sign * self.backlash[axis] + self._own_error(instrument) + sign * self._overrun(step)
        return display

    def touch(self, on, toward, work, *, instrument="finder", step=0.0):
        """A contact with an upright face near `work` (x, y)."""
        axis, sign = "XY".index(toward[1]), 1 if toward[0] == "+" else -1
        reach = TIP_RADIUS[instrument] + self.tip[instrument]
        c, s = np.cos(self.place[3]), np.sin(self.place[3])
        back = np.array([[c, s], [-s, c]])  # work from machine
        across = self.turn([*work, 0.0])[:2].copy()
        if on in FLAT:
            face, side, at = FLAT[on]
            other = 1 - face
            lean = 0.0 if on in ("fixed jaw", "back") else self.square[on]
            n = np.zeros(2)
            n[face], n[other] = side, -side * lean
            n /= np.hypot(*n)
            along = n @ back[:, axis]
            p = across.copy()
            # the face's outward deviation; a face of the holding looks the other way
            on_face = np.zeros(2)
            on_face[face] = at + side * self.face[on]
            rest = n @ (back @ (p - self.place[:2]) - on_face) - reach
            p[axis] -= rest / along
        else:
            centre, free = self.centre[on], self.radius[on] - reach
            direction = back[:, axis]
            from_centre = back @ (across - self.place[:2]) - centre
            b, k = from_centre @ direction, from_centre @ from_centre - free * free
            p = across.copy()
            p[axis] += -b + sign * np.sqrt(b * b - k)
        point = np.array([*p, self.place[2]])
        display = self.shown(point, axis, sign, instrument, step)
        return {"on": on, "with": instrument, "toward": toward, "display": {"x": float(display[0]), "y": float(display[1])}} | (
            {"last_step": step} if step else {}
        )

    def sweep(self, on):
        point = self.turn([*self.centre[on], 0.0])
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale)
        for axis in (0, 1):
            display[axis] += self._own_error("coaxial indicator") + self.rng.uniform(-0.002, 0.002)
        return {"on": on, "with": "coaxial indicator", "toward": "sweep",
                "display": {"x": float(display[0]), "y": float(display[1])}}  # fmt: skip

    def top(self, *, step=0.0, at=(0.0, 0.0)):
        point = self.turn([*at, 1.0])
        display = self.place[:3] + (point - self.place[:3]) * (1.0 + self.scale)
        z = display[2] + self.length + self.setter - self.growth - self.backlash[2]
        z += self._own_error("setter") - self._overrun(step)
        return {"on": "top", "with": "setter", "toward": "-Z", "tool": 1, "display": {"z": float(z)}} | (
            {"last_step": step} if step else {}
        )


def quarters(world, on, **more):
    (cx, cy), _ = ROUND[on]
    return [world.touch(on, toward, (cx, cy), **more) for toward in ("+X", "-X", "+Y", "-Y")]


def corner(world):
    return [world.touch("left", "+X", (-62, 5), step=0.01), world.touch("front", "+Y", (3, -42), step=0.01), world.top(step=0.01)]


def jaw_and_stop(world):
    jaw = [world.touch("fixed jaw", "+Y", (x, 42)) for x in (-58, 58)]
    return [*jaw, world.touch("left", "+X", (-62, -20)), world.top()]


def middle(world):
    sides = [world.touch("left", "+X", (-62, 0)), world.touch("right", "-X", (62, 0))]
    return [*sides, world.touch("fixed jaw", "+Y", (-50, 42)), world.touch("fixed jaw", "+Y", (50, 42)), world.top(step=0.01)]


def bore(world):
    return [*quarters(world, "bore A"), world.top()]


def swept(world):
    return [world.sweep("bore A"), world.top()]


def two_bores(world):
    return [*quarters(world, "bore A", instrument="probe"), *quarters(world, "bore B", instrument="probe"), world.top()]


def arc(world):
    angles = np.radians([-60, -30, 0, 30, 60])
    along = [world.touch("bore A", "+X", (0.0, 9.0 * np.sin(a))) for a in angles]
    return [*along, *quarters(world, "bore A")[2:], world.top()]


SCHEMES = {
    "corner from two faces": (corner, {"x": "left", "y": "front"}, ("left", "front"), None),
    "fixed jaw and end stop": (jaw_and_stop, {"x": "end stop", "y": "fixed jaw"}, ("left", "fixed jaw", "back", "end stop"), None),
    "middle of two faces": (middle, {"x": "left and right", "y": "fixed jaw"}, ("fixed jaw", "back"), ("left", "right")),
    "bore by four contacts": (bore, {}, ("bore A",), None),
    "bore swept": (swept, {}, ("bore A",), None),
    "two bores": (two_bores, {"angle": "bore A and bore B"}, ("bore A", "bore B"), None),
    "bore over part of its wall": (arc, {}, ("bore A",), None),
}
"""Name -> contacts of one touch-off, the datum, faces that are exact, faces whose middle is the datum."""
