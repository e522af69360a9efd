"""What a proof takes as true after a touch-off fits the numbers that were typed into the control."""

from dataclasses import replace
from pathlib import Path

import pytest

import setwright.demo
from setwright.jobfolder.load import load_job
from setwright.kit.registers import control_registers
from setwright.kit.station import kit
from setwright.model.job import Preset
from setwright.touch.station import touch

TOO_LONG = 3.0


@pytest.fixture(params=["tools measured", "tools on the part"])
def touched(request):
    """The pintle plate, its tools measured; or only brought down on the part, by 3 mm another height than the kit expects."""
    loaded = load_job(Path(setwright.demo.__file__).parent / "pintle")
    together = kit(loaded, loaded.job.setup[0])
    if request.param == "tools measured":
        return touch(together)
    control = together.machine.control.model_copy(update={"lengths": "tip on datum"})
    readings = loaded.job.readings
    plain = [one for one in readings.contact if one.tool is None or one.on == "top"]
    setter = next(key for key, one in loaded.job.shop.instruments.items() if one.kind == "height setter")
    height = loaded.job.shop.instruments[setter].height
    zero = together.placement.machine_from_work.shift[2]
    model, down = next(one for one in readings.contact if one.tool is not None), []
    for station, hung in together.tools.items():
        display = type(model.display)(z=float(zero + hung.length + height + TOO_LONG))
        down.append(model.model_copy(update={"on": "top", "toward": "-Z", "with_": setter, "tool": station, "display": display}))
    plain = [one for one in plain if one.tool is None and not one.toward.endswith("Z")]
    read = readings.model_copy(update={"contact": (*plain, *down), "tool_length": ()})
    folder = replace(loaded, job=loaded.job.model_copy(update={"readings": read}))
    tools = tuple(tool.model_copy(update={"preset": Preset()}) for tool in together.setup.tool)
    setup = together.setup.model_copy(update={"tool": tools})
    return touch(replace(together, folder=folder, setup=setup, machine=together.machine.model_copy(update={"control": control})))


def test_registers_that_fit_the_truth_are_those_to_type(touched) -> None:
    held = control_registers(touched.kit, touched.truth())
    lengths = [entry for entry in touched.entries if entry.register.startswith("length")]
    assert len(lengths) == len(touched.kit.tools)
    for entry in lengths:
        assert held.lengths[int(entry.register.split()[1])] == pytest.approx(entry.estimate.value, abs=1e-6), entry.name
    offset = next(entry for entry in touched.entries if entry.register == touched.kit.setup.offset and entry.axis == "Z")
    assert held.offsets[touched.kit.setup.offset].z == pytest.approx(offset.estimate.value, abs=1e-6)


@pytest.mark.parametrize("touched", ["tools on the part"], indirect=True)
def test_a_tool_that_was_not_brought_down_keeps_the_doubt_of_the_height(touched) -> None:
    job = touched.kit.folder.job
    fewer = job.readings.model_copy(update={"contact": job.readings.contact[:-1]})
    folder = replace(touched.kit.folder, job=job.model_copy(update={"readings": fewer}))
    assert touch(replace(touched.kit, folder=folder)).truth().u_place[2] > 1.0


def test_what_is_only_known_together_is_no_doubt_of_the_place(touched) -> None:
    truth = touched.truth()
    assert max(*truth.u_place, truth.u_length) < 0.1
