"""Every check of Read: a program that it speaks about, at the line it names, and one about which all are silent."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from setwright.cli.explain import CATALOGUES
from setwright.model.check import HEADINGS, checks_in
from setwright.model.finding import Finding, Signal, State
from setwright.model.machine import Spindle
from setwright.model.tool import Tool
from setwright.program.profile import Profile, parse_profile
from setwright.program.registers import Registers, WorkOffset
from setwright.read.station import ORDINARY, Reading, read, read_alone

PROFILE = Profile(rapid="dog-leg", nested_comments="count", local_calls="M97")

PACKAGE = "setwright.read.checks"
HEAD = "G21 G17 G90 G40 G49 G80 G54\n"
START = HEAD + "T1 M6\nS3000 M3\nG0 X0. Y0.\nG43 H1 Z50.\nZ2.\n"
END = "G0 Z50.\nG49\nM30\n"
TOOLS = {
    1: Tool(name="mill", kind="end mill", diameter=10, flute_length=20, max_speed=9000.0),
    2: Tool(name="tap M8", kind="tap", diameter=8, flute_length=20, pitch=1.25),
    3: Tool(name="reamer 8", kind="reamer", diameter=8, flute_length=20),
}
REGISTERS = Registers(offsets={"G54": WorkOffset(-300, -200, -300)}, lengths={1: 100.0, 2: 110.0}, radii={1: 5.0, 2: 4.0},
                      references={1: (0.0, 0.0, 0.0), 2: (0.0, 0.0, 0.0)})  # fmt: skip


def findings(text: str) -> list[Finding]:
    machine = ORDINARY.model_copy(update={"spindle": Spindle(max_speed=12000.0)})
    reading = read({"p.nc": text.encode()}, profile=PROFILE, registers=REGISTERS, machine=machine, tools=TOOLS)
    return [finding for finding in reading.findings if finding.state is State.FOUND]


CLEAN = START + "G1 Z-1. F300.\nX20.\n" + END

SPOKEN_OF = {
    "safe-start-missing": ("G21 G17 G54\nT1 M6\nS3000 M3\nG0 X0. Y0.\nG43 H1 Z2.\nG1 Z-1. F300.\n" + END, 4),
    "no-feed": (CLEAN.replace(" F300.", ""), 7),
    "missing-length": (START + "G1 Z-1. F300.\nG0 Z50.\nG49\nT2 M6\nS500 M3\nG0 X20. Y0.\nZ2.\nG1 Z-1. F300.\nG0 Z50.\nM30\n", 13),
    "tap-and-cycle-apart": (START + "G84 X0. Y0. Z-10. R3. F3750.\nG80\n" + END, 7),
    "fed-sideways": (HEAD + "T2 M6\nS500 M3\nG0 X0. Y0.\nG43 H2 Z50.\nZ2.\nG1 Z-1. F625.\nX20.\n" + END, 8),
    "reamer-and-hole": (HEAD + "T3 M6\nS500 M3\nG0 X0. Y0.\nG43 H3 Z50.\nG85 X5. Y5. Z-10. R2. F100.\nG80\n" + END, 6),
    "speed-or-feed-far-off": (CLEAN.replace("F300.", "F30000."), 7),
    "tool-unlike-text": ("(T4 = FACE MILL D50)\n" + CLEAN, 3),
    "length-register-of-another-tool": (START.replace("H1", "H2") + "G1 Z-1. F300.\n" + END, 5),
    "radius-register-of-another-tool": (START + "G1 Z-1. F300.\nG41 D2 X10.\nX30.\nG40 X50.\n" + END, 8),
    "compensation-entry-too-short": (START + "G1 Z-1. F300.\nG41 D1 X2.\nX30.\nG40 X50.\n" + END, 8),
    "radius-larger-than-corner": (START + "G1 Z-1. F300.\nG41 D1 X10.\nX30.\nG3 X30. Y6. R3.\nG1 X10.\nG40 X0.\n" + END, 10),
    "arc-end-off-its-circle": (START + "G1 Z-1. F300.\nG2 X20.005 Y0. I10. J0.\n" + END, 8),
    "reference-return-by-a-lower-point": (START + "G1 Z-1. F300.\nG0 Z50.\nG28 Z0.\nM30\n", 9),
    "work-shift-left-in-force": (START + "G52 X5. Y0. Z0.\nG1 Z-1. F300.\n" + END, None),
    "rotation-left-in-force": (START + "G68 X0. Y0. R10.\nG1 Z-1. F300.\nX5.\n" + END, None),
    "no-end-of-program": (START + "G1 Z-1. F300.\nG0 Z50.\nG49\n", None),
    "program-does-not-end": (START + "WHILE [1 EQ 1] DO1\n#1=#1+1\nEND1\n" + END, None),
    "program-alarm": (START + "#3000=7(WRONG BLANK)\n" + END, 7),
    "program-writes-offset": (START + "G10 L2 P1 X5.\nG1 Z-1. F300.\n" + END, 7),
    "motion-after-cycle-without-g0-or-g1": (START + "G81 X5. Y5. Z-3. R2. F100.\nG80\nX20.\n" + END, 9),
    "block-delete-taken-as-off": (START + "/G1 Z-1. F300.\n" + END, 7),
    "sideways-before-in-place": (HEAD + "T1 M6\nS3000 M3\nG0 G43 H1 Z-0.5\nX30. Y10.\nG1 Z-1. F300.\nX40.\n" + END, 5),
    "modal-state-left-over": (START + "G1 Z-1. F300.\nG41 D1 X10.\nX30.\nM30\n", 9),
    "fed-without-spindle": (CLEAN.replace("S3000 M3\n", ""), 6),
    "tap-feed-against-pitch": (HEAD + "T2 M6\nS500 M3\nG0 X0. Y0.\nG43 H2 Z50.\nG84 X0. Y0. Z-10. R3. F500.\nG80\n" + END, 6),
    "beyond-limits": (CLEAN.replace("S3000", "S9500"), 4),
    "no-decimal-point": (CLEAN.replace("X20.", "X20"), 8),
    "unreachable-code": (CLEAN + "G0 X99.\n", 12),
    "preselected-never-used": (START + "T2\nG1 Z-1. F300.\n" + END, 7),
    "jump-target-twice": (START + "IF [1 EQ 0] GOTO 90\nN90 G1 Z-1. F300.\nN90 X20.\n" + END, 9),
    "tool-changed-low": (START + "G1 Z-1. F300.\nX20.\nG0 Z2.\nT2 M6\nG0 Z50.\nG91 G28 Z0.\nG90\nG49\nM30\n", 10),
    "several-clampings": (START + "G1 Z-1. F300.\nX20.\nG0 Z50.\nM0 (FLIP PART)\nX0.\nZ2.\nG1 Z-1.\nX20.\n" + END, 10),
    "offset-without-place": (CLEAN.replace("G54", "G57"), None),
}


def test_a_clean_program_is_not_spoken_of() -> None:
    assert findings(CLEAN) == []


@pytest.mark.parametrize("slug", sorted(SPOKEN_OF))
def test_the_check_names_the_line(slug: str) -> None:
    text, line = SPOKEN_OF[slug]
    mine = [finding for finding in findings(text) if finding.slug == slug]
    assert mine, [(finding.slug, finding.line, finding.text) for finding in findings(text)]
    if line is not None:
        assert mine[0].line == line
    assert mine[0].text
    assert mine[0].remedy or slug == "program-alarm"


@pytest.mark.parametrize(("first", "then", "lacking"), [
    ("G21 G17 G54", "", "distance (G90 is taken)"),
    ("G90 G17 G54", "", "units (G20 or G21)"),
    ("G90 G54", "G2 X30. Y0. I5. J0.\n", "plane (G17 is taken), units (G20 or G21)"),
    ("G90 G54 G21", "", None),  # no arc, so no plane matters
    ("G90 G54 G21", "G17\nG2 X30. Y0. I5. J0.\n", None),
    ("G90 G17 G21", "", None),  # no other offset is ever named
    ("G90 G17 G21", "G0 Z50.\nG55 X0. Y0.\nZ2.\nG1 Z-1.\n", "work offset (G54 is taken)"),
    ("G90 G17 G21 G54", "", None),  # G40, G49 and G80 change nothing in this program
])  # fmt: skip
def test_a_mode_that_is_not_stated_is_told_where_it_matters(first: str, then: str, lacking: str | None) -> None:
    text = CLEAN.replace(HEAD, f"{first}\n").replace("X20.\n", f"X20.\n{then}")
    mine = [finding for finding in findings(text) if finding.slug == "safe-start-missing"]
    wanted = [] if lacking is None else [(f"Before its first move the program does not state {lacking}.", 4)]
    assert [(finding.text, finding.line) for finding in mine] == wanted
    assert all(finding.signal is (Signal.CAUTION if "distance" in finding.text else Signal.NOTICE) for finding in mine)


def test_every_check_has_its_headings_and_a_slug_of_its_own() -> None:
    checks = checks_in(PACKAGE)
    assert len(checks) >= 30
    assert len({check.META.slug for check in checks}) == len(checks)
    for check in checks:
        for heading in HEADINGS:
            assert f"\n{heading}\n" in check.__doc__, (check.META.slug, heading)


def test_what_a_check_brings_about_has_a_check() -> None:
    names = {check.META.slug for package in CATALOGUES for check in checks_in(package)}
    brought = {slug for check in checks_in(PACKAGE) for slug in check.META.brings}
    assert len(brought) >= 7
    assert brought - {"under-another-reading"} <= names


def test_nothing_the_interpreter_notices_is_lost() -> None:
    """Every remark of the interpreter belongs to a check."""
    source = Path(__file__).parents[2] / "src" / "setwright"
    noticed = set()
    for path in (source / "program").glob("*.py"):
        text = path.read_text()
        noticed |= set(re.findall(r'remark\(\s*"([^"]+)"', text)) | set(re.findall(r'_say\([^"]*?"([^"]+)", Severity', text))
    claimed = set()
    for path in (source / "read" / "checks").glob("*.py"):
        claimed |= set(re.findall('"([^"\\n]+)"', path.read_text().partition("from __future__")[2]))
    assert len(noticed) > 20
    assert noticed <= claimed, noticed - claimed


def test_a_bare_program_leaves_undecided_what_nothing_is_known_of() -> None:
    undecided = {finding.slug for finding in read_alone({"p.nc": CLEAN.encode()}).findings if finding.state is State.UNDECIDED}
    assert undecided == {"beyond-limits", "offset-without-place"}


def test_a_low_tool_change_says_what_is_assumed_of_the_control() -> None:
    text = SPOKEN_OF["tool-changed-low"][0]

    def found(reading: Reading) -> Finding:
        return next(finding for finding in reading.findings if finding.slug == "tool-changed-low")

    stays = next(finding for finding in findings(text) if finding.slug == "tool-changed-low")
    assert (stays.signal, stays.value) == (Signal.WARNING, pytest.approx(3.0))
    guessed = found(read_alone({"p.nc": text.encode()}))
    assert guessed.signal is Signal.CAUTION
    assert "it is assumed that the control first takes Z home" in guessed.text
    stated = parse_profile({"name": "mine", "change_motion": "all home"})
    assert found(read({"p.nc": text.encode()}, profile=stated)).signal is Signal.NOTICE
    assert not any(finding.slug == "tool-changed-low" for finding in findings(text.replace("G0 Z2.", "G0 Z80.")))


def test_a_function_of_the_machine_has_two_readings() -> None:
    reading = read_alone({"p.nc": CLEAN.replace("S3000 M3\n", "S3000 M3\nM77\n").encode()})
    assert any(finding.slug == "two-readings" and finding.line == 4 for finding in reading.findings)


@pytest.mark.parametrize(("words", "inch"), [("G20", True), ("G70", True), ("G71", False), ("G21", False)])
def test_the_unit_of_a_program_is_that_of_its_own_words(words: str, inch: bool) -> None:
    assert read_alone({"p.nc": f"{words} G90 G54 G0 X1. Y1.\nM30\n".encode()}).inch is inch
