"""What prove, sheet and demo share: readings become the truth to prove on, with a note when kernels are compiled first."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from setwright.base.jit import compiled_before, remember_compiled
from setwright.cli.common import Asked
from setwright.cli.progress import Bar

if TYPE_CHECKING:
    from setwright.jobfolder.load import JobFolder
    from setwright.kit.registers import Truth
    from setwright.kit.station import Kit
    from setwright.prove.station import Proof
    from setwright.touch.station import TouchResult

__all__ = ["Proving", "note_compiling", "until_place"]

_ROOMS = ("program", "removal", "clearance", "motion")


def note_compiling(asked: Asked) -> None:
    """Say once on a machine that the computing kernels are compiled first."""
    if not compiled_before(*_ROOMS):
        asked.progress.print("First run on this machine: compiling the computing kernels, one to two minutes, this once.")


@dataclass(slots=True)
class Proving:
    """Proves setups of a job, on measured offsets where readings fix them, else on expected ones."""

    folder: JobFolder
    asked: Asked
    nominal: bool = False
    touched: dict[str, TouchResult] = field(default_factory=dict)

    def run(
        self, setup: str | None, *, pitch: float | None = None, until: tuple[str, int] | None = None, bench: bool = False,
        guesses: bool = False,
    ) -> list[Proof]:  # fmt: skip
        """A proof of each asked setup, in order; `bench`: with the metal on the way kept; `guesses`: with the guesses tried."""
        from setwright.jobfolder.load import setup_numbered
        from setwright.prove.chain import prove_job

        setups = setup_numbered(self.folder.job, setup)
        note_compiling(self.asked)
        with Bar(self.asked.progress, quiet=self.asked.quiet) as bar:
            proofs = prove_job(self.folder, setups, truth_of=self._truth, pitch_mm=pitch, until=until, bench=bench,
                               guesses=guesses, progress=bar)  # fmt: skip
        remember_compiled(*_ROOMS)
        return proofs

    def _truth(self, kit: Kit) -> Truth:
        from setwright.touch.measured import truth_of

        measured = truth_of(kit, nominal=self.nominal)
        if measured.result is not None:
            self.touched[kit.setup.name] = measured.result
        return measured.truth


def until_place(text: str | None, folder: JobFolder, *, option: str = "--until") -> tuple[str, int] | None:
    """ "cap-1.nc:42" as a file of the job and a line; `option`: where it was written."""
    from setwright.base.errors import InputRefused

    if text is None:
        return None
    file, _, line = text.rpartition(":")
    if not line.isdigit() or not file:
        remedy = f"write {option} FILE:LINE, for example cap-1.nc:42"
        raise InputRefused.because(f'{option} "{text}" is not a place in a program', remedy=remedy)
    names = {Path(name).name: name for name in folder.sources}
    if file not in folder.sources and file not in names:
        remedy = f"its programs are {', '.join(folder.sources)}"
        raise InputRefused.because(f'{option}: the job has no program "{file}"', remedy=remedy)
    return names.get(file, file), int(line)
