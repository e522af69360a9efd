"""A proof covers every reading of a behaviour that is not known: what the other readings do is found and said beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from setwright.base.errors import InputRefused
from setwright.kit.registers import Truth
from setwright.kit.station import Kit
from setwright.model.finding import Finding, Signal, State, worst_first
from setwright.program.readings import OtherReading
from setwright.prove.compute import Progress
from setwright.prove.reading import Held
from setwright.prove.station import Proof, prove
from setwright.removal.field import Field

__all__ = ["READING_SLUG", "moving_readings", "prove_readings"]

READING_SLUG = "under-another-reading"


def prove_readings(
    kit: Kit,
    truth: Truth,
    *,
    held: Held | None = None,
    blank: Field | None = None,
    pitch_mm: float | None = None,
    until: tuple[str, int] | None = None,
    bench: bool = False,
    progress: Progress | None = None,
) -> Proof:
    """`prove`, and for every other reading of the programs that moves the tool otherwise one finding more: what a proof under that
    reading finds beyond the first. Raises InputRefused as `prove` does."""
    proof = prove(kit, truth, held=held, blank=blank, pitch_mm=pitch_mm, until=until, bench=bench, progress=progress)

    def again(other: Kit) -> Proof:
        return prove(other, truth, held=held, blank=blank, pitch_mm=pitch_mm, until=until, progress=progress)

    more = [_finding(proof, other, again) for other in moving_readings(proof)]
    return replace(proof, findings=tuple(worst_first([*proof.findings, *more]))) if more else proof


def moving_readings(proof: Proof) -> Iterator[OtherReading]:
    """The readings of the programs that are possible as well and move the tool otherwise than the one that was proved."""
    return (other for other in proof.reading.others if other.difference is not None)


def _stated(kit: Kit, other: OtherReading) -> Kit:
    """The kit with a control that is known to read as `other` does."""
    control = kit.machine.control
    stated = control.model_copy(update={"behaviours": {**control.behaviours, other.behaviour: other.reading}, "unsure": ()})
    return replace(kit, machine=kit.machine.model_copy(update={"control": stated}))


def _finding(proof: Proof, other: OtherReading, again: Callable[[Kit], Proof]) -> Finding:
    """What the proof under another reading finds that the first one does not."""
    motion, name = other.difference, proof.kit.setup.name
    assert motion is not None
    head = f"if the control reads {other.behaviour} as “{other.reading}”, not as “{other.taken}”"
    remedy = f"look up what the control does, state it as control.behaviours.{other.behaviour} and strike it out of control.unsure"
    try:
        new = _beyond(again(_stated(proof.kit, other)), proof)
    except InputRefused as refused:
        text = f"{head}, the setup cannot be proved: {refused.problems[0].what}"
        return Finding(slug=READING_SLUG, signal=Signal.WARNING, text=text, remedy=remedy, file=motion.file, line=motion.line,
                       setup=name, state=State.UNDECIDED)  # fmt: skip
    if not new:
        text = f"{head}, the proof finds nothing that it does not find so"
        return Finding(slug=READING_SLUG, signal=Signal.NOTICE, text=text, remedy=remedy, file=motion.file, line=motion.line,
                       setup=name)  # fmt: skip
    worst = new[0]
    rest = f" ({len(new) - 1} more)" if len(new) > 1 else ""
    # it hurts only if the control reads so, which is a question: what hurts as it is read stands before it
    signal = max(worst.signal, Signal.WARNING, key=lambda one: one.rank)
    return replace(worst, slug=READING_SLUG, signal=signal, text=f"{head}: {worst.text}{rest}", remedy=remedy, setup=name,
                   cause=other.behaviour, brings=(), question=True)  # fmt: skip


def _beyond(other: Proof, first: Proof) -> list[Finding]:
    """Findings of the other proof that are worse than a NOTICE and have no like in the first, worst first."""
    known = {(f.slug, f.file, f.line, f.body, f.tool) for f in first.findings}
    return [f for f in other.findings
            if f.signal is not Signal.NOTICE and f.state is State.FOUND and (f.slug, f.file, f.line, f.body, f.tool) not in known]
