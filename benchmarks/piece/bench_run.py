"""A batch of 2,000 pieces corrected as Piece and Run say, against the habit of measuring every n-th piece and correcting in full.

    python -m benchmarks.piece.bench_run [PIECES] [SEEDS]

One bore of the bearing cap (52.000 +0.030) follows one radius register. The process: each cutter wears (run-in, then a pace of its
own), is changed after 120 pieces and starts somewhere new; the machine drifts with the hours; an edge chips now and then; pieces
scatter; the gauge errs, and one value in two hundred is misread. Habits measure every n-th piece and the first after a change and
correct in full: n the longest interval that measures at least as often as Run does, the best n for this batch (which nobody knows
beforehand), and three usual ones. The batch is the same for all: the same pieces, tools, chips and errors of the gauge by piece.
Two thousand pieces take some minutes of processor time a batch.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from setwright.base.span import Span
from setwright.jobfolder.load import load_job
from setwright.kit.registers import nominal_truth
from setwright.kit.station import kit
from setwright.model.measurement import Measured, Measurement, ToolChange, Typing
from setwright.piece.influence import Influence, influence_of
from setwright.piece.station import advise_piece
from setwright.run.station import run
from setwright.slips.world import as_set

FEATURE, REGISTER, TOOL, GAUGE = "seat diameter", "radius 2", 2, "bore-micrometer"
LOWER, UPPER, LIFE = 52.000, 52.030, 120
BETWEEN, SEED = 0.003, 20261129


@dataclass(frozen=True)
class Batch:
    """What comes off the machine: `bore` with the register untouched, `gauge` the error of a value, `first`: first pieces of
    a tool."""

    bore: np.ndarray
    gauge: np.ndarray
    first: tuple[int, ...]


def batch(pieces: int, seed: int, start: float, *, gauge: float) -> Batch:
    """One batch, mm."""
    rng = np.random.default_rng(seed)
    bore = start + rng.normal(0.0, BETWEEN, pieces)
    first = tuple(range(0, pieces, LIFE))
    for begin in first:
        age = np.arange(min(LIFE, pieces - begin))
        total, tool = rng.normal(0.024, 0.006), rng.normal(0.0, 0.004)
        wear = total * (0.2 * (1.0 - np.exp(-age / 8.0)) + 0.8 * age / LIFE)
        bore[begin : begin + age.size] += tool - wear  # a worn cutter leaves the bore small
    hours = np.arange(pieces)
    bore += 0.004 * np.sin(2.0 * math.pi * hours / 400.0) + np.cumsum(rng.normal(0.0, 0.0002, pieces))
    for chip in np.flatnonzero(rng.random(pieces) < 1.0 / 250.0):
        end = next((one for one in first if one > chip), pieces)
        bore[chip:end] -= abs(rng.normal(0.0, 0.008))
    errors = rng.normal(0.0, gauge, pieces)
    wild = rng.random(pieces) < 1.0 / 200.0
    errors[wild] += rng.choice([-0.1, 0.1, 0.05, -0.02], int(wild.sum()))
    return Batch(bore, errors, first)


def habit(made: Batch, every: int, moves: float, step: float) -> tuple[float, int, int]:
    """Share out of limits, measurements and changes of measuring every n-th piece and the first of a tool, each corrected in
    full."""
    shift, out, seen, typed = 0.0, 0, 0, 0
    since = 0
    for piece in range(made.bore.size):
        value = float(made.bore[piece]) + shift
        out += not LOWER <= value <= UPPER
        since = 0 if piece in made.first else since + 1
        if since % every == 0:
            seen += 1
            change = round((value + float(made.gauge[piece]) - (LOWER + UPPER) / 2.0) / moves / step) * step
            shift -= change * moves
            typed += change != 0.0
    return out / made.bore.size, seen, typed


def advised(made: Batch, influence: Influence) -> tuple[float, int, int]:
    """The same with what Run says of when to measure and Piece of what to type. A value set aside is measured again at once."""
    setup = influence.kit.setup.name
    column = [cause.name for cause in influence.causes].index(REGISTER)
    moves = float(influence.matrix[influence.rows([FEATURE])[0], column])
    values: list[Measurement] = []
    typings: list[Typing] = []
    changes: list[ToolChange] = []
    shift, out, due, typed, line = 0.0, 0, 0, 0, 0
    again = np.random.default_rng(SEED)
    for piece in range(made.bore.size):
        line += 10
        if piece in made.first and piece:
            changes.append(ToolChange(str(piece + 1), setup, TOOL, Span("measured.csv", line)))
            due = 0
        value = float(made.bore[piece]) + shift
        out += not LOWER <= value <= UPPER
        due -= 1
        if due > 0:
            continue
        for turn in range(2):
            error = float(made.gauge[piece]) if not turn else float(again.normal(0.0, 0.003))
            span = Span("measured.csv", line + 1 + turn)
            values.append(Measurement(str(piece + 1), setup, FEATURE, value + error, GAUGE, None, span))
            recent = Measured(tuple(values[-KEPT:]), tuple(typings), "measured.csv", "", tuple(changes))
            advice = advise_piece(influence, recent)
            if len(recent.measurements) - 1 not in advice.belief.aside:
                break
        for one in advice.registers:
            if one.name == REGISTER:
                line += 3
                typings.append(Typing(str(piece + 2), setup, REGISTER, one.change, Span("measured.csv", line)))
                shift += one.change * moves
                typed += 1
        due = run(influence, Measured(tuple(values[-KEPT:]), tuple(typings), "measured.csv", "", tuple(changes))).next_due.pieces
    return out / made.bore.size, len(values), typed


KEPT = 120
"""Values that the advice looks back on."""


def bearing_cap() -> Influence:
    """How the bundled bearing cap's features follow its registers."""
    folder = load_job(Path(str(resources.files("setwright.demo") / "bearing-cap")))
    here = kit(folder, folder.job.setup[0])
    return influence_of(as_set(here, nominal_truth(here)), pitch_mm=0.7)


def main(pieces: int, seeds: int) -> None:
    """The table."""
    influence = bearing_cap()
    place = next(one for one in influence.places if one.name == FEATURE)
    moves = float(influence.matrix[influence.rows([FEATURE])[0], [c.name for c in influence.causes].index(REGISTER)])
    gauge = influence.kit.folder.job.shop.gauges[GAUGE].uncertainty / 2.0
    step = influence.kit.machine.control.increment
    print(f"{pieces} pieces, {seeds} batches; out of limits, measurements and changes per 1,000 pieces")
    rows: dict[str, list[tuple[float, float, float]]] = {"Piece and Run": []}
    began = time.perf_counter()
    for seed in range(seeds):
        made = batch(pieces, SEED + seed, place.simulated, gauge=gauge)
        own = advised(made, influence)
        rows["Piece and Run"].append(own)
        by_interval = {every: habit(made, every, moves, step) for every in range(1, 61)}
        equal = max(every for every, found in by_interval.items() if found[1] >= own[1])
        best = min(by_interval, key=lambda every: by_interval[every][:2])
        for name, every in (("every n-th, as many measurements", equal), ("the best n for this batch", best), ("every 5th", 5),
                            ("every 10th", 10), ("every 20th", 20)):  # fmt: skip
            rows.setdefault(name, []).append(by_interval[every])
        print(seed, own, equal, by_interval[equal], file=sys.stderr)
    for name, found in rows.items():
        share, seen, typed = np.mean(found, axis=0)
        print(f"{name:36}{1000.0 * share:10.2f}{1000.0 * seen / pieces:10.1f}{1000.0 * typed / pieces:10.1f}")
    print(f"{time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000, int(sys.argv[2]) if len(sys.argv) > 2 else 5)
