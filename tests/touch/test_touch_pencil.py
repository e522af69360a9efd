"""Readings written down as a setter says them: one line each, what stays the same left out, each judged at once."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console
from typer.testing import CliRunner

from setwright.base.errors import InputRefused
from setwright.cli.common import Asked
from setwright.cli.main import app
from setwright.cli.touch_entry import enter_readings
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.model.reading import Contact, LengthReading
from setwright.touch.features import ways_of
from setwright.touch.pencil import Pencil
from setwright.touch.station import touch
from tests.touch.workshop import kit_of, readings

TOOLS = "".join(
    f'\n[[setup.tool]]\nstation = {n}\nuse = "end-mill-12"\nstickout = {40 + n}\npreset = {{}}\n' for n in (3, 4, 5)
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    kit_of(tmp_path, x="left", y="fixed jaw", lengths="tip on datum", preset1="", preset2="")
    (tmp_path / "job.toml").write_text((tmp_path / "job.toml").read_text() + TOOLS)
    return tmp_path


def entered(job: Path, *lines: str) -> tuple[int, str]:
    said = Console(file=io.StringIO(), width=200)
    asked = Asked("touch", json=False, units="mm", quiet=False, people=said, progress=said)
    given = iter(f"{line}\n" for line in lines)
    count = enter_readings(asked, load_job(job), setup=None, line=lambda: next(given, ""))
    return count, said.file.getvalue()


def test_a_plain_touch_off_takes_a_dozen_lines_at_most(job: Path) -> None:
    lines = ("left -367.004", "-178.010", "T1 paper -344.438", "T2 -357.67", "T3 -360.1", "T4 -359.1", "T5 -358.1", "end")
    assert len(lines) <= 12
    count, said = entered(job, *lines)
    assert count == 7
    by_hand = [{"on": "left", "with": "finder", "toward": "+X", "display": {"x": -367.004}},
               {"on": "fixed jaw", "with": "finder", "toward": "+Y", "display": {"y": -178.01}}]  # fmt: skip
    by_hand += [{"on": "top", "with": "paper", "toward": "-Z", "tool": n, "display": {"z": z}}
                for n, z in ((1, -344.438), (2, -357.67), (3, -360.1), (4, -359.1), (5, -358.1))]  # fmt: skip
    folder = load_job(job)
    assert folder.job.readings.contact == readings(*by_hand).contact
    result = touch(kit(folder, folder.job.setup[0]))
    assert [line.split()[1] for line in result.keystrokes()][:3] == ["X", "Y", "Z"]
    assert sum("length" in line for line in result.keystrokes()) == 5
    assert "X: touch left moving +X" in said
    assert "X -362.0" not in said  # the radius goes the right way
    assert "X -300.004" in said


def test_what_is_still_to_be_touched_follows_the_readings(job: Path) -> None:
    def asked() -> list[tuple[str, str, int | None, str]]:
        folder = load_job(job)
        plan = Pencil.of(kit(folder, folder.job.setup[0])).as_plain()
        return [(one["on"], one["toward"], one["tool"], one["with"]) for one in plan]

    down = [("top", "-Z", n, "paper") for n in range(1, 6)]
    jaw = ("fixed jaw", "+Y", None, "finder")
    assert asked() == [("left", "+X", None, "finder"), jaw, jaw, *down]
    entered(job, "fixed jaw -178.010", "T2 paper -357.67", "end")
    assert asked() == [("left", "+X", None, "finder"), jaw, *(one for one in down if one[2] != 2)]
    entered(job, "with probe", "left -369.004", "T1 feeler 0.10 -344.5", "end")
    assert asked() == [("fixed jaw", "+Y", None, "probe"), *(("top", "-Z", n, "feeler 0.10 mm") for n in (3, 4, 5))]
    _, said = entered(job, "end")
    assert "the angle: touch fixed jaw again" in said
    assert "X: touch left" not in said


def test_a_reading_with_an_unknown_instrument_changes_no_plan(tmp_path: Path) -> None:
    one = kit_of(tmp_path)
    odd = readings({"on": "left", "with": "no such thing", "toward": "+X", "display": {"x": -367.0}})
    held = replace(one.folder, job=one.folder.job.model_copy(update={"readings": odd}))
    assert Pencil.of(replace(one, folder=held)).finder == "finder"


def test_tools_whose_length_was_measured_are_not_asked_for(tmp_path: Path) -> None:
    one_known = Pencil.of(kit_of(tmp_path / "one"))
    assert [one.tool for one in one_known.plan() if one.tool] == [1, 2]
    both = kit_of(tmp_path / "both", preset2="length = 118.2")
    assert [one.tool for one in Pencil.of(both).plan() if one.tool] == [1]
    each = kit_of(tmp_path / "each", preset2="length = 118.2", setup='lengths = "touched off with each tool"')
    assert [one.tool for one in Pencil.of(each).plan() if one.tool] == [1, 2]


@pytest.mark.parametrize(("face", "ways"), [("left", ("+X",)), ("back", ("-Y",)), ("fixed jaw", ("+Y",)), ("top", ("-Z",)),
                                            ("bottom", ()), ("bore A", ("+X", "-X", "+Y", "-Y", "sweep"))])  # fmt: skip
def test_a_face_is_met_from_where_it_can_be(tmp_path: Path, face: str, ways: tuple[str, ...]) -> None:
    assert ways_of(Pencil.of(kit_of(tmp_path)).features[face]) == ways


def test_what_cannot_be_is_told_at_once_and_nothing_is_lost(job: Path) -> None:
    count, said = entered(job, "left -367.004", "fixed jaw 178.010", "fixed jaw -178.010", "end")
    assert count == 2
    assert "not written: contact 2 (fixed jaw +Y) shows Y 178.010 mm" in said
    assert "the sign was lost (-178.010 would be in it)" in said
    assert [c.on for c in load_job(job).job.readings.contact] == ["left", "fixed jaw"]
    _, again = entered(job, "left -362.0", "undo", "lefft -1", "T9 -100", "bore A -300", "end")
    assert "contradict each other by 5.004 mm" in again
    assert "the last reading is taken back" in again
    assert 'did you mean "left"?' in again
    assert "this setup has no tool 9" in again
    assert '"bore A" is round' in again
    assert len(load_job(job).job.readings.contact) == 2


def test_step_finder_coordinates_and_units_are_understood(tmp_path: Path) -> None:
    pencil = Pencil.of(kit_of(tmp_path, x="left", y="fixed jaw"))
    assert pencil.finder == "finder"
    assert pencil.read("step 0.01") is None
    made = pencil.read("left −16,852 y -120.5")
    assert isinstance(made, Contact)
    assert (made.toward, made.display.x, made.display.y, made.last_step) == ("+X", -16.852, -120.5, 0.01)
    assert pencil.read("with probe") is None
    assert pencil.read("bore A -y -1 in").display.y == -25.4
    assert pencil.read("BORE A +X -2").with_ == "probe"
    feeler = pencil.read("T2 feeler 0.10 -410.2")
    assert (feeler.with_, feeler.display.z) == ("feeler 0.10 mm", -410.2)


@pytest.mark.parametrize("line", ["left - 367.004", "left –367.004", "left — 367.004", "- 367.004"])
def test_a_sign_apart_from_its_number_is_not_lost(tmp_path: Path, line: str) -> None:
    pencil = Pencil.of(kit_of(tmp_path, x="left", y="fixed jaw"))
    made = pencil.read(line, pencil.plan()[0])
    assert isinstance(made, Contact)
    assert (made.on, made.display.x, made.with_) == ("left", -367.004, "finder")


def test_an_instrument_is_remembered_for_what_it_is_made_for(tmp_path: Path) -> None:
    pencil = Pencil.of(kit_of(tmp_path))
    for line in ("with setter", "with coaxial", "with probe"):
        assert pencil.read(line) is None
    assert pencil.usual() == {"finder": "probe", "under": "setter", "sweeps": "coaxial indicator"}
    pencil.read("T1 finder -340")  # nothing that lies under a tool: the next tool has the setter under it again
    assert pencil.read("T2 -357").with_ == "setter"


def test_undo_asks_again_for_what_was_taken_back(job: Path) -> None:
    count, said = entered(job, "-366.004", "undo", "-367.004", "end")
    assert count == 1
    assert said.count("X: touch left moving +X >") == 2
    assert [(c.on, c.display.x) for c in load_job(job).job.readings.contact] == [("left", -367.004)]


def test_undo_takes_nothing_from_readings_that_somebody_else_wrote_since(job: Path) -> None:
    path, theirs, given = job / "readings.toml", [], iter(("left -367.004\n", "undo\n", "end\n"))

    def line() -> str:
        text = next(given)
        if text == "undo\n":
            theirs.append(path.read_text() + "# another hand\n")
            path.write_text(theirs[0])
        return text

    said = Console(file=io.StringIO(), width=200)
    asked = Asked("touch", json=False, units="mm", quiet=False, people=said, progress=said)
    enter_readings(asked, load_job(job), setup=None, line=line)
    assert path.read_text() == theirs[0]
    assert "not taken back: somebody else wrote into readings.toml since" in said.file.getvalue()


def test_a_tool_setter_on_the_table_gives_a_length(tmp_path: Path) -> None:
    pencil = Pencil.of(kit_of(tmp_path))
    made = pencil.read("T2 tool setter -410.2")
    assert isinstance(made, LengthReading)
    assert (made.tool, made.display.z) == (2, -410.2)
    assert isinstance(pencil.read("T1 -400"), LengthReading)  # the same under the next tool


@pytest.mark.parametrize("line", ["left", "left -1 -2", "left -1 x -2", "T1 finger -3", "-5", "left x", "step much", "step -0.01",
                                  "left -14.4in", "left -367 m", "left p -367", "left -367 y", "T1 T2 -340", "left -367 -"])
def test_lines_that_say_nothing_are_refused_with_an_example(tmp_path: Path, line: str) -> None:
    pencil = Pencil.of(kit_of(tmp_path))
    with pytest.raises(InputRefused) as caught:
        pencil.read(line)
    assert all("write for example" in problem.remedy for problem in caught.value.problems)


def test_a_tool_behind_the_number_of_another_touch_changes_no_axis(tmp_path: Path) -> None:
    pencil = Pencil.of(kit_of(tmp_path, x="left", y="fixed jaw", preset1=""))
    asked = pencil.plan()[0]
    assert asked.on == "left"
    with pytest.raises(InputRefused, match="names tool 1 and no face"):
        pencil.read("-353.92 T1 paper", asked)


def test_the_command_asks_when_told_to(job: Path) -> None:
    said = "left -367.004\nfixed jaw -178.010\nT1 paper -344.438\nend\n"
    result = CliRunner().invoke(app, ["touch", str(job), "--enter"], input=said)
    assert result.exit_code in (0, 1)
    assert "-300.004" in result.stdout


@pytest.mark.parametrize("kind", ["contact", "tool_length", "tool_diameter"])
def test_readings_of_a_setup_that_is_not_there_are_refused_before_anybody_types(job: Path, kind: str) -> None:
    own = {"contact": 'on = "left"\ntoward = "+X"\ndisplay = { x = -367 }', "tool_length": "tool = 1\ndisplay = { z = -400 }",
           "tool_diameter": "tool = 1\nshown = 15.99"}  # fmt: skip
    text = f'format = 1\n[[{kind}]]\nsetup = "frist"\nwith = "setter"\n{own[kind]}\n'
    (job / "readings.toml").write_text(text)
    result = CliRunner().invoke(app, ["touch", str(job), "--enter"], input="left -367.004\nend\n")
    assert result.exit_code == 2
    assert f'{kind} 1 was read for setup "frist", and the job has no such setup' in " ".join(result.output.split())
    assert (job / "readings.toml").read_text() == text


def test_a_line_that_contradicts_the_kit_says_so_at_once(job: Path) -> None:
    _, said = entered(job, "left -14.4490", "fixed jaw -7.0083", "end")  # inches, in a job in mm
    assert "look again: there is no number to type: the readings are inches taken for mm" in said


@pytest.mark.parametrize(("line", "wanted"), [
    ("bore A sweep -300.012 -215.004", (-300.012, -215.004, None, "coaxial indicator")),
    ("bore A sweep X -300.012 Y -215.004", (-300.012, -215.004, None, "coaxial indicator")),
    ("BORE A swept y −215,004 x −300,012 z -410", (-300.012, -215.004, -410.0, "coaxial indicator")),
    ("bore A sweep -11.8115 in -8.4647 in", (-300.0121, -215.00338, None, "coaxial indicator")),
    ("bore A sweep -300.012 -215.004 test indicator", (-300.012, -215.004, None, "test indicator")),
    ("sweep -300.012 -215.004", (-300.012, -215.004, None, "coaxial indicator")),
])  # fmt: skip
def test_a_sweep_reads_the_centre_of_a_round_face(tmp_path: Path, line: str, wanted: tuple) -> None:
    pencil = Pencil.of(kit_of(tmp_path, y="bore A"))
    asked = pencil.plan()[0]
    assert (asked.on, asked.what) == ("bore A", "X and Y: touch bore A moving +X; or sweep it")
    made = pencil.read(line, asked)
    assert isinstance(made, Contact)
    assert (made.on, made.toward, made.with_) == ("bore A", "sweep", wanted[3])
    assert (made.display.x, made.display.y) == pytest.approx(wanted[:2])
    assert made.display.z == wanted[2]


@pytest.mark.parametrize(("line", "why"), [
    ("bore A sweep -300.012", "a sweep reads a centre, X and Y"), ("left sweep -300 -200", '"left" is flat'),
    ("bore A sweep -300 -215 -410", "two numbers for one axis"), ("bore A sweep x -300 x -215", "two numbers for one axis"),
])  # fmt: skip
def test_a_sweep_that_reads_no_centre_is_refused_with_an_example(tmp_path: Path, line: str, why: str) -> None:
    with pytest.raises(InputRefused, match=why) as caught:
        Pencil.of(kit_of(tmp_path)).read(line)
    assert "write for example" in caught.value.problems[0].remedy


def test_one_sweep_answers_every_touch_of_its_bore_and_is_judged_at_once(tmp_path: Path) -> None:
    kit_of(tmp_path)
    count, said = entered(tmp_path, "bore A sweep -300.012 215.004", "bore A sweep -300.012 -215.004 finder",
                          "bore A sweep -300.012 -215.004", "end")  # fmt: skip
    assert count == 1
    assert "the sign was lost (-215.004 would be in it)" in said
    assert "a mechanical edge finder is not swept round a bore" in said
    assert "X -300.012 ± " in said
    assert "Y -215.004 ± " in said
    assert said.rstrip().endswith("the angle: touch fixed jaw moving +Y, X as well >")
    folder = load_job(tmp_path)
    by_hand = {"on": "bore A", "with": "coaxial indicator", "toward": "sweep", "display": {"x": -300.012, "y": -215.004}}
    assert folder.job.readings.contact == readings(by_hand).contact
    again = Pencil.of(kit(folder, folder.job.setup[0]))
    assert all(one.on != "bore A" for one in again.plan())
    assert again.usual() == {"finder": "finder", "under": "paper", "sweeps": "coaxial indicator"}
