"""Job folders that nobody wrote: `python -m tests.jobfolder.fuzz [COUNT [SEED]]`.

Takes the bundled jobs and a small one, changes values, keys, bytes, lines and whole files, and reads each as a job with the kit of
its setups; one in twenty is written to disk with a link, a pipe, a folder or a device in the place of a file, and gathered as the
record does it. Whatever ends other than in a job or in a refusal that says what is wrong is printed with its seed, as is what takes
more than 5 s of processor time or asks for 1 GiB. Leaves nothing behind. Some of the same run in the test suite.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import shutil
import sys
import tempfile
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from setwright.base.errors import InputRefused
from setwright.jobfolder.load import load_held, load_job
from setwright.kit.findings import kit_findings
from setwright.kit.station import kit
from setwright.record.folder import gather_folder
from tests.read.fuzz import rounds

__all__ = ["JOB", "MACHINE", "TOOL", "VISE", "bases", "made", "read_it"]

JOB = """\
format = 1
units = "mm"

[job]
title = "Test plate"

[[setup]]
name = "first side"
machine = "mill"
programs = ["plate.nc"]

[setup.blank]
box = [100, "2 in", 20]
corner = [0, 0, -20]

[setup.holding]
use = "vise"
parallels = 20

[setup.datum]
x = "left"
y = "front"
z = { face = "top", is = 0.0 }

[[setup.tool]]
station = 1
use = "em10"
stickout = 40
"""
MACHINE = """\
name = "Mill"
travel = { x = [-500, 0], y = [-400, 0], z = [-400, 0] }
table = { x = [-600, 100], y = [-450, 50], z = -550 }
spindle = { max_speed = "8000 rpm" }
"""
VISE = 'name = "vise"\nvise = { jaw_width = 150, jaw_height = 40, opening = 160, bed_height = 60, body_length = 300 }\n'
TOOL = 'name = "end mill 10"\nkind = "end mill"\ndiameter = 10\nflute_length = 22\nholder = [{ diameter = 30, length = 60 }]\n'

_DEMO = Path(__file__).resolve().parents[2] / "src" / "setwright" / "demo"
Files = dict[str, bytes]
_WORTHS: tuple[Any, ...] = (
    0, -1, 1, 1e308, -1e308, 1e-320, float("nan"), float("inf"), 2**63 - 1, "", " ", "1e400 mm", "1 furlong", "-0 mm", "NaN mm",
    "1/0 in", "1/3 in", "12,7 mm", "٣ mm", "9" * 400 + " mm", True, [], {}, [[]], [1], [1, 2], [1, 2, 3], [0, 0, 0], [-1, -1, -1],
    [float("nan")] * 3, [1e300] * 3, ["1 in"] * 3, {"x": 1}, {"face": "top"}, "top", "left", "../../etc/passwd", "/etc/passwd",
    "C:\\x", "a/../b", "\u202e", "\x7f", "x" * 5000, "shop", ".", "..", "job.toml", [["a"]] * 50, {"a": {"b": {"c": {}}}}, 10**30,
)  # fmt: skip
_LINES = (
    "[", "]]", "[[setup]]", "[setup]", "[setup.holding]", "a.b.c = 1", "= 1", 'x = """', "x = '''", "\x00", "\ufeff",
    "units = 'inch'", "format = 2", "shop_folder = '..'", "shop_folder = '/'", "shop_folder = 1", "x = 1979-05-27T07:32:00Z",
    "x = 0xFFFFFFFFFFFFFFFFFF",
    "[[guess]]", "[[contact]]", "[[tool_length]]", "[a" + ".a" * 2000 + "]", "x = " + "[" * 300 + "]" * 300,
    "x = " + "{a=" * 60 + "1" + "}" * 60, "# guess: x", "x = " + "9" * 5000, "lines = [1, 99999999]",
    "[setup.shifts]\nG55 = [1e9, 0, 0]",
)  # fmt: skip


def bases() -> list[Files]:
    """A small job four times over, for it is quickly read, and the bundled ones."""
    small = {"job.toml": JOB, "shop/machines/mill.toml": MACHINE, "shop/holding/vise.toml": VISE, "shop/tools/em10.toml": TOOL,
             "plate.nc": "%\nO1\nT1 M6\nG54 G0 X0 Y0\nM30\n%\n", "readings.toml": 'format = 1\nunits = "mm"\n'}  # fmt: skip
    demos = [gather_folder(_DEMO / name).files for name in ("bearing-cap", "pintle", "spacers")]
    return [*[{name: text.encode() for name, text in small.items()}] * 27, *(dict(files) for files in demos)]


def _places(value: Any, under: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [place for key, item in items for place in ((*under, key), *_places(item, (*under, key)))]


def _value(draw: random.Random, document: Any) -> None:
    """One value replaced, taken out, doubled, moved, or put under another key."""
    place = draw.choice(_places(document) or [()])
    if not place:
        return
    holder = document
    for key in place[:-1]:
        holder = holder[key]
    key, kind = place[-1], draw.randrange(6)
    if kind == 0:
        del holder[key]
    elif kind == 1 and isinstance(holder, list):
        holder.append(holder[key])
    elif kind == 2 and isinstance(holder, dict):
        holder[draw.choice(("x", "", "at", "from", "name", "use", "mesh", "é", "a.b", str(key) + "s"))] = holder[key]
    elif kind == 3:
        other = draw.choice(_places(document))
        for step in other[:-1]:
            document = document[step]
        holder[key] = document[other[-1]] if document is not holder else draw.choice(_WORTHS)
    elif kind == 4 and isinstance(holder[key], int | float):
        holder[key] = holder[key] * draw.choice((-1, 0, 1e-9, 1e9, 1e300, 25.4))
    else:
        holder[key] = draw.choice(_WORTHS)


def written(value: Any) -> str:
    """A value as TOML, with tables in one line."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(str(key))} = {written(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(written(item) for item in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return repr(value) if value == value and abs(value) != float("inf") else str(value)
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f") if isinstance(value, str) else str(value)


def _values(files: Files, draw: random.Random) -> None:
    name = draw.choice([one for one in files if one.endswith(".toml")])
    document = tomllib.loads(files[name].decode("utf-8", "replace"))
    for _ in range(draw.randint(1, 4)):
        _value(draw, document)
    files[name] = "\n".join(f"{json.dumps(str(key))} = {written(item)}" for key, item in document.items()).encode()


def _lines(files: Files, draw: random.Random) -> None:
    name = draw.choice(list(files))
    lines = files[name].split(b"\n")
    at, kind = draw.randrange(len(lines)), draw.randrange(5)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(draw.randrange(len(lines)), lines[at])
    elif kind == 2:
        other = draw.randrange(len(lines))
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines.insert(at, draw.choice(_LINES).encode())
    files[name] = b"\n".join(lines)


def _bytes(files: Files, draw: random.Random) -> None:
    name = draw.choice(list(files))
    data = bytearray(files[name])
    for _ in range(draw.randint(1, 8)):
        at = draw.randrange(len(data) + 1)
        odd = (b"\x00", b"\xff", b"\xc3", b"{", b'"', b"\n", b"=", b"9", b"-", b"", b"[", b".")
        data[at : at + draw.randrange(3)] = draw.choice(odd)
    files[name] = bytes(data)


def _whole(files: Files, draw: random.Random) -> None:
    """Files lost, emptied, exchanged, renamed or filled with what they are not."""
    name, other, kind = draw.choice(list(files)), draw.choice(list(files)), draw.randrange(6)
    if kind == 0:
        del files[name]
    elif kind == 1:
        files[name] = b""
    elif kind == 2:
        files[name], files[other] = files[other], files[name]
    elif kind == 3:
        names = ("machine.toml", "tools.toml", "registers.toml", "shop/tools/x.toml", "JOB.TOML", "a/b/c", "checks.toml")
        files[draw.choice(names)] = files[name]
    elif kind == 4:
        files[name] = draw.randbytes(draw.randrange(400))
    else:
        files[name] = files[name][: draw.randrange(len(files[name]) + 1)]


_HABITS: tuple[Callable[[Files, random.Random], None], ...] = (_values, _values, _values, _lines, _bytes, _whole)


def made(number: int, held: list[Files]) -> Files:
    """The files of folder `number`."""
    draw = random.Random(number)
    files = dict(draw.choice(held))
    for _ in range(draw.choice((1, 1, 1, 2, 3))):
        if any(name.endswith(".toml") for name in files):
            try:
                draw.choice(_HABITS)(files, draw)
            except (ValueError, RecursionError):  # a second change of a text that is TOML no more
                continue
    return files


def read_it(number: int, files: Mapping[str, bytes]) -> bool:
    """Read it in memory, and now and then on disk with something odd in it; whether the files in memory are a job."""
    if number % 20 == 0:
        _on_disk(random.Random(-number), files)
    return _outcome(lambda: load_held(files, name="fuzz"))


def _outcome(load: Callable[[], Any]) -> bool:
    refused: InputRefused | None = None
    try:
        folder = load()
        json.dumps(folder.job.model_dump(mode="json", by_alias=True), allow_nan=False)
        for setup in folder.job.setup:
            json.dumps([finding.as_plain() for finding in kit_findings(kit(folder, setup))])
    except InputRefused as refusal:
        refused = refusal
    assert refused is None or all(problem.what and str(problem) for problem in refused.problems)
    return refused is None


def _on_disk(draw: random.Random, files: Mapping[str, bytes]) -> None:
    root = Path(tempfile.mkdtemp(prefix="setwright-fuzz-"))
    try:
        for name, data in files.items():
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(data)
        odd = root / draw.choice([*files, "readings.toml", "shop/tools/odd.toml", "machine.toml"])
        odd.parent.mkdir(parents=True, exist_ok=True)
        odd.unlink(missing_ok=True)
        draw.choice((os.mkfifo, os.mkdir, lambda p: os.symlink("/dev/zero", p), lambda p: os.symlink("/etc/passwd", p),
                     lambda p: os.symlink(p, p), lambda p: os.symlink("nowhere", p),
                     lambda p: p.write_bytes(b"\xfe\xff")))(odd)  # fmt: skip
        _outcome(lambda: load_job(root))
        with contextlib.suppress(InputRefused):
            gather_folder(root)
    finally:
        shutil.rmtree(root)


def main() -> int:
    """Run and print what fell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    held = bases()
    read_it(0, held[-1])
    return 1 if rounds(lambda number: read_it(number, made(number, held)), count, seed, "job folders") else 0


if __name__ == "__main__":
    sys.exit(main())
