"""The bundled jobs as the tests use them: loaded once, their programs run on the registers the kit gives."""

from __future__ import annotations

import functools
from pathlib import Path

from setwright.jobfolder.load import JobFolder, load_job
from setwright.kit.registers import control_registers, nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.job import Setup
from setwright.program.interpret import Interpreted, interpret
from setwright.program.source import Source
from setwright.read.station import profile_of

DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo"
JOBS = ("bearing-cap", "pintle", "spacers")
SETUPS = (("bearing-cap", "first side"), ("bearing-cap", "second side"), ("pintle", "top"), ("spacers", "pallet"))


@functools.cache
def folder(job: str) -> JobFolder:
    """A bundled job folder."""
    return load_job(DEMO / job)


def setup_of(job: str, setup: str) -> Setup:
    """One setup of a bundled job."""
    return folder(job).job.setup_named(setup)


@functools.cache
def kit_of(job: str, setup: str) -> Kit:
    """The setup put together."""
    return kit(folder(job), setup_of(job, setup))


@functools.cache
def run(job: str, setup: str) -> Interpreted:
    """The setup's programs on the offsets, lengths and radii the kit states."""
    assembled = kit_of(job, setup)
    programs = [Source(name, folder(job).sources[name]) for name in assembled.setup.programs]
    profile = profile_of(assembled.machine.control)
    return interpret(programs, profile=profile, registers=control_registers(assembled, nominal_truth(assembled)))
