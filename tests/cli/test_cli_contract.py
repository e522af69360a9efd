"""The command line's contract: keys, exit statuses, one document on stdout, nothing touched on refusal."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import ask, fingerprint
from tests.prove.test_prove_wanted import plate

COMMON = {"schema", "command", "job", "units", "findings"}
FINDING = {"slug", "signal", "text", "remedy", "file", "line", "column", "setup", "tool", "body", "value", "unit"}
PROVE = {"blank_mm3", "removed_mm3", "removed_by_tool", "discretisation_mm3", "contacts", "clearance", "overtravel", "features",
         "load", "time_s", "grid_mm", "elapsed_s"}  # fmt: skip
READ = {"programs", "blocks", "motions", "tools", "offsets", "extents", "time_s"}
READ_TOOL = {"number", "length_register", "radius_register", "description", "time_s", "feed_range_mm_min", "speed_range_rpm"}


def document(*words: str | Path, status: int = 0) -> dict[str, Any]:
    result = ask(*words, "--json")
    assert result.exit_code == status, result.output
    found: dict[str, Any] = json.loads(result.stdout)
    assert found.keys() >= COMMON
    assert all(finding.keys() >= FINDING for finding in found["findings"])
    return found


def test_prove_answers_with_the_keys_it_promises(job: Path) -> None:
    proof = document("prove", job)
    assert proof.keys() >= PROVE
    assert (proof["command"], proof["job"], proof["units"]) == ("prove", "plate", "mm")
    # a slot 10 wide and 4 deep right through a blank 100 long
    assert proof["removed_mm3"] == pytest.approx(100 * 10 * 4, abs=proof["discretisation_mm3"])
    assert proof["blank_mm3"] == pytest.approx(100 * 50.8 * 20, abs=proof["discretisation_mm3"])
    assert proof["removed_by_tool"]["1"] == pytest.approx(4000, abs=proof["discretisation_mm3"])
    assert proof["contacts"] == []
    assert all(near["bodies"][0] in ("cutter", "shank", "holder", "spindle nose") for near in proof["clearance"])
    # rapids apart, 9 mm down at 1000 and 120 mm across at 800 mm/min take at least this long
    assert proof["time_s"] > 9 / 1000 * 60 + 120 / 800 * 60


def test_read_answers_for_a_job_and_for_a_bare_program(job: Path) -> None:
    for asked in (job, job / "plate.nc"):
        read = document("read", asked)
        assert read.keys() >= READ
        assert read["tools"][0].keys() >= READ_TOOL
        assert read["extents"]["G54"] == {"min": [-10, 25, -4], "max": [110, 25, 5]}
        assert read["tools"][0]["feed_range_mm_min"] == [800, 1000]
    inches = document("read", job, "--units", "inch")
    assert inches["units"] == "inch"
    assert inches["extents"]["G54"]["max"] == pytest.approx([110 / 25.4, 25 / 25.4, 5 / 25.4])


def test_a_crash_is_status_1_and_names_line_body_and_depth(job: Path) -> None:
    text = (job / "plate.nc").read_text().replace("N60 G1 Z-4. F1000.", "N60 G0 Z-4.")
    (job / "plate.nc").write_text(text.replace("X-10. Y25.", "X50. Y25."))
    proof = document("prove", job, status=1)
    worst = proof["findings"][0]
    assert (worst["slug"], worst["signal"], worst["line"], worst["tool"]) == ("rapid-into-material", "DANGER", 8, 1)
    assert proof["contacts"][0]["bodies"] == ["cutter", "blank"]
    assert proof["contacts"][0]["depth_mm"] == pytest.approx(4.0, abs=0.01)


def test_a_tool_sent_into_the_jaw_is_found(job: Path) -> None:
    # parallels 30, jaws 40: the jaws stand 10 above the blank's underside, 10 below its top; Y61 is over the fixed jaw
    text = (job / "plate.nc").read_text().replace("N70 X110. F800.", "N70 Y65. F800.\nN75 Z-14.")
    (job / "plate.nc").write_text(text.replace("X-10. Y25.", "X50. Y25."))
    proof = document("prove", job, status=1)
    hits = [contact for contact in proof["contacts"] if contact["bodies"][1] == "fixed jaw"]
    assert hits
    assert hits[0]["line"] == 10
    assert hits[0]["depth_mm"] == pytest.approx(4.0, abs=0.05)


def test_kit_says_where_the_offset_is_expected(job: Path) -> None:
    kit = document("kit", job)
    # the fixed jaw's left end is W −25 (150 jaw, 100 blank) at machine −400; its face W +50.8 at −250;
    # the underside stands on 60 + 30 over −550
    assert kit["setups"][0]["expected_offsets"]["G54"] == pytest.approx([-375, -300.8, -440])


def test_until_proves_only_so_far(job: Path) -> None:
    assert document("prove", job, "--until", "plate.nc:8")["removed_mm3"] < 500


def test_one_moment(job: Path) -> None:
    file = job / "before.stl"
    proof = document("prove", job, "--at", "plate.nc:8", "--point", "1,1,0", "--surface", str(file))
    moment = proof["moment"]
    assert moment["rest_mm3"] == pytest.approx(proof["blank_mm3"], rel=1e-9)
    assert (moment["file"], moment["line"]) == ("plate.nc", 8)
    assert moment["made_by"]["line"] == 0
    assert file.stat().st_size > 1000


@pytest.mark.parametrize("asked", [("--at", "plate.nc:999"), ("--at", "8"), ("--point", "1,2"), ("--surface", "part.obj")])
def test_a_moment_that_cannot_be_shown(job: Path, asked: tuple[str, str]) -> None:
    assert ask("prove", job, *asked).exit_code == 2


def test_the_surface_beside_the_wanted_shape(job: Path) -> None:
    """The plate's slot is wanted 0.2 less deep than line 9 cuts it."""
    (job / "wanted.stl").write_bytes(plate(3.8))
    text = (job / "job.toml").read_text(encoding="utf-8")
    stated = broken_job(text, 'machine = "mill"', 'machine = "mill"\nwanted = { mesh = "wanted.stl" }')
    (job / "job.toml").write_text(stated, encoding="utf-8")
    file = job / "beside.ply"
    beside = document("prove", job, "--off-shape", str(file))["off_shape"]
    worst, *_ = beside["worst"]
    assert (worst["distance_mm"], worst["file"], worst["line"]) == (pytest.approx(-0.2, abs=1e-5), "plate.nc", 9)
    assert beside["share_within"] < 1.0
    assert file.read_bytes().startswith(b"ply\n")


def test_a_surface_that_cannot_be_compared_is_refused(job: Path) -> None:
    assert ask("prove", job, "--off-shape", str(job / "beside.ply")).exit_code == 2
    assert ask("prove", job, "--off-shape", str(job / "beside.stl")).exit_code == 2
    assert not (job / "beside.ply").exists()


def broken_job(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("job.toml", "stickout = 40", 'stickout = "40 mmm"', "job.toml:30:1"),
        ("job.toml", "stickout", "stikout", 'did you mean "stickout"?'),
        ("job.toml", "stickout = 40", "stickout = nan", "not a finite number"),
        ("job.toml", "stickout = 40", "stickout = 1e300", "too large"),
        ("job.toml", "station = 1", "station = 2", "tool 1 is called but is not in the kit"),
        ("plate.nc", "G80 G54", "G80 G56", "offset G56 is used"),
        ("plate.nc", "H1", "H7", "register H7 is used"),
        ("plate.nc", "N70 X110.", "N70 G777 X110.", "plate.nc:9:5"),
        ("plate.nc", "X110.", "X1e400", "plate.nc:9"),
        ("plate.nc", "X110.", "X", "plate.nc:9"),
        ("shop/tools/em10.toml", "diameter = 10", "diameter = -10", "shop/tools/em10.toml:3:1"),
    ],
)
def test_bad_input_is_refused_with_its_place_and_nothing_is_touched(job: Path, file: str, old: str, new: str, said: str) -> None:
    (job / file).write_text(broken_job((job / file).read_text(), old, new))
    before = fingerprint(job)
    result = ask("prove", job)
    assert result.exit_code == 2, result.output
    assert said in result.stderr
    assert "Traceback" not in result.output
    assert fingerprint(job) == before
    assert document("prove", job, status=2)["findings"][0]["signal"] == "DANGER"


@pytest.mark.parametrize(
    ("file", "data"), [("job.toml", b""), ("job.toml", b"\x00\xff\x00"), ("plate.nc", b""), ("plate.nc", bytes(range(256)) * 9)]
)
def test_empty_and_binary_files_are_refused(job: Path, file: str, data: bytes) -> None:
    (job / file).write_bytes(data)
    result = ask("prove", job)
    assert result.exit_code == 2, result.output
    assert file in result.stderr


def test_half_a_program_is_proved_half_and_says_so(job: Path) -> None:
    (job / "plate.nc").write_text((job / "plate.nc").read_text()[:-60])
    assert any("end" in finding["slug"] for finding in document("prove", job)["findings"])


@pytest.mark.parametrize("verb", ["read", "kit", "prove", "touch", "sheet"])
def test_what_is_not_there_is_refused_by_every_verb(tmp_path: Path, verb: str) -> None:
    (tmp_path / "file.txt").write_text("hello")
    for words in ((tmp_path / "nowhere",), (tmp_path,)):
        result = ask(verb, *words)
        assert result.exit_code == 2, result.output
        assert "Refused" in result.stderr


def test_touch_without_readings_says_what_to_do(job: Path) -> None:
    result = ask("touch", job)
    assert result.exit_code == 2
    assert "no contact was read" in result.stderr


def test_unknown_words_are_refused(job: Path) -> None:
    assert ask("prove", job, "--units", "cubits").exit_code == 2
    assert ask("prove", job, "--setup", "fist").exit_code == 2
    assert ask("prove", job, "--until", "other.nc:3").exit_code == 2
    assert ask("prove", job, "--pitch", "-1").exit_code == 2
    assert ask("explain", "rapid-into-metal").exit_code == 2


def test_explain_shows_every_heading() -> None:
    shown = ask("explain", "rapid-into-material").stdout
    for heading in ("What silence proves", "Why it matters", "How it decides", "Blind spots", "What to do", "Source"):
        assert heading in shown


def test_numbers_in_a_document_are_finite_or_null(job: Path) -> None:
    def walk(value: object) -> None:
        if isinstance(value, dict):
            for item in value.values():
                walk(item)
        elif isinstance(value, list):
            for item in value:
                walk(item)
        elif isinstance(value, float):
            assert math.isfinite(value)

    walk(document("prove", job))


def test_one_cause_is_said_once_and_notices_are_counted(job: Path) -> None:
    # the control's own alarm of a register in four lines; and what a control starts with is left to it
    text = (job / "plate.nc").read_text().replace(" G40 G49 G80", "").replace("N80 G0", "G41 D7 X120.\nG40 X150.\n" * 4 + "N80 G0")
    (job / "loose.nc").write_text(text)
    every = document("read", job / "loose.nc")["findings"]
    found = [finding for finding in every if finding["state"] == "found"]
    notices = {finding["slug"] for finding in found if finding["signal"] == "NOTICE"}
    assert notices
    said, listed = (ask("read", job / "loose.nc", *more).stdout for more in ((), ("--all",)))
    assert f"{len(notices)} notice{'s' * (len(notices) > 1)}; --all lists" in said
    assert not any(f"[{slug}]" in said for slug in notices)
    assert all(listed.count(f"[{finding['slug']}]") == 1 for finding in found)
    assert "--all lists" not in listed
    assert len(found) > len({finding["slug"] for finding in found})
