"""The pages keep up with the code: generated ones are undrifted, examples run, links lead somewhere."""

from __future__ import annotations

import os
import re
import runpy
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([*DOCS.rglob("*.md"), *ROOT.glob("*.md")])
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\[[^\]]*\]\(([^)#\s]+)(?:#[\w-]+)?\)")


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def blocks(language: str) -> list[tuple[str, str]]:
    """Every example of a language, as (place, text)."""
    found = []
    for page in PAGES:
        text = page.read_text(encoding="utf-8")
        for match in BLOCK.finditer(text):
            if match[1] == language:
                found.append((f"{name_of(page)}:{text.count(chr(10), 0, match.start()) + 1}", match[2]))
    return found


def generated() -> dict[str, str]:
    pages: dict[str, str] = runpy.run_path(str(DOCS / "generate.py"))["pages"]()
    return pages


def test_generated_pages_are_undrifted() -> None:
    stale = [name for name, text in generated().items() if (DOCS / name).read_text(encoding="utf-8") != text]
    assert stale == [], "run docs/generate.py"


def test_reference_holds_generated_pages_only() -> None:
    assert sorted(name_of(path) for path in (DOCS / "reference").rglob("*.md")) == sorted(f"docs/{name}" for name in generated())


@pytest.mark.parametrize(("place", "text"), blocks("python"))
def test_python_examples_run(place: str, text: str) -> None:
    exec(compile(text, place, "exec"), {})
    assert "assert" in text, "an example shows what comes out"


@pytest.mark.parametrize(("place", "text"), blocks("toml"))
def test_toml_examples_are_toml(place: str, text: str) -> None:
    assert tomllib.loads(text), place


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_links_lead_somewhere(page: Path) -> None:
    targets = [target for target in LINK.findall(page.read_text(encoding="utf-8")) if "://" not in target]
    assert [target for target in targets if not (page.parent / target).exists()] == []


def test_every_page_is_in_the_contents_and_every_entry_is_a_page() -> None:
    """The algorithm notes for those who change the code, and the single checks and behaviours, may stand outside the contents."""
    text = (ROOT / "zensical.toml").read_text(encoding="utf-8")
    listed = re.findall(r'= "([\w/-]+\.md)"', text)
    pages = [path.relative_to(DOCS).as_posix() for path in DOCS.rglob("*.md")]
    assert sorted(set(listed)) == sorted(listed)
    assert set(listed) <= set(pages)
    assert {page for page in pages if not page.startswith(("notes/", "reference/checks/", "reference/behaviours/"))} <= set(listed)


@pytest.mark.parametrize("station", ["read", "kit", "prove", "touch", "hover", "piece", "run"])
def test_every_station_has_its_question(station: str) -> None:
    assert re.match(rf"# {station.capitalize()}\n\n\*.+\?\*\n", (DOCS / f"{station}.md").read_text(encoding="utf-8"))


def test_readme_gives_the_two_lines_and_both_verbs_exist() -> None:
    readme, runner = (ROOT / "README.md").read_text(encoding="utf-8"), (ROOT / "go.py").read_text(encoding="utf-8")
    for line in ("python3 go.py demo", "python3 go.py test"):
        assert f"$ {line}\n" in readme
        assert line in runner
    assert "bin/run" not in readme


def test_a_backup_that_fails_takes_no_older_one_away(tmp_path: Path) -> None:
    """The script of the page on serving a shop, with a command in the place of ours that does as it is told."""
    ((_, script),) = [one for one in blocks("sh") if one[1].startswith("#!/bin/sh")]
    backup, command = tmp_path / "backup", tmp_path / "venv" / "bin" / "setwright"
    backup.mkdir()
    command.parent.mkdir(parents=True)
    old = backup / "record-2020-01-01.tar"
    old.write_bytes(b"")
    os.utime(old, (0, 0))
    text = script.replace("/srv/setwright", str(tmp_path))

    def run(said: str, status: int) -> int:
        command.write_text(f"#!/bin/sh\necho '{said}'\nexit {status}\n", encoding="utf-8")
        command.chmod(0o755)
        return subprocess.run(["sh", "-c", text], check=False).returncode

    assert run("Seal: 9", 0) == 0
    assert not old.exists()
    old.write_bytes(b"")
    os.utime(old, (0, 0))
    assert run("damaged", 2) == 2
    assert old.exists()
    assert (backup / "newest.txt").read_text(encoding="utf-8") == "Seal: 9\n"
