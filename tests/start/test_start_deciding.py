"""The headline of a drafted job names every guess that changes the verdict: guesses are moved, and the setup is proved anew.

`python -m tests.start.test_start_deciding FOLDER [N]` does so for every program of a folder, with N proofs (1000) of moved guesses.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.finding import Signal, State
from setwright.model.job import Guess, Job
from setwright.prove.chain import prove_job
from setwright.prove.station import Proof, prove
from setwright.prove.verdict import Verdict, verdict
from setwright.start.write import start

PROOFS = 100
MOST_PROOFS = 300
"""Proofs after which it is given up to wait for verdicts that change."""
OF_EACH = 8
PITCH_MM = 1.0
SMALL_BYTES = 2_500
"""Programs of that size are quick enough for the test; the longer run takes them all."""
UPPER = ("right", "back", "top")


@dataclass(slots=True)
class Counted:
    """Proofs of moved guesses, how many of them changed the verdict, and those of which the headline says nothing."""

    drafts: int = 0
    proofs: int = 0
    changed: int = 0
    silent: list[str] = field(default_factory=list)


def drafted(path: Path, folder: Path) -> list[Proof]:
    """The proofs of a drafted program, its guesses tried; none where it cannot be drafted or proved."""
    try:
        start([path], folder)
        loaded = load_job(folder)
        return prove_job(loaded, list(loaded.job.setup), guesses=True)
    except InputRefused:
        return []


def found(proof: Proof) -> frozenset[tuple[str, int | None]]:
    """What makes the verdict: the checks that find what would hurt or spoil, and with which tool."""
    bad = [one for one in proof.findings if one.signal in (Signal.DANGER, Signal.WARNING) and one.state is State.FOUND]
    return frozenset((one.slug, one.tool) for one in bad)


def ends(guess: Guess) -> list[tuple[float, ...]]:
    """The largest and the smallest answer; a face that looks down its axis is largest at the low end."""
    down = [bool(guess.faces) and guess.faces[number] not in UPPER for number in range(len(guess.low))]
    ranges = list(zip(down, guess.low, guess.high, strict=True))
    return [tuple(low if d else high for d, low, high in ranges), tuple(high if d else low for d, low, high in ranges)]


def proved(proof: Proof, job: Job) -> Proof | None:
    """The setup proved as another job has it; None where that does not go together."""
    try:
        together = kit(replace(proof.kit.folder, job=job), job.setup_named(proof.kit.setup.name))
        return prove(together, nominal_truth(together), pitch_mm=PITCH_MM)
    except InputRefused:
        return None


def nothing_stands_alone(said: Verdict) -> None:
    """What is open and what decides stands in the headline, and what was not tried is not passed over."""
    if said.text.startswith("Nothing hits") and (said.open or any(rest.decides is not False for rest in said.rests_on)):
        heads = ("Nothing hits in what was looked at", "Nothing hits, but WARNING: ", "Nothing hits for certain; WARNING: ")
        assert said.text.startswith(heads)
    for one in said.open:
        assert one.text in said.text or "more undecided" in said.text
    assert ("not tried" in said.text or "not be tried" in said.text) == any(rest.decides is None for rest in said.rests_on)
    for rest in (one for one in said.rests_on if one.decides):
        where, _, follows = rest.how.partition(": ")
        assert f"{rest.guess} ({where}" in said.text
        assert follows in said.text


def tried(programs: Sequence[Path], proofs: int, scratch: Path, *, changed: int = 0, most: int = 0) -> Counted:
    """Draft and prove programs, and some of their guesses moved to an end, until so many of those were proved, and until so many
    have `changed` the verdict or `most` were proved."""
    done, drawn = Counted(), random.Random(7)
    for number, path in enumerate(programs):
        for proof in drafted(path, scratch / str(number)):
            done.drafts += 1
            said, job, name = verdict(proof), proof.kit.folder.job, proof.kit.setup.name
            nothing_stands_alone(said)
            first = proved(proof, job)
            assert first is not None
            ranged = [guess for guess in job.guess if guess.low and guess.setup == name]
            tries = [(guess, end) for guess in ranged for end in ends(guess)]
            for guess, end in drawn.sample(tries, min(len(tries), OF_EACH)):
                enough = done.proofs >= proofs and (done.changed >= changed or done.proofs >= most)
                other = None if enough else proved(proof, job.with_guess(guess, end))
                if other is None:
                    continue
                done.proofs += 1
                differs = found(first) ^ found(other)
                done.changed += bool(differs)
                if differs and guess.what not in said.text:
                    done.silent.append(f"{path.name}: “{guess.what}” at {end}: {sorted(differs, key=str)}")
        if done.proofs >= proofs and (done.changed >= changed or done.proofs >= most):
            break
    return done


def collected(folder: Path) -> list[Path]:
    """The programs of a folder in an order of chance, always the same."""
    programs = sorted(path for path in folder.iterdir() if path.suffix != ".tsv")
    random.Random(3).shuffle(programs)
    return programs


def test_the_headline_names_every_guess_that_changes_the_verdict(corpus: Path, tmp_path: Path) -> None:
    small = [path for path in collected(corpus) if path.stat().st_size < SMALL_BYTES]
    done = tried(small, PROOFS, tmp_path, changed=PROOFS // 10, most=MOST_PROOFS)
    assert done.silent == []
    assert done.proofs >= PROOFS
    assert done.changed >= PROOFS // 10  # so that the silence above says something


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        counted = tried(collected(Path(sys.argv[1])), int(sys.argv[2]) if len(sys.argv) > 2 else 1000, Path(scratch))
    print(f"{counted.drafts} drafts, {counted.proofs} proofs of a moved guess, {counted.changed} change the verdict")
    print("\n".join(counted.silent) or "the headline names each of them")
    raise SystemExit(bool(counted.silent))
