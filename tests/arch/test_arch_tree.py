"""The house rules held against every file of the project."""

from __future__ import annotations

import importlib.metadata
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.arch import lints

ROOT = Path(__file__).resolve().parents[2]
SOURCE = sorted((ROOT / "src").rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))
SCRIPTS = ("docs/*.py", "benchmarks/**/*.py", "ui/*.py")
OTHERS = [ROOT / "go.py", ROOT / "hatch_build.py", *(path for pattern in SCRIPTS for path in sorted(ROOT.glob(pattern)))]
TEXT_KINDS = {".py", ".md", ".toml", ".typ", ".lock", ".txt", ".nc", ".csv", ".yml", ".css", ".ts", ".tsx", ".json", ""}
MADE = {"__pycache__", "node_modules"}
FOLDERS = ("src", "tests", "docs", "benchmarks", "requirements", "ui", ".ci")

TOLERANCES = ROOT / "src" / "setwright" / "base" / "tolerance.py"

LONG_FUNCTIONS: dict[str, dict[str, str]] = {}
"""Exceptions to the length of a function: file → name → why it is one piece."""

LICENCES = {"LICENSE", "OFL.txt", "package-lock.json"}
"""Texts of others that must stand as they are; the lock names where each author asks for gifts."""


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def complaints(paths: list[Path], lint: Callable[[str], list[str]]) -> list[str]:
    assert paths, "nothing to look at"
    return [f"{name_of(path)}:{what}" for path in paths for what in lint(path.read_text(encoding="utf-8"))]


def texts() -> list[Path]:
    """Every text file that belongs to the project."""
    inside = [path for folder in FOLDERS for path in sorted((ROOT / folder).rglob("*")) if path.is_file()]
    beside = [path for path in sorted(ROOT.iterdir()) if path.is_file() and not path.name.startswith(".")]
    kept = [path for path in inside + beside if path.suffix in TEXT_KINDS and not MADE & set(path.parts)]
    return [path for path in kept if path.name not in LICENCES]


def test_no_file_is_long() -> None:
    long = {name_of(path): len(path.read_text(encoding="utf-8").splitlines()) for path in SOURCE + TESTS + OTHERS}
    assert {name: lines for name, lines in long.items() if lines > lints.MOST_FILE_LINES} == {}


def test_no_function_is_long() -> None:
    found = []
    for path in SOURCE + OTHERS:
        excepted = frozenset(LONG_FUNCTIONS.get(name_of(path), {}))
        found += complaints([path], lambda text, excepted=excepted: lints.too_long(text, excepted=excepted))  # type: ignore[misc]
    assert found == []


def test_exceptions_are_still_needed() -> None:
    for name, functions in LONG_FUNCTIONS.items():
        long = " ".join(lints.too_long((ROOT / name).read_text(encoding="utf-8")))
        assert all(f" {function} has" in long and why for function, why in functions.items())


def test_public_names_are_listed() -> None:
    """The list of bounds is public as a whole and grows from all sides, so it keeps no second list."""
    assert complaints([path for path in SOURCE if path != TOLERANCES], lints.all_list) == []


@pytest.mark.parametrize("lint", [lints.no_docstring, lints.transform_names, lints.kernel_raises])
def test_source(lint: Callable[[str], list[str]]) -> None:
    assert complaints(SOURCE, lint) == []


def test_tolerances_are_named() -> None:
    assert complaints([path for path in SOURCE if path != TOLERANCES], lints.bare_small_numbers) == []


def test_oracles_import_nothing_of_what_they_judge() -> None:
    assert complaints(sorted((ROOT / "tests" / "oracle").rglob("*.py")), lambda text: lints.imports_of(text, "setwright")) == []


def test_every_test_proves_something() -> None:
    assert complaints([path for path in TESTS if path.name.startswith("test_")], lints.proves_nothing) == []


def test_no_place_of_one_machine() -> None:
    assert complaints(texts(), lints.places_of_a_machine) == []


def test_the_lock_of_the_pages_names_no_registry_and_every_platform() -> None:
    lock = json.loads((ROOT / "ui" / "package-lock.json").read_text(encoding="utf-8"))
    assert [name for name, package in lock["packages"].items() if "resolved" in package] == []
    bindings = set(lock["packages"]["node_modules/rolldown"]["optionalDependencies"])
    assert len(bindings) >= 15
    assert bindings <= {name.removeprefix("node_modules/") for name in lock["packages"]}


def test_every_import_from_elsewhere_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *(entry for extra in project["optional-dependencies"].values() for entry in extra)]
    declared = {re.split(r"[\[<>=~!; ]", entry)[0].lower() for entry in wanted}
    homes = {"OCP": ["cadquery-ocp-novtk"], **importlib.metadata.packages_distributions()}  # an extra that may not be installed
    unknown = set()
    for path in SOURCE:
        for name in lints.outside_imports(path.read_text(encoding="utf-8")):
            owners = {owner.lower() for owner in homes.get(name, [name])} | {name.partition("_core")[0]}
            if not owners & declared:
                unknown.add(f"{name_of(path)} imports {name}")
    assert sorted(unknown) == []


def test_contracts_between_the_rooms() -> None:
    done = subprocess.run([str(Path(sys.executable).parent / "lint-imports"), "--no-cache", "--no-logo"], cwd=ROOT, check=False,
                          capture_output=True, text=True)  # fmt: skip
    assert done.returncode == 0, done.stdout
