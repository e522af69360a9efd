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
