"""What every test shares: how generated examples are drawn, and where the corpus of part programs lies."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("setwright", deadline=None, print_blob=True, derandomize=bool(os.environ.get("CI")))
settings.load_profile("setwright")

_BESIDE = Path(__file__).resolve().parents[2] / "shared" / "corpus"


@pytest.fixture(scope="session")
def corpus() -> Path:
    """The folder of collected part programs: $SETWRIGHT_CORPUS, else beside the project; the test is skipped without one."""
    folder = Path(os.environ.get("SETWRIGHT_CORPUS") or _BESIDE)
    if not folder.is_dir():
        pytest.skip("no corpus of part programs here; name its folder in SETWRIGHT_CORPUS")
    return folder
