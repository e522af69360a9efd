"""Breaks the code on purpose and sees whether a test notices: `python -m tests.mutation N SEED [ROOM ...]`, or `known`.

N mutants are drawn over the rooms (motion, sheet, record, program, hover unless named): a constant that is another number, a sign
or an operation turned round, a comparison that says the opposite. Each is made in a copy of the sources, never in the tree itself,
and the tests of its room are run on it until the first one fails. `known`: instead the mutants of `KNOWN`, each of which some
version of the tests did not notice, against the one file of tests that notices it now. Prints a line each and how many survived;
ends with status 1 if more than a tenth did, or any of the known ones.

A room takes as long as its tests, and one with kernels as long as compiling them on top: this is for a quiet evening, not for every
change. A mutant whose tests take longer than PATIENCE_S counts as noticed.
"""

from __future__ import annotations

import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("motion", "sheet", "record", "program", "hover")
PATIENCE_S = 1800.0
MOST_SURVIVING = 0.1
OPPOSITE: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One change of a file below src/setwright: bytes `begin` to `end` become `new`; `tests`: what is run on it."""

    file: str
    begin: int
    end: int
    old: str
    new: str
    tests: str

    @property
    def told(self) -> str:
        """Place and change in one line."""
        line = (ROOT / "src" / "setwright" / self.file).read_bytes()[: self.begin].count(b"\n") + 1
        return f"{self.file}:{line}: {' '.join(self.old.split())} -> {' '.join(self.new.split())}"


KNOWN = (
    ("motion/plan.py", "min(motion[junction - 1, 1], motion[junction, 1])", "motion[junction, 1]", "motion/test_motion_time.py"),
    ("base/digest.py", 'sha.update(len(part).to_bytes(8, "little"))', "pass", "base/test_base_digest.py"),
    ("base/units.py", '"mm/s": Decimal(60)', '"mm/s": Decimal(6)', "base/test_base_units.py"),
    ("base/units.py", '"hp": Decimal("0.745', '"hp": Decimal("0.735', "base/test_base_units.py"),
    ("base/units.py", '"um/m/K": Decimal("0.000001")', '"um/m/K": Decimal("0.00001")', "base/test_base_units.py"),
    ("program/cycles.py", "elif self.code in (860, 880):", "elif self.code == 860:", "program/test_program_cycles.py"),
    ("program/settings.py", "_LAST_EXTENDED = 300", "_LAST_EXTENDED = 48", "program/test_program_shifts.py"),
    ("program/machine.py", "self.modal.tool, self.modal.tool_register = tool, register", "self.modal.tool = tool",
     "program/test_program_tool_change.py"),
    ("geometry/profile.py", "pilot_end = point.z1 + 2 * pilot", "pilot_end = point.z1 + pilot",
     "geometry/test_geometry_profile.py"),
    ("sheet/fill.py", "2.0 * assembly.radius, assembly.stickout", "assembly.radius, assembly.stickout", "sheet/test_sheet_fill.py"),
    ("sheet/fill.py", "float(low[2]) - kit.setup.holding.parallels +", "float(low[2]) +", "sheet/test_sheet_fill.py"),
    ("removal/volumes.py", "abs(mean - best) + loose)", "(abs(mean - best) + loose) / 2)", "removal/test_removal_volumes.py"),
    ("hover/happening.py", "OVERLOAD: Final = 3.0", "OVERLOAD: Final = 30.0", "hover/test_hover_consequence.py"),
    ("read/checks/tap_feed.py", "_APART = 0.01", "_APART = 0.1", "read/test_read_sense.py"),
    ("record/backup.py", 'if blobs.put(data) != [member.name.removeprefix("blobs/")]:', "if not blobs.put(data):",
     "record/test_record_backup.py"),
    ("record/backup.py", "problems += _blob_faults(connection, blobs)", "pass", "record/test_record_backup.py"),
)  # fmt: skip
"""File, what stands there, what it becomes, the tests that notice."""


def known() -> Iterator[Mutant]:
    """The mutants of KNOWN. Raises ValueError for one whose place is gone or stands twice."""
    for file, old, new, tests in KNOWN:
        text = (ROOT / "src" / "setwright" / file).read_bytes()
        if text.count(old.encode()) != 1:
            raise ValueError(f"{file} holds {text.count(old.encode())} times {old!r}: bring KNOWN up to date")
        begin = text.index(old.encode())
        yield Mutant(file, begin, begin + len(old.encode()), old, new, tests)


def drawn(count: int, seed: int, rooms: tuple[str, ...]) -> list[Mutant]:
    """So many mutants of the rooms, every place as likely as another, the same ones for the same seed."""
    every = [mutant for room in rooms for path in sorted((ROOT / "src" / "setwright" / room).rglob("*.py"))
             if "migrations" not in path.parts for mutant in mutants_of(path, room)]  # fmt: skip
    return random.Random(seed).sample(every, min(count, len(every)))


def mutants_of(path: Path, room: str) -> Iterator[Mutant]:
    """Every mutant of one file."""
    text = path.read_text(encoding="utf-8")
    starts = [0]
    for line in text.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node, new in _changed(ast.parse(text)):
        begin = starts[node.lineno - 1] + node.col_offset
        end = starts[(node.end_lineno or node.lineno) - 1] + (node.end_col_offset or 0)
        old = text.encode()[begin:end].decode()
        yield Mutant(path.relative_to(ROOT / "src" / "setwright").as_posix(), begin, end, old, new, room)


def _changed(tree: ast.AST) -> Iterator[tuple[ast.expr, str]]:
    """Expressions and what each becomes; not in annotations, and not inside texts that are put together."""
    waiting = [tree]
    while waiting:
        node = waiting.pop()
        waiting += [child for name, field in ast.iter_fields(node) if name not in ("annotation", "returns")
                    for child in (field if isinstance(field, list) else [field])
                    if isinstance(child, ast.AST) and not isinstance(child, ast.JoinedStr)]  # fmt: skip
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield node, repr(node.value + 1 if isinstance(node.value, int) else node.value * 1.5 if node.value else 1.0)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            yield node, f"({ast.unparse(node.operand)})"
        elif isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in OPPOSITE:
            yield node, _with(node, op=OPPOSITE[type(node.op)]())
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in OPPOSITE:
            yield node, _with(node, ops=[OPPOSITE[type(node.ops[0])](), *node.ops[1:]])


def _with(node: ast.expr, **changed: object) -> str:
    fields = dict(ast.iter_fields(node)) | changed
    return f"({ast.unparse(type(node)(**fields))})"


def noticed(mutant: Mutant, copy: Path) -> bool:
    """Whether a test fails on a copy of the tree with this mutant, or takes too long; the copy is as before afterwards."""
    path = copy / "src" / "setwright" / mutant.file
    whole = path.read_bytes()
    path.write_bytes(whole[: mutant.begin] + mutant.new.encode() + whole[mutant.end :])
    try:
        return failure_of(mutant.tests, copy) != ""
    except subprocess.TimeoutExpired:
        return True
    finally:
        path.write_bytes(whole)


def failure_of(tests: str, copy: Path) -> str:
    """What the tests of a copy of the tree print if they do not pass, "" if they do."""
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", str(copy / "tests" / tests)],
        cwd=copy, env={**os.environ, "PYTHONPATH": f"{copy / 'src'}{os.pathsep}{copy}"}, capture_output=True, text=True,
        timeout=PATIENCE_S, check=False,
    )  # fmt: skip
    return "" if run.returncode == 0 else f"status {run.returncode}\n{run.stdout[-2000:]}{run.stderr[-2000:]}"


def main(words: list[str]) -> int:
    """Draw or take the known ones, try each, tell."""
    if words[:1] == ["known"]:
        chosen = list(known())
    elif len(words) >= 2 and words[0].isdigit() and words[1].lstrip("-").isdigit():
        chosen = drawn(int(words[0]), int(words[1]), tuple(words[2:]) or ROOMS)
    else:
        print(__doc__, file=sys.stderr)
        return 2
    survived = 0
    with tempfile.TemporaryDirectory() as scratch:
        copy = Path(scratch) / "tree"
        for part in ("src", "tests", "benchmarks", "docs"):
            shutil.copytree(ROOT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        for tests in sorted({mutant.tests for mutant in chosen}):
            if failed := failure_of(tests, copy):
                raise RuntimeError(f"without any mutant {tests} does not pass, so that nothing can be learned from it: {failed}")
        for mutant in chosen:
            seen = noticed(mutant, copy)
            survived += not seen
            print(f"{'noticed ' if seen else 'SURVIVED'}  {mutant.told}", flush=True)
    print(f"{survived} of {len(chosen)} survived")
    return int(survived > (0 if words[0] == "known" else MOST_SURVIVING * len(chosen)))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
