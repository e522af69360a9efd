"""A job's plain folder as a set of files, and back: the same bytes both ways.

Where a job refers to a shared shop folder beside it, those files belong to the set too; all paths are then written from the folder
that holds both, and `home` says where in it the job lies. An ordinary job has home "".
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Final

from setwright.base.errors import InputRefused, LimitReached, Problem
from setwright.jobfolder.door import read_regular
from setwright.jobfolder.load import load_job

__all__ = ["MOST_BYTES", "MOST_FILES", "JobFiles", "check_files", "check_path", "gather_folder", "rehomed", "write_folder"]

MOST_FILES: Final = 5_000
MOST_BYTES: Final = 2_000_000_000
_LONGEST_PATH: Final = 400
_UNFIT: Final = set('<>:"|?*\\')
_RESERVED: Final = {"con", "prn", "aux", "nul", *(f"com{n}" for n in range(10)), *(f"lpt{n}" for n in range(10))}


@dataclass(frozen=True, slots=True)
class JobFiles:
    """A job as files. `files`: bytes by path with "/" between folders; `home`: the job's folder among them, "" for the root.

    `left_out`: what lay in the folder and was not taken, with the reason.
    """

    files: Mapping[str, bytes] = field(repr=False)
    home: str = ""
    left_out: tuple[str, ...] = ()


def check_path(path: str) -> None:
    """Refuse a path that could leave its folder or cannot be a file's name on every system."""
    parts = path.split("/")
    if not path or len(path) > _LONGEST_PATH:
        said = "a file's name is missing" if not path else f"a file's path is longer than {_LONGEST_PATH} characters"
    elif any(part in ("", ".", "..") for part in parts):
        said = f'"{path}" leads out of the job\'s folder'
    elif any(part.startswith(".") for part in parts):
        said = f'"{path}" begins with a dot'
    elif any(ord(c) < 32 or c in _UNFIT for c in path) or any(part != part.rstrip(" .") for part in parts):
        said = f'"{path}" cannot be a file\'s name on every system'
    elif any(part.split(".")[0].casefold() in _RESERVED for part in parts):
        said = f'"{path}" is a name that some systems keep for themselves'
    else:
        return
    raise InputRefused.because(said, remedy="rename the file: letters, digits, dot, dash, underscore and blank are safe")


def gather_folder(folder: Path) -> JobFiles:
    """Every file of a job's folder, and of the shop folder it refers to. Raises InputRefused if it cannot be read as a job.

    Left out: names beginning with a dot, links, anything that is not a file.
    """
    root = (folder.parent if folder.name == "job.toml" else folder).resolve()
    read = load_job(root)
    paths, left_out = _inside(root)
    paths += [path for path in ((root / name).resolve() for name in read.digests) if not path.is_relative_to(root)]
    base = Path(os.path.commonpath([root, *(path.parent for path in paths)]))
    if base == Path(base.anchor) and root != base:
        raise InputRefused.because("the job and its shop folder share no folder", why="the record keeps both together",
                                   remedy="put the shop folder beside the job or into it", key="shop_folder")  # fmt: skip
    home = "" if root == base else root.relative_to(base).as_posix()
    if home:
        left_out = [f"{home}/{said}" for said in left_out]
    names = {path: path.relative_to(base).as_posix() for path in sorted(set(paths))}
    files = {name: read_regular(path, shown=name, largest=MOST_BYTES, within=base) for path, name in names.items()}
    check_files(files)
    return JobFiles(files, home, tuple(left_out))


def rehomed(given: JobFiles, home: str) -> JobFiles:
    """The same job with its folder called `home` among the files, as the record knows it: its own may have been renamed since.

    Refuses what cannot be: a job that keeps its shop beside it where the record's has none beside it, or the other way.
    """
    if given.home == home:
        return given
    if not given.home or not home or given.home.count("/") != home.count("/"):
        here, there = (f'in "{one}", with its shop folder beside it' if one else "by itself" for one in (given.home, home))
        remedy = "set shop_folder as it was, and take in the folder from the same place beside its shop"
        raise InputRefused.because(f"the job lies {here}; the record has it {there}", remedy=remedy, key="shop_folder")
    inside = f"{given.home}/"
    files = {f"{home}/{path[len(inside) :]}" if path.startswith(inside) else path: data for path, data in given.files.items()}
    return JobFiles(files, home, given.left_out)


def _inside(root: Path) -> tuple[list[Path], list[str]]:
    taken, left_out = [], []
    size = 0
    for where, folders, names in os.walk(root):
        here = Path(where)
        for name in sorted(folders):
            if name.startswith(".") or (here / name).is_symlink():
                left_out.append(f"{(here / name).relative_to(root).as_posix()}/")
        folders[:] = sorted(name for name in folders if not name.startswith(".") and not (here / name).is_symlink())
        for name in sorted(names):
            path = here / name
            if name.startswith(".") or path.is_symlink() or not path.is_file():
                left_out.append(path.relative_to(root).as_posix())
                continue
            size += path.stat().st_size
            taken.append(path)
            if len(taken) > MOST_FILES or size > MOST_BYTES:
                raise _too_much()
    return taken, left_out


def _too_much() -> InputRefused:
    return LimitReached.because(f"the job's folder holds more than {MOST_FILES:,} files or {MOST_BYTES // 10**9} GB",
                                remedy="keep in it only what the job needs")  # fmt: skip


def check_files(files: Mapping[str, bytes]) -> None:
    """Refuse paths that cannot be kept, names that differ only in upper and lower case, and too much."""
    problems: list[Problem] = []
    seen: dict[str, str] = {}
    for path in files:
        try:
            check_path(path)
        except InputRefused as refusal:
            problems += refusal.problems
        other = seen.setdefault(path.casefold(), path)
        if other != path:
            problems.append(Problem(f'"{other}" and "{path}" differ only in upper and lower case', remedy="rename one of them"))
    for path in files:
        above = next((str(one).casefold() for one in PurePosixPath(path).parents if str(one).casefold() in seen), None)
        if above is not None:
            said = f'"{seen[above]}" is a file, and "{path}" lies in a folder of that name'
            problems.append(Problem(said, remedy="rename one of them"))
    if problems:
        raise InputRefused(problems)
    if len(files) > MOST_FILES or sum(map(len, files.values())) > MOST_BYTES:
        raise _too_much()


def write_folder(files: Mapping[str, bytes], into: Path) -> None:
    """Write the files as a new folder, whole or not at all. Refuses a folder that has anything in it."""
    if into.exists() and (not into.is_dir() or any(into.iterdir())):
        raise InputRefused.because(f"{into} is there already", why="nothing is overwritten", remedy="name a new folder")
    check_files(files)
    try:
        into.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=into.parent, prefix=f".{into.name}-") as scratch:
            ready = Path(scratch) / "ready"
            _write(files, ready)
            if into.exists():
                into.rmdir()
            os.replace(ready, into)
    except OSError as error:
        raise InputRefused.because(f"{into} cannot be written", why=str(error.strerror or error),
                                   remedy="name a folder that you may write to") from error  # fmt: skip


def _write(files: Mapping[str, bytes], base: Path) -> None:
    base.mkdir(parents=True)
    for path, data in files.items():
        target = base / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
