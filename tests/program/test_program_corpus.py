"""Real program texts, read by the package and by the naive second reader, motion by motion."""

from __future__ import annotations

import functools
import os
from pathlib import Path

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.registers import Registers
from setwright.program.source import Source
from tests.oracle import naive_interpreter
from tests.program.compare import assert_same_motions

CORPUS = Path(os.environ.get("SETWRIGHT_CORPUS") or Path(__file__).resolve().parents[3] / "shared" / "corpus")
FILES = sorted(path for path in CORPUS.glob("*") if path.suffix.lower() in (".nc", ".tap", ".gcode", ".txt", ".ngc", ".pim"))
Z_HOME_AT = {("stays", "M6"): (), ("stays", "T"): (), ("Z home", "M6"): ("M6",), ("Z home", "T"): ("M6", "T")}
pytestmark = pytest.mark.skipif(not FILES, reason="the corpus of program texts is not here (set SETWRIGHT_CORPUS)")


@functools.cache
def _read(path: Path):
    source = Source(path.name, path.read_bytes())
    inference = infer([source])
    return inference, interpret([source], profile=inference.profile, registers=Registers.nominal())


def test_most_texts_are_read_to_their_end_and_the_rest_say_where_and_why():
    complete, stopped = [], []
    for path in FILES:
        try:
            _, result = _read(path)
        except InputRefused as refused:
            problems = refused.problems
        else:
            problems = result.problems
        if not problems:
            complete.append(path.name)
        else:
            assert all(problem.span and problem.span.line and problem.what for problem in problems)
            stopped.append(path.name)
    assert len(complete) >= 0.91 * len(FILES), stopped


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_motions_are_those_of_the_naive_reader(path):
    try:
        inference, result = _read(path)
    except InputRefused:
        return
    if not result.complete:
        return
    profile = inference.profile
    text = path.read_bytes().decode("utf-8", errors="replace")
    expected = naive_interpreter.read(text, inch=profile.units == "inch", z_is_near_level=profile.cycle_words == "Z and I",
                                      bare_word_is_zero=profile.word_without_number == "zero", z_home_at=Z_HOME_AT[
                                          profile.change_motion, profile.tool_change])  # fmt: skip
    assert_same_motions(result.path, expected, mismatch=profile.arc_mismatch_mm)


def test_every_row_starts_where_the_one_before_ends():
    for path in FILES:
        try:
            _, result = _read(path)
        except InputRefused:
            continue
        rows = result.path
        same_frame = rows.frame[1:] == rows.frame[:-1]
        assert np.array_equal(rows.start[1:][same_frame], rows.end[:-1][same_frame]), path.name
