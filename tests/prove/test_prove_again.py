"""A proof after a change says what a first proof says, to the byte, and removes metal anew only where the change reaches."""

import dataclasses

import numpy as np
import pytest

from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.program.registers import WorkOffset
from setwright.prove.again import prove_again, prove_kept
from setwright.prove.reading import held_for
from setwright.prove.station import prove
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
tool = [{ station = 1, use = "em10", stickout = 40 }, { station = 2, use = "em6", stickout = 30 }]
"""
SIX = TOOL.replace("end mill 10", "end mill 6").replace("diameter = 10", "diameter = 6")
LINES = [
    "T1 M6", "S5000 M3", "G0 G43 H1 Z50.", "G0 X-10. Y10.", "G0 Z-2.", "G1 X110. F500.", "G1 Y40.", "G1 X-10.", "G0 Z50.",
    "T2 M6", "S6000 M3", "G0 X50. Y25.", "G0 G43 H2 Z5.", "G1 Z-3. F100.", "G2 X50. Y25. I8. J0. F300.", "G1 X70.", "G1 Y30. Z-5.",
    "G0 Z50.", "G0 X90. Y45.", "G1 Z-4. F400.", "G1 X95.", "G0 Z50.",
]  # fmt: skip


def text_of(lines):
    return ("%\nO1\nG21 G17 G90 G54\n" + "\n".join(lines) + "\nM30\n%\n").encode()


@pytest.fixture
def plate(tmp_path):
    shop = (("machines", "mill", MACHINE), ("holding", "vise", VISE), ("tools", "em10", TOOL), ("tools", "em6", SIX))
    for kind, name, text in shop:
        (tmp_path / "shop" / kind).mkdir(parents=True, exist_ok=True)
        (tmp_path / "shop" / kind / f"{name}.toml").write_text(text)
    (tmp_path / "job.toml").write_text(JOB)
    (tmp_path / "plate.nc").write_bytes(text_of(LINES))

    def together(job=JOB):
        (tmp_path / "job.toml").write_text(job)
        folder = load_job(tmp_path)
        return kit(folder, folder.job.setup[0])

    return together


def everything(proof):
    """All a proof says of metal and findings, and how long it took left out."""
    tiles = [(tile.count.tobytes(), tile.ends.tobytes(), tile.ident.tobytes(), tile.normal.tobytes())
             for field in (proof.before, proof.after) for bundle in field.bundles for tile in bundle.tiles]  # fmt: skip
    case = proof.case
    found = (case.contacts, case.nearness, case.overtravel, case.features, case.plunges, case.parted, case.grip_losses,
             case.deep_holes, case.unmade)  # fmt: skip
    return tiles, found, proof.findings, proof.removed, proof.rest, proof.blank, proof.rates, proof.stopped


def offset_off(held):
    at = held.registers.offsets["G54"]
    offsets = {**held.registers.offsets, "G54": WorkOffset(at.x + 0.3, at.y, at.z - 0.1)}
    return dataclasses.replace(held, registers=dataclasses.replace(held.registers, offsets=offsets))


def length_off(held):
    lengths = {**held.registers.lengths, 2: held.registers.lengths[2] - 0.5}
    return dataclasses.replace(held, registers=dataclasses.replace(held.registers, lengths=lengths))


def line_edited(held):
    lines = [line.replace("Z-4.", "Z-40.") for line in LINES]
    return dataclasses.replace(held, sources={"plate.nc": text_of(lines)})


def lines_left_out(held):
    return dataclasses.replace(held, sources={"plate.nc": text_of(LINES[:6] + LINES[8:])})


def line_put_in(held):
    return dataclasses.replace(held, sources={"plate.nc": text_of([*LINES[:7], "G1 Y30. Z-3.", *LINES[7:]])})


@pytest.mark.parametrize("change", [offset_off, length_off, line_edited, lines_left_out, line_put_in])
def test_a_change_of_what_the_control_holds(plate, change):
    together = plate()
    truth = nominal_truth(together)
    first = prove_kept(together, truth, pitch_mm=1.0)
    assert everything(first.proof) == everything(prove(together, truth, pitch_mm=1.0))
    held = change(held_for(together, truth))
    after = prove_again(first, together, truth, held=held)
    assert everything(after.proof) == everything(prove(together, truth, held=held, pitch_mm=1.0))
    assert after.run.fields[0] is first.run.fields[0]
    back = prove_again(after, together, truth)
    assert everything(back.proof) == everything(first.proof)


def test_another_tool_and_another_truth(plate):
    first = prove_kept(plate(), nominal_truth(plate()), pitch_mm=1.0)
    other = plate(JOB.replace('{ station = 2, use = "em6", stickout = 30 }', '{ station = 2, use = "em10", stickout = 33 }'))
    truth = nominal_truth(other)
    truth = dataclasses.replace(truth, lengths={**truth.lengths, 1: truth.lengths[1] + 0.2})
    after = prove_again(first, other, truth)
    assert everything(after.proof) == everything(prove(other, truth, pitch_mm=1.0))


def test_another_blank_is_cut_from_the_start(plate):
    first = prove_kept(plate(), nominal_truth(plate()), pitch_mm=1.0)
    other = plate(JOB.replace("box = [100, 50, 20]", "box = [101, 50, 20]"))
    after = prove_again(first, other, nominal_truth(other))
    assert everything(after.proof) == everything(prove(other, nominal_truth(other), pitch_mm=1.0))
    assert after.run.fields[0] is not first.run.fields[0]


def test_the_metal_of_an_earlier_setup_is_known_again(plate):
    together = plate()
    truth = nominal_truth(together)
    metal = prove(together, truth, pitch_mm=1.0).after
    first = prove_kept(together, truth, blank=metal, pitch_mm=1.0)
    held = length_off(held_for(together, truth))
    after = prove_again(first, together, truth, held=held, blank=metal)
    assert everything(after.proof) == everything(prove(together, truth, held=held, blank=metal, pitch_mm=1.0))
    assert after.run.fields[0] is metal


def test_tiles_out_of_reach_are_the_same_objects(plate):
    together = plate()
    truth = nominal_truth(together)
    first = prove_kept(together, truth, pitch_mm=0.5)
    after = prove_again(first, together, truth, held=line_edited(held_for(together, truth)))
    old, new = (np.array([id(tile) for tile in proved.run.fields[-1].bundles[2].tiles]) for proved in (first, after))
    assert 0 < (old != new).sum() <= 6 < old.size
