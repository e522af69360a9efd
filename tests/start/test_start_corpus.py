"""Every collected program: a draft that loads and goes together, or a refusal with its place."""

from __future__ import annotations

from pathlib import Path

from setwright.base.errors import InputRefused, Problem
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.start.write import start

_LEAST_SHARE = 0.9


def _problems(path: Path, out: Path) -> tuple[Problem, ...]:
    """What is wrong with a program; nothing if it was drafted."""
    try:
        start([path], out)
    except InputRefused as refusal:
        return refusal.problems
    return ()


def test_collected_programs_are_drafted_or_refused_with_a_place(corpus: Path, tmp_path: Path) -> None:
    programs = sorted(path for path in corpus.iterdir() if path.suffix != ".tsv")
    assert programs
    made = 0
    for number, path in enumerate(programs):
        out = tmp_path / str(number)
        refused = _problems(path, out)
        if refused:
            assert all(problem.span is not None for problem in refused), path.name
            assert not out.exists()
            continue
        folder = load_job(out)
        assert folder.sources[path.name] == path.read_bytes()
        assert kit(folder, folder.job.setup[0]).tools
        made += 1
    assert made >= _LEAST_SHARE * len(programs)
