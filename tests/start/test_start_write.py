"""A drafted folder on disk: whole or not at all, loadable, provable, the program untouched."""

from __future__ import annotations

from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.prove.station import prove
from setwright.start.write import start
from tests.start import programs


def written(folder: Path, **texts: str) -> list[Path]:
    paths = []
    for name, text in texts.items():
        path = folder / f"{name}.nc"
        path.write_bytes(text.encode())
        paths.append(path)
    return paths


def everything(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


@pytest.mark.parametrize("name", ["HINTED", "BARE", "OUTSIDE", "WITHOUT_LENGTH", "THROUGH", "SEVERAL_OFFSETS", "ALREADY_OFFSET"])
def test_a_draft_loads_and_goes_together(tmp_path: Path, name: str) -> None:
    text = getattr(programs, name)
    start(written(tmp_path, part=text), tmp_path / "job")
    folder = load_job(tmp_path / "job")
    assert (tmp_path / "job" / "part.nc").read_bytes() == text.encode()
    assert kit(folder, folder.job.setup[0]).tools
    assert folder.job.guess


@pytest.mark.parametrize("name", ["HINTED", "BARE", "OUTSIDE", "THROUGH", "ALREADY_OFFSET"])
def test_a_sane_program_hits_nothing_on_its_draft(tmp_path: Path, name: str) -> None:
    start(written(tmp_path, part=getattr(programs, name)), tmp_path / "job")
    folder = load_job(tmp_path / "job")
    put = kit(folder, folder.job.setup[0])
    proof = prove(put, nominal_truth(put), pitch_mm=1.0)
    hits = [f for f in proof.findings if f.slug in ("rapid-into-material", "tool-into-holding", "body-into-material", "overtravel")]
    assert hits == []
    assert sum(proof.removed.values()) > 0.0


def test_a_crash_stays_a_crash(tmp_path: Path) -> None:
    crashing = programs.HINTED.replace("Z2.\nG1 Z-6. F300.", "Z-6.")
    start(written(tmp_path, part=crashing), tmp_path / "job")
    folder = load_job(tmp_path / "job")
    put = kit(folder, folder.job.setup[0])
    assert "rapid-into-material" in {f.slug for f in prove(put, nominal_truth(put), pitch_mm=1.0).findings}


def test_several_programs_become_setups(tmp_path: Path) -> None:
    start(written(tmp_path, one=programs.HINTED, two=programs.OUTSIDE), tmp_path / "job")
    folder = load_job(tmp_path / "job")
    assert [setup.programs for setup in folder.job.setup] == [("one.nc",), ("two.nc",)]
    assert all(kit(folder, setup).tools for setup in folder.job.setup)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    paths = written(tmp_path, part=programs.HINTED)
    full = tmp_path / "full"
    full.mkdir()
    (full / "notes.txt").write_text("mine")
    with pytest.raises(InputRefused, match="not empty"):
        start(paths, full)
    with pytest.raises(InputRefused, match="this is a file"):
        start(paths, full / "notes.txt")
    assert everything(full) == ["notes.txt"]
    (tmp_path / "empty").mkdir()
    start(paths, tmp_path / "empty")
    assert (tmp_path / "empty" / "job.toml").exists()


def test_a_refused_program_leaves_nothing_behind(tmp_path: Path) -> None:
    before = everything(tmp_path)
    paths = written(tmp_path, part="%\nG0 X1.\nM30\n%")
    with pytest.raises(InputRefused):
        start(paths, tmp_path / "job")
    with pytest.raises(InputRefused, match="no such file"):
        start([tmp_path / "missing.nc"], tmp_path / "job")
    with pytest.raises(InputRefused, match="no program"):
        start([], tmp_path / "job")
    assert everything(tmp_path) == [*before, "part.nc"]


def test_two_files_of_one_name_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    paths = [*written(tmp_path, part=programs.HINTED), *written(tmp_path / "a", part=programs.BARE)]
    with pytest.raises(InputRefused, match="same file name"):
        start(paths, tmp_path / "job")
