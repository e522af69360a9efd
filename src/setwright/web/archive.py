"""A job's plain folder as one ZIP file, and back."""

from __future__ import annotations

import io
import zipfile
import zlib

from setwright.base.errors import InputRefused, LimitReached
from setwright.record.folder import MOST_FILES, JobFiles, check_files

__all__ = ["MOST_UNPACKED", "ZIP_TYPE", "packed", "unpacked"]

ZIP_TYPE = "application/zip"
MOST_UNPACKED = 300_000_000
"""Bytes that may come out of one ZIP file."""
_PIECE = 1 << 20
_EPOCH = (1980, 1, 1, 0, 0, 0)


def packed(given: JobFiles, *, name: str) -> bytes:
    """The files in one folder of that name; the same files give the same bytes."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in sorted(given.files.items()):
            archive.writestr(zipfile.ZipInfo(f"{name}/{path}", _EPOCH), data, zipfile.ZIP_DEFLATED)
    return held.getvalue()


def unpacked(data: bytes) -> JobFiles:
    """The files of a ZIP with one job.toml in it; the folder that holds everything is taken off. Raises InputRefused."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = [member for member in archive.infolist() if not member.is_dir()]
            files = _read(archive, members)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError) as error:
        remedy = "pack the job's folder again"
        raise InputRefused.because("this cannot be read as a ZIP file", why=str(error), remedy=remedy) from error
    return _rooted(files)


def _read(archive: zipfile.ZipFile, members: list[zipfile.ZipInfo]) -> dict[str, bytes]:
    """The members' bytes, counted as they come out: what a ZIP file says of its sizes need not be so."""
    if len(members) > MOST_FILES or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise _too_much()
    names = [member.filename for member in members]
    if len(set(names)) < len(names):
        raise InputRefused.because("two files in the ZIP file have one name", remedy="pack the job's folder again")
    files: dict[str, bytes] = {}
    left = MOST_UNPACKED
    for member in members:
        with archive.open(member) as file:
            data = bytearray()
            while piece := file.read(_PIECE):
                data += piece
                left -= len(piece)
                if left < 0:
                    raise _too_much()
        files[member.filename] = bytes(data)
    return files


def _too_much() -> InputRefused:
    said = f"the ZIP file holds more than {MOST_FILES:,} files or {MOST_UNPACKED // 1_000_000} MB"
    return LimitReached.because(said, remedy="keep in it only what the job needs, or take it in with: setwright record import")


def _rooted(files: dict[str, bytes]) -> JobFiles:
    heads = {path.partition("/")[0] for path in files}
    if len(heads) == 1 and not heads & {"", "job.toml"}:
        files = {path.partition("/")[2]: data for path, data in files.items()}
    check_files(files)
    jobs = [path.removesuffix("job.toml").rstrip("/") for path in files if path == "job.toml" or path.endswith("/job.toml")]
    if len(jobs) != 1:
        said = "the ZIP file has no job.toml in it" if not jobs else f"the ZIP file has {len(jobs)} jobs in it"
        raise InputRefused.because(said, remedy="pack one job's folder")
    return JobFiles(files, jobs[0])
