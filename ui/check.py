"""Holds the pages' sources against their types and their tests: python ui/check.py"""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Final

__all__ = ["main"]

HERE: Final = Path(__file__).resolve().parent
LOCK: Final = HERE / "package-lock.json"
STEPS: Final = (("node_modules/typescript/bin/tsc", "--noEmit"), ("node_modules/vitest/vitest.mjs", "run"))


def main() -> int:
    """Run each step; the status is 1 if one did not hold."""
    build = _build()
    try:
        node = build.node_command()
        build.fetch(node)
    except build.PagesNotBuilt as stop:
        print(f"setwright: the pages cannot be checked: {stop}", file=sys.stderr)
        return 1
    asked = [name for name, one in json.loads(LOCK.read_text(encoding="utf-8"))["packages"].items() if "funding" in one]
    if asked:
        print(f"setwright: {LOCK.name} asks for money in {', '.join(asked)}: take its funding entries out", file=sys.stderr)
        return 1
    held = [subprocess.run([*node, *step], cwd=HERE, check=False).returncode == 0 for step in STEPS]
    return 0 if all(held) else 1


def _build() -> ModuleType:
    """The build of the pages, which lies in the folder above."""
    spec = importlib.util.spec_from_file_location("hatch_build", HERE.parent / "hatch_build.py")
    if spec is None or spec.loader is None:
        raise FileNotFoundError(HERE.parent / "hatch_build.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if __name__ == "__main__":
    sys.exit(main())
