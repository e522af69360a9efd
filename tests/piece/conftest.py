"""How features follow registers in the bundled jobs, worked out once, every register right and the part lying true."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from importlib import resources
from pathlib import Path

import pytest

from setwright.base.span import Span
from setwright.jobfolder.load import JobFolder, load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.measurement import Measured, Measurement, Typing
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


def measured(
    influence: Influence, rows: Sequence[tuple[str, str, float, str]], typings: Sequence[tuple[str, str, float]] = ()
) -> Measured:
    """Lines as read from a file; what was typed stands before the piece it was typed for."""
    setup = influence.kit.setup.name
    firsts: dict[str, int] = {}
    for line, (piece, *_) in enumerate(rows, 1):
        firsts.setdefault(piece, 10 * line)
    values = tuple(Measurement(piece, setup, feature, value, gauge, None, Span("measured.csv", 10 * line))
                   for line, (piece, feature, value, gauge) in enumerate(rows, 1))  # fmt: skip
    changes = tuple(Typing(piece, setup, register, by, Span("measured.csv", firsts[piece] - 1)) for piece, register, by in typings)
    return Measured(values, changes, "measured.csv", "")
