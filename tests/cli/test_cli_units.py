"""One unit in all that a person reads: a job in inches, or one asked for in inches, is answered without a millimetre, and the other
way round. Lines of the program itself stand as they are written, and what a register holds in place of another number as the
control shows it: exchanged digits are digits of its own unit."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import setwright.demo
from tests.cli.conftest import ask

DEMOS = Path(setwright.demo.__file__).parent
METRIC = re.compile(r"(?<![\w\"(])mm(?:/min|²|³)?(?![\w|])|cm³|µm|mm²|\d m/min")
NO_UNIT = r"line|lines|the|this|all|a\b|metal|motion|pieces|setup|\d"
INCH = re.compile(rf"\d in(?:²|³|/min)?(?=[,.;:)]|$| (?!{NO_UNIT}))|in³|in/min|ft/min")
OF_THE_CONTROL = re.compile(r" holds (zero|-?[\d.]+)[^.]* for -?[\d.]+ (mm|in)\b|^(inch-for-mm|mm-for-inch)$")
VERBS = ("read", "kit", "touch", "prove", "piece", "run")
SLOW = {"prove": ("--pitch", "2"), "piece": ("--pitch", "2"), "run": ("--pitch", "2"), "hover": ("--pitch", "2")}


def sentences(document: Any) -> Iterator[str]:
    """Every text of a document that is written for people."""
    if isinstance(document, dict):
        for key, value in document.items():
            if key not in ("excerpt", "programs", "profile", "unit", "units", "registers_said"):
                yield from sentences(value)
    elif isinstance(document, list):
        for value in document:
            yield from sentences(value)
    elif isinstance(document, str):
        yield document


def told(verb: str, job: Path, units: tuple[str, ...]) -> list[str]:
    """What a verb says: the lines on the terminal that are not the program's, and the sentences of its document."""
    words = (verb, job, *SLOW.get(verb, ()), *units)
    people = ask(*words, "--all")
    assert people.exit_code in (0, 1), people.output
    programs = {line.strip() for file in job.glob("*.nc") for line in file.read_text().splitlines() if line.strip()}
    lines = [line for line in people.output.splitlines() if not any(own in line for own in programs if len(own) > 3)]
    document = json.loads(ask(*words, "--json").stdout)
    return [*lines, *sentences(document)] if units or "units" not in document else lines


@pytest.fixture
def copied(tmp_path: Path) -> Any:
    def of(name: str) -> Path:
        folder = tmp_path / name
        if not folder.exists():
            shutil.copytree(DEMOS / name, folder)
        return folder

    return of


def offending(pattern: re.Pattern[str], texts: list[str]) -> list[str]:
    return [text for text in texts if pattern.search(text) and not OF_THE_CONTROL.search(text)]


@pytest.mark.parametrize("verb", VERBS)
def test_an_inch_job_speaks_no_millimetre(copied: Any, verb: str) -> None:
    assert offending(METRIC, told(verb, copied("pintle"), ())) == []
    assert offending(METRIC, told(verb, copied("pintle"), ("--units", "inch"))) == []


@pytest.mark.parametrize("verb", VERBS)
def test_an_inch_job_asked_for_in_mm_speaks_no_inch(copied: Any, verb: str) -> None:
    assert offending(INCH, told(verb, copied("pintle"), ("--units", "mm"))) == []


@pytest.mark.parametrize(("verb", "name"), [("read", "bearing-cap"), ("kit", "bearing-cap"), ("touch", "bearing-cap"),
                                            ("prove", "spacers"), ("piece", "spacers"), ("run", "spacers")])  # fmt: skip
def test_a_job_in_mm_asked_for_in_inches_speaks_no_millimetre(copied: Any, verb: str, name: str) -> None:
    assert offending(METRIC, told(verb, copied(name), ("--units", "inch"))) == []


def test_hover_speaks_the_unit_asked_for(job: Path) -> None:
    assert offending(METRIC, told("hover", job, ("--units", "inch"))) == []
    assert offending(INCH, told("hover", job, ("--units", "mm"))) == []


def test_what_is_refused_speaks_the_job_s_unit(job: Path) -> None:
    text = (job / "job.toml").read_text()
    for old, new in (("parallels = 30", "parallels = 90"), ('"2 in"', '"20 in"')):
        assert old in text
        (job / "job.toml").write_text(text.replace(old, new))
        result = ask("kit", job, "--units", "inch")
        assert result.exit_code == 2
        assert offending(METRIC, [result.output]) == []
