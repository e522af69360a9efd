"""Every bundled job: it loads, its programs run to their end, and program, tools and drawing agree."""

from __future__ import annotations

import math

import pytest

from setwright.program.remark import Severity
from tests.demo.bundled import DEMO, JOBS, SETUPS, folder, kit_of, run, setup_of

INCH = 25.4


def test_the_jobs_are_those_tested_here() -> None:
    assert sorted(path.name for path in DEMO.iterdir() if path.is_dir() and path.name != "__pycache__") == sorted(JOBS)


@pytest.mark.parametrize("job", JOBS)
def test_folder_has_everything_it_needs(job: str) -> None:
    loaded = folder(job)
    assert set(loaded.sources) == {name for setup in loaded.job.setup for name in setup.programs}
    assert loaded.job.readings.contact
    assert loaded.job.guess == ()
    used = {tool.use for setup in loaded.job.setup for tool in setup.tool}
    assert used == set(loaded.job.shop.tools), "the shop holds what the job uses and nothing else"
    readings = loaded.job.readings
    instruments = {contact.with_ for contact in readings.contact} | {length.with_ for length in readings.tool_length}
    assert instruments == set(loaded.job.shop.instruments)


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_program_runs_to_its_end_without_a_question(job: str, setup: str) -> None:
    result = run(job, setup)
    assert result.problems == ()
    assert result.end == "M30"
    assert result.missing == ()
    assert [remark.text for remark in result.remarks if remark.severity is not Severity.NOTICE] == []


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_tools_of_the_program_are_those_of_the_kit(job: str, setup: str) -> None:
    stated = {tool.station: tool for tool in setup_of(job, setup).tool}
    called = {tool.number: tool for tool in run(job, setup).tools}
    assert set(called) == set(stated)
    for station, tool in called.items():
        wanted = (stated[station].radius_register,) if stated[station].radius_register is not None else ()
        assert tool.length_registers == (stated[station].length_register,)
        assert tool.radius_registers == wanted


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_speeds_and_feeds_are_within_what_machine_and_tools_allow(job: str, setup: str) -> None:
    assembled = kit_of(job, setup)
    for tool in run(job, setup).tools:
        rated = assembled.tools[tool.number].tool.max_speed or math.inf
        assert tool.speed_range is not None
        assert tool.feed_range is not None
        assert 0 < tool.speed_range[0] <= tool.speed_range[1] <= min(assembled.machine.spindle.max_speed, rated)
        assert 0 < tool.feed_range[0] <= tool.feed_range[1] <= assembled.machine.max_feed


R2, R4, R3 = 7.995, 0.2498, 4.996
"""Measured radii of the end mills: bearing cap (mm), pintle (inch), spacers (mm)."""
EXTENTS: dict[tuple[str, str], dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]]] = {
    # faced from X-90 to X90; the step's centre line one radius outside 78 wide; drills to Z-32.5, fed in from Z5
    ("bearing-cap", "first side"): {"G54": ((-90, -(39 + R2), -32.5), (90, 39 + R2, 5))},
    # faced as before; holes at Y±26; the seal seat 7 deep
    ("bearing-cap", "second side"): {"G54": ((-90, -26, -7), (90, 26, 5))},
    # holes at X±2.7; into the waist from Y±1.49; the deepest drill to Z-0.55, cycles from Z0.1
    ("pintle", "top"): {"G54": ((-2.7 * INCH, -1.49 * INCH, -0.55 * INCH), (2.7 * INCH, 1.49 * INCH, 0.1 * INCH))},
    # faced from X-46 to X46; the chamfer's centre line 8.0065 + 0.4 - 3 about the middle; drilled from 3 above the spacer to Z-5
    ("spacers", "pallet"): {f"G{number}": ((-46, -5.4065, -5), (46, 5.4065, 23)) for number in range(54, 60)},
}


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_extents_are_those_of_the_drawing(job: str, setup: str) -> None:
    extents = run(job, setup).extents
    assert set(extents) == set(EXTENTS[job, setup])
    for offset, (least, greatest) in EXTENTS[job, setup].items():
        assert extents[offset].least == pytest.approx(least, abs=1e-9)
        assert extents[offset].greatest == pytest.approx(greatest, abs=1e-9)


@pytest.mark.parametrize(("job", "setup"), SETUPS)
def test_axes_stay_within_their_travel(job: str, setup: str) -> None:
    travel, path = kit_of(job, setup).machine.travel, run(job, setup).path
    for number, (low, high) in enumerate((travel.x, travel.y, travel.z)):
        shift = [path.frames[frame].shift[number] for frame in path.frame.tolist()]
        for ends in (path.start, path.end):
            machine = ends[1:, number] + shift[1:]  # the first move comes from where the machine was left
            assert low <= machine.min() <= machine.max() <= high
