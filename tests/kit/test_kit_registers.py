"""Registers in every length convention keep one sum: offset Z + length = machine Z of the datum + gauge line to tip."""

from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.kit.registers import control_registers, nominal_truth
from setwright.kit.station import kit
from setwright.program.registers import Registers
from tests.jobfolder.test_jobfolder_load import JOB, MACHINE, TOOL, VISE

SECOND = """
[[setup.tool]]
station = 2
use = "em10"
stickout = 30
length_register = 12
preset = { length = 95.5, radius = 4.98 }
"""
HELD = """
[offset.G54]
x = -301.5
y = -200
z = -449
[tool.12]
length = 96
length_wear = -0.02
[tool.1]
radius = 10
radius_wear = 0.02
"""
REFERENCE = '[control]\nlengths = "reference tool"\nreference_tool = %d\n'


def folder(path: Path, *, control: str = "", registers: str = "", job: str = JOB + SECOND) -> Path:
    for kind, name, text in (("machines", "mill", MACHINE + control), ("holding", "vise", VISE), ("tools", "em10", TOOL)):
        (path / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (path / "shop" / kind / f"{name}.toml").write_text(text)
    (path / "job.toml").write_text(job)
    (path / "plate.nc").write_text("%\nO1\nM30\n%\n")
    if registers:
        (path / "registers.toml").write_text(registers)
    return path


def registers_of(path: Path) -> Registers:
    read = load_job(path)
    together = kit(read, read.job.setup[0])
    return control_registers(together, nominal_truth(together))


# The blank's underside (W −20) lies on parallels 20 over a bed 60 over the table at machine −550: W zero is machine −450.
Z0 = -550 + 60 + 20 + 20
LENGTHS = {1: 40 + 60, 12: 95.5}


@pytest.mark.parametrize(
    ("control", "offset_z"),
    [("", Z0), ('[control]\nlengths = "tip on datum"\n', 0.0), (REFERENCE % 2, Z0 + 95.5)],
)
def test_every_convention_keeps_the_sum(tmp_path: Path, control: str, offset_z: float) -> None:
    registers = registers_of(folder(tmp_path, control=control))
    assert registers.offsets["G54"].z == pytest.approx(offset_z, abs=1e-12)
    for number, length in LENGTHS.items():
        assert registers.offsets["G54"].z + registers.lengths[number] == pytest.approx(Z0 + length, abs=1e-12)
    assert registers.radii == {1: 5.0, 2: 4.98}


def test_what_the_control_holds_overrules_with_wear_and_diameters(tmp_path: Path) -> None:
    registers = registers_of(folder(tmp_path, control='[control]\nradius_register = "diameter"\n', registers=HELD))
    assert (registers.offsets["G54"].x, registers.offsets["G54"].z) == (-301.5, -449.0)
    assert registers.lengths[12] == pytest.approx(95.98)
    assert registers.radii[1] == pytest.approx(5.01)


def test_what_the_control_holds_for_another_setup_does_not_count(tmp_path: Path) -> None:
    registers = registers_of(folder(tmp_path, registers='setup = "second side"\n[offset.G54]\nx = 1\n'))
    assert registers.offsets["G54"].x != 1.0


@pytest.mark.parametrize(
    ("control", "registers", "said"),
    [(REFERENCE % 7, "", "tool 7 is not in the kit"), ("", "[tool.H1]\nlength = 3\n", "not the number")],
)
def test_what_cannot_be_is_refused(tmp_path: Path, control: str, registers: str, said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        registers_of(folder(tmp_path, control=control, registers=registers))


def test_other_offsets_follow_their_shift(tmp_path: Path) -> None:
    shifted = JOB.replace('programs = ["plate.nc"]\n', 'programs = ["plate.nc"]\nshifts = { G55 = [120, 0, 5] }\n')
    registers = registers_of(folder(tmp_path, job=shifted))
    one, two = registers.offsets["G54"], registers.offsets["G55"]
    assert (two.x - one.x, two.y - one.y, two.z - one.z) == pytest.approx((120, 0, 5))
