"""A PostgreSQL server of the tests' own, where its programs are installed: in a scratch folder, reached by a socket there."""

from __future__ import annotations

import contextlib
import glob
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

__all__ = ["programs", "running_server"]


def programs() -> Path | None:
    """The folder of the server's programs, if there is one."""
    beside = shutil.which("initdb")
    folders = [Path(beside).resolve().parent] if beside else []
    folders += [Path(path) for path in sorted(glob.glob("/usr/lib/postgresql/*/bin"), reverse=True)]
    return next((folder for folder in folders if (folder / "initdb").exists() and (folder / "pg_ctl").exists()), None)


@contextlib.contextmanager
def running_server(bin_folder: Path) -> Iterator[str]:
    """The address of a server that runs until the block ends. The server refuses to run as root, so that its own user then does."""
    user = "postgres" if os.geteuid() == 0 else None
    if user is not None:
        pwd.getpwnam(user)
    scratch = Path(tempfile.mkdtemp(prefix="setwright-pg-"))
    scratch.chmod(0o711)
    home = scratch / "server"
    home.mkdir()
    if user is not None:
        shutil.chown(home, user)
    name = user or pwd.getpwuid(os.geteuid()).pw_name
    data = str(home / "data")

    def run(program: str, *words: str) -> None:
        environment = {"PATH": os.environ["PATH"], "LC_ALL": "C"}
        command = [str(bin_folder / program), *words]
        subprocess.run(command, check=True, user=user, cwd=home, stdout=subprocess.DEVNULL, env=environment)

    try:
        run("initdb", "-D", data, "-A", "trust", "-U", name, "-E", "UTF8", "--no-sync")
        options = f"-k {home} -c listen_addresses='' -c fsync=off"
        run("pg_ctl", "-D", data, "-w", "-l", str(home / "log"), "-o", options, "start")
        try:
            yield f"postgresql://{name}@/postgres?host={home}"
        finally:
            run("pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
