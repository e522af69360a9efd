"""Behind a stop: what needs no motion is still told, and ways of writing that only some controls take can be turned on."""

from __future__ import annotations

from dataclasses import replace

import pytest

from setwright.base.span import Span
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.profile import Profile
from setwright.program.registers import Registers
from setwright.program.source import Source
from setwright.program.unread import behind

HEAD = "G21 G17 G90\nT1 M6\nG54 G0 X0 Y0 S1000 M3\nG43 H1 Z5.\nG1 Z-1. F100.\n"
REST = "T5 M6\nG55 G43 H5 Z5.\nG41 D15 X1.\n(T9 M6)\nG54.1 P3 X0\n#1=7\nT#1 M6\nM30\n"
TURNED = Source("p.nc", HEAD + "A90.\n" + REST)
CALLED = Source("p.nc", HEAD + "M98 P2\nT5 M6\nM30\nO2\nG1 X5.\nM17\n")


def test_what_is_called_behind_a_stop_is_found_with_its_lines() -> None:
    found = behind([TURNED, Source("q.nc", "T6 M6\n")], Span("p.nc", 6))
    assert {number: (span.file, span.line) for number, span in found.tools.items()} == {5: ("p.nc", 7), 6: ("q.nc", 1)}
    assert (list(found.lengths), list(found.radii), list(found.offsets)) == ([5], [15], ["G55", "G54.1"])
    assert found.blocks == 8


def test_behind_a_subprogram_the_main_program_goes_on() -> None:
    text = HEAD + "M98 P2\nT5 M6\nM30\nO2\nA90.\nM99\n"
    read = interpret([Source("p.nc", text)], profile=Profile(), registers=Registers.nominal())
    assert (read.end, read.stopped_at and read.stopped_at.line, read.back_to) == ("stopped", 10, ("p.nc", 7))
    assert read.stopped_at is not None
    assert list(behind([Source("p.nc", text)], read.stopped_at, back_to=read.back_to).tools) == [5]


@pytest.mark.parametrize(
    ("text", "behaviour", "value", "remedy"),
    [(HEAD.replace("G90", "G90 // absolute") + "M30\n", "slash_comment", "comment", 'slash_comment = "comment"'),
     (HEAD + "G1 X5. E2.\nM30\n", "e_words", "remark", 'e_words = "remark"'),
     (CALLED.text, "subprogram_end", "M17 too", 'subprogram_end = "M17 too"')],
)  # fmt: skip
def test_a_way_of_writing_stops_until_it_is_turned_on(text: str, behaviour: str, value: str, remedy: str) -> None:
    source = Source("p.nc", text)
    refused = interpret([source], profile=Profile(), registers=Registers.nominal())
    assert not refused.complete
    assert remedy in refused.problems[0].remedy
    turned_on = interpret([source], profile=replace(Profile(), **{behaviour: value}), registers=Registers.nominal())
    assert (turned_on.complete, turned_on.end) == (True, "M30")
    taken = infer([source])
    assert getattr(taken.profile, behaviour) == value
    assert behaviour in {one.behaviour for one in taken.evidence}


def test_m17_in_the_midst_of_a_program_ends_nothing() -> None:
    found = infer([Source("p.nc", HEAD + "M17\nG1 X5.\nM30\n")])
    assert found.profile.subprogram_end == "M99"
    assert "machine_functions" in {one.behaviour for one in found.ambiguities}


def test_a_rotary_move_is_no_evidence_for_a_rotary_word_that_stays() -> None:
    found = infer([TURNED])
    assert found.profile.rotary_words == "refuse"
    assert "rotary_words" not in {one.behaviour for one in found.evidence}
    assert infer([Source("p.nc", HEAD + "A0.\nM30\n")]).profile.rotary_words == "at zero"
