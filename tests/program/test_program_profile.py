"""Profiles as data, and what is inferred from texts."""

from __future__ import annotations

import pytest

from setwright.base.errors import InputRefused
from setwright.program.infer import infer
from setwright.program.profile import Profile, behaviours, bundled_profile, bundled_profiles, parse_profile
from setwright.program.source import Source


def test_the_one_profile_that_comes_along_states_nothing_and_proves_rapids_both_ways():
    assert bundled_profiles() == ("plain",)
    assert bundled_profile("plain") == Profile(name="plain")
    assert bundled_profile("plain").rapid == "unknown"


@pytest.mark.parametrize("behaviour", [one for one in behaviours() if one.name != "name"], ids=lambda one: one.name)
def test_every_behaviour_stands_by_itself(behaviour):
    if behaviour.allowed is int:
        value = [31]
    elif isinstance(behaviour.default, str):
        value = behaviour.allowed[-1]
    else:
        value = behaviour.allowed[1]
    profile = parse_profile({behaviour.name: value})
    changed = {one.name for one in behaviours() if getattr(profile, one.name) != one.default}
    assert changed == {behaviour.name}


def test_every_behaviour_is_described_and_its_default_allowed():
    for behaviour in behaviours():
        assert behaviour.changes.endswith("."), behaviour.name
        if isinstance(behaviour.allowed, tuple) and isinstance(behaviour.allowed[0], str):
            assert behaviour.default == behaviour.allowed[0]
            assert len(set(behaviour.allowed)) == len(behaviour.allowed) > 1
        elif isinstance(behaviour.allowed, tuple):
            assert behaviour.allowed[0] <= behaviour.default <= behaviour.allowed[1]


def test_wrong_profiles_are_refused_with_everything_wrong_at_once():
    with pytest.raises(InputRefused) as refused:
        parse_profile(
            {"decimals": "whole units", "rapid": "curved", "arc_mismatch_mm": 7, "machine_functions": ["M31"], "units": "inch"}
        )
    text = str(refused.value)
    assert 'did you mean "decimal"' in text
    assert '"dog-leg"' in text
    assert "0 to 1 mm" in text
    assert len(refused.value.problems) == 4
    with pytest.raises(InputRefused, match=r"under \[control.behaviours\]"):
        bundled_profile("no such thing")


def test_a_profile_names_only_what_differs():
    profile = parse_profile({"name": "mine", "units": "inch", "machine_functions": [31, 33]})
    assert profile == Profile(name="mine", units="inch", machine_functions=(31, 33))


CASES = [
    ("(PLATE 3 INCH WIDE)\nG0 X1.5", "units", "inch", "evidence"), ("(BAR 40 MM)\nG0 X1.5", "units", "mm", "evidence"),
    ("G0 X180.", "units", "mm", "evidence"),
    ("G0 X1.5 Y2.25", "units", "inch", "doubt"), ("G0 X25. Y30.", "units", "mm", "doubt"),
    ("G21 G0 X5 Y10", "decimal", "whole units", "doubt"),
    ("G21 G0 X5 Y10.5", "decimal", "whole units", "evidence"), ("G21 G0 X50000", "decimal", "least increment", "evidence"),
    ("%123\nG21 G0 X1.", "leading_number", "program number", "evidence"),
    ("G21 G0 Z1.\nM55", "machine_functions", "(55,)", "doubt"),
    ("G21 T1 M6\nG0 G43 Z5.", "length_without_h", "current tool", "doubt"),
    ("G21 T1.1 M6", "t_word", "number.register", "evidence"),
    ("G21 S1 M3 G0 Z5.\nG81 X1. Z2. I-5. F10.", "cycle_words", "Z and I", "evidence"),
    ("G21 G0 X1.\n(a (b))", "nested_comments", "count", "evidence"),
    ("G21 G0\nM97 P5\nM30\nN5 X1.\nM99", "local_calls", "M97", "evidence"),
    ("O1\nM98 P30002\nM30\nO2\nM99", "call_words", "packed P", "evidence"),
    ("G21 G1 F1. X10.\nG3 X0. Y10.043 I-10.", "arc_mismatch_mm", "0.043", "evidence"),
    ("G21 G0 A0.", "rotary_words", "at zero", "evidence"),
    ("G21 G0 Z5.\nG81 X1. Z-2. F9.", "cycle_without_r", "current level", "evidence"), ("G21 X5.", "first_motion", "G0", "doubt"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "behaviour", "reading", "how"), CASES)
def test_inference(text, behaviour, reading, how):
    inference = infer([Source("t", text)])
    assert str(getattr(inference.profile, behaviour)) == reading
    evidence = [item for item in inference.evidence if item.behaviour == behaviour]
    doubts = [item for item in inference.ambiguities if item.behaviour == behaviour]
    assert bool(evidence) == (how == "evidence")
    assert bool(doubts) == (how == "doubt")
    for item in [*evidence, *doubts]:
        assert item.span.line >= 1
        assert item.text


def test_a_plain_text_needs_nothing():
    inference = infer([Source("t", "G21 G90 G17\nT1 M6\nS900 M3\nG0 X1. Y2.\nG43 H1 Z5.\nG1 Z-1. F100.\nG3 X0. Y10. R20.\nM30")])
    assert inference.evidence == ()
    assert inference.ambiguities == ()
    assert inference.profile == Profile(name="inferred")


def test_a_mismatch_beyond_reason_is_not_accepted():
    inference = infer([Source("t", "G21 G1 F1. X10.\nG3 X0. Y11. I-10.")])
    assert inference.profile.arc_mismatch_mm == Profile().arc_mismatch_mm
