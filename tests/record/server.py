"""A PostgreSQL server of the tests' own, where its programs are installed: in a scratch folder, reached by a socket there."""

from __future__ import annotations

import contextlib
import glob
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

__all__ = ["OwnServer", "programs", "running_server"]


def programs() -> Path | None:
    """The folder of the server's programs, if there is one."""
    beside = shutil.which("initdb")
    folders = [Path(beside).resolve().parent] if beside else []
    folders += [Path(path) for path in sorted(glob.glob("/usr/lib/postgresql/*/bin"), reverse=True)]
    return next((folder for folder in folders if (folder / "initdb").exists() and (folder / "pg_ctl").exists()), None)


class OwnServer:
    """A server in a scratch folder that can be killed with everything it runs, as a power cut would, and started again on what it
    left behind. It refuses to run as root, so that its own user then does. `durable`: what it acknowledges is on the disk."""

    def __init__(self, bin_folder: Path, *, durable: bool = True) -> None:
        self._bin, self._durable = bin_folder, durable
        self._scratch = Path(tempfile.mkdtemp(prefix="setwright-pg-"))
        self._home = self._scratch / "server"
        self._user = "postgres" if os.geteuid() == 0 else None
        self._process: subprocess.Popen[bytes] | None = None
        name = self._user or pwd.getpwuid(os.geteuid()).pw_name
        self.address = f"postgresql://{name}@/postgres?host={self._home}"
        self._scratch.chmod(0o711)
        self._home.mkdir()
        if self._user is not None:
            shutil.chown(self._home, self._user)
        self._run("initdb", "-D", str(self._home / "data"), "-A", "trust", "-U", name, "-E", "UTF8", "--no-sync")

    def start(self) -> None:
        """Start it, and wait until it has set right what it finds and takes connections."""
        command = [str(self._bin / "postgres"), "-D", str(self._home / "data"), "-k", str(self._home), "-c", "listen_addresses=",
                   "-c", f"fsync={'on' if self._durable else 'off'}"]  # fmt: skip
        with (self._home / "log").open("ab") as log:
            self._process = subprocess.Popen(command, user=self._user, cwd=self._home, stdout=log, stderr=log,
                                             env=self._environment())  # fmt: skip
        ends = time.monotonic() + 60.0
        while time.monotonic() < ends and self._process.poll() is None:
            ready = [str(self._bin / "pg_isready"), "-q", "-h", str(self._home)]
            asked = subprocess.run(ready, check=False, env=self._environment())
            if asked.returncode == 0:
                return
            time.sleep(0.02)
        raise AssertionError((self._home / "log").read_text(encoding="utf-8")[-2000:])

    def kill(self) -> None:
        """The server and every process it runs, all at once and without warning."""
        if self._process is None:
            return
        mine = self._process.pid
        theirs = [int(one) for one in Path(f"/proc/{mine}/task/{mine}/children").read_text(encoding="ascii").split()]
        for process in (mine, *theirs):
            with contextlib.suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        self._process.wait(timeout=60)
        ends = time.monotonic() + 60.0
        while any(Path(f"/proc/{process}").exists() for process in theirs) and time.monotonic() < ends:
            time.sleep(0.005)
        self._process = None

    def __enter__(self) -> OwnServer:
        self.start()
        return self

    def __exit__(self, *error: object) -> None:
        self.kill()
        shutil.rmtree(self._scratch, ignore_errors=True)

    def _run(self, program: str, *words: str) -> None:
        command = [str(self._bin / program), *words]
        subprocess.run(command, check=True, user=self._user, cwd=self._home, stdout=subprocess.DEVNULL, env=self._environment())

    def _environment(self) -> dict[str, str]:
        return {"PATH": os.environ["PATH"], "LC_ALL": "C"}


@contextlib.contextmanager
def running_server(bin_folder: Path) -> Iterator[str]:
    """The address of a server that runs until the block ends."""
    with OwnServer(bin_folder, durable=False) as server:
        yield server.address
