"""Undecided is never passed: sizes whose bound reaches across a limit, tools whose holder nobody has described."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from setwright.model.requirement import Size
from setwright.prove.case import Feature
from tests.cli.conftest import ask, job

__all__ = ["job"]


@pytest.mark.parametrize(
    ("simulated", "bound", "state"),
    [(12.51, 0.0, "in"), (12.50, 1e-9, "in"), (12.53, 1e-9, "in"), (12.499, 1e-9, "out"), (12.54, 1e-9, "out"),
     (12.51, 0.005, "in"), (12.51, 0.02, "undecided"), (12.48, 0.05, "undecided"), (12.40, 0.05, "out"), (12.60, 0.5, "undecided"),
     (None, 0.0, "undecided")],
)  # fmt: skip
def test_in_and_out_are_said_only_where_the_bound_leaves_no_doubt(simulated: float | None, bound: float, state: str) -> None:
    assert Feature("depth", Size(12.50, 0.0, 0.03), simulated, bound).state == state


def test_a_size_without_limits_is_only_measured() -> None:
    assert Feature("depth", Size(12.50, 0.0, 0.0), 12.7, 0.0).state == "measured"


def test_a_tool_without_a_holder_is_undecided_and_the_verdict_says_so(job: Path) -> None:
    tool = job / "shop" / "tools" / "em10.toml"
    tool.write_text("\n".join(line for line in tool.read_text().splitlines() if not line.startswith("holder")) + "\n")
    text = (job / "job.toml").read_text()
    (job / "job.toml").write_text(text.replace("stickout = 40", "stickout = 40\npreset = { length = 100 }"))
    result = ask("prove", job, "--json")
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    said = [finding for finding in answer["findings"] if finding["slug"] == "body-into-material"]
    assert [(finding["state"], finding["tool"]) for finding in said] == [("undecided", 1)]
    why = "the holder of T1 end mill 10 is not described, so nothing is known of what it meets"
    assert answer["verdict"].startswith(f"Nothing hits in what was looked at; not looked at: {why}")
    assert [one["text"] for one in answer["open"]].count(why) == 1
