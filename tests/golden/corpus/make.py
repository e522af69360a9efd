"""Writes table.tsv: what each program of the corpus reads as. `python -m tests.golden.corpus.make`, then look at the difference.

A row is believed because the naive second reader (tests/oracle/naive_interpreter.py) agrees with every motion behind it; see
tests/program/test_program_corpus.py. Lengths mm, tolerance 1e-6 mm.
"""

from __future__ import annotations

from pathlib import Path

from setwright.base.errors import InputRefused
from setwright.program.infer import infer
from setwright.program.interpret import interpret
from setwright.program.registers import Registers
from setwright.program.source import Source

__all__ = ["HEAD", "TABLE", "row_of"]

TABLE = Path(__file__).parent / "table.tsv"
HEAD = ("file", "behaviours", "blocks", "motions", "end", "extents", "remarks")


def row_of(path: Path) -> dict[str, str]:
    """One program's row, as text."""
    source = Source(path.name, path.read_bytes())
    try:
        inference = infer([source])
    except InputRefused as refused:
        return dict.fromkeys(HEAD, "") | {"file": path.name, "end": f"refused: {refused.problems[0].what}"}
    read = interpret([source], profile=inference.profile, registers=Registers.nominal())
    boxes = [f"{name} {' '.join(f'{value:.6f}' for value in (*box.least, *box.greatest))}" for name, box in read.extents.items()]
    taken = [f"{one.behaviour}={one.reading}" for one in inference.evidence]
    taken += [f"{one.behaviour}={one.taken}?" for one in inference.ambiguities]
    end = f"{read.end} {read.stopped_at.line}" if read.stopped_at else read.end
    values = (path.name, "; ".join(sorted(set(taken))), str(read.blocks), str(len(read.path)), end, "; ".join(boxes),
              "; ".join(sorted({remark.slug for remark in read.remarks})))  # fmt: skip
    return dict(zip(HEAD, values, strict=True))


def main() -> None:
    """Rewrite the table from the corpus beside the project."""
    from tests.program.test_program_corpus import FILES

    rows = [row_of(path) for path in FILES]
    lines = ["\t".join(HEAD), *("\t".join(row[name] for name in HEAD) for row in rows)]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
