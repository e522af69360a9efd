"""Collected programs written differently: the path must stay the same."""

from __future__ import annotations

import random
import re
from decimal import Decimal

import numpy as np
import pytest

from setwright.program.interpret import interpret
from setwright.program.path import MoveKind, Path
from setwright.program.registers import Registers, WorkOffset
from setwright.program.source import Source
from tests.program.test_program_corpus import CORPUS, FILES, _read

pytestmark = pytest.mark.skipif(not FILES, reason="the corpus of program texts is not here (set SETWRIGHT_CORPUS)")
LARGEST = 200_000
WORD = re.compile(r"[A-Za-z]\s*[+-]?\s*(?:\d+\.?\d*|\.\d+)")
JUMPS = re.compile(r"GOTO|M\s*97|M\s*99\s*P|G\s*6[56]|M\s*98", re.IGNORECASE)
LENGTHS = "XYZIJKRQF"


def programs():
    """Those that are read to their end and are no larger than 200 kB: name, lines, inference, path."""
    for file in FILES:
        if file.stat().st_size > LARGEST:
            continue
        try:
            inference, result = _read(file)
        except Exception:  # noqa: BLE001  (refused as a whole: see test_program_corpus)
            continue
        if result.complete and len(result.path):
            yield file.name, file.read_bytes().decode("latin-1").replace("\r\n", "\n").split("\n"), inference.profile, result.path


def path_of(lines: list[str], profile, registers: Registers | None = None) -> Path:
    source = Source("t", "\n".join(lines).encode("latin-1"))
    result = interpret([source], profile=profile, registers=registers or Registers.nominal())
    assert result.complete, result.problems[0]
    return result.path


def assert_same(one: Path, two: Path, name: str, *, within: float = 0.0) -> None:
    assert np.array_equal(one.kind, two.kind), name
    for column in ("start", "end", "arc_centre", "arc_sweep"):
        assert np.abs(getattr(one, column) - getattr(two, column)).max(initial=0.0) <= within, (name, column)
    assert np.allclose(one.feed, two.feed, rtol=1e-12, atol=0.0, equal_nan=True), name


def plain(line: str) -> bool:
    """A line of words with numbers only: no comment, variable, mark or program number."""
    words = "".join("".join(WORD.findall(line)).split())
    return bool(words) and words == "".join(line.split()) and not re.search("[Oo]", line)


def in_code(line: str, change) -> str:
    """The line with `change` applied to what stands outside comments."""
    parts, depth, out = re.split(r"([()])|(;.*$)", line), 0, ""
    for part in parts:
        if part is None:
            continue
        depth += (part == "(") - (part == ")")
        out += part if depth or part in "()" or part.startswith(";") else change(part)
    return out


def test_comments_and_blanks_change_nothing():
    seen = 0
    for name, lines, profile, path in programs():
        fit = [re.search("[A-Za-z0-9]", line) and ";" not in line and "%" not in line for line in lines]
        told = [line + " (said)" if one else line for line, one in zip(lines, fit, strict=True)]
        assert_same(path, path_of(told, profile), name)
        assert_same(path, path_of([text for line in lines for text in (line, "")], profile), name)
        seen += 1
    assert seen >= 60


def test_spaces_and_lower_case_change_nothing():
    seen = 0
    for name, lines, profile, path in programs():
        closed = [re.sub(r"\s", "", line) if plain(line) else line for line in lines]
        assert_same(path, path_of(closed, profile), name)
        assert_same(path, path_of([line.lower() if plain(line) else line for line in lines], profile), name)
        seen += 1
    assert seen >= 60


def test_the_order_of_words_changes_nothing():
    rng, seen = random.Random(7), 0
    for name, lines, profile, path in programs():
        shuffled = []
        for line in lines:
            words = WORD.findall(line)
            shuffled.append(" ".join(rng.sample(words, len(words))) if plain(line) else line)
        assert_same(path, path_of(shuffled, profile), name)
        seen += shuffled != lines
    assert seen >= 55


def test_numbers_of_blocks_change_nothing():
    seen = 0
    for name, lines, profile, path in programs():
        if JUMPS.search("\n".join(lines)):
            continue
        bare = [re.sub(r"^\s*[Nn]\s*\d+\s*", "", line) for line in lines]
        numbered = [f"N{10 * k} {line}" if plain(line) else line for k, line in enumerate(bare)]
        assert_same(path, path_of(bare, profile), name)
        assert_same(path, path_of(numbered, profile), name)
        seen += 1
    assert seen >= 50


def test_a_shifted_offset_moves_the_machine_and_not_the_cut():
    seen = cuts = still = 0
    for name, lines, profile, path in programs():
        text = "\n".join(lines)
        if re.search(r"[Gg]\s*(?:10|92|91)(?!\d)|#", text):  # what is cut there depends on where the machine is
            continue
        moved = Registers(offsets={f"G{n}": WorkOffset(-311.5, -208.25, -401.125) for n in range(54, 60)})
        there = path_of(lines, profile, moved)
        home = [n for n, line in enumerate(lines, 1) if re.search(r"[Gg]\s*(?:28|30|53)(?!\d)", line)]
        one, two = (p.end[(p.kind != MoveKind.RAPID) & ~np.isin(p.line, home)] for p in (path, there))
        away = np.abs(two - one)  # an axis still at home, where G28 or G53 left it, stays with the machine
        assert np.minimum(away, np.abs(away - [311.5, 208.25, 401.125])).max(initial=0.0) <= 1e-9, name
        still += int((away > 1e-9).any(axis=1).sum())
        cuts += len(one)
        assert all(frame.shift == (-311.5, -208.25, -401.125) for frame in there.frames), name
        seen += 1
    assert seen >= 20
    assert still < 0.01 * cuts


def metric(code: str) -> str:
    """Words in inches as the same lengths in millimetres, exact, with a decimal point."""

    def length(match: re.Match[str]) -> str:
        number = f"{Decimal(match[3]) * Decimal('25.4'):f}"
        return f"{match[1]}{match[2]}{number}{'' if '.' in number else '.'}"

    code = re.sub(r"([Gg])\s*20(?!\d)", r"\g<1>21", code)
    return re.sub(rf"([{LENGTHS}])\s*([+-]?)\s*(\d+\.?\d*|\.\d+)", length, code, flags=re.IGNORECASE)


def test_inches_written_as_millimetres_are_the_same_path():
    seen = 0
    for name, lines, profile, path in programs():
        text = "\n".join(lines)
        if not re.search(r"[Gg]\s*20(?!\d)", text) or re.search(r"#|[Gg]\s*(?:21|51|68|93|95)(?!\d)", text):
            continue

        assert_same(path, path_of([in_code(line, metric) for line in lines], profile), name, within=1e-9)
        seen += 1
    assert seen >= 10


def test_the_corpus_is_where_it_is_said_to_be():
    assert CORPUS.is_dir()
