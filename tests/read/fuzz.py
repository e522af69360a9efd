"""Texts that no control wrote, read as `setwright read` reads a bare program: `python -m tests.read.fuzz [COUNT [SEED]]`.

Beside the damage of `tests.program.fuzz`: numbers that are none, texts woven from two programs, blocks made of any words, loops and
calls without end, brackets without end, other alphabets, other encodings and line ends, and long texts. Whatever leaves the reader
other than as an answer or as a refusal is printed with its seed, as is a text that takes more than 5 s of processor time or asks
for 1 GiB. Writes nothing. A few of each kind run in the test suite.
"""

from __future__ import annotations

import os
import random
import resource
import signal
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

from setwright.base.errors import InputRefused
from setwright.model.answer import document, refusal_findings
from setwright.read.station import read_alone
from tests.program.fuzz import SEEDS, damage

__all__ = ["KINDS", "made", "read_it", "rounds", "texts"]

_SLOW_S = 5.0
_LARGEST = 1 << 30
_NUMBERS = (
    "", ".", "-", "+.", "--1", "1..2", "1-2", "1e9", "-0", "0.0000000000001", "99999999999999999999", "-2147483649", "4294967296",
    "9" * 400, "0." + "0" * 400 + "1", "1" * 5000, "٣", "１２", "½", "∞", "nan", "inf", "0x10", "1,5", "1 000", "[1/0]", "[0/0]",
    "[SQRT[-1]]", "[ATAN[0]/[0]]", "#", "#0", "#-1", "#[#]", "#99999", "#[1/0]", "#5221", "#3000", "[10 MOD 0]", "[2**9999]",
)  # fmt: skip
_ENDLESS = (
    "M99", "M99 P10", "GOTO10", "WHILE[1EQ1]DO1\nEND1", "WHILE[#1LT1000000]DO1\n#1=#1+1\nEND1", "M98 P1 L9999", "M98 P1",
    "G65 P1 L9999", "M97 P10 L99999", "IF[1EQ1]GOTO10", "#1=#1+1\nIF[#1LT99999999]GOTO10", "G66 P1\nX1\nX2", "G81 Z-1 R1 L99999",
    "WHILE[1EQ1]DO1\nWHILE[1EQ1]DO2\nWHILE[1EQ1]DO3\nEND3\nEND2\nEND1", "G83 Z-9999 Q0.001 R1 F1", "G91 G73 Z-9 R1 Q0 K9999",
    "G13 I0.001 K9999 Q0.001 D1 Z-1", "G2 X0 Y0 I99999 P9999", "G51 P99999\nX99999", "O1\nM98 P1\nM99",
)  # fmt: skip
_ALPHABETS = ("äöüßéñ", "ЖЫГ", "加工刀具", "١٢٣", "\u202e\u200b\ufeff", "\x00\x01\x1a", "\u2028\x85\x0b\x0c", "😀", "\ud7ff")
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def _numbers(text: str, _other: str, draw: random.Random) -> str:
    words = text.split(" ")
    for _ in range(draw.randint(1, 4)):
        at = draw.randrange(len(words))
        words[at] = (words[at][:1] or draw.choice(_LETTERS)) + draw.choice(_NUMBERS)
    return " ".join(words)


def _woven(text: str, other: str, draw: random.Random) -> str:
    a, b = text.split("\n"), other.split("\n")
    return "\n".join(line for pair in zip(a, b, strict=False) for line in pair if draw.random() < 0.8)


def _any_words(text: str, _other: str, draw: random.Random) -> str:
    def word() -> str:
        value = draw.choice([str(draw.randrange(200)), f"{draw.uniform(-99, 99):.3f}", draw.choice(_NUMBERS[:22])])
        return draw.choice(_LETTERS + "GGGGMMXYZ#/,") + value

    lines = [" ".join(word() for _ in range(draw.randint(1, 7))) for _ in range(draw.randint(1, 25))]
    return "\n".join((text.split("\n")[0], *lines))


def _endless(text: str, _other: str, draw: random.Random) -> str:
    lines = text.split("\n")
    lines.insert(0, "O1\nN10")
    lines.insert(draw.randrange(1, len(lines) + 1), draw.choice(_ENDLESS))
    return "\n".join(lines)


def _deep(text: str, _other: str, draw: random.Random) -> str:
    depth = draw.choice((3, 40, 500, 3000, 20_000))
    pairs = (("[", "]"), ("#", ""), ("SIN[", "]"), ("#[", "]"), ("(", ")"), ("-", ""), ("1+[", "]"), ("/", ""))
    opened, closed = draw.choice(pairs)
    lines = text.split("\n")
    lines.insert(draw.randrange(len(lines)), f"G1 X{opened * depth}1{closed * draw.choice((depth, depth - 1, 0))}")
    return "\n".join(lines)


def _alphabets(text: str, _other: str, draw: random.Random) -> str:
    letters = list(text)
    for _ in range(draw.randint(1, 9)):
        letters.insert(draw.randrange(len(letters) + 1), draw.choice(draw.choice(_ALPHABETS)))
    return "".join(letters)


def _spacing(text: str, _other: str, draw: random.Random) -> str:
    text = draw.choice((str.lower, str.upper, str.swapcase, str))(text)
    text = text.replace(" ", draw.choice(("", "\t", "   ", " ")))
    text = text.replace("\n", draw.choice(("\r", "\r\n", ";\n", "\n\n", "\n\r", "\f\n")))
    return text[: draw.randrange(1, len(text) + 1)] if draw.random() < 0.2 else text


def _comments(text: str, _other: str, draw: random.Random) -> str:
    return "".join(draw.choice("()%;*\"'") if draw.random() < 0.04 else letter for letter in text)


def _long(text: str, other: str, draw: random.Random) -> str:
    times = draw.choice((20, 100, 400))
    return draw.choice((text * times, (text + other) * (times // 2), text.replace("\n", " ") * times, text + "X1." * 50 * times))


KINDS: dict[str, Callable[[str, str, random.Random], str]] = {
    "damage": lambda text, _other, draw: damage(text, draw), "numbers": _numbers, "woven": _woven, "any words": _any_words,
    "endless": _endless, "deep": _deep, "alphabets": _alphabets, "spacing": _spacing, "comments": _comments,
}  # fmt: skip
"""What is done to a text, by its name. "long" and a second kind on top of the first are drawn more seldom."""


def texts() -> list[str]:
    """Small programs of every kind, and the beginnings of those of $SETWRIGHT_CORPUS if it is set."""
    folder = os.environ.get("SETWRIGHT_CORPUS")
    more = sorted(Path(folder).glob("s*")) if folder else []
    return [*SEEDS, *(path.read_bytes().decode("latin-1")[:2500] for path in more)]


def made(number: int, held: Sequence[str], kind: str = "") -> bytes:
    """The bytes of text `number`; the kind of change is drawn unless it is named."""
    draw = random.Random(number)
    few = held if draw.random() < 0.02 else held[: len(SEEDS)]
    seldom = [0.02 if name == "endless" else 1.0 for name in KINDS]  # such a text costs as much as a hundred others
    text = KINDS[kind or draw.choices(tuple(KINDS), seldom)[0]](draw.choice(few), draw.choice(few), draw)
    if draw.random() < 0.3:
        text = KINDS[draw.choices(tuple(KINDS), seldom)[0]](text, draw.choice(few), draw)
    if draw.random() < 0.0005:
        text = _long(text, draw.choice(few), draw)
    code = draw.choices(("utf-8", "latin-1", "utf-8-sig", "utf-16", "cp1252"), (90, 4, 2, 2, 2))[0]
    return text.encode(code, "replace")


def read_it(data: bytes) -> bool:
    """Read it, and put the answer together as it goes out; False for a refusal, which says what is wrong."""
    try:
        reading = read_alone({"t.nc": data})
    except InputRefused as refusal:
        reading, refused = None, refusal
    if reading is None:
        assert all(problem.what for problem in refused.problems)
        return False
    document("read", reading.as_plain(), findings=[*reading.findings, *refusal_findings(reading.problems)])
    return True


def rounds(one: Callable[[int], object], count: int, seed: int, what: str) -> int:
    """Do `one` for every number from `seed` on; print what fell, what was slow and what asked for too much memory, then a summary.
    Returns how many there were of these."""
    bad: Counter[str] = Counter()
    slowest, signal_was = 0.0, signal.signal(signal.SIGVTALRM, _stop)
    _bound_memory()
    for number in range(seed, seed + count):
        begin = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, 4 * _SLOW_S)
        try:
            one(number)
        except Exception as fell:  # noqa: BLE001  (whatever falls is the finding)
            bad[type(fell).__name__] += 1
            print(f"seed {number} fell:\n{traceback.format_exc(limit=-6)}", flush=True)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        took = time.process_time() - begin
        slowest = max(slowest, took)
        if took > _SLOW_S:
            bad["slow"] += 1
            print(f"seed {number} took {took:.1f} s", flush=True)
        if (number - seed + 1) % 5000 == 0:
            print(f"  {number - seed + 1:,} done, slowest {slowest:.1f} s, {sum(bad.values())} bad", flush=True)
    signal.signal(signal.SIGVTALRM, signal_was)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    said = ", ".join(f"{much} × {kind}" for kind, much in bad.items()) or "none fell, none was slow"
    print(f"{count:,} {what} from seed {seed}: {said}; slowest {slowest:.1f} s, most memory {peak:.0f} MiB")
    return sum(bad.values())


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise TimeoutError("stopped: it would have gone on")


def _bound_memory() -> None:
    """No text may ask for 1 GiB beyond what is there before the first: it then falls with MemoryError."""
    there = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (there + _LARGEST, resource.getrlimit(resource.RLIMIT_AS)[1]))


def main() -> int:
    """Run and print what fell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    held = texts()
    read_it(held[0].encode())
    return 1 if rounds(lambda number: read_it(made(number, held)), count, seed, "texts") else 0


if __name__ == "__main__":
    sys.exit(main())
