"""Slips of sizes that no list holds, from what checks show back to the slip.

    python -m tests.hover.any_size [OBSERVATIONS] [SEED]

Every observation is a slip of one of six families in one of five jobs, two of them drafts, as large as chance has it (a fifth to
five times what the catalogue states, evenly in the logarithm, and as often the other way where the slip goes either way). Its world
is made, every check looks at it, and is read with the noise a person has; then the diagnosis asks on until it is settled or nothing
tells more.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import numpy as np

from setwright.base.errors import InputRefused
from setwright.hover.check_list import checks_here
from setwright.hover.check_plan import CheckPlan, plan_checks
from setwright.hover.check_sights import Sheet
from setwright.hover.course import course_of
from setwright.hover.diagnosis import Diagnosis, Observed, Weighing, diagnose
from setwright.hover.holdpoints import hold_points
from setwright.hover.matrix import Matrix, matrix_of
from setwright.hover.matrix_study import suspects_of
from setwright.hover.outcome import Consequence, Outcome
from setwright.hover.study import StudiedSlip, occurrences_in
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.prove.chain import prove_job
from setwright.slips.catalogue import Occurrence
from setwright.slips.world import World, as_set
from setwright.start.write import start
from tests.hover.asking import asked_on, made
from tests.hover.bench_setups import bench
from tests.start import programs

__all__ = ["FAMILIES", "JOBS", "Asked", "asked_about", "quiet", "tried"]

JOBS = ("bearing-cap", "pintle", "spacers", "draft HINTED", "draft OUTSIDE")
FAMILIES = {
    "typing": ("mistyped", "external-offset-left", "shift-left"), "lengths": ("length-wear-left",),
    "holding": ("holding-moved", "holding-not-true", "stop-moved", "clamp-higher", "jaws-higher"),
    "blank": ("part-lifted", "chip-under-part", "not-against-stop", "blank-too-large", "blank-too-small"),
    "tool": ("tool-pulled-out", "holder-not-seated", "stickout-short", "cutter-reground"),
    "finder": ("burr-under-finder", "chip-under-setter", "spindle-not-warm"),
}  # fmt: skip
LEAST, MOST = 0.2, 5.0


@dataclass(frozen=True)
class Asked:
    """One job: its world, sheet, checks, the suspects weighed, and the plan that would find the first of them."""

    world: World
    sheet: Sheet
    found: Matrix
    weighing: Weighing
    plan: CheckPlan
    sized: dict[str, list[int]] = field(default_factory=dict)


@cache
def asked_about(job: str) -> Asked:
    """A bundled job on its measured offsets, or a draft as it stands."""
    if job.startswith("draft "):
        room = Path(tempfile.mkdtemp())
        (room / "part.nc").write_text(getattr(programs, job.removeprefix("draft ")))
        start([room / "part.nc"], room / "job")
        folder = load_job(room / "job")
        proof = prove_job(folder, [folder.job.setup[0]], truth_of=nominal_truth, pitch_mm=1.0)[0]
        world, holds = as_set(proof.kit, proof.truth, metal=proof.before), hold_points(proof)
        stations = [tool.number for tool in proof.reading.interpreted.tools if tool.number in proof.kit.tools]
        sheet = Sheet(world)
        checks = checks_here(sheet, stations, holds)
    else:
        of = bench(job)
        world, sheet, checks = of.world, of.sheet, of.checks
    slips = [slip for one in occurrences_in(course_of(world).case) if (slip := _studied(one, world)) is not None]
    found = matrix_of(sheet, suspects_of(slips), checks)
    sized: dict[str, list[int]] = {}
    for i, suspect in enumerate(found.suspects):
        if suspect.sized is not None:
            sized.setdefault(suspect.slug, []).append(i)
    return Asked(world, sheet, found, Weighing(found), plan_checks(found, catch=0.99), sized)


def _studied(one: Occurrence, world: World) -> StudiedSlip | None:
    """A slip whose world can be put together; how it ends does not matter here, all count as harm."""
    try:
        return StudiedSlip(one, one.change(world), Consequence(Outcome.CRASH, ""))
    except InputRefused:
        return None


def tried(job: str, family: str, rng: np.random.Generator) -> tuple[str, str] | None:
    """One observation: "right", "open" or "wrong", and a line that says what was and what was answered; None where the job has no
    slip of the family, or one so small that no check would ever show it."""
    of = asked_about(job)
    slugs = [slug for slug in FAMILIES[family] if slug in of.sized]
    if not slugs:
        return None
    true = int(rng.choice(of.sized[str(rng.choice(slugs))]))
    suspect = of.found.suspects[true]
    assert suspect.occurrence is not None
    assert suspect.sized is not None
    times = float(np.exp(rng.uniform(np.log(LEAST), np.log(MOST))))
    times *= -1.0 if suspect.sized.either_way and rng.random() < 0.5 else 1.0
    slip = _studied(suspect.occurrence.scaled(times), of.world)
    if slip is None:
        return None
    real = matrix_of(of.sheet, suspects_of([slip]), of.found.checks)
    if real.shown.max() < 0.5:
        return None
    answer = asked_on(real, of.plan, of.weighing, 0, rng)
    return judged(of, true, times, answer), f"{job}: {slip.occurrence.words} → {said(of, answer)}"


def judged(of: Asked, true: int, times: float, answer: Diagnosis) -> str:
    """Right: the slip, or what no check can tell from it, comes first. Open: not settled, and the slip is among what is named or
    nothing leads. Wrong: anything else."""
    suspects, first = of.found.suspects, answer.ranked[0] if answer.ranked else None
    if answer.none > 0.5:
        right = -1 in of.weighing.siblings(true, times)
    elif answer.unlisted > 0.5 or first is None:
        right = False
    else:
        named = {first.suspect, *first.siblings}
        right = any((suspects[i].slug, suspects[i].occurrence.subject) == (suspects[true].slug, suspects[true].occurrence.subject)
                    for i in named if i >= 0)  # type: ignore[union-attr]  # fmt: skip
    if right:
        return "right"
    among = any(suspects[one.suspect].slug == suspects[true].slug for one in answer.ranked)
    leads = max([answer.none, answer.unlisted, *(one.probability for one in answer.ranked)])
    return "open" if not answer.settled and (among or leads < 0.5) else "wrong and settled" if answer.settled else "wrong"


def said(of: Asked, answer: Diagnosis) -> str:
    """The answer in a line."""
    names = [f"{of.found.suspects[one.suspect].words} × {one.times:.2f}: {one.probability:.3f}" for one in answer.ranked[:2]]
    return f"none {answer.none:.3f}, unlisted {answer.unlisted:.3f}, {'; '.join(names)}{' settled' if answer.settled else ''}"


def quiet(job: str, rng: np.random.Generator) -> bool:
    """Whether "nothing wrong" leads when the whole plan was made on a good setup."""
    of = asked_about(job)
    noted: list[Observed] = [each for chosen in of.plan.checks for each in made(of.found, -1, chosen.number, rng)]
    answer = diagnose(of.weighing, noted)
    return answer.none >= max([answer.unlisted, *(one.probability for one in answer.ranked)])


def main() -> None:
    """Print the figures; every answer that was wrong in a line."""
    wanted, seed = (int(word) for word in [*sys.argv[1:], "1000", "1"][:2]) if len(sys.argv) > 2 else (
        int(sys.argv[1]) if len(sys.argv) > 1 else 1000, 1)  # fmt: skip
    rng, count, by = np.random.default_rng(seed), Counter[str](), Counter[tuple[str, str]]()
    while count.total() < wanted:
        job, family = str(rng.choice(JOBS)), str(rng.choice(list(FAMILIES)))
        found = tried(job, family, rng)
        if found is None:
            continue
        count[found[0]] += 1
        by[family, found[0]] += 1
        if found[0].startswith("wrong"):
            print(f"{found[0]}: {found[1]}", flush=True)
    for word, number in count.most_common():
        print(f"{word}: {number} of {wanted}, {100.0 * number / wanted:.1f} %")
    for (family, word), number in sorted(by.items()):
        print(f"  {family}, {word}: {number}")
    leads = [quiet(job, rng) for job in JOBS for _ in range(wanted // len(JOBS))]
    print(f"normal readings only: nothing wrong leads in {sum(leads)} of {len(leads)}")


if __name__ == "__main__":
    main()
