"""Contents on disk under the name of their SHA-256: written whole or not at all, never changed, checked whenever they are read."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from setwright.record.refusals import Damaged, Unavailable

__all__ = ["Blobs", "plain_bytes", "sync_folder"]

_DIGEST: Final = 64
_INCOMING: Final = "incoming-"
_DAY_S: Final = 86_400.0
_NO_LINK: Final = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def sync_folder(folder: Path) -> None:
    """Make the names in a folder survive a power cut (where the system can)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def plain_bytes(path: Path) -> bytes:
    """The bytes of a plain file: what stands there instead, a link, a pipe, a device, is not read."""
    handle = os.open(path, os.O_RDONLY | _NO_LINK)
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise OSError(errno.EINVAL, "it is no plain file")
    with os.fdopen(handle, "rb") as file:
        return file.read()


@dataclass(frozen=True, slots=True)
class Blobs:
    """The folder of contents. Two writers of the same content do not disturb each other."""

    root: Path

    def put(self, *contents: bytes) -> list[str]:
        """Keep contents; returns the hex SHA-256 of each. When this returns, they survive a power cut. Raises Unavailable."""
        digests = [hashlib.sha256(data).hexdigest() for data in contents]
        try:
            for digest, data in zip(digests, contents, strict=True):
                if not self.path(digest).exists():
                    self._write(self.path(digest), data)
            sync_folder(self.root)
        except OSError as error:
            raise Unavailable.because("the record's folder cannot be written to", why=str(error.strerror or error),
                                      remedy="make room on its disk, or give leave to write there") from error  # fmt: skip
        return digests

    def get(self, digest: str) -> bytes:
        """The content of that name; raises Damaged when it is missing or is not what was written."""
        try:
            data = plain_bytes(self.path(digest))
        except OSError as error:
            raise Damaged.because(f"the stored file {digest[:12]}… cannot be read", why=str(error.strerror or error),
                                  remedy="restore the record from its last backup") from error  # fmt: skip
        if hashlib.sha256(data).hexdigest() != digest:
            raise Damaged.because(f"the stored file {digest[:12]}… is not what was written", why="its bytes have changed on disk",
                                  remedy="restore the record from its last backup, and have the disk checked")  # fmt: skip
        return data

    def path(self, digest: str) -> Path:
        """Where a content lies."""
        return self.root / digest

    def names(self) -> Iterator[str]:
        """The digests of everything that lies here, sorted."""
        return iter(sorted(path.name for path in self.root.iterdir() if len(path.name) == _DIGEST))

    def sweep(self) -> None:
        """Remove what a writer that was killed more than a day ago left half-written."""
        for path in self.root.glob(f"{_INCOMING}*"):
            if time.time() - path.stat().st_mtime > _DAY_S:
                path.unlink(missing_ok=True)

    def _write(self, target: Path, data: bytes) -> None:
        """Beside its place first, so that a content is there whole or not at all; a name of another length is a left-over."""
        handle, name = tempfile.mkstemp(dir=self.root, prefix=_INCOMING)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.replace(name, target)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
