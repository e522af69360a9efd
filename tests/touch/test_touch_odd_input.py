"""Whatever is written down, the answer is numbers or a refusal with a remedy: never a crash, never a number that is not one."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setwright.base.errors import InputRefused
from setwright.touch.station import Wanted, touch
from tests.touch.workshop import kit_of, readings

PLACES = st.one_of(st.none(), st.floats(-700, 100), st.sampled_from([0.0, -300.0, -215.0, -310.0, 1e6, -1e8]))
MET = [("left", "+X"), ("right", "-X"), ("front", "+Y"), ("back", "-Y"), ("fixed jaw", "+Y"), ("end stop", "-X"), ("top", "-Z"),
       ("jaw top", "-Z"), ("bore A", "+X"), ("bore A", "-Y"), ("bore B", "-X"), ("bore A", "sweep")]  # fmt: skip
FACES = sorted({on for on, _ in MET} | {"bottom", "parallels", "nothing"})
TOWARD = ["+X", "-X", "+Y", "-Y", "+Z", "-Z", "sweep"]
WAYS = st.one_of(st.sampled_from(MET), st.tuples(st.sampled_from(FACES), st.sampled_from(TOWARD)))
TOUCHING = ["finder", "finder", "probe", "setter", "3D indicator", "coaxial indicator", "test indicator", "paper", "tool tip"]
CONTACTS = st.tuples(WAYS, st.fixed_dictionaries({
    "with": st.sampled_from(TOUCHING), "display": st.fixed_dictionaries({"x": PLACES, "y": PLACES, "z": PLACES}),
    "last_step": st.sampled_from([0.0, 0.01, 5.0]), "tool": st.sampled_from([1, 1, 2, None, 9]),
})).map(lambda pair: {"on": pair[0][0], "toward": pair[0][1]} | pair[1])  # fmt: skip


@pytest.fixture(scope="module")
def kit(tmp_path_factory):
    return kit_of(tmp_path_factory.mktemp("job"), x="left and right")


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(contacts=st.lists(CONTACTS, max_size=6))
def test_numbers_or_a_refusal(kit, contacts):
    for contact in contacts:
        axes = ("x", "y") if contact["toward"] == "sweep" else (contact["toward"][-1].lower(),)
        for axis in axes:
            if contact["display"][axis] is None:
                contact["display"] = contact["display"] | {axis: -300.0}
    try:
        result = touch(kit, readings(*contacts), wanted=Wanted.AS_FAR)
    except InputRefused as refusal:
        refused = refusal.problems
        assert all(problem.remedy for problem in refused)
    else:
        json.dumps(result.as_plain(), allow_nan=False)
        json.dumps(result.as_plain("inch"), allow_nan=False)
        assert result.truth().source == "touch"
