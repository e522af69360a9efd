"""The verb `record` from the command line."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from typer.testing import CliRunner

from setwright.cli.main import app as setwright
from setwright.cli.record import app
from setwright.record.people import find_person
from setwright.record.store import open_record
from setwright.web.passwords import fits
from tests.record.conftest import DEMO


class Shell:
    """Runs the verb on one record."""

    def __init__(self, place: Path) -> None:
        self.place = place

    def run(self, *words: str, status: int = 0, given: str = "") -> str:
        done = CliRunner().invoke(app, [*words, "--record", str(self.place)], input=given)
        assert done.exit_code == status, done.output
        return done.output

    def json(self, *words: str) -> Any:
        done = CliRunner().invoke(app, [*words, "--record", str(self.place), "--json"])
        assert done.exit_code == 0, done.output
        document = json.loads(done.stdout)
        assert document["command"] == f"record {words[0]}"
        return document


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    return Shell(tmp_path / "record")


def test_in_changed_out_and_what_changed(shell: Shell, tmp_path: Path) -> None:
    assert "No job yet" in shell.run("list")
    assert shell.json("import", str(DEMO))["revision"]["number"] == 1
    shell.run("ran", "bearing-cap", "--pieces", "6", "--based-on", "1")
    shutil.copytree(DEMO, tmp_path / "cap")
    (tmp_path / "cap" / "note.txt").write_text("deburr")
    shell.run("import", str(tmp_path / "cap"), "--name", "bearing-cap", "--based-on", "1", "--note", "a note")
    assert "note.txt: new, 6 bytes" in shell.run("changes", "bearing-cap")
    assert shell.json("changes", "bearing-cap", "--since", "2")["changes"] == []
    assert "revision 2: a note" in shell.run("history", "bearing-cap")
    assert [job["revision"] for job in shell.json("list")["jobs"]] == [2]
    shell.run("export", "bearing-cap", "-o", str(tmp_path / "out"))
    assert (tmp_path / "out" / "note.txt").read_text() == "deburr"
    assert {path.name for path in (tmp_path / "out").iterdir()} == {path.name for path in (tmp_path / "cap").iterdir()}
    (tmp_path / "cap" / "note.txt").unlink()
    again = shell.json("import", str(tmp_path / "cap"), "--name", "bearing-cap", "--based-on", "2")
    assert "note.txt" not in again["revision"]["files"]


def test_a_renamed_folder_beside_its_shop_is_the_same_job(shell: Shell, tmp_path: Path) -> None:
    """Taken in once as a/cap with its shop in a/shop, then from b/cup: the record goes on calling the folder cap."""
    for place, folder in (("a", "cap"), ("b", "cup")):
        shutil.copytree(DEMO, tmp_path / place / folder)
        shutil.move(tmp_path / place / folder / "shop", tmp_path / place / "shop")
        job = tmp_path / place / folder / "job.toml"
        job.write_text(job.read_text().replace("format = 1\n", 'format = 1\nshop_folder = "../shop"\n', 1))
    first = shell.json("import", str(tmp_path / "a" / "cap"))["revision"]
    (tmp_path / "b" / "cup" / "note.txt").write_text("deburr")
    second = shell.json("import", str(tmp_path / "b" / "cup"), "--name", "cap", "--based-on", "1")["revision"]
    assert set(second["files"]) - set(first["files"]) == {"cap/note.txt"}
    assert second["home"] == "cap"
    refused = shell.run("import", str(DEMO), "--name", "cap", "--based-on", "2", status=2)
    assert 'in "cap", with its shop folder beside it' in refused


def test_two_imports_from_one_revision_are_put_together(shell: Shell, tmp_path: Path) -> None:
    shell.run("import", str(DEMO))
    for name in ("one", "two"):
        shutil.copytree(DEMO, tmp_path / name)
        (tmp_path / name / f"{name}.txt").write_text(name)
    shell.run("import", str(tmp_path / "one"), "--name", "bearing-cap", "--based-on", "1")
    said = shell.run("import", str(tmp_path / "two"), "--name", "bearing-cap", "--based-on", "1")
    assert "put together with what changed meanwhile: one.txt: new" in said
    assert {"one.txt", "two.txt"} <= set(shell.json("import", str(tmp_path / "two"), "--name", "bearing-cap",
                                                    "--based-on", "1")["revision"]["files"])  # fmt: skip


def test_the_seal_of_a_sheet_is_held_against_the_record(shell: Shell, tmp_path: Path) -> None:
    shell.run("import", str(DEMO))
    words = ["bearing-cap", "--record", str(shell.place), "--setup", "second side", "-o", str(tmp_path), "--json"]
    done = CliRunner().invoke(setwright, ["sheet", *words])
    (sheet,) = json.loads(done.stdout)["sheets"]
    with pypdfium2.PdfDocument(sheet) as document:
        text = " ".join(document[0].get_textpage().get_text_bounded().split())
    (seal,) = re.findall(r"seal (\d+ [0-9a-f]{12})", text)
    assert f"Seal {seal} stands: revision 1 of “bearing-cap”" in shell.run("check", "--sealed", seal)
    other = seal[:-1] + ("0" if seal[-1] != "0" else "1")
    assert f"{other}, is not in the chain" in shell.run("check", "--sealed", other, status=2)


def test_refusals_have_status_2_and_say_what_to_do(shell: Shell, tmp_path: Path) -> None:
    shell.run("import", str(DEMO))
    for words, said in (
        (["import", str(DEMO)], "in the record already"),
        (["import", str(tmp_path)], "job.toml"),
        (["import", str(DEMO), "--based-on", "7"], "has no revision 7"),
        (["export", "bearing-cup", "-o", str(tmp_path / "x")], 'did you mean "bearing-cap"'),
        (["export", "bearing-cap", "-o", str(DEMO)], "is there already"),
        (["restore", str(DEMO / "job.toml")], "there is something in"),
        (["ran", "bearing-cap", "--pieces", "1", "--based-on", "1", "--setup", "third"], "first side"),
        (["person", "Ada", "--role", "king"], "administrator"),
    ):
        assert said in shell.run(*words, status=2)


def test_backup_check_restore(shell: Shell, tmp_path: Path) -> None:
    shell.run("import", str(DEMO))
    backed = shell.json("backup", "-o", str(tmp_path / "backup.tar"))
    other = Shell(tmp_path / "other")
    assert other.json("restore", str(tmp_path / "backup.tar"))["files"] == backed["files"]
    assert other.json("check")["bytes"] == backed["bytes"]
    assert [job["name"] for job in other.json("list")["jobs"]] == ["bearing-cap"]


def test_a_person_gets_a_password_and_later_another(shell: Shell) -> None:
    for role, password in (("lead", "five steel parallels"), ("administrator", "six brass parallels")):
        assert f"Ada may sign in as {role}" in shell.run("person", "Ada", "--role", role, given=f"{password}\n{password}\n")
        with open_record(shell.place) as record:
            person = find_person(record, "ada")
            assert (person.role.value, fits(password, person.secret), fits("something else", person.secret)) == (role, True, False)
    assert "10 to 200 characters" in shell.run("person", "Ben", status=2, given="short\nshort\n")
