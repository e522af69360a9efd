"""A draft put on disk: whole or not at all, and only where nothing is yet."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.jobfolder.document import read_bytes
from setwright.jobfolder.load import load_job
from setwright.kit.station import kit
from setwright.program.source import Source
from setwright.start.draft import Draft, draft

__all__ = ["start", "write_draft"]

_LARGEST_PROGRAM = 500_000_000


def start(paths: Sequence[Path], out: Path) -> Draft:
    """Draft a job folder from program files and write it to `out`. Raises InputRefused; nothing is written then.

    Several programs become one setup each; a program that another calls as a subprogram goes with its caller.
    """
    _refuse_used(out)
    drafted = draft(_sources(paths))
    write_draft(drafted, out)
    return drafted


def _sources(paths: Sequence[Path]) -> list[Source]:
    if not paths:
        raise InputRefused.because("no program is given", remedy="name at least one program file")
    names: dict[str, Path] = {}
    problems = []
    for path in paths:
        if path.name in names:
            problems.append(Problem("two programs have the same file name", remedy="rename one of them", span=Span(str(path))))
        names[path.name] = path
        if path.name in ("job.toml", "readings.toml", "registers.toml"):
            problems.append(Problem("this is a file of a job, not a program", remedy="name the part program", span=Span(str(path))))
    if problems:
        raise InputRefused(problems)
    return [Source(name, read_bytes(path, shown=str(path), largest=_LARGEST_PROGRAM)) for name, path in names.items()]


def _refuse_used(out: Path) -> None:
    if out.is_dir() and not any(out.iterdir()):
        return
    if out.exists() or out.is_symlink():
        what = "this folder is not empty" if out.is_dir() else "this is a file"
        raise InputRefused.because(what, why="a draft never overwrites anything", remedy="name a new folder after -o",
                                   span=Span(str(out)))  # fmt: skip


def write_draft(drafted: Draft, out: Path) -> None:
    """Write the files into a new folder beside `out`, try them as any job is tried, and only then give it its name."""
    _refuse_used(out)
    parent = out.absolute().parent
    try:
        parent.mkdir(parents=True, exist_ok=True)
        beside = parent / f".{out.name}.{os.getpid()}.part"
        beside.mkdir()
    except OSError as error:
        raise _not_writable(out, error) from error
    try:
        for name, content in drafted.files.items():
            path = beside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        folder = load_job(beside)
        for setup in folder.job.setup:
            kit(folder, setup)
        if out.is_dir():
            out.rmdir()
        os.replace(beside, out)
    except OSError as error:
        raise _not_writable(out, error) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _not_writable(out: Path, error: OSError) -> InputRefused:
    said = f"the folder cannot be written ({error.strerror})"
    return InputRefused.because(said, remedy="choose another place", span=Span(str(out)))
