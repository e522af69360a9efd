"""The sentence a proof begins with: what was found, what was not looked at, what it rests on; and what it does not say twice."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.finding import Finding, Signal, State
from setwright.prove.case import Rest
from setwright.prove.report import plain_job
from setwright.prove.station import Proof, prove
from setwright.prove.verdict import verdict
from tests.prove.conftest import JOB, Proving, said

ACROSS = "G0 X-10. Y25.\nZ-4.\nG1 X110. F300."
TOLD = JOB.replace("corner = [0, 0, -20]", "corner = [0, 0, -20], varies = [0.5, 0.5, 0.2]")
TOLD = TOLD.replace("stickout = 40", "stickout = 40, preset = { length = 100 }")
"""The same plate, with nothing left unsaid but where it really stands."""


def measured(proof: Proof) -> Proof:
    """The proof as it is once the offsets are measured."""
    return replace(proof, truth=replace(proof.truth, source="touch"))


def test_nothing_hits_stands_alone_only_where_nothing_is_open(proving: Proving) -> None:
    proof = proving(ACROSS, job=TOLD)
    alone = verdict(measured(proof))
    assert (alone.text, alone.open, alone.rests_on) == ("Nothing hits (on measured offsets).", (), ())
    assert verdict(proof).text == "Nothing hits in what was looked at; not looked at: G54 (expected, not measured)."


def as_written(folder: Path, **asked: Any) -> Proof:
    """The job as it lies in its folder by now, proved."""
    loaded = load_job(folder)
    together = kit(loaded, loaded.job.setup[0])
    return prove(together, nominal_truth(together), pitch_mm=2.0, **asked)


@pytest.mark.parametrize(
    ("without", "said_so", "line"),
    [
        (", varies = [0.5, 0.5, 0.2]", "how much the blank varies (not stated)", "blank = { box"),
        (", preset = { length = 100 }", "the tool lengths (not measured)", "tool = [{"),
    ],
)  # fmt: skip
def test_what_the_kit_does_not_state_stands_in_the_headline(proving: Proving, without: str, said_so: str, line: str) -> None:
    job = TOLD.replace(without, "")
    assert job != TOLD
    told = verdict(measured(proving(ACROSS, job=job)))
    assert told.text == f"Nothing hits in what was looked at (on measured offsets); not looked at: {said_so}."
    (one,) = told.open
    assert (one.text, one.file) == (said_so, "job.toml")
    assert job.splitlines()[one.line - 1].startswith(line)


def test_a_blank_that_nothing_clamps_is_told(proving: Proving) -> None:
    job = TOLD.replace("parallels = 30, ", "").replace(', fixed_jaw = { against = "back" }', "")
    plate = 'name = "plate"\nplate = { size = [200, 100], thickness = 90 }\n'
    proof = proving(ACROSS, job=job, vise=plate)
    assert "what clamps the blank (not described)" in verdict(measured(proof)).text
    strap = '{ use = "vise", boxes = [{ name = "strap", corner = [-20, 10, -20], size = [10, 10, 10] }], '
    held = proving(ACROSS, job=job.replace('{ use = "vise", ', strap), vise=plate)
    assert verdict(measured(held)).text == "Nothing hits (on measured offsets)."


def test_a_function_of_the_machine_nobody_knows_is_told(tmp_path: Path, proving_whatever: Proving) -> None:
    proving_whatever("M71\n" + ACROSS + "\nM72", job=TOLD)
    machine = tmp_path / "shop" / "machines" / "mill.toml"
    machine.write_text(machine.read_text() + 'control = { behaviours = { other_m_codes = "remark" } }\n')
    told = verdict(measured(as_written(tmp_path)))
    assert "not looked at: what M71 and M72 do" in told.text
    assert [(one.file, one.line) for one in told.open] == [("plate.nc", 7)]


def test_what_is_undecided_is_named_and_a_third_reason_counted(proving: Proving) -> None:
    proof = measured(proving(ACROSS, job=TOLD))
    lost = [Finding(slug="some", signal=Signal.CAUTION, state=State.UNDECIDED, text=f"undecided: no {one}") for one in "abca"]
    told = verdict(replace(proof, findings=(*proof.findings, *lost)))
    assert told.text.endswith("not looked at: no a, no b, 1 more undecided.")
    assert [one.text for one in told.open] == ["no a", "no b", "no c"]


def test_a_proof_up_to_a_line_says_so(tmp_path: Path, proving: Proving) -> None:
    proving(ACROSS, job=TOLD)
    told = verdict(measured(as_written(tmp_path, until=("plate.nc", 8))))
    assert told.text == "Nothing hits in what was looked at (on measured offsets); not looked at: what follows line 8 of plate.nc."


def test_guesses_that_decide_are_named_and_the_others_counted(proving: Proving) -> None:
    proof = measured(proving(ACROSS, job=TOLD))
    rests = (Rest("machine", "job.toml", 3), Rest("blank 100 mm", "job.toml", 9, decides=True, how="with 120 mm it hits"),
             Rest("T1: flutes 22 mm", "job.toml", 12, decides=False))  # fmt: skip
    told = verdict(replace(proof, rests_on=rests))
    assert told.text == (
        "Nothing hits in what was looked at (on measured offsets); it rests on a guess: blank 100 mm (with 120 mm it hits); "
        "1 of 3 guesses could not be tried."
    )
    assert [rest.guess for rest in told.rests_on] == ["blank 100 mm", "machine", "T1: flutes 22 mm"]


def test_every_guess_is_told_with_where_it_decides_and_what_several_do_once(proving: Proving) -> None:
    def rest(guess: str, how: str) -> Rest:
        return Rest(guess, "job.toml", 3, decides=True, how=how)

    rests = (rest("blank", "above 9 mm: no longer “A”"), rest("T1: stick-out", "below 30 mm: B"),
             rest("T2: stick-out", "below 20 mm: B"), rest("vise", "above 40 mm: C"),
             rest("T3: flutes", "below 9 mm: D"))  # fmt: skip
    told = verdict(replace(measured(proving(ACROSS, job=TOLD)), rests_on=rests)).text
    assert told.endswith("; it rests on guesses: T1: stick-out (below 30 mm: B), likewise T2: stick-out (below 20 mm), "
                         "vise (above 40 mm: C), T3: flutes (below 9 mm: D), blank (above 9 mm: no longer “A”).")  # fmt: skip


def test_what_may_hit_is_no_nothing_hits(proving: Proving) -> None:
    """A WARNING of a body that may be met takes the certainty out of the head; one of a speed does not."""
    proof = proving(ACROSS, job=TOLD)
    speed = Finding(slug="speed", signal=Signal.WARNING, text="F is far off", line=3)
    near = Finding(slug="near", signal=Signal.WARNING, text="T1 meets the jaw if it is longer", body="fixed jaw", line=7)
    assert verdict(replace(proof, findings=(speed,))).text.startswith("Nothing hits, but WARNING: F is far off (")
    for found in ((near, speed), (speed, near)):
        assert verdict(replace(proof, findings=found)).text.startswith("Nothing hits for certain; WARNING: F is far off (")
    lost = replace(near, state=State.UNDECIDED)
    assert verdict(replace(proof, findings=(lost, speed))).text.startswith("Nothing hits, but WARNING: ")


def test_what_touch_doubts_stands_in_the_verdict_whatever_else_is_found(proving: Proving) -> None:
    doubt = Finding(slug="slip-suspected", signal=Signal.WARNING, text="contact 3 is a wrong number (probability 100%)")
    quiet, bad = proving(ACROSS, job=TOLD), proving("G0 X-10. Y25.\nZ-4.\nX110.", job=TOLD)
    for proof, head in ((quiet, "Nothing hits, but WARNING: contact 3 is a wrong number (probability 100%)"), (bad, "DANGER: T1 ")):
        truth = replace(proof.truth, source="touch", doubts=(doubt,))
        told = verdict(replace(proof, truth=truth, findings=(*proof.findings, doubt))).text
        assert told.startswith(head)
        assert told.count("contact 3 is a wrong number") == 1


def test_a_stopped_spindle_is_not_also_a_tool_that_meets_no_metal(proving: Proving) -> None:
    proof = proving("M5\n" + ACROSS)
    assert said(proof, "cut-without-spindle")
    assert said(proof, "tool-cuts-nothing") == []
    assert verdict(proof).text.startswith("DANGER: T1 ")
    assert "; so T1 end mill 10 " in verdict(proof).text
    assert len(said(proving("G0 X-10. Y25.\nG1 X110. F300."), "tool-cuts-nothing")) == 1


def test_what_is_known_to_hit_is_said_even_where_the_proof_stops(proving_whatever: Proving) -> None:
    proof = proving_whatever("G0 X-10. Y25.\nZ-4.\nX110.\nG1 XQ")
    assert proof.stopped
    told = verdict(proof)
    assert told.text.startswith("DANGER: T1 end mill 10 runs into the blank at rapid")
    assert "and NOT PROVED beyond plate.nc:10" in told.text
    assert told.open[0].line == 10


@pytest.mark.parametrize("pitch", [0.5, 1.0])
def test_the_retract_of_a_tool_pushed_in_with_the_spindle_stopped_is_the_same_cause(proving: Proving, pitch: float) -> None:
    proof = proving("M5\nG0 X50. Y25.\nZ2.\nG1 Z-4. F300.\nG0 Z2.")
    proof = prove(proof.kit, proof.truth, pitch_mm=pitch)
    finding, = [one for one in proof.findings if one.signal is Signal.DANGER]
    assert (finding.slug, finding.line) == ("cut-without-spindle", 10)
    assert "from line 11" in finding.text


def test_a_rapid_that_would_meet_metal_with_the_spindle_turning_as_well_is_told_beside_it(proving: Proving) -> None:
    proof = proving("M5\nG0 X50. Y25.\nZ2.\nG1 Z-4. F300.\nG0 Z2.\nX80.\nZ-3.")
    assert [(one.slug, one.line) for one in proof.findings if one.signal is Signal.DANGER] == [
        ("cut-without-spindle", 10), ("rapid-into-material", 13)]  # fmt: skip


REAMED = "{start}\nG0 X50. Y25.\nZ2.\nG1 Z-10. F80.\nG0 Z90.\nT2 M6\nS300 M3\nG0 G43 H2 Z2.\nG1 Z-9. F60.\nG0 Z2."
REAMER = 'name = "reamer 10"\nkind = "reamer"\ndiameter = 10\nflute_length = 30\nholder = [{ diameter = 30, length = 60 }]\n'


@pytest.mark.parametrize("start", ["M5", "M4"])
def test_a_reamer_in_the_hole_that_a_stopped_tool_never_made_is_the_same_cause(proving: Proving, start: str) -> None:
    """Line 10 pushes T1 in; T2 reams in line 15 what should have been drilled there, and would be once T1 turns its way."""
    job = JOB.replace(" }]", ' }, { station = 2, use = "ball10", stickout = 70 }]')
    proof = proving(REAMED.format(start=start), job=job, balls=REAMER)
    of_read = "fed-without-spindle"  # which brings the other with it
    dangers = [(one.slug, one.line) for one in proof.findings if one.signal is Signal.DANGER and one.slug != of_read]
    assert dangers == [("cut-without-spindle", 10)]
    assert "15" in said(proof, "cut-without-spindle")[0].text.split("from line")[1]
    alone = proving(REAMED.format(start="G0 X90.").replace("X50. Y25.\nZ2.\nG1 Z-10.", "X90. Y25.\nZ2.\nG1 Z-10.")
                    .replace("Z90.\nT2", "Z90.\nX50. Y25.\nT2"), job=job, balls=REAMER)  # fmt: skip
    assert said(alone, "plunge-without-centre-cutting")


RISES = "G0 X-20. Y25.\nZ-5.\nX50. Z9."
"""Straight, the rapid is at Z-2 where the tool comes to the plate; with Z arriving by itself it is 7.5 above."""
SINKS = "G0 X50. Y25.\nZ40.\nX-20. Z-5."
"""Straight, it leaves the plate 4.6 above it; with Z arriving by itself it goes 5 into it."""


def with_rapids(proof: Proof, **behaviours: str) -> Proof:
    control = proof.kit.machine.control.model_copy(update={"behaviours": behaviours})
    return prove(replace(proof.kit, machine=proof.kit.machine.model_copy(update={"control": control})), proof.truth, pitch_mm=1.0)


@pytest.mark.parametrize(("moves", "hits", "way"), [(RISES, "straight", "if the control runs rapids straight"),
                                                    (SINKS, "dog-leg", "if each axis runs to its end at its own rapid speed")],
                         ids=["straight hits", "bent hits"])  # fmt: skip
def test_a_rapid_that_may_run_either_way_is_proved_both_ways(proving: Proving, moves: str, hits: str, way: str) -> None:
    proof = proving(moves)
    finding, = said(with_rapids(proof), "rapid-into-material")
    assert (finding.signal, finding.line) == (Signal.DANGER, 9)
    assert way in finding.text
    assert "behaviours.rapid" in finding.remedy
    sure, = said(with_rapids(proof, rapid=hits), "rapid-into-material")
    assert "rapids" not in sure.text
    assert not said(with_rapids(proof, rapid={"straight": "dog-leg", "dog-leg": "straight"}[hits]), "rapid-into-material")


def test_a_rapid_that_hits_either_way_is_told_without_an_if(proving: Proving) -> None:
    finding, = said(proving("G0 X-20. Y25.\nZ-5.\nX50. Z-4."), "rapid-into-material")
    assert " if " not in finding.text


def test_what_stands_behind_a_stop_is_named_in_few_words(proving_whatever: Proving) -> None:
    """A rotary word stops the reading; a tool change, a work offset, a rapid and the end follow."""
    proof = proving_whatever("G0 X10. Y25.\nA9.\nT7 M6\nG55")
    assert "what follows there (4 blocks, with T7 and G55)" in [one.text for one in verdict(proof).open]


def test_a_program_without_any_length_is_the_cause_of_what_it_runs_into(tmp_path: Path, proving: Proving) -> None:
    """Tool 1 hangs 40 mm below its holder: without G43 the end of the spindle comes to Z-4, and stands in the plate."""
    proving("G0 X-20. Y25.\nZ-4.\nG1 X120. F300.")
    text = (tmp_path / "plate.nc").read_text().replace("G43 H1 ", "")
    (tmp_path / "plate.nc").write_text(text)
    folder = load_job(tmp_path)
    together = kit(folder, folder.job.setup[0])
    proof = prove(together, nominal_truth(together), pitch_mm=1.0)
    assert verdict(proof).text.startswith("DANGER: no length is applied (no G43): Z zero must be set with T1 itself; so ")


def test_the_setup_that_hits_is_told_first_in_the_document(proving: Proving) -> None:
    good, bad = proving("G0 X-20. Y25.\nZ-4.\nG1 X120. F300."), proving("G0 X-20. Y25.\nZ-4.\nX120.")
    document = plain_job([good, bad], "mm")
    assert document["verdict"].startswith("first side: DANGER: T1 ")
    assert [setup["verdict"] for setup in document["setups"]] == [verdict(good).text, verdict(bad).text]
