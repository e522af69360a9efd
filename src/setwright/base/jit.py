"""The only importer of numba: one way to compile a kernel, one place for its flags and its cache.

Kernels are plain functions of scalars and arrays. They are compiled on first use and kept on disk in a folder whose name is a
hash of every module that may hold a kernel: numba notices a change only in the file of the kernel itself, so a changed
callee elsewhere would leave old machine code in use. Kernels release the interpreter lock; threads come from
`base.threads`, never from the compiler, so that results do not depend on their number.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

__all__ = ["compiled_before", "kernel", "remember_compiled"]

_ROOT = Path(__file__).resolve().parent.parent
_KERNEL_ROOMS = ("base", "geometry", "program", "motion", "removal", "clearance", "load", "estimate")
F = TypeVar("F", bound=Callable[..., Any])


def _source_hash() -> str:
    sha = hashlib.sha256()
    for room in _KERNEL_ROOMS:
        for path in sorted((_ROOT / room).rglob("*.py")):
            sha.update(path.relative_to(_ROOT).as_posix().encode())
            sha.update(path.read_bytes())
    return sha.hexdigest()[:16]


def _cache_folder() -> Path:
    """A writable folder for compiled kernels: $SETWRIGHT_CACHE, the user's cache folder, or a private temporary one."""
    home = os.environ.get("SETWRIGHT_CACHE") or os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    candidates = [Path(home) / "setwright"] if home else []
    candidates += [Path("~").expanduser() / ".cache" / "setwright"]
    for candidate in candidates:
        folder = candidate / f"kernels-{_source_hash()}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                return folder
        except OSError:
            continue
    return Path(tempfile.mkdtemp(prefix="setwright-kernels-"))


_CACHE = _cache_folder()
os.environ["NUMBA_CACHE_DIR"] = str(_CACHE)

import numba  # noqa: E402  (the cache folder must be named before the import)


def kernel(function: F) -> F:
    """Compile a kernel: strict IEEE arithmetic (no fastmath), numpy's division rules, lock released, cached on disk."""
    return cast(F, numba.njit(cache=True, nogil=True, fastmath=False, error_model="numpy")(function))


def compiled_before(what: str) -> bool:
    """Whether the kernels behind `what` (a command's name) were compiled on this machine for this very source."""
    return (_CACHE / f"{what}-numba-{numba.__version__}.done").exists()


def remember_compiled(what: str) -> None:
    """Note that the kernels behind `what` are compiled, so that the next run need not announce it."""
    (_CACHE / f"{what}-numba-{numba.__version__}.done").touch()
