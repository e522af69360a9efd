"""A job in inches is spoken of in inches: the plate 100 x 50 x 20 with its top at Z0."""

import re

import pytest

from tests.prove.conftest import JOB_IN_INCHES, Proving, said


@pytest.mark.parametrize(("moves", "slug", "text"), [
    ("G0 X-10. Y25.\nZ-2.54\nX110.", "rapid-into-material", "0.1000 in deep"),
    ("G0 X-10. Y60.\nZ-12.54\nG1 X110. F300.", "tool-into-holding", "deep"),
    ("G0 X50. Y25. Z5.\nX900.\nX50.", "overtravel", "beyond the end of its travel (0 in)"),
])  # fmt: skip
def test_findings_give_lengths_in_the_job_s_unit(proving: Proving, moves: str, slug: str, text: str) -> None:
    found = said(proving(moves, job=JOB_IN_INCHES), slug)
    assert any(text in finding.text for finding in found)
    assert not any(re.search(r"\d mm", f"{finding.text} {finding.remedy}") for finding in found)
