"""The setups of a job one after the other: what one leaves is the blank of the next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.geometry.frames import quarter_turns
from setwright.jobfolder.load import JobFolder
from setwright.kit.registers import Truth, nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.job import Setup
from setwright.prove.compute import Progress
from setwright.prove.guesses import with_tried_guesses
from setwright.prove.load import with_load
from setwright.prove.readings import prove_readings
from setwright.prove.station import Proof
from setwright.removal.field import BLANK, Field
from setwright.removal.turn import turned

__all__ = ["blank_of", "metal_extent", "prove_job"]


def prove_job(
    folder: JobFolder,
    setups: list[Setup],
    *,
    truth_of: Callable[[Kit], Truth] = nominal_truth,
    pitch_mm: float | None = None,
    until: tuple[str, int] | None = None,
    bench: bool = False,
    guesses: bool = False,
    progress: Progress | None = None,
) -> list[Proof]:
    """Prove the given setups in order, and before each one those whose part it is made from.

    `truth_of` says what is true in a setup (the kit's expectation, unless readings say better); `bench`: as in `prove`; `guesses`:
    find out which guesses decide in the setups asked for. Returns a proof of each setup.
    """
    done: dict[str, Proof] = {}

    def proved(setup: Setup) -> Proof:
        if setup.name not in done:
            before = setup.blank.from_
            blank = None if before is None else _handed_on(proved(folder.job.setup_named(before)).after, setup)
            together = kit(folder, setup, extent=None if blank is None else metal_extent(blank))
            here = until if until is not None and setup.runs(*until) else None
            proof = prove_readings(together, truth_of(together), blank=blank, pitch_mm=pitch_mm, until=here, bench=bench,
                                   progress=progress)  # fmt: skip
            done[setup.name] = with_load(proof)
        return done[setup.name]

    proofs = [proved(setup) for setup in setups]
    return [with_tried_guesses(proof, progress=progress) for proof in proofs] if guesses else proofs


def blank_of(
    folder: JobFolder, setup: Setup, *, truth_of: Callable[[Kit], Truth] = nominal_truth, pitch_mm: float | None = None
) -> Field | None:
    """The metal an earlier setup leaves for this one, once that setup has been proved; None where the blank is stated."""
    before = setup.blank.from_
    if before is None:
        return None
    proof = prove_job(folder, [folder.job.setup_named(before)], truth_of=truth_of, pitch_mm=pitch_mm)[0]
    return _handed_on(proof.after, setup)


def _handed_on(part: Field, setup: Setup) -> Field:
    """What the earlier setup left, turned as stated and put with its least corner where this setup's blank has it."""
    lying = turned(_as_blank(part), quarter_turns(setup.blank.turned))
    return turned(lying, np.eye(3), shift=(np.array(setup.blank.corner) - metal_extent(lying)[0]).tolist())


def _as_blank(part: Field) -> Field:
    """The same metal with every surface that of a blank: the motions of an earlier program have no number in the next one."""
    x, y, z = (
        replace(bundle, tiles=tuple(replace(tile, ident=np.full_like(tile.ident, BLANK)) for tile in bundle.tiles))
        for bundle in part.bundles
    )
    return replace(part, bundles=(x, y, z))


def metal_extent(part: Field) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest corner of the metal itself, not of the box its rays fill."""
    ends = [bundle.rays().ends for bundle in part.bundles]
    return np.array([along.min() for along in ends]), np.array([along.max() for along in ends])


