"""The setups of a job one after the other: what one leaves is the blank of the next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from setwright.base.errors import InputRefused
from setwright.geometry.frames import quarter_turns
from setwright.jobfolder.load import JobFolder
from setwright.kit.registers import Truth, nominal_truth
from setwright.kit.station import Kit, kit
from setwright.model.job import Face, Setup
from setwright.prove.case import WHOLE_SHARE
from setwright.prove.compute import Progress
from setwright.prove.guesses import with_tried_guesses
from setwright.prove.load import with_load
from setwright.prove.margin import spread_of
from setwright.prove.raw import sides_after
from setwright.prove.readings import prove_readings
from setwright.prove.sight import Sight
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
            before = None if setup.blank.from_ is None else proved(folder.job.setup_named(setup.blank.from_))
            lying = None if before is None else _handed_on(before.after, setup)
            together = kit(folder, setup, extent=None if lying is None else metal_extent(lying))
            unknown = ""
            if before is not None and lying is not None:
                together, unknown = _varying_as_left(together, before, lying)
            here = until if until is not None and setup.runs(*until) else None
            proof = prove_readings(together, truth_of(together), blank=None if lying is None else _as_blank(lying),
                                   pitch_mm=pitch_mm, until=here, bench=bench, progress=progress)  # fmt: skip
            done[setup.name] = with_load(replace(proof, blank_open=unknown))
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
    return _as_blank(_handed_on(proof.after, setup))


def _handed_on(part: Field, setup: Setup) -> Field:
    """What the earlier setup left, turned as stated and put with its least corner where this setup's blank has it; its surfaces
    still have the numbers of the motions that cut them."""
    lying = turned(part, quarter_turns(setup.blank.turned))
    return turned(lying, np.eye(3), shift=(np.array(setup.blank.corner) - metal_extent(lying)[0]).tolist())


def _varying_as_left(together: Kit, before: Proof, lying: Field) -> tuple[Kit, str]:
    """The setup with its blank varying as the earlier one leaves it, where it does not say so itself, and what of that nobody has
    measured, in words. A side that was cut there varies as little as that setup is measured, another as its blank does, and each
    against the face that zero is now taken from. Nothing is carried over where the earlier setup does not say how its blank
    varies."""
    setup = together.setup
    if "varies" in setup.blank.model_fields_set or "varies" not in before.kit.setup.blank.model_fields_set:
        return together, ""
    left, made = sides_after(before.kit, before.truth, before.before, before.after)
    sides, cut, old_of = np.empty((3, 2)), np.empty((3, 2), np.bool_), np.empty(3, np.int64)
    for old, row in enumerate(quarter_turns(setup.blank.turned).T):
        new = int(np.argmax(np.abs(row)))
        way = slice(None, None, int(row[new]))
        sides[new], cut[new], old_of[new] = left[old, way], made[old, way], old
    measured = np.array(spread_of(before.kit, before.truth, before.kit.extent).measured)[old_of]
    varies, sight, any_cut = np.empty(3), Sight(together, lying), bool(cut.any())
    for axis, names in setup.datum_names.items():
        at = [side for name in names if (side := together.side_of(name, axis)) is not None]
        inner = [face for face in setup.face if face.name in names and together.side_of(face.name, axis) is None]
        own = [float(sides[axis, side]) for side in at]
        for face in inner:
            made_there = _is_cut(sight, face)
            any_cut |= made_there
            own.append(float(measured[axis] if made_there else sides[axis].max()))
        rest = [float(sides[axis, side]) for side in (0, 1) if side not in at] or [0.0]
        varies[axis] = max(rest) + max(own, default=float(sides[axis].max()))
    blank = setup.blank.model_copy(update={"varies": tuple(varies.tolist())})
    job = together.folder.job.with_blank(setup.name, blank)
    known = before.truth.source == "touch" or not any_cut
    unknown = "" if known else f"how far the cuts of “{before.kit.setup.name}” lie off (not measured)"
    return replace(together, folder=replace(together.folder, job=job), setup=job.setup_named(setup.name)), unknown


def _is_cut(sight: Sight, face: Face) -> bool:
    """Whether a motion of the earlier setup made all of a face."""
    try:
        seen = sight.seen(face)
    except InputRefused:
        return False
    return seen.share(seen.ends.ident != BLANK) >= WHOLE_SHARE


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


