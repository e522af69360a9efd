"""One line of text into a block, with care: everything the fast scanner leaves alone, and what is wrong with it."""

from __future__ import annotations

import re

from setwright.base.errors import Problem
from setwright.program.block import Block, Code, Statement, StatementKind, Value, code_text
from setwright.program.expression import ExpressionReader, Misread, compile_code
from setwright.program.profile import Profile
from setwright.program.scan import POINT
from setwright.program.source import SourceText

__all__ = ["read_line", "scanned_block"]

_NUMBER = re.compile(r"[+-]?[ \t]*(?:\d+\.?\d*|\.\d+)", re.ASCII)
_MORE_DIGITS = re.compile(r"[ \t]+[\d.]", re.ASCII)
_OUTPUT = ("DPRNT", "BPRNT", "POPEN", "PCLOS")
_KEYWORDS = ("GOTO", "IF", "WHILE", "DO", "END", "THEN", *_OUTPUT)
_DOTS = re.compile(r"^[\s.…]+$")
_LONGEST_LINE = 4096


def scanned_block(source: SourceText, line: int) -> Block:
    """The block of a line the scanner could read (not GENERAL)."""
    scan = source.scan
    first, last = int(scan.first_word[line - 1]), int(scan.first_word[line])
    start = int(scan.line_at[line - 1])
    block = Block(line)
    collector = _Collector(block)
    letters = scan.letter[first:last].tolist()
    values = scan.value[first:last].tolist()
    marks = scan.mark[first:last].tolist()
    places = scan.at[first:last].tolist()
    for i, letter in enumerate(letters):
        following = places[i + 1] if i + 1 < len(places) else places[i] + 2
        collector.word(chr(letter), values[i], whole=not marks[i] & POINT, column=places[i] - start + 1,
                       length=max(1, min(following - places[i], 12)))  # fmt: skip
    collector.finish()
    return block


def read_line(source: SourceText, line: int, profile: Profile) -> Block | Problem:
    """The block of any line, or what is wrong with it."""
    try:
        scan = source.scan
        if not scan.flags[line - 1] & 2:
            return scanned_block(source, line)
        return _LineReader(source.line(line), line, profile).read()
    except Misread as wrong:
        return Problem(wrong.what, wrong.why, wrong.remedy, source.span(line, wrong.column, wrong.length), wrong.behaviour)


class _Collector:
    """Puts words into a block, refusing what cannot stand twice."""

    def __init__(self, block: Block) -> None:
        self.block = block
        self.g: list[int] = []
        self.m: list[int] = []
        self.whole: list[str] = []
        self.centres: list[tuple[str, Value]] = []
        self.repeated: tuple[str, int, int] | None = None

    def word(self, letter: str, value: float, *, whole: bool, column: int, length: int) -> None:
        block = self.block
        if letter == "G":
            self.g.append(self._code(letter, value * 10.0, column, length))
        elif letter == "M":
            self.m.append(self._code(letter, value, column, length))
        elif letter == "N":
            block.number = int(value) if value >= 0 and value.is_integer() else -1
        elif letter == "O":
            block.program = self._code(letter, value, column, length)
        else:
            if self._is_new(letter, value, column, length):
                block.words[letter] = value
                if whole:
                    self.whole.append(letter)
                block.at[letter] = (column, length)

    def _is_new(self, letter: str, value: Value, column: int, length: int) -> bool:
        """Whether the letter stands in the block for the first time; I, J, K may come again, for a macro call."""
        if letter in "IJK":
            self.centres.append((letter, value))
        if letter not in self.block.words:
            return True
        if letter not in "IJK":
            raise Misread(column, length, f"{letter} stands twice in this block", remedy=f"keep one of the two {letter} words")
        self.repeated = self.repeated or (letter, column, length)
        return False

    def _code(self, letter: str, value: float, column: int, length: int) -> int:
        code = round(value) if abs(value) < 10**6 else -1
        if abs(value - code) > 0.001 or not 0 <= code < 10**6:
            raise Misread(column, length, f"this is no {letter} code")
        if letter in "GM":
            self.block.at[code_text("G", code) if letter == "G" else f"M{code}"] = (column, length)
        return code

    def dynamic(self, letter: str, code: Code, column: int, length: int) -> None:
        block = self.block
        block.dynamic = True
        if letter in "GM":
            block.dynamic_codes = (*block.dynamic_codes, (letter, code))
        elif letter in "NO":
            raise Misread(column, length, f"{letter} takes a number, not an expression")
        else:
            if not self._is_new(letter, code, column, length):
                return
            block.words[letter] = code
        block.at[letter] = (column, length)

    def finish(self) -> None:
        self.block.g, self.block.m, self.block.whole = tuple(self.g), tuple(self.m), "".join(self.whole)
        if self.repeated is None:
            return
        letter, column, length = self.repeated
        if not {650, 660} & set(self.g):
            raise Misread(column, length, f"{letter} stands twice in this block", remedy=f"keep one of the two {letter} words")
        self.block.groups = tuple(self.centres)


class _LineReader:
    def __init__(self, text: str, line: int, profile: Profile) -> None:
        if len(text) > _LONGEST_LINE:
            raise Misread(1, 1, f"the line has {len(text)} characters",
                          why=f"no control reads more than {_LONGEST_LINE} in a block")
        self.text = text
        self.profile = profile
        self.block = Block(line)
        self.collector = _Collector(self.block)
        self.reader = ExpressionReader("".join(c.upper() if len(c.upper()) == 1 else c for c in text))

    def read(self) -> Block:
        reader = self.reader
        if self.profile.dotted_lines == "ignore" and _DOTS.match(self.text):
            return self.block
        while (following := reader.peek()) and following != ";":
            if following == "(":
                self._comment()
            elif following == "%":
                self._tape_mark()
            elif following == "/":
                self._skip_mark()
            elif following == "#":
                self._assignment()
            elif following == ":":
                self._colon()
            elif following == ",":
                self._corner()
            elif following.isascii() and following.isalpha():
                self._letters(following)
            else:
                self._strange(following)
        self.collector.finish()
        return self.block

    def _strange(self, following: str) -> None:
        at = self.reader.at
        if _DOTS.match(self.text):
            raise Misread(at + 1, len(self.text.strip()), "a line of dots is no block",
                          remedy="take the line out, or write it as a comment", behaviour="dotted_lines")
        if following == ")":
            raise Misread(at + 1, 1, 'this ")" closes nothing', why="the comment was already closed by an earlier one",
                          remedy="take it out")
        if following.isdigit() or following in ".+-":
            length = len(re.match(r"[\d.+-]*", self.text[at:])[0])  # type: ignore[index]
            raise Misread(at + 1, length, f'the number {self.text[at : at + length]} has no letter',
                          remedy="write the letter before it, or take it out")
        raise Misread(at + 1, 1, f'"{following}" means nothing in a block', remedy="take it out, or put it into a comment")

    def _comment(self) -> None:
        start = self.reader.at
        depth, i = 0, start
        while i < len(self.text):
            c = self.text[i]
            if c == "(":
                depth += 1
                if depth > 1 and self.profile.nested_comments == "refuse":
                    raise Misread(i + 1, 1, "a bracket inside a comment", why="controls differ on where such a comment ends",
                                  remedy="take the inner brackets out", behaviour="nested_comments")  # fmt: skip
            elif c == ")":
                depth -= 1
                if depth == 0:
                    self.block.comment = (self.block.comment + " " + self.text[start + 1 : i]).strip()
                    self.reader.at = i + 1
                    return
            i += 1
        raise Misread(start + 1, 1, "this comment is not closed", remedy='write ")" at its end')

    def _tape_mark(self) -> None:
        at = self.reader.at
        if self.text[:at].strip():
            raise Misread(at + 1, 1, "% stands alone in its line")
        self.reader.at = at + 1
        self.block.tape = True
        number = re.match(r"[ \t]*([0-9]+)", self.text[at + 1 :])
        if number is None:
            return
        if self.profile.leading_number == "refuse":
            raise Misread(at + 2, len(number[0]), "a number follows the tape mark %",
                          why="some controls take it as the program's number, others refuse it",
                          remedy="write the program number as O on the next line, or choose a profile that reads it",
                          behaviour="leading_number")  # fmt: skip
        self.block.program = int(number[1])
        self.reader.at = at + 1 + number.end()

    def _skip_mark(self) -> None:
        at = self.reader.at
        if self.text.startswith("//", at):
            if self.profile.slash_comment == "refuse":
                raise Misread(at + 1, 2, "text stands behind //", why="some controls take it as a comment, others refuse it",
                              remedy='put it into brackets ( ), or write slash_comment = "comment" under [control.behaviours] '
                              "of the machine's file", behaviour="slash_comment")  # fmt: skip
            self.block.comment = f"{self.block.comment} {self.text[at + 2 :]}".strip()
            self.reader.at = len(self.text)
            return
        if self.block.skip or self.block.words or self.collector.g or self.collector.m:
            raise Misread(at + 1, 1, '"/" stands at the beginning of a block only',
                          remedy="write it first, or use [a/b] for a division")
        match = re.match(r"/[ \t]*([1-9])?(?![\d.])", self.text[at:])
        self.block.skip = int(match[1] or 1) if match else 1
        self.reader.at = at + (match.end() if match else 1)

    def _colon(self) -> None:
        at = self.reader.at
        number = re.match(r":[ \t]*([0-9]+)", self.text[at:])
        if number is None or self.text[:at].strip():
            raise Misread(at + 1, 1, '":" means nothing here')
        self.block.program = int(number[1])
        self.reader.at = at + number.end()

    def _corner(self) -> None:
        """`,C` or `,R` with its number or expression: kept under that name."""
        reader, start = self.reader, self.reader.at
        found = re.match(r",[ \t]*([CR])", reader.text[start:])
        if found is None:
            raise Misread(start + 1, 1, '"," means nothing here', remedy="take it out; only ,C and ,R are words")
        letter = f",{found[1]}"
        if self.profile.corner_words == "refuse":
            raise Misread(start + 1, found.end(), f"{letter} is not understood",
                          why="some controls cut or round a corner by it, others have no such word",
                          remedy="write the corner out, or choose a profile that reads it", behaviour="corner_words")  # fmt: skip
        reader.at = start + found.end()
        following = reader.peek()
        if following in ("#", "["):
            self._need_macro(start + 1)
            code, _ = reader.primary()
            self.collector.dynamic(letter, compile_code(code), start + 1, reader.at - start)
            return
        number = _NUMBER.match(reader.text, reader.at)
        if number is None:
            raise Misread(start + 1, found.end(), f"{letter} has no number", remedy="write the size of the corner after it")
        reader.at = number.end()
        written = number[0].replace(" ", "").replace("\t", "")
        self.collector.word(letter, float(written), whole="." not in written, column=start + 1, length=reader.at - start)

    def _letters(self, letter: str) -> None:
        reader = self.reader
        word, start = reader.word(), reader.at
        if word in _KEYWORDS:
            self._keyword(word)
            return
        reader.at += 1
        following = reader.peek()
        signed = re.match(r"[+-][ \t]*[#\[A-Z]", reader.text[reader.at :])
        if following in ("#", "[") or signed:
            self._need_macro(start + 1)
            code, _ = reader.primary()
            self.collector.dynamic(letter, compile_code(code), start + 1, reader.at - start)
            return
        number = _NUMBER.match(reader.text, reader.at)
        if number is None:
            self._without_number(letter, word, start)
            return
        reader.at = number.end()
        if more := _MORE_DIGITS.match(reader.text, reader.at):
            raise Misread(reader.at + len(more[0]), 1, f"a second number follows {letter}{number[0]}", why="it has no letter",
                          remedy="write its letter, or take the blank out")  # fmt: skip
        written = number[0].replace(" ", "").replace("\t", "")
        self.collector.word(letter, float(written) + 0.0, whole="." not in written, column=start + 1, length=reader.at - start)

    def _without_number(self, letter: str, word: str, start: int) -> None:
        if letter == "N" and self.profile.bare_n == "accept":
            return
        if len(word) > 1 and word[1] == "O" and letter in "GMHDTS":
            raise Misread(start + 1, 2, f"the letter O stands where a zero is meant in {word}",
                          remedy=f"write {letter}0 with a zero")
        if len(word) > 1:
            raise Misread(start + 1, len(word), f'"{word}" is no word of a program', why="each letter needs a number after it",
                          remedy="put text into a comment ( )")  # fmt: skip
        if self.profile.word_without_number == "zero" and letter in "XYZIJKR":
            self.collector.word(letter, 0.0, whole=False, column=start + 1, length=1)
            return
        raise Misread(start + 1, 1, f"{letter} has no number", why="some controls read it as zero, others refuse it",
                      remedy=f"write the number after {letter}", behaviour="word_without_number")

    def _need_macro(self, column: int) -> None:
        if self.profile.macro == "no":
            raise Misread(column, 1, "this control has no variables and expressions",
                          remedy="write plain numbers, or choose another profile")

    def _assignment(self) -> None:
        self._need_macro(self.reader.at + 1)
        self.block.assignments = (*self.block.assignments, self._assign())

    def _assign(self) -> tuple[Value, Code]:
        reader = self.reader
        target = reader.designator()
        reader.take("=", "a variable at the beginning of a block is given a value: #100 = 5")
        code, _ = reader.expression()
        wanted: Value = float(target) if target.isdigit() else compile_code(target)
        return wanted, compile_code(code)

    def _keyword(self, keyword: str) -> None:
        reader, block = self.reader, self.block
        self._need_macro(reader.at + 1)
        start = reader.at
        reader.at += len(keyword)
        if block.statement is not None:
            raise Misread(start + 1, len(keyword), f"{keyword} does not belong here", why="a block holds one control statement")
        if keyword == "IF":
            block.statement = self._if()
        elif keyword == "WHILE":
            condition = compile_code(reader.bracket())
            if reader.word() != "DO":
                raise Misread(reader.at + 1, 1, "DO is missing after WHILE [ ]", remedy="write WHILE [condition] DO1")
            reader.at += 2
            block.statement = Statement(StatementKind.WHILE, condition, self._target("DO"))
        elif keyword in ("DO", "END", "GOTO"):
            block.statement = Statement(StatementKind[keyword], None, self._target(keyword))
        elif keyword in _OUTPUT:
            block.statement = Statement(StatementKind.OUTPUT)
            reader.at = len(reader.text)
        else:
            raise Misread(start + 1, len(keyword), f"{keyword} stands only after IF [ ]")

    def _if(self) -> Statement:
        reader = self.reader
        condition = compile_code(reader.bracket())
        word, start = reader.word(), reader.at
        if word == "GOTO":
            reader.at += 4
            return Statement(StatementKind.IF_GOTO, condition, self._target("GOTO"))
        if word == "THEN":
            reader.at += 4
            reader.blanks()
        if reader.peek() == "#":
            return Statement(StatementKind.IF_THEN, condition, 0.0, (self._assign(),))
        raise Misread(start + 1, max(1, len(word)), "GOTO or THEN is missing after IF [ ]",
                      remedy="write IF [condition] GOTO100 or IF [condition] THEN #1=0")

    def _target(self, keyword: str) -> Value:
        reader = self.reader
        following = reader.peek()
        if following in ("#", "["):
            return compile_code(reader.bracket() if following == "[" else f"({reader.variable()[0]} or 0.0)")
        start = reader.at
        number = reader.number()
        if number is None or not number.is_integer():
            raise Misread(start + 1, 1, f"{keyword} needs a number",
                          remedy=f"write for example {keyword}{100 if keyword == 'GOTO' else 1}")
        return number
