"""The metal at any moment of a proof, for the bench: what a proof keeps on the way lies in a folder beside the record, and one
process of its own reads it and draws surfaces from it.

The folder is no part of the record: it takes a bounded room, the oldest goes first, and proving again makes it anew.
"""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import pickle
import signal
import tempfile
import threading
import traceback
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused, SetwrightError
from setwright.record.refusals import NotThere
from setwright.web.columns import course_columns, surface_columns, track_columns

if TYPE_CHECKING:
    from setwright.prove.bench import Shown
    from setwright.prove.station import Proof
    from setwright.removal.surface import Surface

__all__ = ["FOLDER", "Bench", "Moment", "bench_file", "keep_for_bench", "serve_bench"]

FOLDER: Final = "bench"
_ROOM: Final = 4_000_000_000
_HELD: Final = 2
_SURFACES: Final = 2
_READY_TRIANGLES: Final = 30_000
_PATIENCE_S: Final = 120.0
_log = logging.getLogger("setwright.web")


def bench_file(folder: Path, inputs: str, setup: str, kind: str) -> Path:
    """Where something of a proof lies; `inputs`: the digest of what the proof was made from; `kind` "run", "strip" or "track"."""
    return folder / f"{inputs}-{digest_document({'setup': setup})[:16]}.{kind}"


def keep_for_bench(folder: Path, inputs: str, proofs: Iterable[Proof]) -> None:
    """Write down what the bench shows of these proofs, and let the oldest go where there is too much."""
    from setwright.prove.bench import course_of, track_of

    folder.mkdir(parents=True, exist_ok=True)
    for proof in proofs:
        if proof.shown is None:
            continue
        setup = proof.kit.setup.name
        made = {"strip": course_columns(course_of(proof, proof.shown), setup), "track": track_columns(track_of(proof), setup),
                "run": pickle.dumps(proof.shown, protocol=5)}  # fmt: skip
        for kind, data in made.items():
            _write(bench_file(folder, inputs, setup, kind), data)
    _make_room(folder)


def _write(path: Path, data: bytes) -> None:
    """All of it or nothing."""
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".", delete=False) as scratch:
        scratch.write(data)
    os.replace(scratch.name, path)


def _make_room(folder: Path) -> None:
    found = []
    for path in folder.iterdir():
        with contextlib.suppress(FileNotFoundError):  # another worker was faster
            stat = path.stat()
            found.append((stat.st_mtime, stat.st_size, path))
    held = sum(size for _, size, _ in found)
    for _, size, path in sorted(found):
        if held <= _ROOM:
            return
        path.unlink(missing_ok=True)
        held -= size


@dataclass(frozen=True, slots=True)
class Moment:
    """The metal asked for: of the kept run in `path`, once motion `row` has run (-1: none, None: all), as a surface of about
    `triangles` triangles (None: of all there are)."""

    path: Path
    setup: str
    row: int | None = None
    triangles: int | None = None


def serve_bench(pipe: Connection) -> None:
    """The process: answers each moment with ("made", columns), ("gone",) or ("broken", text) until the pipe ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    drawn = _Drawn()
    while True:
        try:
            asked: Moment = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            pipe.send(("made", drawn.columns(asked)))
        except FileNotFoundError:
            pipe.send(("gone",))
        except Exception:  # noqa: BLE001  (whatever it is, the other side must hear of it)
            pipe.send(("broken", traceback.format_exc()))


class _Drawn:
    """What the process holds: the runs looked at last, and the surfaces drawn last, which are asked for coarse and then in full."""

    def __init__(self) -> None:
        self._runs: OrderedDict[Path, Shown] = OrderedDict()
        self._surfaces: OrderedDict[tuple[Path, int], Surface] = OrderedDict()

    def columns(self, asked: Moment) -> bytes:
        """The answer to a moment. Raises FileNotFoundError where the run is not kept any more."""
        from setwright.removal.coarse import Coarse, coarsened

        shown = self._run(asked.path)
        last = len(shown.removed) - 1
        row = last if asked.row is None else min(asked.row, last)
        surface = self._surface(shown, (asked.path, row))
        whole = len(surface.triangles)
        coarse = Coarse(surface, 0.0) if asked.triangles is None else coarsened(surface, triangles=asked.triangles)
        return surface_columns(coarse.surface, asked.setup, row=row, bound_mm=coarse.bound_mm, whole=whole)

    def _run(self, path: Path) -> Shown:
        os.utime(path)  # the one used last goes last
        if path not in self._runs:
            while len(self._runs) >= _HELD:
                self._runs.popitem(last=False)
            self._runs[path] = pickle.loads(path.read_bytes())  # this server's own file, written by its worker
        self._runs.move_to_end(path)
        return self._runs[path]

    def _surface(self, shown: Shown, at: tuple[Path, int]) -> Surface:
        if at not in self._surfaces:
            while len(self._surfaces) >= _SURFACES:
                self._surfaces.popitem(last=False)
            self._surfaces[at] = shown.surface_after(at[1])
        self._surfaces.move_to_end(at)
        return self._surfaces[at]


class Bench:
    """Asks the process, one moment after the other; starts it when it is first needed, and anew when it was lost."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._process: tuple[Any, Connection] | None = None
        self._closed = False

    def columns(self, inputs: str, setup: str, kind: str) -> bytes:
        """The strip or the track of a proof. Raises NotThere where it is not kept any more."""
        try:
            return bench_file(self.folder, inputs, setup, kind).read_bytes()
        except FileNotFoundError as error:
            raise _gone() from error

    def moment(self, inputs: str, setup: str, *, row: int | None, triangles: int | None) -> bytes:
        """The metal at a moment. Raises NotThere where the proof is not kept any more."""
        return self._ask(Moment(bench_file(self.folder, inputs, setup, "run"), setup, row, triangles))

    def prepare(self, inputs: str, setup: str) -> None:
        """Have the process ready for a proof that somebody will look at soon: its run, its code, and its end, shown first."""

        def look() -> None:
            with contextlib.suppress(SetwrightError):
                self.moment(inputs, setup, row=1, triangles=_READY_TRIANGLES)
                self.moment(inputs, setup, row=None, triangles=_READY_TRIANGLES)

        threading.Thread(target=look, name="bench", daemon=True).start()

    def close(self) -> None:
        """End the process."""
        self._closed = True
        with self._lock:
            self._end()

    def _ask(self, asked: Moment) -> bytes:
        if not asked.path.exists():
            raise _gone()
        with self._lock:
            for _ in range(2):  # a second time if the process was lost in between
                if self._closed:
                    raise SetwrightError("the server is being stopped")
                pipe = self._pipe()
                try:
                    pipe.send(asked)
                    if pipe.poll(_PATIENCE_S):
                        return _read(pipe.recv())
                except (EOFError, OSError):
                    _log.warning("the bench's process ended in the middle of its work")
                self._end()
        raise SetwrightError("the metal at that moment could not be drawn")

    def _pipe(self) -> Connection:
        if self._process is None or not self._process[0].is_alive():
            self._end()
            context = multiprocessing.get_context("spawn")
            own, other = context.Pipe()
            process = context.Process(target=serve_bench, args=(other,), daemon=True, name="setwright-bench")
            process.start()
            other.close()
            self._process = process, own
        return self._process[1]

    def _end(self) -> None:
        if self._process is not None:
            process, pipe = self._process
            pipe.close()
            process.kill()
            process.join()
            self._process = None


def _read(message: tuple[Any, ...]) -> bytes:
    if message[0] == "made":
        data: bytes = message[1]
        return data
    if message[0] == "gone":
        raise _gone()
    _log.error("the bench met something it did not foresee:\n%s", message[1])
    raise SetwrightError("the metal at that moment could not be drawn")


def _gone() -> InputRefused:
    return NotThere.because("the metal on the way of this proof is not kept any more", why="only that of the last proofs is",
                            remedy="prove the job again")  # fmt: skip
