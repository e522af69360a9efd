"""A hundred damaged programs; `python -m tests.program.fuzz` reads more."""

from __future__ import annotations

import random

import pytest

from setwright.program.registers import Registers
from tests.program.fuzz import SEEDS, damage, read_damaged

REGISTERS = Registers(radii={1: 2.0, 2: -3.0, 7: 0.5}, lengths={1: 50.0, 2: 60.0})


@pytest.mark.parametrize("block", range(20))
def test_damaged_programs_end_in_a_path_or_a_located_refusal(block):
    for number in range(5):
        rng = random.Random(100_000 + 10 * block + number)
        text = damage(rng.choice(SEEDS), rng)
        try:
            read_damaged(text, registers=REGISTERS)
        except Exception as fell:
            raise AssertionError(f"fell over:\n{text}") from fell
