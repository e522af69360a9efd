"""Where the holding may stand: each border tried by moving everything to either side of it."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.geometry.frames import shifted
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.machine import Travel
from setwright.program.motions import moves_in_machine
from setwright.program.registers import WorkOffset
from setwright.prove.compute import overtravel
from setwright.prove.reading import read_setup
from setwright.prove.standing import standing_of

DEMOS = Path(str(files("setwright.demo")))
KITS = [kit(folder, setup) for name in ("bearing-cap", "pintle", "spacers")
        for folder in [load_job(DEMOS / name)] for setup in folder.job.setup]  # fmt: skip


def beyond(one: Kit, by: np.ndarray) -> set[str]:
    """What is in the way with everything moved by so much: axes whose travel ends too soon, and "table" for its edges."""
    truth = nominal_truth(one)
    place = shifted(*by) @ truth.machine_from_work
    path = read_setup(one, replace(truth, machine_from_work=place)).interpreted.path
    found = {each.axis for each in overtravel(moves_in_machine(path), one.machine)[1]}
    table = one.machine.table
    low, high = place.points(np.array(one.extent))
    for axis, (least, greatest) in enumerate((table.x, table.y)):
        if low[axis] < least - 1e-9 or high[axis] > greatest + 1e-9:
            found.add("table")
    return found


def narrower(one: Kit, seed: int) -> Kit:
    """The kit on a machine whose travel ends sooner on the side away from home."""
    travel, drawn = one.machine.travel, np.random.default_rng(seed).uniform(0.0, 0.2, 3).tolist()
    ends = {name: (low + share * (high - low), high)
            for name, (low, high), share in zip("xyz", (travel.x, travel.y, travel.z), drawn, strict=True)}  # fmt: skip
    return replace(one, machine=one.machine.model_copy(update={"travel": Travel(**ends)}))


@pytest.mark.parametrize("one", [*KITS, *(narrower(one, seed) for seed in range(2) for one in KITS)])
def test_either_side_of_each_border(one: Kit) -> None:
    """1 um inside nothing new is in the way, 1 um beyond the travel or the table is."""
    stands = standing_of(one)
    middle = np.array([np.clip(0.0, low.shift, max(low.shift, high.shift)) for low, high in stands.borders])
    for axis, (low, high) in enumerate(stands.borders):
        assert low.shift < high.shift
        for border, way in ((low, -1.0), (high, 1.0)):
            near, far = middle.copy(), middle.copy()
            near[axis], far[axis] = border.shift - way * 1e-3, border.shift + way * 1e-3
            assert beyond(one, near) == set()
            assert beyond(one, far) == {"XYZ"[axis] if border.line else "table"}


def test_the_best_place_is_as_far_from_both_borders() -> None:
    stands = standing_of(KITS[0])
    for shift, (low, high) in zip(stands.best, stands.borders[:2], strict=True):
        assert shift - low.shift == pytest.approx(high.shift - shift)


def test_a_border_names_the_line_that_gets_there_first() -> None:
    """The pallet's plate goes to X 270 in its program, farther to the right than anything else; the machine ends at X 0."""
    one = KITS[-1]
    high = standing_of(one).borders[0][1]
    path = read_setup(one, nominal_truth(one)).interpreted.path
    right = moves_in_machine(path).end[:, 0]
    offset = one.placement.machine_from_work.shift[0]
    farthest = max(right[path.line == high.line])
    assert high.shift == pytest.approx(-farthest)
    assert farthest == max(right[np.abs(right - offset) < 1000.0])


def test_stated_offsets_do_not_move() -> None:
    one = KITS[0]
    job = one.folder.job
    stated = job.registers.model_copy(update={"offset": {one.setup.offset: WorkOffset(-300.0, -100.0, -400.0)}})
    folder = replace(one.folder, job=job.model_copy(update={"registers": stated}))
    with pytest.raises(InputRefused, match="moves along X"):
        standing_of(replace(one, folder=folder))
