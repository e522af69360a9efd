"""The one door through which a job's files are read: by names that lead nowhere else, and never more than a stated size.

A name is relative to the job's folder and written with "/". It may point at a regular file in that folder, or in the shop folder
that job.toml declares; at nothing else: no link, no device, no folder above. Files that are held in memory (those of a revision)
are read by the same names, and only they exist.
"""

from __future__ import annotations

import difflib
import os
import posixpath
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Final, Protocol

from setwright.base.errors import InputRefused
from setwright.base.span import Span

__all__ = ["DiskFiles", "Files", "HeldFiles", "read_regular"]

_NO_LINK: Final = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
"""A link at the end of a name is not followed, and opening a pipe that nobody writes to does not wait."""

_FOLDER: Final = getattr(os, "O_DIRECTORY", 0) | getattr(os, "O_NOFOLLOW", 0)
_BY_HANDLE: Final = os.open in os.supports_dir_fd and os.listdir in os.supports_fd
"""Whether this system opens a name as seen from a folder that is open; elsewhere names are judged and then opened."""

_PIECE: Final = 1 << 20


class Files(Protocol):
    """A job's files by their names."""

    def declare_shop(self, name: str) -> None:
        """Let names lead into this folder too; raises InputRefused where it cannot be one."""

    def exists(self, name: str) -> bool:
        """Whether a file of that name is there and may be read."""

    def read(self, name: str, *, largest: int) -> bytes:
        """The bytes of a file. Raises InputRefused: not there, not a plain file, outside, larger than `largest`."""

    def listed(self, folder: str, *, ending: str) -> list[str]:
        """The names of the files directly in a folder that end so, sorted; none where there is no such folder."""


class HeldFiles:
    """Files in memory by path; `home` is the job's folder among them."""

    def __init__(self, files: Mapping[str, bytes], home: str = "") -> None:
        self._files = files
        self._home = home
        self._shop: str | None = None

    def declare_shop(self, name: str) -> None:
        """The shop's folder may be anywhere among the files."""
        self._shop = name
        try:
            self._path(name)
        except InputRefused as refusal:
            remedy = "take the shop folder in with the job, and write shop_folder as seen from the job's folder"
            said = f'shop_folder = "{name}" leads out of what is kept of this job'
            raise InputRefused.because(said, why="a job is its own files", remedy=remedy, span=Span("job.toml")) from refusal

    def exists(self, name: str) -> bool:
        """Whether it is one of the files."""
        return self._path(name) in self._files

    def read(self, name: str, *, largest: int) -> bytes:
        """The bytes of one of the files."""
        path = self._path(name)
        data = self._files.get(path)
        if data is None:
            beside = [posixpath.basename(one) for one in self._files if posixpath.dirname(one) == posixpath.dirname(path)]
            raise _not_there(name, beside)
        if len(data) > largest:
            raise _too_large(name, largest)
        return data

    def listed(self, folder: str, *, ending: str) -> list[str]:
        """The files directly in a folder."""
        here = self._path(folder)
        names = [posixpath.basename(path) for path in self._files if posixpath.dirname(path) == here]
        return _fit(folder, names, ending)

    def _path(self, name: str) -> str:
        inside = _within(self._shop, name)
        path = posixpath.normpath(posixpath.join(self._home, name if inside is not None else _plain(name)))
        if path.startswith(("/", "..")):
            raise _outside(name)
        return "" if path == "." else path


class DiskFiles:
    """Files below a folder on disk, and below the shop folder once that is declared."""

    def __init__(self, root: Path) -> None:
        self._root = root.resolve()
        self._shop: str | None = None

    def declare_shop(self, name: str) -> None:
        """The shop's folder may lie anywhere: whoever starts a command on this computer may read it anyway."""
        self._shop = name
        self._path(name)

    def exists(self, name: str) -> bool:
        """Whether something of that name is there; what it is, is judged when it is read."""
        return os.path.lexists(self._path(name))

    def read(self, name: str, *, largest: int) -> bytes:
        """The bytes of a regular file."""
        root, path = self._place(name)
        return read_regular(path, shown=name, largest=largest, within=root)

    def listed(self, folder: str, *, ending: str) -> list[str]:
        """The files directly in a folder."""
        try:
            root, inside = self._place(f"{folder}/any")
            names = _names(root, inside.parent)
        except (FileNotFoundError, NotADirectoryError):
            return []
        except OSError as error:
            raise _unreadable(folder, error) from error
        return _fit(folder, names, ending)

    def _path(self, name: str) -> Path:
        return self._place(name)[1]

    def _place(self, name: str) -> tuple[Path, Path]:
        """The folder a file must lie below, and its path. Links on the way are resolved and judged; its own name is not."""
        inside = None if self._shop is None else _within(self._shop, name)
        if "\0" in name:
            raise _outside(name)
        root = self._root if inside is None else (self._root / (self._shop or "")).resolve()
        stated = root / (_plain(name) if inside is None else inside)
        try:
            path = stated.parent.resolve() / stated.name if stated != root else root
        except OSError as error:  # it changes while it is looked at
            raise _unreadable(name, error) from error
        if path != root and not path.is_relative_to(root):
            raise _outside(name)
        return root, path


def read_regular(path: Path, *, shown: str, largest: int, within: Path | None = None) -> bytes:
    """At most `largest` bytes of a regular file, whatever its size says of itself.

    `within`: a folder above it, both free of links; then a folder on the way that becomes a link meanwhile is not gone into.
    Raises InputRefused: missing, a folder, a link, a pipe or device, unreadable, larger.
    """
    try:
        handle = _opened(path, within)
    except FileNotFoundError as error:
        raise _not_there(shown, _beside(path, within)) from error
    except OSError as error:
        raise (_no_plain_file(shown, "a link") if path.is_symlink() else _unreadable(shown, error)) from error
    try:
        _refuse_odd(os.fstat(handle).st_mode, shown)
    except InputRefused:
        os.close(handle)
        raise
    try:
        with os.fdopen(handle, "rb") as file:
            return _bounded(file, shown, largest)
    except OSError as error:
        raise _unreadable(shown, error) from error


def _opened(path: Path, within: Path | None) -> int:
    if within is None or not _BY_HANDLE:
        return os.open(path, os.O_RDONLY | _NO_LINK)
    folder = _folder(path.parent, within)
    try:
        return os.open(path.name, os.O_RDONLY | _NO_LINK, dir_fd=folder)
    finally:
        os.close(folder)


def _folder(path: Path, within: Path) -> int:
    """A handle on a folder, gone to name by name: what was judged is what is opened, whatever is put in its place meanwhile."""
    here = os.open(within, os.O_RDONLY | _FOLDER)
    for part in path.relative_to(within).parts:
        try:
            inner = os.open(part, os.O_RDONLY | _FOLDER, dir_fd=here)
        finally:
            os.close(here)
        here = inner
    return here


def _beside(path: Path, within: Path | None) -> list[str]:
    """What stands where a file was looked for; only to guess what was meant, so that a folder that is gone has nothing."""
    try:
        return _names(path.parent if within is None else within, path.parent)
    except OSError:
        return []


def _names(within: Path, path: Path) -> list[str]:
    if not _BY_HANDLE:
        return os.listdir(path)
    folder = _folder(path, within)
    try:
        return os.listdir(folder)
    finally:
        os.close(folder)


def _refuse_odd(mode: int, shown: str) -> None:
    if stat.S_ISDIR(mode):
        raise InputRefused.because("this is a folder, not a file", remedy="name the file itself", span=Span(shown))
    if not stat.S_ISREG(mode):
        raise _no_plain_file(shown, "a pipe or a device")


def _bounded(file: BinaryIO, shown: str, largest: int) -> bytes:
    """Piece by piece: a file may grow while it is read, or never end, whatever it says its size is."""
    data = bytearray()
    while piece := file.read(_PIECE):
        data += piece
        if len(data) > largest:
            raise _too_large(shown, largest)
    return bytes(data)


def _plain(name: str) -> str:
    """A name as it may be written in a job; refuses what could lead elsewhere on any system."""
    path = PurePosixPath(name)
    upwards = ".." in path.parts or name.startswith(("/", "~"))
    if not path.parts or upwards or "\0" in name or "\\" in name or ":" in path.parts[0]:
        raise _outside(name)
    return name


def _within(shop: str | None, name: str) -> str | None:
    """What of a name stands behind the declared shop folder; None if it does not begin with it."""
    if shop is None or (name != shop and not name.startswith(f"{shop}/")):
        return None
    rest = name[len(shop) + 1 :]
    return _plain(rest) if rest else ""


def _fit(folder: str, names: Iterable[str], ending: str) -> list[str]:
    return [f"{folder}/{name}" for name in sorted(names) if name.endswith(ending) and not name.startswith(".")]


def _outside(name: str) -> InputRefused:
    shown = name.encode("unicode_escape").decode("ascii") if not name.isprintable() else name
    said = f'"{shown}" leads out of the job\'s folder'
    remedy = "put the file into the job's folder and name it from there; only shop_folder may lie elsewhere"
    return InputRefused.because(said, why="a job is its own files", remedy=remedy, span=Span("job.toml"))


def _not_there(shown: str, beside: list[str]) -> InputRefused:
    near = difflib.get_close_matches(posixpath.basename(shown), beside, n=1)
    hint = f'; did you mean "{near[0]}"?' if near else ""
    return InputRefused.because("there is no such file", remedy=f"check the name and the folder{hint}", span=Span(shown))


def _no_plain_file(shown: str, kind: str) -> InputRefused:
    return InputRefused.because(f"this is {kind}, not a file", remedy="put the file itself there", span=Span(shown))


def _unreadable(shown: str, error: OSError) -> InputRefused:
    return InputRefused.because(f"the file cannot be read ({error.strerror})", remedy="check its permissions", span=Span(shown))


def _too_large(shown: str, largest: int) -> InputRefused:
    return InputRefused.because(f"the file is larger than {largest:,} bytes", why="more is not read", span=Span(shown))
