"""The one line from a fresh machine: what it installs, when it installs nothing, and the sentence it ends with."""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
PIN = re.compile(r"^([a-z0-9-]+)==([^ ;\\]+)( ; [^\\]+)?", re.MULTILINE)


@pytest.fixture
def go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The runner with an environment of its own that exists on paper only; what it would install is noted in `installed`."""
    spec = importlib.util.spec_from_file_location("go", ROOT / "go.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for level in ("run", "dev"):
        (tmp_path / f"{level}.lock").write_text(level, encoding="utf-8")
    environment = tmp_path / ".venv"
    environment.mkdir()
    noted: list[tuple[str, ...]] = []
    monkeypatch.setattr(module, "ENVIRONMENT", environment)
    monkeypatch.setattr(module, "LOCKS", {level: tmp_path / f"{level}.lock" for level in ("run", "dev")})
    monkeypatch.setattr(module, "working", lambda: True)
    monkeypatch.setattr(module, "install", lambda *what: noted.append(what))
    monkeypatch.setattr(module, "installed", noted, raising=False)
    return module


def test_the_second_call_installs_nothing(go: ModuleType) -> None:
    go.prepare("run")
    assert [what[0] for what in go.installed] == ["--require-hashes", "--no-deps"]
    go.prepare("run")
    assert len(go.installed) == 2


def test_more_is_enough_for_less_and_not_the_other_way(go: ModuleType) -> None:
    go.prepare("dev")
    go.prepare("run")
    assert len(go.installed) == 2
    (go.ENVIRONMENT / "setwright-dev.stamp").unlink()
    go.prepare("run")
    go.prepare("dev")
    assert len(go.installed) == 6


def test_a_changed_lock_installs_again(go: ModuleType) -> None:
    go.prepare("run")
    go.LOCKS["run"].write_text("newer", encoding="utf-8")
    go.prepare("run")
    assert len(go.installed) == 4


def test_a_failed_installation_is_not_taken_for_done(go: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: str) -> None:
        raise go.Stopped("no network")

    monkeypatch.setattr(go, "install", fails)
    assert go.main(["demo"]) == 3
    assert not (go.ENVIRONMENT / "setwright-run.stamp").exists()


SAID = [(0, "nothing at DANGER"), (1, "something at DANGER"), (2, "could not use its input"), (7, "status 7")]
TESTED = [(0, "All tests that ran passed"), (1, "Some tests failed"), (5, "No test was selected"), (9, "status 9")]


@pytest.mark.parametrize(("status", "words"), SAID)
def test_the_last_sentence_says_what_happened(
    go: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], status: int, words: str
) -> None:
    monkeypatch.setattr(go, "call", lambda command, folder: status)
    assert go.main(["prove", "my-job"]) == status
    last = capsys.readouterr().err.strip().splitlines()[-1]
    assert '"setwright prove"' in last
    assert words in last


@pytest.mark.parametrize(("status", "words"), TESTED)
def test_so_does_that_of_the_tests(
    go: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], status: int, words: str
) -> None:
    called: list[list[str]] = []
    monkeypatch.setattr(go, "call", lambda command, folder: called.append(command) or status)
    assert go.main(["test", "-k", "sheet"]) == status
    assert called[0][1:] == ["-m", "pytest", "-n", "2", "--dist", "loadgroup", "-k", "sheet"]
    assert words in capsys.readouterr().out.strip().splitlines()[-1]


def test_an_old_python_is_told_what_to_do() -> None:
    pretend = f"import sys; sys.version_info = (3, 9, 1); sys.version = '3.9.1 (main)'; exec(open({str(ROOT / 'go.py')!r}).read())"
    done = subprocess.run([sys.executable, "-c", pretend], check=False, capture_output=True, text=True)
    assert done.returncode == 1
    assert done.stderr.startswith("Setwright needs Python 3.11 or newer, and this is Python 3.9.1. ")
    assert "Traceback" not in done.stderr


def pins(level: str) -> set[tuple[str, str, str]]:
    found = PIN.findall((ROOT / "requirements" / f"{level}.lock").read_text(encoding="utf-8"))
    assert len(found) > 10
    return set(found)


def test_every_release_is_pinned_with_its_hash_and_no_address() -> None:
    for level in ("run", "dev"):
        text = (ROOT / "requirements" / f"{level}.lock").read_text(encoding="utf-8")
        entries = re.split(r"^(?=[a-z0-9-]+==)", text, flags=re.MULTILINE)[1:]
        assert [entry.split("\n")[0] for entry in entries if "--hash=sha256:" not in entry] == []
        assert "://" not in text


def test_both_locks_hold_the_same_releases() -> None:
    numbers = {name: {version for other, version, _ in pins("dev") if other == name} for name, _, _ in pins("dev")}
    assert [(name, version) for name, version, _ in pins("run") if version not in numbers.get(name, set())] == []
