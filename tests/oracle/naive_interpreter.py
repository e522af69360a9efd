"""A second reading of part programs: slow, plain, by regular expressions and exact decimals; knows nothing of the package.

It covers the plain language with every register zero: G0 to G3 in three planes, units, G90/91, G90.1/91.1, drilling cycles,
circular pockets, G28, G30 and G53 to machine zero, subprograms (M97, M98, M99), repeats, and simple macro loops. `read(text,
**dialect)` returns the motions as tuples ("rapid" | "line", end) and ("arc", end, centre, axis, sweep), positions in mm; moves of
no length are left out.
`z_home_at` names the words ("M6", "T") at which Z first goes to machine zero.
Whatever it does not know raises `Unknown`.
"""

from __future__ import annotations

import cmath
import math
import re
from decimal import Decimal

WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+))")
IGNORED_M = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 19, 25, 30, 31, 33, 45}
IGNORED_G = {"4", "9", "15", "40", "41", "42", "41.2", "43", "44", "49", "50", "54", "55", "56", "57", "58", "59", "61", "64",
             "69", "94"}
AXES = "XYZ"
PLANE = {"17": (0, 1, 2), "18": (2, 0, 1), "19": (1, 2, 0)}


class Unknown(Exception):
    """Not covered by this reader."""


class Reader:
    def __init__(self, text, *, inch=False, z_is_near_level=False, bare_word_is_zero=False, z_home_at=(), dwell=None):
        self.lines = [self.clean(line, bare_word_is_zero) for line in re.split(r"\r\n|\n|\r", text.lstrip("\ufeff"))]
        self.factor = Decimal("25.4") if inch else Decimal(1)
        self.z_is_near_level = z_is_near_level
        self.z_home_at = z_home_at
        self.place = [Decimal(0)] * 3
        self.plane = PLANE["17"]
        self.absolute, self.arc_absolute = True, False
        self.motion = "0"
        self.to_initial = True
        self.cycle = None
        self.motions = []
        self.variables = {}

    @staticmethod
    def clean(line, bare_word_is_zero):
        out, depth = "", 0
        for c in line.upper():
            if c == "(":
                depth += 1
            elif c == ")":
                depth -= 1
            elif c == ";" and depth == 0:
                break
            elif depth == 0:
                out += c
        out = out.strip(" \t\x00\x1a")
        if bare_word_is_zero:
            out = re.sub(r"([XYZ])(?=\s*(?:[A-Z]|$))", r"\g<1>0", out)
        return re.sub(r"^N(?=\s|$)", "", out)

    # --- flow

    def run(self):
        line, calls, loops = 0, [], {}
        for _ in range(2_000_000):
            if line >= len(self.lines):
                return self.motions
            text = self.lines[line].lstrip("/")
            line += 1
            if not text or set(text) <= set(". "):
                continue
            if text.startswith("%"):
                if line > 1 and any(self.lines[: line - 1]):
                    return self.motions
                continue
            body = re.sub(r"^N\s*\d+\s*", "", text)
            loop = re.fullmatch(r"WHILE\s*\[(.*)\]\s*DO\s*(\d)", body)
            if loop:
                loops[loop[2]] = line - 1
                if not self.value(loop[1]):
                    line = next(i for i in range(line, len(self.lines)) if re.fullmatch(rf"END\s*{loop[2]}", self.lines[i])) + 1
                continue
            if match := re.fullmatch(r"END\s*(\d)", body):
                line = loops[match[1]]
                continue
            if match := re.fullmatch(r"#(\d+)\s*=(.*)", body):
                self.variables[match[1]] = self.value(match[2])
                continue
            words = self.words(text)
            codes = [int(value) for letter, value in words if letter == "M"]
            jump = next((code for code in codes if code in (97, 98, 99)), None)
            end = self.block(words)
            if end:
                return self.motions
            if jump in (97, 98):
                numbers = dict(words)
                target = self.find("N" if jump == 97 else "O", int(numbers["P"]))
                calls.append([line, target, int(numbers.get("L", 1))])
                line = target
            elif jump == 99:
                if not calls:
                    return self.motions
                calls[-1][2] -= 1
                line = calls[-1][1] if calls[-1][2] else calls.pop()[0]
        raise Unknown("does not end")

    def find(self, letter, number):
        for i, text in enumerate(self.lines):
            match = re.match(rf"{letter}\s*0*(\d+)", text)
            if match and int(match[1]) == number:
                return i
        raise Unknown(f"no {letter}{number}")

    def value(self, text):
        text = re.sub(r"#(\d+)", lambda m: f"({self.variables.get(m[1], 0.0)!r})", text)
        for word, sign in (("EQ", "=="), ("NE", "!="), ("GT", ">"), ("GE", ">="), ("LT", "<"), ("LE", "<=")):
            text = re.sub(rf"\b{word}\b", sign, text)
        text = text.replace("[", "(").replace("]", ")")
        names = {"SIN": lambda d: math.sin(math.radians(d)), "COS": lambda d: math.cos(math.radians(d)), "SQRT": math.sqrt,
                 "ABS": abs}
        if re.sub(r"[\d\s.()+\-*/<>=!e]|SIN|COS|SQRT|ABS", "", text):
            raise Unknown(text)
        return float(eval(text, {"__builtins__": {}}, names))

    def words(self, text):
        found = []
        while "[" in text or "#" in text:
            match = re.search(r"([A-Z])\s*(-?#\d+|\[[^\[\]]*(?:\[[^\[\]]*\][^\[\]]*)*\])", text)
            if not match:
                raise Unknown(text)
            found.append((match[1], Decimal(self.value(match[2]))))
            text = text[: match.start()] + " " + text[match.end() :]
        rest = WORD.sub("", text)
        if rest.strip():
            raise Unknown(f"{rest!r} in {text!r}")
        return found + [(letter, Decimal(number)) for letter, number in WORD.findall(text)]

    # --- one block

    def block(self, words):
        g = [str(value.normalize() if value else 0) for letter, value in words if letter == "G"]
        g = [f"{Decimal(code):f}" for code in g]
        m = [int(value) for letter, value in words if letter == "M"]
        for code in m:
            if code not in IGNORED_M and code not in (97, 98, 99):
                raise Unknown(f"M{code}")
        w = {letter: value for letter, value in words if letter not in "GMNO"}
        special = None
        for code in g:
            if code in ("20", "21"):
                self.factor = Decimal("25.4") if code == "20" else Decimal(1)
            elif code in PLANE:
                self.plane = PLANE[code]
            elif code in ("90", "91"):
                self.absolute = code == "90"
            elif code in ("90.1", "91.1"):
                self.arc_absolute = code == "90.1"
            elif code in ("98", "99"):
                self.to_initial = code == "98"
            elif code in ("28", "30", "53", "4", "12", "13"):
                special = code
            elif code == "80":
                self.cycle = None
                if self.motion not in ("0", "1", "2", "3"):
                    self.motion = "0"
            elif code in ("0", "1", "2", "3") or re.fullmatch("7[34]|8[1-69]", code):
                pass
            elif code not in IGNORED_G:
                raise Unknown(f"G{code}")
        for code in g:
            if code in ("0", "1", "2", "3"):
                self.motion, self.cycle = code, None
            elif re.fullmatch("7[34]|8[1-69]", code):
                if self.cycle is None:
                    self.cycle = {"initial": self.place[2]}
                self.motion = code
        if ("M6" in self.z_home_at and 6 in m) or ("T" in self.z_home_at and "T" in w):
            self.go("rapid", [self.place[0], self.place[1], Decimal(0)])
        if special == "28" or special == "30":
            self.home(w)
        elif special in ("12", "13"):
            self.pocket(w, -1 if special == "12" else 1)
        elif special == "53":
            self.machine(w)
        elif special != "4":
            if self.motion not in ("0", "1", "2", "3"):
                if set(w) & set("XYZR"):
                    self.drill(w)
            elif set(w) & set("XYZ") or (self.motion in "23" and set(w) & set("IJK")):
                self.move(w)
        return bool({2, 30} & set(m))

    def target(self, w):
        return [(w[a] * self.factor + (0 if self.absolute else self.place[i])) if a in w else self.place[i] for i,
                a in enumerate(AXES)]

    def go(self, kind, end):
        if any(abs(a - b) > Decimal("1e-9") for a, b in zip(end, self.place, strict=True)):
            self.motions.append((kind, tuple(float(value) for value in end)))
        self.place = list(end)

    def home(self, w):
        named = [i for i, a in enumerate(AXES) if a in w]
        if named:
            self.go("rapid", self.target(w))
        self.go("rapid", [Decimal(0) if i in (named or (0, 1, 2)) else p for i, p in enumerate(self.place)])

    def machine(self, w):
        self.go("line" if self.motion == "1" else "rapid",
                [w[a] * self.factor if a in w else self.place[i] for i, a in enumerate(AXES)])

    def pocket(self, w, way):
        """A circular pocket, tool radius zero: half a circle out, circles, half a circle back."""
        x, y, _ = self.place
        self.go("line", self.target({"Z": w["Z"]} if "Z" in w else {}))
        first, last = w["I"] * self.factor, w.get("K", w["I"]) * self.factor
        z = self.place[2]

        def round_about(centre, end, turn):
            self.motions.append(("arc", (float(end), float(y), float(z)), (float(centre), float(y), float(z)), 2, way * turn))

        round_about(x + first / 2, x + first, math.pi)
        radius = first
        while True:
            round_about(x, x + radius, 2 * math.pi)
            if radius >= last:
                break
            radius = min(radius + w["Q"] * self.factor, last)
            self.motions.append(("line", (float(x + radius), float(y), float(z))))
        round_about(x + radius / 2, x, math.pi)

    def move(self, w):
        end = self.target(w)
        if self.motion in "01":
            self.go("rapid" if self.motion == "0" else "line", end)
        else:
            self.arc(w, end)

    def arc(self, w, end):
        first, second, normal = self.plane
        start = complex(self.place[first], self.place[second])
        goal = complex(end[first], end[second])
        clockwise = self.motion == "2"
        if "R" in w:
            radius = float(w["R"] * self.factor)
            half = abs(goal - start) / 2
            rise = math.sqrt(max(radius * radius - half * half, 0.0))
            way = 1j if (clockwise == (radius < 0)) else -1j
            centre = (start + goal) / 2 + way * rise * (goal - start) / abs(goal - start)
            full = False
        else:
            shift = complex(w.get("IJK"[first], 0) * self.factor, w.get("IJK"[second], 0) * self.factor)
            centre = shift if self.arc_absolute else start + shift
            full = abs(goal - start) < 1e-6
        turn = 2 * math.pi if full else cmath.phase((goal - centre) / (start - centre)) % (2 * math.pi)
        if clockwise and not full:
            turn -= 2 * math.pi
        middle = [0.0, 0.0, 0.0]
        middle[first], middle[second], middle[normal] = centre.real, centre.imag, float(self.place[normal])
        self.motions.append(("arc", tuple(float(value) for value in end), tuple(middle), normal,
                             -turn if clockwise and full else turn))
        self.place = list(end)

    def drill(self, w):
        c = self.cycle
        if self.plane != PLANE["17"]:
            raise Unknown("a cycle in another plane")
        near, deep = ("Z", "I") if self.z_is_near_level else ("R", "Z")
        if near in w:
            c["near"] = w[near] * self.factor + (0 if self.absolute else c["initial"])
        if deep in w:
            c["deep"] = w[deep] * self.factor + (0 if self.absolute else c["near"])
        c.setdefault("near", self.place[2])
        if "Q" in w:
            c["peck"] = w["Q"] * self.factor
        repeats = int(w.get("K", w.get("L", 1)))
        for _ in range(repeats):
            target = self.target({a: v for a, v in w.items() if a in "XY"})
            if self.place[2] < c["near"]:
                self.go("rapid", [self.place[0], self.place[1], c["near"]])
            self.go("rapid", [target[0], target[1], self.place[2]])
            self.go("rapid", [target[0], target[1], c["near"]])
            x, y = target[:2]
            if self.motion in ("73", "83"):
                depth = c["near"]
                while depth - c["peck"] > c["deep"]:
                    depth -= c["peck"]
                    self.go("line", [x, y, depth])
                    if self.motion == "83":
                        self.go("rapid", [x, y, c["near"]])
                    self.go("rapid", [x, y, min(c["near"], depth + Decimal("0.5"))])
            self.go("line", [x, y, c["deep"]])
            back = max(c["initial"], c["near"]) if self.to_initial else c["near"]
            if self.motion in ("74", "84", "85", "89"):
                self.go("line", [x, y, c["near"]])
            self.go("rapid", [x, y, back])


def read(text, **dialect):
    """The motions of a program."""
    return Reader(text, **dialect).run()
