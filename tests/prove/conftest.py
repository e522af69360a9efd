"""A small job proved again and again: a plate in a vise, with a program written by the test."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.finding import Finding
from setwright.prove.station import Proof, prove
from tests.jobfolder.test_jobfolder_load import MACHINE, TOOL, VISE

JOB = """\
format = 1
units = "mm"
job = { title = "Plate" }

[[setup]]
name = "first side"
machine = "mill"
programs = ["plate.nc"]
blank = { box = [100, 50, 20], corner = [0, 0, -20] }
holding = { use = "vise", parallels = 30, place = { x = -400, y = -250 }, fixed_jaw = { against = "back" } }
datum = { x = "left", y = "front", z = { face = "top" } }
tool = [{ station = 1, use = "em10", stickout = 40 }]
"""
"""A plate 100 x 50 x 20, its top at Z0, gripped 10 mm high between Y0 and Y50."""

JOB_IN_INCHES = re.sub(r"(?<![\w\"])-?\d+(?=[,\] }])", lambda size: f'"{size[0]} mm"', JOB.replace('units = "mm"', 'units = "in"'))
JOB_IN_INCHES = JOB_IN_INCHES.replace('station = "1 mm"', "station = 1")
"""The same plate in a job whose own unit is the inch."""

NONE: Mapping[str, bytes] = {}
Proving = Callable[..., Proof]


@pytest.fixture
def proving(proving_whatever: Proving) -> Proving:
    """As `proving_whatever`, of programs that are understood to their end."""

    def prove_plate(moves: str, **changed: Any) -> Proof:
        proof = proving_whatever(moves, **changed)
        assert not proof.stopped
        return proof

    return prove_plate


@pytest.fixture
def proving_whatever(tmp_path: Path) -> Proving:
    """Proves the plate with an end mill 10 running `moves`, the tool and the job changed as said; rays 1 mm apart unless said."""

    def prove_plate(moves: str, *, tool: str = "", job: str = JOB, vise: str = VISE, files: Mapping[str, bytes] = NONE,
                    balls: str = "", pitch_mm: float = 1.0) -> Proof:  # fmt: skip
        for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", vise), ("tools", "em10", tool + TOOL)):
            (tmp_path / "shop" / kind).mkdir(parents=True, exist_ok=True)
            (tmp_path / "shop" / kind / f"{name}.toml").write_text(text)
        if balls:
            (tmp_path / "shop" / "tools" / "ball10.toml").write_text(balls)
        for name, data in files.items():
            (tmp_path / name).write_bytes(data)
        (tmp_path / "job.toml").write_text(job)
        (tmp_path / "plate.nc").write_text(f"%\nO1\nG21 G17 G90 G54\nT1 M6\nS5000 M3\nG0 G43 H1 Z50.\n{moves}\nG0 Z50.\nM30\n%\n")
        folder = load_job(tmp_path)
        together = kit(folder, folder.job.setup[0])
        return prove(together, nominal_truth(together), pitch_mm=pitch_mm)

    return prove_plate


def said(proof: Proof, slug: str) -> list[Finding]:
    """The findings of one check."""
    return [finding for finding in proof.findings if finding.slug == slug]
