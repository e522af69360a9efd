#!/usr/bin/env python3
"""One line from a fresh machine to a working Setwright; needs Python 3.11 or newer with pip, and the network the first time.

    python3 go.py demo             the bundled job from program to printed sheet
    python3 go.py test             the whole test suite (words after it go to pytest)
    python3 go.py VERB ...         any other verb of the setwright command, for example: python3 go.py prove my-job
    python3 go.py prepare          only make the environment, with everything the tests and the checks need

The environment is the folder .venv beside this file. It is made on the first call and again when the pinned releases in
requirements/ change. The folder you stand in stays the folder you work in.
"""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

OLDEST = (3, 11)

if sys.version_info < OLDEST:
    names = [name for name in ("python3.13", "python3.12", "python3.11", "python3.14") if shutil.which(name)]
    newer = [name for name in names if subprocess.call([name, "-c", ""], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) == 0]
    found = f"Start it with {newer[0]} instead." if newer else "Install a newer Python and start this line with it."
    sys.exit(f"Setwright needs Python {OLDEST[0]}.{OLDEST[1]} or newer, and this is Python {sys.version.split()[0]}. {found}")

ROOT = Path(__file__).resolve().parent
ENVIRONMENT = ROOT / ".venv"
SCRIPTS = ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin")
PYTHON = SCRIPTS / ("python.exe" if os.name == "nt" else "python")
LOCKS = {"run": ROOT / "requirements" / "run.lock", "dev": ROOT / "requirements" / "dev.lock"}
PREPARED = 'Everything is in place. See a whole job done: "python3 go.py demo". Run the tests: "python3 go.py test".'


class Stopped(Exception):
    """The sentence to end with when the work cannot go on."""


def main(words: list[str]) -> int:
    """Run one line; the status is that of what was run, 3 when the environment could not be made."""
    verb = words[0] if words else ""
    if verb in ("", "-h", "--help"):
        print(__doc__)
        return 0
    try:
        prepare("dev" if verb in ("test", "prepare") else "run")
    except Stopped as stop:
        say(f"\ngo.py: {stop}")
        return 3
    except KeyboardInterrupt:
        say("\ngo.py: stopped by you while making the environment; the same line goes on with it.")
        return 130
    if verb == "prepare":
        print(PREPARED)
        return 0
    if verb == "serve":
        make_pages()
    return test(words[1:]) if verb == "test" else setwright(words)


def prepare(level: str) -> None:
    """Make sure the environment holds the pinned releases of `level` ("run" or "dev") and the package itself."""
    want = stamp_of(level)
    if working() and any(read(stamp_file(held)) == stamp_of(held) for held in ("dev", level)):
        return
    say("Making ready in .venv; the first time this fetches some 300 MB and takes a minute or two ...")
    for held in LOCKS:
        stamp_file(held).unlink(missing_ok=True)
    if not working():
        make_environment()
    install("--require-hashes", "-r", str(LOCKS[level]))
    install("--no-deps", "--no-build-isolation", "-e", str(ROOT))
    stamp_file(level).write_text(want, encoding="utf-8")


def make_pages() -> None:
    """The pages of the browser, if they are not there or older than their sources; the server answers programs without them too."""
    builder = [str(PYTHON), str(ROOT / "hatch_build.py")]
    if subprocess.run([*builder, "--fit"], check=False).returncode == 0:
        return
    try:
        install("--require-hashes", "-r", str(ROOT / "requirements" / "pages.lock"))
    except Stopped as stop:
        say(f"go.py: the pages of the browser could not be made: {stop}")
        return
    subprocess.run(builder, check=False)


def stamp_of(level: str) -> str:
    """What an installation came from: lock, package description, place, Python."""
    parts = [read(LOCKS[level]), read(ROOT / "pyproject.toml"), str(ROOT), read(ENVIRONMENT / "pyvenv.cfg")]
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def stamp_file(level: str) -> Path:
    return ENVIRONMENT / f"setwright-{level}.stamp"


def read(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.is_file() else ""


def working() -> bool:
    """Whether the environment's Python starts and is new enough."""
    if not PYTHON.exists():
        return False
    question = f"import sys; sys.exit(sys.version_info < {OLDEST} or sys.prefix == sys.base_prefix)"
    return subprocess.run([str(PYTHON), "-c", question], check=False, capture_output=True).returncode == 0


def make_environment() -> None:
    """The environment with its own pip; without one where this Python cannot give it one: then its own pip serves both."""
    if ENVIRONMENT.is_symlink():
        ENVIRONMENT.unlink()
    shutil.rmtree(ENVIRONMENT, ignore_errors=True)
    said = ""
    for kind in ([], ["--without-pip"]):
        shutil.rmtree(ENVIRONMENT, ignore_errors=True)
        made = subprocess.run([sys.executable, "-m", "venv", *kind, str(ENVIRONMENT)], check=False, capture_output=True, text=True)
        if made.returncode == 0 and working():
            return
        said = (made.stdout + made.stderr).strip()
    raise Stopped(
        f"this Python ({sys.executable}) cannot make an environment of its own; on Debian and Ubuntu "
        f'"sudo apt install python3-venv python3-pip" gives it what is missing. It said: {said}'
    )


def install(*what: str) -> None:
    """pip into the environment: its own if it has one, else that of the Python that runs this file."""
    quiet = ["--quiet", "--disable-pip-version-check", "--no-input"]
    own = subprocess.run([str(PYTHON), "-m", "pip", "--version"], check=False, capture_output=True).returncode == 0
    pip = [str(PYTHON), "-m", "pip"] if own else [sys.executable, "-m", "pip", "--python", str(PYTHON)]
    if subprocess.run([*pip, "install", *quiet, *what], check=False, stdin=subprocess.DEVNULL).returncode != 0:
        raise Stopped(
            "the pinned releases could not be installed; pip's own words are above. Most often the network or a proxy is in the "
            "way: put that right and give the same line again."
        )


def test(words: list[str]) -> int:
    """The test suite on two processes; the closing sentence says what its result means."""
    status = call([str(PYTHON), "-m", "pytest", "-n", "2", "--dist", "loadgroup", *words], folder=ROOT)
    closing = {
        0: "All tests that ran passed; a test that had to be skipped is named above with its reason.",
        1: 'Some tests failed; each is named above with the line it failed at. One alone: "python3 go.py test PATH::NAME -n 0".',
        2: "The tests were interrupted or could not be collected; the reason is above.",
        5: "No test was selected; look at the words after 'test'.",
        130: "Stopped by you before the tests were through.",
    }
    print(f"\n{closing.get(status, f'pytest ended with status {status}; its words are above.')}", flush=True)
    return status


def setwright(words: list[str]) -> int:
    """One verb of the command; the closing sentence says what its exit status means."""
    status = call([str(SCRIPTS / "setwright"), *words], folder=Path.cwd())
    name = f'"setwright {words[0]}"'
    closing = {
        0: f"{name} is done and found nothing at DANGER; the lines above say where its results are.",
        1: f"{name} is done and found something at DANGER: read the findings above before anything moves.",
        2: f"{name} could not use its input; the lines above say where, why and what to write instead.",
        130: f"{name} was stopped by you; nothing half-written is left.",
    }
    say(f"\n{closing.get(status, f'{name} broke off with status {status}; its last words are above.')}")
    return status


def say(words: str) -> None:
    """To the person, not into a document that somebody may be writing to a file."""
    print(words, file=sys.stderr, flush=True)


def call(command: list[str], *, folder: Path) -> int:
    """Run a command in `folder` and give its status; Ctrl-C goes to it, and this waits for it to tidy up."""
    with subprocess.Popen(command, cwd=folder) as process:
        while True:
            try:
                return process.wait()
            except KeyboardInterrupt:
                continue


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
