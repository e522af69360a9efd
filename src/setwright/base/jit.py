"""The only importer of numba: one way to compile a kernel, one place for its flags and its cache.

Kernels are compiled on first use and kept on disk, a folder for each room named by a hash
of that room's modules and of those below it: numba notices a change only in the file of the kernel itself, so a changed callee
elsewhere would leave old machine code in use. Rooms beside each other share no kernels. Kernels release the interpreter lock;
threads come from `base.threads`, never from the compiler, so that results do not depend on their number.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, Protocol, TypeVar, cast

import numba
from numba.extending import intrinsic


@contextmanager
def _not_looked_for(name: str) -> Iterator[None]:
    """A module that has not been imported yet counts as not there for this long (which is what None among the modules says): to
    import it would take half as long as the compiler itself."""
    if name in sys.modules:
        yield
        return
    sys.modules[name] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules[name]


with _not_looked_for("scipy.linalg"), _not_looked_for("cffi"):  # of neither is there anything in any kernel here
    import numba.core.typing.cffi_utils
    import numba.np.arraymath

__all__ = ["borrowed", "compiled_before", "kernel", "remember_compiled"]

_ROOT = Path(__file__).resolve().parent.parent
_BELOW = ("base", "geometry")
A = TypeVar("A")
F = TypeVar("F", bound=Callable[..., Any])


@cache
def _source_hash(room: str) -> str:
    """Hash of every module that a kernel of this room may come from."""
    sha = hashlib.sha256(numba.__version__.encode())
    for name in dict.fromkeys((*_BELOW, room)):
        for path in sorted((_ROOT / name).rglob("*.py")):
            sha.update(path.relative_to(_ROOT).as_posix().encode())
            sha.update(path.read_bytes())
    return sha.hexdigest()[:16]


@cache
def _cache_folder(room: str) -> Path:
    """A writable folder for compiled kernels: $SETWRIGHT_CACHE, the user's cache folder, or a private temporary one."""
    home = os.environ.get("SETWRIGHT_CACHE") or os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    candidates = [Path(home) / "setwright"] if home else []
    candidates += [Path("~").expanduser() / ".cache" / "setwright"]
    for candidate in candidates:
        folder = candidate / f"{room}-{_source_hash(room)}"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryFile(dir=folder):
                return folder
        except OSError:
            continue
    return Path(tempfile.mkdtemp(prefix="setwright-kernels-"))


def kernel(function: F) -> F:
    """Compile a kernel: strict IEEE arithmetic (no fastmath), numpy's division rules, lock released, cached on disk."""
    parts = function.__module__.split(".")
    vars(numba.config)["CACHE_DIR"] = str(_cache_folder(parts[1] if len(parts) > 1 else "base"))  # read when caching is switched on
    return cast(F, numba.njit(cache=True, nogil=True, fastmath=False, error_model="numpy")(function))


class _Borrowing(Protocol):
    def __call__(self, array: A) -> A: ...


@intrinsic
def _borrowed(_: Any, array: Any) -> Any:
    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        view = context.make_array(signature.args[0])(context, builder, arguments[0])
        view.meminfo, view.parent = view.meminfo.type(None), view.parent.type(None)
        return view._getvalue()

    return array(array), build


borrowed = cast(_Borrowing, _borrowed)
"""Inside a kernel: the same array without a share in its ownership, so that passing it on, or a row of it, counts nothing.

Counting owners is an atomic operation at every such step, and two threads that read the same array contend for it. Only for an
array that outlives its use: one given to the kernel by its Python caller, or one the kernel returns in the end."""


def compiled_before(*rooms: str) -> bool:
    """Whether the kernels of these rooms were compiled on this machine for this very source."""
    return all((_cache_folder(room) / "compiled").exists() for room in rooms)


def remember_compiled(*rooms: str) -> None:
    """Note that the kernels of these rooms are compiled, so that the next run need not announce it."""
    for room in rooms:
        (_cache_folder(room) / "compiled").touch()
