"""Between the record and the workers: a calculation asked for is queued, watched, and its results are kept."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping, Sequence
from typing import Any, Final

import anyio
from anyio.to_thread import run_sync

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.model.answer import refusal_findings
from setwright.record.artefacts import Artefact, keep_artefact
from setwright.record.calculations import (
    Calculation,
    CalculationState,
    ask_calculation,
    end_calculation,
    find_calculation,
    start_calculation,
)
from setwright.record.jobs import Revision, revision_files, seal_shown
from setwright.record.store import Record
from setwright.web.bench import Bench
from setwright.web.work import STATIONS, Task
from setwright.web.workers import Outcome, Watched, Workers

__all__ = ["ask", "inputs_of", "stop", "told"]

_EACH_S: Final = 0.1
_ALIVE_S: Final = 15.0
_STILL_TURNS: Final = 30


def inputs_of(revision: Revision, station: str, setup: str, options: Mapping[str, Any]) -> str:
    """The digest of everything a calculation is made from."""
    return digest_document({"revision": revision.digest, "station": station, "setup": setup, "options": dict(options)})


def ask(
    record: Record, workers: Workers, bench: Bench, revision: Revision, *, station: str, setup: str, options: Mapping[str, Any],
    by: str, setups: Sequence[str],
) -> Calculation:  # fmt: skip
    """Queue a station's work on a revision that has these setups. Raises InputRefused for a station without long work, LimitReached
    for a full queue."""
    if station not in STATIONS:
        raise InputRefused.because(f'"{station}" takes no calculation', remedy=f"write one of {', '.join(STATIONS)}", key="station")
    given = revision_files(record, revision)
    inputs = inputs_of(revision, station, setup, options)
    task = Task(station, given.files, given.home, revision.job, setup, dict(options), inputs, str(bench.folder),
                seal_shown(record, revision) if station == "sheet" else "")  # fmt: skip
    asked = ask_calculation(record, revision.job, revision=revision.number, station=station, setup=setup, options=options, by=by)

    def ended(outcome: Outcome) -> None:
        _keep(record, asked, inputs, outcome)
        if outcome.state is CalculationState.DONE and station in ("prove", "sheet"):
            bench.prepare(inputs, setup or setups[0])

    try:
        workers.put(Watched(asked.id, task, lambda: start_calculation(record, asked.id), ended))
    except InputRefused as refusal:
        said = [finding.as_plain() for finding in refusal_findings(refusal.problems)]
        end_calculation(record, asked.id, CalculationState.REFUSED, said=said)
        raise
    return asked


def _keep(record: Record, asked: Calculation, inputs: str, outcome: Outcome) -> None:
    kept: list[Artefact] = [
        keep_artefact(record, asked.job, made.data, revision=asked.revision, station=asked.station, setup=asked.setup,
                      name=made.name, media_type=made.media_type, inputs=inputs, by=asked.by)
        for made in outcome.made
    ]  # fmt: skip
    said = [finding.as_plain() for finding in refusal_findings(outcome.problems)]
    end_calculation(record, asked.id, outcome.state, artefact_id=kept[-1].id if kept else None, said=said)


def stop(record: Record, workers: Workers, number: int) -> Calculation:
    """End a calculation, waiting or at work; one that has ended stays as it is."""
    asked = find_calculation(record, number)
    if asked.ended:
        return asked
    watched = workers.find(number)
    if watched is None:
        return end_calculation(record, number, CalculationState.BROKEN_OFF)
    workers.stop(number)
    if asked.state is CalculationState.WAITING:
        return end_calculation(record, number, CalculationState.STOPPED)
    return asked


async def told(
    record: Record, workers: Workers, number: int, *, after: int, still: Callable[[], Awaitable[bool]]
) -> AsyncIterator[str]:
    """The steps of a calculation as server-sent events, from step `after` + 1 on; the last event, "ended", is the calculation.
    They end without it soon after whoever listens may not any more (`still`)."""
    last, silent, turn = after, 0.0, 0
    while True:
        turn += 1
        if turn % _STILL_TURNS == 0 and not await still():
            return
        watched = workers.find(number)
        over = watched is None or watched.ended.is_set()
        steps = [] if watched is None else [step for step in list(watched.steps) if step.number > last]
        for step in steps:
            last, silent = step.number, 0.0
            yield _event("step", step.as_plain(), number=last)
        found = await run_sync(find_calculation, record, number) if over else None
        if found is not None and found.ended:
            yield _event("ended", found.as_plain(), number=last + 1)
            return
        silent += _EACH_S
        if silent > _ALIVE_S:
            silent = 0.0
            yield ": still here\n\n"
        await anyio.sleep(_EACH_S)


def _event(kind: str, body: Mapping[str, Any], *, number: int) -> str:
    return f"id: {number}\nevent: {kind}\ndata: {json.dumps(body, ensure_ascii=False)}\n\n"
