"""Every name that can be printed behind a finding or beside a slip is explained; the names are found in the code itself."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner

import setwright
from setwright.cli.explain import every_page
from setwright.cli.main import app
from setwright.hover.check_list import bundled_checks
from setwright.slips.catalogue import slips

SOURCES = sorted(Path(setwright.__file__).parent.rglob("*.py"))
NAMED = {"Finding": 0, "Meta": 0, "slip": 0, "Hypothesis": 0, "Suspect": 0, "finding": 0, "_swap": 2, "Mistyped": 0}
"""Calls that are given a name to print, and where among their arguments."""


def constants(tree: ast.Module) -> dict[str, str]:
    """Texts by the name they have in a module."""
    found = {}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            found |= {target.id: node.value.value for target in node.targets if isinstance(target, ast.Name)}
    return found


def names_in(text: str) -> Iterator[tuple[int, str]]:
    """Line and name of every literal that goes into a printed name; a name put together from parts is a complaint."""
    tree = ast.parse(text)
    known = constants(tree)
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        given = [word.value for word in node.keywords if word.arg == "slug"]
        if called in NAMED and len(node.args) > NAMED[called]:
            given.append(node.args[NAMED[called]])
        for value in given:
            if isinstance(value, ast.Constant) and value.value:
                yield node.lineno, value.value
            elif isinstance(value, ast.Name) and value.id in known:
                yield node.lineno, known[value.id]
            elif isinstance(value, ast.JoinedStr) and called != "Occurrence":
                yield node.lineno, "a name put together"


def test_every_name_in_the_code_is_explained() -> None:
    known = {page.name for page in every_page()}
    found = {name: f"{path.name}:{line}" for path in SOURCES for line, name in names_in(path.read_text("utf-8"))}
    wanted = {"slip-found", "supposed", "not-proved", "under-another-reading", "holding-moved", "radius-in-readings", "overtravel"}
    assert wanted <= set(found)
    assert {name: place for name, place in found.items() if name not in known} == {}


def test_slips_and_checks_of_a_setup_are_explained_and_no_name_means_two_things() -> None:
    names = [page.name for page in every_page()]
    assert len(names) == len(set(names))
    assert set(names) >= {slip.slug for slip in slips()} | set(bundled_checks())
    assert all(page.sentence and len(page.text) > len(page.sentence) for page in every_page())


@pytest.mark.parametrize("name", ["slip-found", "holding-moved", "not-proved", "tip-over-datum", "incremental-left"])
def test_explain_says_it(name: str) -> None:
    told = CliRunner().invoke(app, ["explain", name])
    assert told.exit_code == 0
    assert told.output.startswith(f"{name} (")
    assert len(told.output.splitlines()) > 2


def test_a_name_written_nearly_right_is_refused_with_the_right_one() -> None:
    told = CliRunner().invoke(app, ["explain", "holding-movd"])
    assert told.exit_code == 2
    assert "holding-moved" in told.output + (told.stderr if told.stderr_bytes else "")
