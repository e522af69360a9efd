"""A small job to ask things of, and a way to ask."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from setwright.cli.main import app
from tests.jobfolder.test_jobfolder_load import JOB, MACHINE, TOOL, VISE

PROGRAM = """\
%
O1 (PLATE)
N10 G21 G17 G90 G40 G49 G80 G54
N20 T1 M6
N30 S5000 M3
N40 G0 X-10. Y25.
N50 G43 H1 Z5.
N60 G1 Z-4. F1000.
N70 X110. F800.
N80 G0 Z50.
N90 G49
N100 M30
%
"""
HOLDS = 'place = { x = -400, y = -250 }\nfixed_jaw = { against = "back" }\n'


def ask(*words: str | Path) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(app, [str(word) for word in words])


def fingerprint(folder: Path) -> dict[str, str]:
    """Every file of a folder by its content."""
    files = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A plate with one slot across it, 4 deep, in a vise."""
    root = tmp_path / "plate"
    for kind, name, text in (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (root / "shop" / kind).mkdir(parents=True)
        (root / "shop" / kind / f"{name}.toml").write_text(text)
    (root / "job.toml").write_text(JOB.replace("parallels = 20\n", "parallels = 30\n" + HOLDS))
    (root / "plate.nc").write_text(PROGRAM)
    return root
