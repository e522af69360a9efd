"""Confirm every slip of the demos, and of drafted jobs, by a whole proof of a folder into which it was written by hand.

    python -m tests.hover.confirm [EVERY] [JOB] [SETUP]

EVERY: a number; 3 takes every third slip, which takes a third of the time. JOB: a demo, or "draft NAME" of the programs that drafts
are tried with; a draft is touched off first, and what was measured is written into it.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from setwright.base.errors import InputRefused
from setwright.hover.study import StudiedSlip, Study, study
from setwright.jobfolder.load import load_job
from setwright.kit.instrument import effective_radius, find_instrument
from setwright.kit.registers import nominal_truth
from setwright.kit.station import Kit, kit
from setwright.record.readings import ReadingKind, add_reading
from setwright.slips.world import as_set
from setwright.start.write import start
from setwright.touch.features import Flat
from setwright.touch.measured import truth_of
from setwright.touch.pencil import Pencil
from tests.hover.by_hand import DEMOS, Folder, as_proved, written_by_hand
from tests.start import programs

__all__ = ["DRAFTS", "SETUPS", "differences", "source_of", "studied"]

SETUPS = (("bearing-cap", "first side"), ("bearing-cap", "second side"), ("pintle", "top"), ("spacers", "pallet"))
DRAFTS = tuple((f"draft {name}", "first side") for name in ("HINTED", "THROUGH", "BARE"))

_STANDS_OFF = (0.37, -0.21, 0.0)
_LONGER = 0.8


@cache
def source_of(job: str) -> Path:
    """The folder of a demo; of a draft, one that was touched off."""
    if not job.startswith("draft "):
        return DEMOS / job
    name = job.removeprefix("draft ")
    room = Path(tempfile.mkdtemp())
    (room / "part.nc").write_text(getattr(programs, name))
    start([room / "part.nc"], room / "job")
    return touched_off(room / "job", room / "touched").at


def touched_off(draft: Path, at: Path) -> Folder:
    """A drafted job with the readings of a holding that stands a little off the guessed place and of tools a little longer than
    guessed, and with what they say written into job.toml."""
    guessed = _kit(draft)
    folder = Folder(draft, guessed.setup.name, at)
    first = guessed.setup.tool[0].station
    folder.tool(first)["preset"] = {"length": guessed.tools[first].length + _LONGER}  # one length is measured outside
    folder.save()
    (at / "readings.toml").write_text(readings_of(_kit(at), guessed), encoding="utf-8")
    together = _kit(at)
    truth = truth_of(together).truth
    assert truth.source == "touch"
    by = truth.machine_from_work.shift - together.placement.machine_from_work.shift
    assert by == pytest.approx(_STANDS_OFF, abs=0.1)
    folder.setup["holding"]["place"]["x"] += float(by[0])
    folder.setup["holding"]["place"]["y"] += float(by[1])
    for station, assembly in guessed.tools.items():
        assert truth.lengths[station] - assembly.length == pytest.approx(_LONGER, abs=0.1)
        folder.tool(station)["preset"] = {"length": truth.lengths[station]}
    folder.save()
    return folder


def readings_of(together: Kit, guessed: Kit) -> str:
    """What a setter reads who touches what the datum asks for, in its order, as text of a readings.toml; every tool hangs a little
    longer than it was `guessed`."""
    pencil, text = Pencil.of(together), ""
    stands = together.placement.machine_from_work.shift + np.array(_STANDS_OFF)
    shop, along = together.folder.job.shop.instruments, 0.8
    for wanted in pencil.plan():
        face = pencil.features[wanted.on]
        assert isinstance(face, Flat)
        instrument = find_instrument(shop, pencil.finder if wanted.tool is None else pencil.under)
        reading: dict[str, Any] = {"setup": together.setup.name, "on": wanted.on, "toward": wanted.toward}
        if wanted.tool is None:
            place = np.array(face.middle)
            place[1 - face.axis] += along * face.half[1 - face.axis]  # two touches of one face lie far apart
            along = -along
            place[face.axis] = face.at + face.side * effective_radius(instrument)
            x, y, _ = (stands + place).tolist()
            display = {"x": f"{x:.3f} mm", "y": f"{y:.3f} mm"}
            reading |= {"with": pencil.finder, "display": display}
        else:
            z = float(stands[2]) + face.at + instrument.height + guessed.tools[wanted.tool].length + _LONGER
            reading |= {"with": pencil.under, "tool": wanted.tool, "display": {"z": f"{z:.3f} mm"}}
        text = add_reading(text, ReadingKind.CONTACT, reading)
    return text


def _kit(at: Path) -> Kit:
    loaded = load_job(at)
    return kit(loaded, loaded.job.setup[0])


def studied(job: str, setup: str, *, pitch_mm: float | None = None) -> Study:
    """The study of a job's setup."""
    folder = load_job(source_of(job))
    together = kit(folder, folder.job.setup_named(setup))
    return study(as_set(together, nominal_truth(together)), pitch_mm=pitch_mm)


def differences(job: str, setup: str, found: Study, slips: Iterable[StudiedSlip]) -> Iterator[str]:
    """What the whole proof of the hand-written folder says otherwise, a line each."""
    for slip in slips:
        if slip.occurrence.unknown:
            continue  # its text is not there to be written
        with tempfile.TemporaryDirectory() as room:
            folder = written_by_hand(source_of(job), setup, slip, Path(room))
            try:
                proved = as_proved(folder, found.reference)
            except InputRefused as refusal:
                if not slip.consequence.stopped:  # a proof refuses what a control would stop at
                    yield f"{slip.occurrence.words}: refused: {refusal}"
                continue
        mine = slip.consequence
        if (mine.outcome, mine.line, mine.lost_line) != (proved.outcome, proved.line, proved.lost_line):
            said = (f"{one.outcome.value} {one.line} {one.lost_line} {one.text}" for one in (mine, proved))
            yield f"{slip.occurrence.slug}, {slip.occurrence.words}: {' / '.join(said)}"


def main() -> None:
    """All of them, or those named."""
    every = next((int(word) for word in sys.argv[1:] if word.isdigit()), 1)
    words = [word for word in sys.argv[1:] if not word.isdigit()]
    for job, setup in (pair for pair in (*SETUPS, *DRAFTS) if all(word in pair for word in words)):
        found = studied(job, setup)
        slips = found.slips[::every]
        wrong = 0
        for line in differences(job, setup, found, slips):
            print(line, flush=True)
            wrong += 1
        print(f"{job}, {setup}: {len(slips)} of {len(found.slips)} slips, {wrong} otherwise", flush=True)


if __name__ == "__main__":
    main()
