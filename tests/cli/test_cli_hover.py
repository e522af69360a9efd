"""The verb Hover: keys, exit statuses, and refusals that say what to write."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.conftest import ask


def test_hover_answers_with_the_keys_it_promises(job: Path) -> None:
    result = ask("hover", job, "--pitch", "1", "--json")
    assert result.exit_code in (0, 1), result.output
    said = json.loads(result.stdout)
    assert {"slips", "checks", "uncaught", "hold_points"} <= said.keys()
    assert {"slug", "outcome", "first_line", "probability"} <= said["slips"][0].keys()
    assert {"slug", "minutes", "catches"} <= said["checks"][0].keys()
    assert [hold["tool"] for hold in said["hold_points"]] == [1]


def test_a_supposition_is_followed_alone_and_a_crash_ends_with_status_one(job: Path) -> None:
    result = ask("hover", job, "--pitch", "1", "--if", "G54 Z -30 mm", "--json")
    said = json.loads(result.stdout)
    assert len(said["slips"]) == 1
    assert said["slips"][0]["outcome"] in ("crash", "broken tool", "scrap")
    assert result.exit_code == 1
    assert said["checks"], "no check would show a zero 30 mm too low"


@pytest.mark.parametrize(("words", "wanted"), [
    (["--catch", "1.5"], "between 0 and 1"),
    (["--minutes", "-2"], "how many minutes"),
    (["--if", "G54 X 1 mm", "--seen", "tip-over-datum x 1 mm"], "one after the other"),
])  # fmt: skip
def test_numbers_that_cannot_be_are_refused(job: Path, words: list[str], wanted: str) -> None:
    result = ask("hover", job, *words)
    assert result.exit_code == 2
    assert wanted in result.output


def test_what_was_seen_is_explained_and_ends_with_what_to_do(job: Path) -> None:
    """The tip stands 5 mm beside the datum and Y is right: something moved X by 5 mm."""
    result = ask("hover", job, "--pitch", "1", "--seen", "tip-over-datum x 5 mm", "--seen", "tip-over-datum y 0 mm", "--json")
    found = json.loads(result.stdout)["setups"][0]["diagnosis"]
    assert found["no_slip"] < 0.05
    assert " X " in f" {found['ranked'][0]['text']} "
    assert found["settled"] or found["next_check"] is not None
    people = ask("hover", job, "--pitch", "1", "--seen", "tip-over-datum x 5 mm").output
    assert "What was seen is explained by" in people
    assert "  Next: " in people


def test_three_minutes_are_not_overrun(job: Path) -> None:
    said = json.loads(ask("hover", job, "--pitch", "1", "--minutes", "3", "--json").stdout)["setups"][0]
    assert said["within_minutes"] == 3.0
    assert 0.0 < said["minutes"] <= 3.0
    assert said["risk_left"] < said["risk_before"]


def test_a_reading_that_is_not_studied_is_said_to_be_open(job: Path) -> None:
    """The control may go home at a tool change or stay: the slips are followed as it is proved, and the other way is undecided."""
    machine = next((job / "shop" / "machines").glob("*.toml"))
    program = next(job.glob("*.nc"))
    program.write_text(program.read_text().replace("N70 X110. F800.", "N65 T1 M6\nS5000 M3\nG1 G43 H1 Z-4.\nN70 X110. F800."))
    machine.write_text(machine.read_text() + '\n[control]\nbehaviours = { change_motion = "Z home" }\nunsure = ["change_motion"]\n')
    findings = json.loads(ask("hover", job, "--pitch", "1", "--json").stdout)["findings"]
    (said,) = (finding for finding in findings if finding["slug"] == "other-reading-not-studied" and "stays" in finding["text"])
    assert said["state"] == "undecided"
