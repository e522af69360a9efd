"""Changes of the text that must not change the path, or change it in a known way; generated programs against a second reader."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.program.path import Path
from setwright.program.registers import Registers, WorkOffset
from tests.oracle import naive_interpreter
from tests.program.compare import assert_same_motions, ends, good

ROUND = 4


@st.composite
def programs(draw):
    """Blocks as lists of words, of the plain language: lines, arcs by centre, helices, cycles; ordinary, tiny and large numbers."""
    number = st.one_of(st.floats(-80, 80),
                       st.sampled_from([0.0, 0.0001, -0.0001, 1e-3, 500.0, -499.9999])).map(lambda v: round(v, ROUND))
    blocks = [["G21", "G90", "G17"], ["S900", "M3"], ["G0", "X0.", "Y0.", "Z25."], ["G1", "Z1.", "F250."]]
    for _ in range(draw(st.integers(3, 14))):
        kind = draw(st.sampled_from(["line", "rapid", "arc", "helix", "circle", "hole", "plane"]))
        x, y, z = (draw(number) for _ in range(3))
        if kind in ("line", "rapid"):
            words = [f"X{x:.4f}", f"Y{y:.4f}", f"Z{z:.4f}"]
            keep = draw(st.integers(1, 7))
            blocks.append(["G1" if kind == "line" else "G0"] + [word for i, word in enumerate(words) if keep >> i & 1])
        elif kind in ("arc", "helix"):
            radius = round(draw(st.floats(1, 40)), ROUND)
            code = draw(st.sampled_from(["G2", "G3"]))
            blocks.append(["G91", "G17", code, f"X{radius:.4f}", f"Y{radius:.4f}", f"I{radius:.4f}",
                           "J0."] + ([f"Z{z:.4f}"] if kind == "helix" else []))
            blocks.append(["G90", "G1"])
        elif kind == "circle":
            blocks.append(["G17", draw(st.sampled_from(["G2", "G3"])), f"I{abs(x) + 1:.4f}", f"J{y:.4f}"])
            blocks.append(["G1"])
        elif kind == "hole":
            blocks.append(["G17", draw(st.sampled_from(["G98", "G99"])), draw(st.sampled_from(["G81", "G82", "G85"])), f"X{x:.4f}",
                           f"Y{y:.4f}", "R2.", f"Z{-abs(z) - 1:.4f}"])
            blocks.append(["G80", "G0"])
        else:
            blocks.append([draw(st.sampled_from(["G17", "G18", "G19"])), "G1", f"X{x:.4f}"])
    return blocks


def text_of(blocks):
    return "\n".join(" ".join(words) for words in blocks) + "\nM30"


def assert_same_path(a: Path, b: Path, *, lines=True):
    for name in ("kind", "start", "end", "arc", "feed", "state", "frame", "arc_centre", "arc_axis",
                 "arc_sweep") + (("line",) if lines else ()):
        assert np.array_equal(getattr(a, name), getattr(b, name), equal_nan=name == "feed"), name


@settings(max_examples=60)
@given(programs())
def test_generated_programs_against_the_naive_reader(blocks):
    text = text_of(blocks)
    assert_same_motions(good(text), naive_interpreter.read(text), mismatch=0.0001)


@settings(max_examples=25)
@given(programs(), st.randoms(use_true_random=False))
def test_writing_differently_changes_nothing(blocks, random):
    path = good(text_of(blocks))
    shuffled = [random.sample(words, len(words)) for words in blocks]
    assert_same_path(path, good(text_of(shuffled)))
    numbered = [[f"N{10 * i}", *words] for i, words in enumerate(blocks)]
    assert_same_path(path, good(text_of(numbered)))
    squeezed = "\r\n".join("".join(words).lower() for words in blocks) + "\r\nm30"
    assert_same_path(path, good(squeezed))
    commented = "\n".join("(a)" + " (b c) ".join(words) + " ; d" for words in blocks) + "\nM30"
    assert_same_path(path, good(commented))
    blanks = "%\nO99\n" + "\n\n".join("  \t" + "   ".join(words) for words in blocks) + "\nM30\n%"
    assert_same_path(path, good(blanks), lines=False)


@settings(max_examples=25)
@given(programs())
def test_inches_are_the_same_path(blocks):
    """Numbers that are exact in both units (multiples of 0.0254 mm) give the same path to round-off."""
    def snap(word, unit):
        if word[0] not in "XYZIJKRF":
            return {"G21": "G20"}.get(word, word) if unit == "inch" else word
        steps = round(float(word[1:]) / 0.0254)
        return f"{word[0]}{steps * 0.0254:.4f}" if unit == "mm" else f"{word[0]}{steps * 0.001:.3f}"

    metric = good(text_of([[snap(word, "mm") for word in words] for words in blocks]))
    inch = good(text_of([[snap(word, "inch") for word in words] for words in blocks]))
    assert np.array_equal(metric.kind, inch.kind)
    assert np.abs(metric.end - inch.end).max() < 1e-9
    assert np.abs(metric.arc_centre - inch.arc_centre).max(initial=0.0) < 1e-9


@settings(max_examples=25)
@given(programs())
def test_an_offset_moves_the_machine_and_not_the_work(blocks):
    text = text_of(blocks)
    here = good(text)
    there = good(text, registers=Registers(offsets={"G54": WorkOffset(-312.5, -208.25, -401.125)}))
    assert np.array_equal(here.end, there.end)
    assert np.array_equal(here.start[1:], there.start[1:])
    assert there.frames[0].shift == (-312.5, -208.25, -401.125)


@settings(max_examples=25)
@given(st.lists(st.tuples(*[st.floats(-90, 90).map(lambda v: round(v, 3))] * 3), min_size=1, max_size=30))
def test_absolute_and_incremental_are_the_same_path(points):
    absolute = "G21 G90 G1 F1.\n" + "\n".join(f"X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in points)
    steps = np.diff(np.array([(0.0, 0.0, 0.0), *points]), axis=0)
    incremental = "G21 G91 G1 F1.\n" + "\n".join(f"X{x:.3f} Y{y:.3f} Z{z:.3f}" for x, y, z in steps)
    one, two = good(absolute), good(incremental)
    assert len(one) == len(two)
    assert np.abs(one.end - two.end).max(initial=0.0) < 1e-9


@pytest.mark.parametrize("radius", [0.5, 10.0, 250.0])
@pytest.mark.parametrize("degrees", [1, 45, 90, 179, 181, 270, 359])
@pytest.mark.parametrize("code", ["G2", "G3"])
def test_radius_and_centre_words_are_the_same_arc(radius, degrees, code):
    turn = np.radians(degrees if code == "G3" else -degrees)
    x, y = radius * np.cos(turn), radius * np.sin(turn)
    by_centre = good(f"G21 G1 F1. X{radius}\n{code} X{x:.12f} Y{y:.12f} I{-radius} J0.")
    by_radius = good(f"G21 G1 F1. X{radius}\n{code} X{x:.12f} Y{y:.12f} R{radius if degrees <= 180 else -radius}")
    assert by_centre.arc_sweep[0] == pytest.approx(turn, abs=1e-6)
    assert by_radius.arc_sweep[0] == pytest.approx(turn, abs=1e-6)
    assert np.abs(by_radius.arc_centre - by_centre.arc_centre).max() < 1e-6 * radius / max(abs(np.sin(turn / 2)), 1e-3) + 1e-6


def test_a_loop_and_a_subprogram_are_their_expansion():
    body = "G91 G1 X1. Y0.5\nG3 X2. Y0. R1.\nG90"
    flat = good("G21 F9. G1 X0.1\n" + "\n".join([body] * 5) + "\nM30")
    loop = good(f"G21 F9. G1 X0.1\n#1=0\nWHILE[#1 LT 5]DO1\n{body}\n#1=#1+1\nEND1\nM30")
    called = good(f"O1\nG21 F9. G1 X0.1\nM98 P7 L5\nM30\nO7\n{body}\nM99")
    assert ends(flat) == ends(loop) == ends(called)
    assert np.array_equal(flat.arc_sweep, loop.arc_sweep)


def test_the_naive_reader_refuses_what_it_does_not_know():
    with pytest.raises(naive_interpreter.Unknown):
        naive_interpreter.read("G21 G47 I5.")
    assert re.fullmatch("line|rapid|arc", naive_interpreter.read("G21 G1 X1.")[0][0])
