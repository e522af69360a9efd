"""How features follow registers in the bundled jobs, worked out once, every register right and the part lying true."""

from __future__ import annotations

import shutil
from importlib import resources
from pathlib import Path

import pytest

from setwright.jobfolder.load import JobFolder, load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.piece.influence import Influence, influence_of
from setwright.slips.world import as_set


def demo(name: str, where: Path) -> JobFolder:
    """A bundled job in a folder of its own."""
    shutil.copytree(Path(str(resources.files("setwright.demo") / name)), where / name)
    return load_job(where / name)


def of(folder: JobFolder, pitch_mm: float) -> Influence:
    """The influence in its first setup, on the expected place."""
    here = kit(folder, folder.job.setup[0])
    return influence_of(as_set(here, nominal_truth(here)), pitch_mm=pitch_mm)


@pytest.fixture(scope="session")
def cap(tmp_path_factory: pytest.TempPathFactory) -> Influence:
    """The bearing cap's first side."""
    return of(demo("bearing-cap", tmp_path_factory.mktemp("cap")), 0.7)


@pytest.fixture(scope="session")
def spacers(tmp_path_factory: pytest.TempPathFactory) -> Influence:
    """Six spacers on a pallet."""
    return of(demo("spacers", tmp_path_factory.mktemp("spacers")), 1.0)
