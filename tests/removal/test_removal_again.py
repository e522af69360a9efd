"""A changed program run again gives the bytes of a first run, whatever changed, and runs only what the change reaches."""

import dataclasses
import itertools

import numpy as np
import pytest

from setwright.geometry.bodies import BoxShape
from setwright.geometry.moves import Moves
from setwright.geometry.pieces import PieceTable, Role
from setwright.removal import again as again_module
from setwright.removal.again import cut_again
from setwright.removal.alike import alike
from setwright.removal.cut import cut
from setwright.removal.field import field_of
from setwright.removal.kept import cut_kept
from setwright.removal.turn import turned
from tests.removal.common import ball, cone, cylinder, moves, tool, zone

BLOCK = BoxShape((-40.0, -30.0, -12.0), (40.0, 30.0, 0.0))
STACKS = [
    [ball(4.0), cylinder(4.0, 4.0, 9.0), cylinder(5.0, 9.0, 30.0, Role.SHANK)],
    [zone(2.0, 1.0, 1.0, 0.0, 1.0), cylinder(3.0, 1.0, 6.0), cone(3.0, 8.0, 6.0, 12.0, Role.HOLDER)],
    [cylinder(2.5, 0.0, 4.0), cylinder(2.4, 4.0, 30.0, Role.NECK)],
]


def table(*stacks):
    return PieceTable.of([list(stack) for stack in stacks])


def job(rng, n):
    """Lines, rapids, level and upright arcs and helices about the block, three tools, in bursts; with gaps in their numbers."""
    place, rows, tools = np.array([0.0, 0.0, 5.0]), [], []
    kind = int(rng.integers(3))
    for _ in range(n):
        if rng.random() < 0.2:
            kind = int(rng.integers(3))
        tools.append(kind)
        sort = rng.random()
        goal = np.array([rng.uniform(-42, 42), rng.uniform(-32, 32), rng.uniform(-7, 2)])
        near = place + rng.uniform(-9, 9, 3) * [1, 1, 0.2]
        near[2] = np.clip(near[2], -8, 3)
        if sort < 0.15:
            rows.append(("rapid", place, goal))
        elif sort < 0.75:
            rows.append(("line", place, near if sort < 0.6 else goal))
        else:
            centre, axis = place + rng.uniform(-5, 5, 3), 2 if sort < 0.93 else int(rng.integers(2))
            u, v = (axis + 1) % 3, (axis + 2) % 3
            centre[axis] = place[axis]
            turn = rng.uniform(-4, 4)
            c, s = np.cos(turn), np.sin(turn)
            end = place.copy()
            end[u] = centre[u] + c * (place[u] - centre[u]) - s * (place[v] - centre[v])
            end[v] = centre[v] + s * (place[u] - centre[u]) + c * (place[v] - centre[v])
            end[axis] += rng.choice([0.0, -0.7])
            rows.append(("arc", place, end, centre, axis, turn))
        place = np.array(rows[-1][2])
    made = moves(*rows, tool=np.array(tools))
    return dataclasses.replace(made, ident=np.cumsum(rng.integers(0, 3, n)).astype(np.int32))


def joined(*parts):
    columns = [np.concatenate([getattr(part, f.name) for part in parts]) for f in dataclasses.fields(Moves)]
    made = Moves(*columns)
    return dataclasses.replace(made, ident=np.arange(3, 3 + len(made), dtype=np.int32))


def longer_tool(rng, run):
    these, by = run.tool == rng.integers(3), np.array([0, 0, rng.normal()])
    return dataclasses.replace(run, start=run.start + these[:, None] * by, end=run.end + these[:, None] * by,
                               centre=run.centre + (these & (run.kind == 2))[:, None] * by)  # fmt: skip


def shifted(rng, run):
    first, by = rng.integers(len(run)), rng.normal(size=3) * [1, 1, 0.3]
    these = np.arange(len(run)) >= first
    return dataclasses.replace(run, start=run.start + these[:, None] * by, end=run.end + these[:, None] * by,
                               centre=run.centre + (these & (run.kind == 2))[:, None] * by)  # fmt: skip


def edited(rng, run):
    end, row = run.end.copy(), rng.integers(len(run), size=3)
    lines = row[run.kind[row] != 2]
    end[lines] += rng.normal(size=(lines.size, 3))
    return dataclasses.replace(run, end=end)


def inserted(rng, run):
    at = sorted(rng.integers(0, len(run) + 1, 2))
    return joined(run[: at[0]], job(rng, 4), run[at[0] : at[1]], job(rng, 1), run[at[1] :])


def left_out(rng, run):
    held = np.ones(len(run), bool)
    a = rng.integers(len(run))
    held[a : a + rng.integers(1, 9)] = False
    held[rng.integers(len(run))] = False
    return run[held]


def appended(rng, run):
    return joined(run, job(rng, 5))


def put_first(rng, run):
    return joined(job(rng, 3), run)


def swapped(rng, run):
    order = np.arange(len(run))
    a, b, c = sorted(rng.integers(0, len(run) + 1, 3))
    order = np.concatenate([order[:a], order[b:c], order[a:b], order[c:]])
    return dataclasses.replace(run[order], ident=run.ident)


def not_cutting(rng, run):
    cuts = run.cuts.copy()
    cuts[rng.integers(len(run)) :][:20] = False
    return dataclasses.replace(run, cuts=cuts)


CHANGES = [longer_tool, shifted, edited, inserted, left_out, appended, put_first, swapped, not_cutting]


def everything(done):
    """All a run says, as bytes."""
    tiles = [(tile.u0, tile.v0, *(a.tobytes() for a in (tile.count, tile.ends, tile.ident, tile.normal)))
             for bundle in done.field.bundles for tile in bundle.tiles]  # fmt: skip
    sums = [a.tobytes() for a in (done.motion, done.removed, done.by_bundle, done.axial)]
    return tiles, sums, done.contacts, done.removed_volume, done.field.slack


def blank(pitch=1.1):
    return field_of(BLOCK, pitch_mm=pitch)


@pytest.mark.parametrize("change", CHANGES, ids=[change.__name__ for change in CHANGES])
@pytest.mark.parametrize("seed", range(4))
def test_a_changed_run_has_the_bytes_of_a_first_run(change, seed):
    rng = np.random.default_rng([seed, CHANGES.index(change)])
    run, pieces = job(rng, 120), table(*STACKS)
    _, kept = cut_kept(blank(), run, pieces, checkpoints=7)
    for _ in range(3):  # each change upon the one before
        run = change(rng, run)
        done, kept = cut_again(kept, run, pieces)
        assert everything(done) == everything(cut(blank(), run, pieces))
        count = int(rng.integers(len(run)))
        assert everything(dataclasses.replace(done, field=kept.after(count))) == everything(
            dataclasses.replace(done, field=cut(blank(), run[:count], pieces).field)
        )


@pytest.mark.parametrize("seed", range(3))
def test_any_two_programs(seed):
    """One change after another of every sort, on metal that an earlier setup left."""
    rng = np.random.default_rng(seed)
    pieces = table(*STACKS)
    first = cut(blank(), job(rng, 20), pieces).field
    first = turned(first, np.diag([1, -1, -1]), shift=(0, 0, -12))
    run = job(rng, 90)
    done, kept = cut_kept(first, run, pieces, checkpoints=5)
    assert everything(done) == everything(cut(first, run, pieces))
    for change in rng.permutation(CHANGES):
        run = change(rng, run)
        done, kept = cut_again(kept, run, pieces)
        assert everything(done) == everything(cut(first, run, pieces))


def test_another_tool_in_the_table():
    """A tool of other sizes, and the table in another order: only the pieces count, not their rows."""
    rng = np.random.default_rng(17)
    run = job(rng, 100)
    _, kept = cut_kept(blank(), run, table(*STACKS), checkpoints=6)
    fat = [ball(4.5), *STACKS[0][1:]]
    for order in ([2, 0, 1], [1, 2, 0]):
        stacks = [[fat, STACKS[1], STACKS[2]][k] for k in order]
        tools = np.argsort(order)[run.tool].astype(np.int32)
        other = dataclasses.replace(run, tool=tools)
        done, kept = cut_again(kept, other, table(*stacks))
        assert everything(done) == everything(cut(blank(), other, table(*stacks)))


def test_rooms_that_are_wanting_do_not_change_the_sums():
    """Many narrow slots across the rays make their lists outgrow their room again and again, at other motions in every division."""
    rows = [("line", (x, -35, -3 - 0.01 * k), (x, 35, -3)) for k, x in enumerate(np.linspace(-38, 38, 25))]
    rows += [("arc", (x, 0, -5), (x, 0, -5), (x + 3, 0, -5), 2, 2 * np.pi) for x in (-30, -10, 10)]
    run, pieces = moves(*rows), tool(cylinder(0.8, 0.0, 9.0))
    whole = everything(cut(blank(0.7), run, pieces))
    for checkpoints in (1, 4, 28):
        assert everything(cut_kept(blank(0.7), run, pieces, checkpoints=checkpoints)[0]) == whole


def test_same_bytes_for_any_number_of_threads(monkeypatch):
    rng = np.random.default_rng(23)
    run, pieces = job(rng, 90), table(*STACKS)
    other = edited(rng, run)
    results = []
    for threads in ("1", "2", "5"):
        monkeypatch.setenv("SETWRIGHT_THREADS", threads)
        _, kept = cut_kept(blank(), run, pieces, checkpoints=6)
        results.append(everything(cut_again(kept, other, pieces)[0]))
    assert results[0] == results[1] == results[2]


def test_only_what_the_change_reaches_runs_again(monkeypatch):
    """An edit in one corner of the block, late in the program: tiles elsewhere and motions before are left alone."""
    xs = np.linspace(-38, 38, 60)
    places = np.vstack([np.column_stack([xs, np.full(60, y), np.full(60, -2.0)]) for y in np.linspace(-28, 28, 10)])
    run, pieces = moves(*[("line", a, b) for a, b in itertools.pairwise(places)]), tool(ball(2.0), cylinder(2.0, 2.0, 30.0))
    _, kept = cut_kept(blank(0.4), run, pieces, checkpoints=20)
    end = run.end.copy()
    end[-3, 2] -= 0.5
    other = dataclasses.replace(run, end=end)
    asked = []
    plain = again_module.advance

    def watched(field, moves, pieces, base, rows, *, watch=None, wanted=None):
        asked.append((rows, [some.sum() for some in wanted]))
        return plain(field, moves, pieces, base, rows, watch=watch, wanted=wanted)

    monkeypatch.setattr(again_module, "advance", watched)
    done, again = cut_again(kept, other, pieces)
    assert everything(done) == everything(cut(blank(0.4), other, pieces))
    assert [rows for rows, _ in asked] == [(570, 599)]
    along = asked[0][1][2]
    assert 0 < along <= 4 < len(again.fields[0].bundles[2].tiles)
    old, new = kept.fields[-1].bundles[2].tiles, again.fields[-1].bundles[2].tiles
    assert sum(a is b for a, b in zip(old, new, strict=True)) == len(old) - along


def test_nothing_changed_runs_nothing(monkeypatch):
    rng = np.random.default_rng(5)
    run, pieces = job(rng, 60), table(*STACKS)
    done, kept = cut_kept(blank(), run, pieces)
    monkeypatch.setattr(again_module, "advance", None)
    same, _ = cut_again(kept, run, pieces)
    assert everything(same) == everything(done)


@pytest.mark.parametrize("limit", [0, 3_000_000])
def test_little_memory(limit):
    """States are thinned out, and the traces let go, rather than memory exceeded; results stay."""
    rng = np.random.default_rng(31)
    run, pieces = job(rng, 150), table(*STACKS)
    first = blank(0.6)
    done, kept = cut_kept(first, run, pieces, checkpoints=40, memory_limit=limit)
    assert everything(done) == everything(cut(first, run, pieces))
    between = {id(t): t for field in kept.fields[1:-1] for bundle in field.bundles for t in bundle.tiles}
    assert sum(t.ends.nbytes + t.ident.nbytes + t.normal.nbytes + t.count.nbytes for t in between.values()) <= limit // 2
    other = edited(rng, run)
    again, kept = cut_again(kept, other, pieces)
    assert everything(again) == everything(cut(first, other, pieces))
    assert len(kept.marks) == len(kept.fields) == len(kept.slacks) + 1 <= 41


def test_empty_programs():
    none, some, pieces = moves(), job(np.random.default_rng(0), 9), table(*STACKS)
    done, kept = cut_kept(blank(), none, pieces)
    assert everything(done) == everything(cut(blank(), none, pieces))
    done, kept = cut_again(kept, some, pieces)
    assert everything(done) == everything(cut(blank(), some, pieces))
    done, kept = cut_again(kept, none, pieces)
    assert everything(done) == everything(cut(blank(), none, pieces))


def test_rows_are_matched_in_their_order():
    rng = np.random.default_rng(8)
    run, pieces = job(rng, 40), table(*STACKS)
    for change in CHANGES:
        other = change(rng, run)
        same = alike(run, pieces, other, pieces)
        rows = np.flatnonzero(same.new >= 0)
        assert (np.diff(same.new[rows]) > 0).all()
        assert (same.old[same.new[rows]] == rows).all()
        assert (run.start[rows] == other.start[same.new[rows]]).all()
    gone = np.delete(np.arange(40), [7, 20, 21])
    assert (alike(run, pieces, run[gone], pieces).old == gone).all()
