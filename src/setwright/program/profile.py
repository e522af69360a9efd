"""The control profile: every point on which controls differ, as named behaviours.

Each behaviour is described here and nowhere else: what it changes and which values it may take. The default is the safer
reading. A profile file (TOML) names only what differs from the default.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from functools import cache
from importlib import resources
from typing import Any

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.base.tolerance import ARC_RADIUS_MISMATCH_MM

__all__ = ["Behaviour", "Profile", "behaviours", "bundled_profile", "bundled_profiles", "parse_profile"]


def _one_of(default: str, *others: str, changes: str) -> Any:
    return field(default=default, metadata={"allowed": (default, *others), "changes": changes})


def _number(default: float, least: float, most: float, *, unit: str, changes: str) -> Any:
    return field(default=default, metadata={"allowed": (least, most), "unit": unit, "changes": changes})


def _codes(*default: int, changes: str) -> Any:
    return field(default=default, metadata={"allowed": int, "changes": changes})


@dataclass(frozen=True, kw_only=True)
class Profile:
    """How one control reads a program. Values of choices are words; lengths are mm, as written in the unit's name."""

    name: str = field(default="plain", metadata={"allowed": str, "changes": "The name shown in reports."})

    # --- numbers and units
    units: str = _one_of("mm", "inch", changes="The unit of lengths until the program says G20 or G21.")
    unit_words: str = _one_of("G20 G21", "G70 G71 too", changes="Whether G70 (inch) and G71 (mm) choose the unit as well.")
    decimal: str = _one_of("whole units", "least increment",
                           changes="What X100 without a decimal point means: 100 mm (inch), or 100 "
                           "of the control's smallest steps.")  # fmt: skip
    increment_mm: float = _number(0.001, 0.00001, 0.1, unit="mm",
                                  changes="The smallest step under G21, for numbers without a point.")
    increment_inch: float = _number(0.0001, 0.00001, 0.01, unit="inch", changes="The smallest step under G20, likewise.")
    dwell_p: str = _one_of("milliseconds", "seconds", "seconds with point",
                           changes="The unit of P in a dwell; the third reads P500 as "
                           "milliseconds and P0.5 as seconds. X in G4 is always seconds.")  # fmt: skip

    # --- how a line is written
    word_without_number: str = _one_of("refuse", "zero", changes="A letter with no number after it: refused, or read as zero.")
    bare_n: str = _one_of("accept", "refuse", changes="A letter N without a number: accepted as an unnumbered block, or refused.")
    nested_comments: str = _one_of("refuse", "count", changes="A bracket inside a comment: refused, or closed pair by pair.")
    slash_comment: str = _one_of("refuse", "comment", changes="Text behind // up to the end of its line: refused, or a comment.")
    dotted_lines: str = _one_of("refuse", "ignore", changes="A line of nothing but dots, as left in templates: refused or ignored.")
    leading_number: str = _one_of("refuse", "program number",
                                  changes="A number right after the tape mark %: refused, or the program's "
                                  "number.")  # fmt: skip

    # --- what stands at the start
    first_motion: str = _one_of("none", "G0", "G1", changes="The motion of axis words before any G0 to G3: refused, rapid or feed.")

    # --- arcs
    arc_centre: str = _one_of("incremental", "absolute",
                              changes="I, J, K from the arc's start (G91.1), or as positions (G90.1), until "
                              "the program says.")  # fmt: skip
    arc_mismatch_mm: float = _number(ARC_RADIUS_MISMATCH_MM, 0.0, 1.0, unit="mm",
                                     changes="The difference of the radii at an arc's start "
                                     "and end that the control accepts; beyond it the arc is refused.")  # fmt: skip
    arc_turns: str = _one_of("none", "P", "L", changes="The word that gives the number of turns of a helix.")

    # --- corners and pockets in one word
    corner_words: str = _one_of("refuse", "cut the corner",
                                changes="`,C2.` and `,R2.` behind a line: refused, or the corner to the next line is cut off "
                                "by 2 mm along each, or rounded with that radius.")  # fmt: skip
    pocket_circle: str = _one_of("refuse", "half circle in", "straight in",
                                 changes="G12 and G13: refused, or a circular pocket (I radius; I, K, Q first circle, radius and "
                                 "step; D, Z, L) milled about where the tool stands, reached and left by a half circle or "
                                 "straight, along +X.")  # fmt: skip

    # --- how closely the path is followed
    path_smoothing: str = _one_of("refuse", "remark",
                                  changes="G5, G5.1, G8 and G187 without axis words: refused, or taken to say only how far the "
                                  "control may round corners, which is remarked.")  # fmt: skip

    # --- rapids
    rapid: str = _one_of("unknown", "straight", "dog-leg",
                         changes="Whether G0 runs straight, or each axis at its own speed until it "
                         "arrives; with unknown, both must be proved.")  # fmt: skip

    # --- tools, lengths, radii
    t_word: str = _one_of("number", "number.register", changes="T7 is the tool; in the second, T7.3 is tool 7 with registers 3.")
    tool_change: str = _one_of("M6", "T", changes="Which word changes the tool.")
    change_motion: str = _one_of("stays", "Z home", "all home",
                                 changes="What a tool change does to the axes first: nothing, Z goes to its reference point "
                                 "(G28), or Z and then X and Y go there.")  # fmt: skip
    change_stops_spindle: str = _one_of("yes", "no", changes="Whether the spindle stands after a tool change.")
    change_cancels_length: str = _one_of("no", "yes", changes="Whether a tool change takes the tool length off.")
    length_without_h: str = _one_of("refuse", "current tool", "last H", "zero",
                                    changes="The register that G43 takes when no H is given.")
    radius_without_d: str = _one_of("refuse", "current tool", "last D",
                                    changes="The register that G41 and G42 take when no D is given.")
    extra_compensation_codes: str = _one_of("refuse", "as G41 G42", changes="G41.2 and G42.2: refused, or the same as G41 and G42.")
    compensation_corner: str = _one_of("arc", "intersection",
                                       changes="Round an outside corner by an arc, or by lengthening both lines.")
    length_change_moves: str = _one_of("no", "yes", changes="Whether G43, G44 and G49 without Z move the axis at once.")

    # --- offsets
    home_return_without_axes: str = _one_of("all axes", "nothing", "refuse", changes="What G28 or G30 alone in a block moves.")
    offsets_g110: str = _one_of("refuse", "numbered offsets",
                                changes="G110 to G129: refused, or the numbered offsets P1 to P20.")  # fmt: skip
    g10_l20: str = _one_of("extended offsets", "position reads",
                           changes="G10 L20 P3: write G54.1 P3, or make the current position read "
                           "the given values in offset 3.")  # fmt: skip
    tool_registers: str = _one_of("written", "from position",
                                  changes="G10 L10 and L11: write the value, or compute the length from where "
                                  "the tool stands.")  # fmt: skip
    radius_registers: str = _one_of("radius", "diameter",
                                    changes="Whether a program writes radii or diameters with G10 L12 and L13.")
    g92_at_end: str = _one_of("stays", "cleared", changes="Whether M2 and M30 clear a G92 shift.")

    machine_move_in_g91: str = _one_of("refuse", "absolute", changes="G53 under G91: refused, or still a machine position.")

    # --- canned cycles
    cycle_words: str = _one_of("R and Z", "Z and I",
                               changes="R is the near level and Z the depth, or Z the near level and I the depth.")
    cycle_without_r: str = _one_of("refuse", "current level", changes="A cycle that begins without R: refused, or starts "
                                   "from where the tool stands.")  # fmt: skip
    cycle_repeat: str = _one_of("K and L", "K", "L", changes="The word that repeats a cycle.")
    cycle_repeat_zero: str = _one_of("nothing", "refuse", changes="A repeat of 0: the cycle is only remembered, or refused.")
    hole_patterns: str = _one_of("refuse", "circle, arc, line",
                                 changes="G70, G71 and G72 with L: refused, or the cycle in force repeated at L places: round a "
                                 "circle of radius I from angle J, along it every K degrees, or along a line at angle J every "
                                 "I.")  # fmt: skip
    cycle_return: str = _one_of("G98", "G99", changes="Where a cycle returns to until the program says.")
    peck_clearance_mm: float = _number(0.5, 0.0, 10.0, unit="mm", changes="G83: how far above the last depth the rapid stops.")
    chip_break_mm: float = _number(0.5, 0.0, 10.0, unit="mm", changes="G73: how far each peck backs off.")
    bore_shift: str = _one_of("+X", "-X", "+Y", "-Y",
                              changes="G76 and G87: the direction in which the stopped tool is moved off the wall.")
    edge_at_stop: str = _one_of("unknown", "+X", "-X", "+Y", "-Y",
                                changes="Where the edge of a boring bar points while the spindle stands oriented (M19, G76, G87); "
                                "a tool's own edge_angle goes before it; with unknown, both ways are proved.")  # fmt: skip

    # --- rotation, scaling
    rotation_in_g91: str = _one_of("absolute", "incremental", changes="Whether the angle of G68 adds up under G91.")

    # --- program flow
    call_words: str = _one_of("P and L", "packed P", changes="M98 P1234 L3, or M98 P31234 for three calls of program 1234.")
    subprogram_end: str = _one_of("M99", "M17 too", changes="Whether M17 ends a subprogram as M99 does.")
    local_calls: str = _one_of("refuse", "M97", changes="Whether M97 P100 calls the block N100 of the same program.")
    macro: str = _one_of("yes", "no", changes="Whether # variables, expressions and G65 exist.")
    machine_functions: tuple[int, ...] = _codes(changes="M numbers that switch something of the machine and move no axis.")
    other_m_codes: str = _one_of("refuse", "remark",
                                 changes="An M number that is neither standard nor listed: refused, or taken to move "
                                 "nothing and remarked.")  # fmt: skip
    e_words: str = _one_of("refuse", "remark", changes="A word E: refused, or taken to move nothing and remarked.")
    rotary_words: str = _one_of("refuse", "at zero", changes="A, B, C words: refused, or accepted while they say zero.")


@dataclass(frozen=True, slots=True)
class Behaviour:
    """The description of one behaviour: its values (or least and greatest), its default and what it changes."""

    name: str
    allowed: tuple[str, ...] | tuple[float, float] | type
    default: Any
    changes: str
    unit: str = ""


def _behaviour(entry: Field[Any]) -> Behaviour:
    default = None if entry.default is MISSING else entry.default
    return Behaviour(entry.name, entry.metadata["allowed"], default, entry.metadata["changes"], entry.metadata.get("unit", ""))


def behaviours() -> tuple[Behaviour, ...]:
    """Every behaviour, in the order of the profile."""
    return tuple(_behaviour(entry) for entry in fields(Profile))


def parse_profile(document: Mapping[str, Any], *, file: str = "") -> Profile:
    """A profile from plain data; unknown names and values out of range are refused, all of them at once."""
    known = {behaviour.name: behaviour for behaviour in behaviours()}
    problems = [problem for key, value in document.items() if (problem := _wrong(key, value, known, Span(file)))]
    if problems:
        raise InputRefused(problems)
    settled: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in document.items()}
    return Profile(**settled)


def _wrong(key: str, value: object, known: Mapping[str, Behaviour], place: Span) -> Problem | None:
    if key not in known:
        near = difflib.get_close_matches(key, known, n=1)
        return Problem("no such behaviour", remedy=f'did you mean "{near[0]}"?' if near else "see the list of behaviours", key=key,
                       span=place)
    allowed = known[key].allowed
    if isinstance(allowed, type):
        if allowed is int:
            fine = isinstance(value, list | tuple) and all(isinstance(code, int) and 0 <= code <= 9999 for code in value)
            return None if fine else Problem(f"{value!r} is no list of code numbers", remedy="write for example [31, 33]", key=key,
                                             span=place)
        return None if isinstance(value, str) else Problem(f"{value!r} is no text", key=key, span=place)
    if isinstance(allowed[0], str):
        choices = ", ".join(f'"{choice}"' for choice in allowed)
        return None if value in allowed else Problem(f"{value!r} is no value of this behaviour", remedy=f"write one of {choices}",
                                                     key=key, span=place)
    least, most = float(allowed[0]), float(allowed[1])
    if isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= most:
        return None
    return Problem(f"{value!r} is out of range", remedy=f"write a number from {least:g} to {most:g} {known[key].unit}", key=key,
                   span=place)


def bundled_profiles() -> tuple[str, ...]:
    """The names of the profiles that come with the package, sorted."""
    folder = resources.files("setwright.program") / "profiles"
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml")))


@cache
def bundled_profile(name: str) -> Profile:
    """A profile that comes with the package. Raises InputRefused for an unknown name."""
    if name not in bundled_profiles():
        remedy = f'write profile = "{bundled_profiles()[0]}" and what your control does otherwise under [control.behaviours]'
        raise InputRefused.because(f'there is no control profile "{name}"', remedy=remedy)
    text = (resources.files("setwright.program") / "profiles" / f"{name}.toml").read_text("utf-8")
    return parse_profile({"name": name, **tomllib.loads(text)}, file=f"{name}.toml")
