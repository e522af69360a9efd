"""Running programs block by block: order of blocks, jumps, loops, subprograms, macro calls, limits."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass

import numpy as np

from setwright.base.errors import Problem
from setwright.program.block import Block, Code, Statement, StatementKind, Value
from setwright.program.execute import Executor
from setwright.program.hot import run_hot
from setwright.program.library import Library, Unreadable
from setwright.program.machine import Machine, Stop
from setwright.program.plain import PlainRunner
from setwright.program.remark import Severity
from setwright.program.scan import EMPTY, PLAIN
from setwright.program.variables import ARGUMENTS, Variables
from setwright.program.words import LARGEST_NUMBER, Words

__all__ = ["SHORT", "Limits", "Runner", "Stretch"]

_HOT_BLOCKS = 1 << 14


@dataclass(frozen=True, slots=True)
class Limits:
    """Where an endless program is stopped: executed blocks (runs of plain motion are not counted), blocks that it executes again
    one by one (not those of the loops that run at speed), rows in all, rows that cycles, loops and calls make one by one and those
    more of them that each line may make, depth of calls. Reaching any of those limits takes a second or two."""

    blocks: int = 1_000_000
    again: int = 20_000
    rows: int = 12_000_000
    single_rows: int = 250_000
    rows_a_line: int = 40
    depth: int = 30


SHORT = Limits(blocks=50_000, again=1_000, single_rows=100_000, rows_a_line=0)
"""For what is read once more of a program that does not end."""


@dataclass(slots=True)
class _Call:
    """A place to return to; macro calls have `arguments` and their own locals."""

    file: int
    line: int
    target_file: int
    target_line: int
    repeats: int
    arguments: dict[int, float] | None
    modal: bool = False
    loops: list[tuple[int, int]] | None = None


@dataclass(slots=True)
class Stretch:
    """Rows and events that the main program made while it was in a part of its lines: from, to; `used`: registers first used."""

    row: int
    event: int
    registers: frozenset[str]
    row_to: int = 0
    event_to: int = 0
    used: frozenset[str] = frozenset()


class Runner:
    """Executes the programs of a library on a machine, from the first block to the end. `part`: first and last line of the first
    program; what it makes while it is there is in `stretches`, subprograms included."""

    def __init__(self, machine: Machine, library: Library, limits: Limits, *, skip_levels: AbstractSet[int],
                 until: tuple[str, int] | None, part: tuple[int, int] | None = None) -> None:  # fmt: skip
        self.machine, self.library, self.limits = machine, library, limits
        machine.row_limit = limits.rows
        machine.single_limit = min(limits.rows, limits.single_rows + limits.rows_a_line * sum(library.last))
        self.executor = Executor(machine)
        self.variables = Variables(machine)
        self.plain = PlainRunner(machine)
        self.skip_levels, self.until, self.part = skip_levels, until, part
        self.stretches: list[Stretch] = []
        self.inside = False
        self.ended_inside = False
        self.furthest = 0
        self.blocks = 0
        self.end = ""
        self.problem: Problem | None = None
        self.back_to: tuple[int, int] | None = None
        self.called: set[int] = set()
        self._calls: list[_Call] = []
        self._loops: list[tuple[int, int]] = []
        self._modal_call: tuple[int, int, dict[int, float]] | None = None
        self._started = False
        self._said_skip = False
        self._runs = 0
        self._plain_blocks = self._again = 0
        self._back_from = (0, 0)
        self._executed: dict[int, bytearray] = {}
        self._loop_ends: dict[tuple[int, int], int] = {}

    def run(self, file: int) -> None:
        """Execute one main program. Where it cannot go on, `problem` says why and `end` is "stopped"."""
        self.end, self._started = "", False
        self._calls.clear()
        self._loops.clear()
        self._modal_call = None
        machine = self.machine
        if self._runs:
            machine.restart()
        self._runs += 1
        machine.file, line = file, 1
        self.executor.ended = ""
        try:
            while not self.end:
                here = (machine.file, line)
                line = self._step(line)
                if line <= here[1] or machine.file != here[0]:
                    self._back_from, self.library.keep = here, True  # lines are read once from now on
            if machine.corner is not None:
                raise machine.stop(f"no line follows ,{machine.corner.letter} in line {machine.corner.line}",
                                   remedy="take it out, or write the line that it leads to")  # fmt: skip
            machine.close_chain()
        except (Stop, Unreadable) as stop:
            self.problem, self.end = stop.problem, "stopped"
            self.back_to = (self._calls[0].file, self._calls[0].line) if self._calls else None
            machine.corner = None
            self._finish_contour()
        if self.part is not None and file == 0:
            self.ended_inside = self.inside
            if self.inside:
                self._leave_part()

    def _finish_contour(self) -> None:
        """Work out what was gathered of a compensated contour when the program stopped; what stops in it too adds nothing."""
        try:
            self.machine.close_chain()
        except Stop as stop:
            self.problem = self.problem or stop.problem

    # --- a part of the program ----------------------------------------------------------------------------------------------

    def _watch_part(self, part: tuple[int, int], line: int) -> None:
        """Note where the main program enters or leaves the part of its lines."""
        self.furthest = max(self.furthest, line)
        if self.inside == (part[0] <= line <= part[1]):
            return
        self.machine.close_chain("another clamping begins")
        if self.inside:
            self._leave_part()
            return
        self.inside = True
        self.stretches.append(Stretch(len(self.machine.rows), len(self.machine.events), frozenset(self.machine.used)))

    def _leave_part(self) -> None:
        machine, stretch = self.machine, self.stretches[-1]
        self.inside, stretch.row_to, stretch.event_to = False, len(machine.rows), len(machine.events)
        stretch.used = frozenset(machine.used) - stretch.registers

    # --- one block ------------------------------------------------------------------------------------------------------------

    def _step(self, line: int) -> int:
        machine, library = self.machine, self.library
        file = machine.file
        if line > library.last[file]:
            return self._off_the_end(line)
        if self.part is not None and file == 0 and not self._calls:
            self._watch_part(self.part, line)
        flags = machine.sources[file].scan.flags[line - 1]
        if flags & PLAIN and self._modal_call is None:
            room = self.limits.rows + 1 - len(machine.rows)
            done = self.plain.run(line, min(self._plain_last(file, line), line + room))
            if done > line:
                self._note_again(file, line)
                blocks = done - line - int(np.count_nonzero(machine.sources[file].scan.flags[line - 1 : done - 1] & EMPTY))
                self._plain_blocks += blocks
                self.count(blocks)
                self._started = True
                machine.line = done - 1
                return self._check_until(file, done - 1, done)
        anywhere = self.until is None and (self.part is None or self._calls)
        if library.keep and self._modal_call is None and anywhere and self._started:
            done = run_hot(self, line, library.blocks(file), _HOT_BLOCKS)
            if done != line:
                return done
        self._note_again(file, line)
        machine.line = line
        if flags & EMPTY and not library.keep:
            return self._check_until(file, line, line + 1)
        block = library.block(file, line)
        machine.words_at = block.at
        self.count(1)
        following = self._block(block)
        return self._check_until(file, line, following)

    def _plain_last(self, file: int, line: int) -> int:
        last = self.library.last[file]
        if self.until is not None and self.machine.sources[file].name == self.until[0]:
            last = min(last, self.until[1])
        if self.part is not None and file == 0 and not self._calls:
            border = self.part[0] - 1 if line < self.part[0] else self.part[1]
            last = min(last, border) if line <= border else last
        return last

    def _check_until(self, file: int, line: int, following: int) -> int:
        if self.until is not None and line == self.until[1] and self.machine.sources[file].name == self.until[0]:
            self.end = self.end or "until"
        return following

    def _note_again(self, file: int, line: int) -> None:
        """Note a block, or the first of a run of plain ones, executed by itself; stops a program that repeats too many."""
        executed = self._executed.setdefault(file, bytearray())
        if line >= len(executed):
            executed.extend(bytes(self.library.last[file] + 1 - len(executed)))
        if not executed[line]:
            executed[line] = 1
            return
        self._again += 1
        if self._again > self.limits.again:
            where = f"{self.machine.sources[self._back_from[0]].name}:{self._back_from[1]}"
            raise self._endless(f"it executed {self.limits.again:,} blocks again, and went back the last time from {where}")

    def count(self, blocks: int) -> None:
        """Note executed blocks; stops the program at a limit."""
        self.blocks += blocks
        self.machine.check_rows()
        if self.blocks - self._plain_blocks > self.limits.blocks:
            raise self._endless(f"it has not ended after {self.limits.blocks:,} blocks")

    def _endless(self, what: str) -> Stop:
        self.machine.remark("program does not end", Severity.DANGER, f"The program does not end: {what}.",
                            "Look for a loop whose condition never changes, or a call that never comes to an end.")  # fmt: skip
        return self.machine.stop(f"the program does not end: {what}", why="a loop or a call goes round for ever",
                                 remedy="correct the loop, or divide the program")  # fmt: skip

    def _block(self, block: Block) -> int:
        """Execute one block; the line to go on with."""
        line = block.line
        if block.skip:
            if block.skip in self.skip_levels:
                return line + 1
            if not self._said_skip:
                self._said_skip = True
                self.machine.remark("block delete taken as off", Severity.NOTICE, "Blocks that begin with / are executed here.",
                                    "Set the block-delete switch of the machine the same way.")  # fmt: skip
        if block.number >= 0:
            self.variables.block_number = block.number
        if block.program >= 0 and self._program_word(block):
            return line + 1
        if block.statement is not None:
            return self._statement(block, block.statement)
        rows = len(self.machine.rows)
        if block.g or block.m or block.words or block.dynamic_codes:
            self._started = True
            words = self._words(block)
            following = self._words_block(block, words)
        else:
            following = line + 1
        for target, value in block.assignments:
            self.assign(target, value)
        moved = not self.end and len(self.machine.rows) > rows
        if self._modal_call is not None and moved and not any(call.modal for call in self._calls):
            target_file, target_line, arguments = self._modal_call
            return self._enter(target_file, target_line, 1, following, arguments, modal=True)
        return following

    def _program_word(self, block: Block) -> bool:
        """An O word: the name of this program, or the end of one that has no end of its own. True if nothing else is to be done."""
        machine = self.machine
        if self._started and not self._calls:
            raise machine.stop(f"the program runs on into program O{block.program}", why="there is no M30 or M2 before it",
                               remedy="end the program with M30")  # fmt: skip
        if self._calls and self._calls[-1].target_line != block.line:
            raise machine.stop(f"the subprogram runs on into program O{block.program}", why="there is no M99 before it",
                               remedy="end the subprogram with M99")
        self.variables.program = block.program
        return not (block.g or block.m or block.words)

    def _off_the_end(self, line: int) -> int:
        machine = self.machine
        machine.line = min(line, len(machine.sources[machine.file])) or 1
        machine.line = self.library.last[machine.file] or 1
        machine.words_at = {}
        if self._calls:
            raise machine.stop("the subprogram ends without M99", remedy="write M99 at its end")
        if self._started:
            machine.remark("no end of program", Severity.NOTICE, "The text ends without M30 or M2.", "Write M30 at the end.")
        self.end = "end of text"
        return line

    def _words(self, block: Block) -> Words:
        if not block.dynamic:
            return Words(self.machine, block.words, block.whole, block.g, block.m)  # type: ignore[arg-type]
        values: dict[str, float] = {}
        for letter, value in block.words.items():
            number = value if isinstance(value, float) else self.evaluate(value)
            if number is not None:
                values[letter] = number
        g, m = block.g, block.m
        for letter, code in block.dynamic_codes:
            number = self.evaluate(code)
            if number is None:
                continue
            if letter == "G":
                g = (*g, round(number * 10.0))
            else:
                m = (*m, round(number))
        return Words(self.machine, values, block.whole, g, m)

    def evaluate(self, code: Code) -> float | None:
        """The value of an expression; arithmetic that has no answer stops the program."""
        v = self.variables
        try:
            value = code(v.locals, v.commons, v.system, v.indirect)
        except ZeroDivisionError:
            raise self.machine.stop("a division by zero in this block") from None
        except (ValueError, OverflowError):
            raise self.machine.stop("a calculation in this block has no answer",
                                    why="a root or logarithm of a negative number, or a value beyond all numbers") from None
        if isinstance(value, complex) or (value is not None and value - value != 0.0):
            raise self.machine.stop("a calculation in this block has no answer")
        if v.commons.unset:
            self.say_unset()
        return value

    def say_unset(self) -> None:
        """Remark variables that were read though only the control knows their value."""
        for index in sorted(self.variables.commons.unset):
            self.machine.remark("variable kept in the control", Severity.CAUTION,
                                f"#{index} is read before the program sets it; taken as vacant.",
                                f"See what #{index} holds in the control, or set it in the program.")  # fmt: skip
        self.variables.commons.unset.clear()

    def _value(self, value: Value) -> float:
        if isinstance(value, float):
            return value
        number = self.evaluate(value)
        return 0.0 if number is None else number

    def assign(self, target: Value, code: Code) -> None:
        """Carry out `#target = expression`."""
        number, value = self._value(target), self.evaluate(code)
        if number in (3000.0, 3006.0):
            self._alarm(int(number), value or 0.0)
        else:
            self.variables.assign(number, value)

    def _alarm(self, index: int, value: float) -> None:
        machine = self.machine
        said = self.library.block(machine.file, machine.line).comment
        text = f"{value:g} {said}".strip()
        if index == 3006:
            machine.event("message", text)
            machine.event("stop")
            return
        machine.event("alarm", text)
        machine.remark("program alarm", Severity.WARNING, f"The program raises its own alarm here: {text}.",
                       "See which condition leads here.")
        raise machine.stop(f"the program stops itself with alarm {text}",
                           why="one of its own checks failed with these registers and values")

    # --- jumps and loops -----------------------------------------------------------------------------------------------------

    def _statement(self, block: Block, statement: Statement) -> int:
        self._started = True
        self.library.keep = True
        kind = statement.kind
        if kind is StatementKind.OUTPUT:
            return block.line + 1
        if kind is StatementKind.IF_THEN:
            if self.truth(statement):
                for target, value in statement.assignments:
                    self.assign(target, value)
            return block.line + 1
        if kind in (StatementKind.GOTO, StatementKind.IF_GOTO):
            return self.goto(statement) if kind is StatementKind.GOTO or self.truth(statement) else block.line + 1
        if kind is StatementKind.END:
            return self.end_of_loop(block)
        return self.enter_loop(block) if kind is StatementKind.DO or self.truth(statement) else self.leave_loop(block)

    def truth(self, statement: Statement) -> bool:
        """Whether the condition of a statement holds."""
        return bool(statement.condition is not None and (self.evaluate(statement.condition) or 0.0) != 0.0)

    def goto(self, statement: Statement) -> int:
        """The line that GOTO leads to."""
        number = self._value(statement.target)
        is_one = number.is_integer() and 0.0 <= number <= LARGEST_NUMBER
        line = self.library.block_number(int(number), self.machine.file, self.machine.line) if is_one else None
        if line is None:
            raise self.machine.stop(f"GOTO{number:g} has no block N{number:g} to go to",
                                    remedy="write the N number at the block that is meant")
        self._loops = [loop for loop in self._loops if self._inside(loop, line)]
        return line

    def _inside(self, loop: tuple[int, int], line: int) -> bool:
        return loop[1] < line <= self._loop_end(loop[0], loop[1])

    def _label(self, block: Block) -> int:
        assert block.statement is not None
        return int(self._value(block.statement.target))

    def enter_loop(self, block: Block) -> int:
        """A loop whose condition holds: the line after its beginning."""
        loop = self._label(block), block.line
        if not self._loops or self._loops[-1] != loop:
            self._loops = [known for known in self._loops if known[0] != loop[0]]
            self._loops.append(loop)
        return block.line + 1

    def end_of_loop(self, block: Block) -> int:
        """END: the line where its loop begins."""
        number = self._label(block)
        for label, start in reversed(self._loops):
            if label == number:
                return start
        raise self.machine.stop(f"END{number} closes no loop", remedy=f"write WHILE [ ] DO{number} before it")

    def leave_loop(self, block: Block) -> int:
        """A loop whose condition does not hold: the line after its end."""
        number = self._label(block)
        self._loops = [loop for loop in self._loops if loop[0] != number]
        return self._loop_end(number, block.line) + 1

    def _loop_end(self, number: int, start: int) -> int:
        key = self.machine.file, start
        known = self._loop_ends.get(key)
        if known is None:
            known = self._loop_ends[key] = self._search_loop_end(number, start)
        return known

    def _search_loop_end(self, number: int, start: int) -> int:
        _, last = self.library.segment(self.machine.file, start)
        open_loops = 0
        for line in self.library.statement_lines(self.machine.file, start + 1, last):
            statement = self.library.block(self.machine.file, line).statement
            if statement is None or not isinstance(statement.target, float) or int(statement.target) != number:
                continue
            if statement.kind in (StatementKind.WHILE, StatementKind.DO):
                open_loops += 1
            elif statement.kind is StatementKind.END:
                if open_loops == 0:
                    return line
                open_loops -= 1
        raise self.machine.stop(f"DO{number} is never closed", remedy=f"write END{number}")

    # --- words that are calls ----------------------------------------------------------------------------------------------------

    def _words_block(self, block: Block, words: Words) -> int:
        if 650 in words.g or 660 in words.g:
            return self._macro_call(block, words)
        if 670 in words.g:
            self._modal_call = None
            words = Words(self.machine, words.values, words.whole, tuple(code for code in words.g if code != 670), words.m)
        ends = (99, 17) if self.machine.profile.subprogram_end == "M17 too" else (99,)
        call = next((code for code in words.m if code in (97, 98, *ends)), 0)
        if call:
            return self._subprogram(block, words, call, ends)
        self.executor.run(words)
        self.end = self.executor.ended
        if self.end and self.machine.profile.g92_at_end == "cleared":
            self.machine.preset = (0.0, 0.0, 0.0)
            self.machine.shift_changed()
        return block.line + 1

    def _macro_call(self, block: Block, words: Words) -> int:
        machine = self.machine
        if "P" not in words:
            raise machine.stop("the macro call names no program", remedy="write P with its number")
        number = words.integer("P", "program number")
        repeats = words.integer("L", "number of repeats") if "L" in words else 1
        arguments = {ARGUMENTS[letter]: value for letter, value in words.values.items() if letter in ARGUMENTS}
        if block.groups:
            arguments |= self._grouped(block, arguments)
        target = self._locate(number)
        if 660 in words.g:
            self._modal_call = (*target, arguments)
            return block.line + 1
        return self._enter(*target, repeats, block.line + 1, arguments)

    def _grouped(self, block: Block, others: dict[int, float]) -> dict[int, float]:
        """Arguments given as groups of I, J, K: #4 to #6, #7 to #9, and so on up to #33."""
        machine = self.machine
        found: dict[int, float] = {}
        group, place = 0, -1
        seen = {"I": 0, "J": 0, "K": 0}
        for letter, value in block.groups:
            here = "IJK".index(letter)
            group, place = (group + 1, here) if here <= place else (group, here)
            if seen[letter] != group:
                raise machine.stop(f"to which group {letter} belongs is not clear", why="controls count the groups differently",
                                   remedy="write I, J and K in this order in every group, none left out", key=letter)  # fmt: skip
            seen[letter] += 1
            index = 4 + 3 * group + here
            if index > 33 or (group and index in others):
                raise machine.stop(f"{letter} would set #{index}" + (", which another word sets too" if index <= 33 else ""),
                                   why="groups of I, J, K reach to #33" if index > 33 else "", key=letter)  # fmt: skip
            number = value if isinstance(value, float) else self.evaluate(value)
            if number is not None:
                found[index] = number
        return found

    def _subprogram(self, block: Block, words: Words, call: int, ends: tuple[int, ...]) -> int:
        machine = self.machine
        values = dict(words.values)
        number = words.integer("P", "program or block number") if values.pop("P", None) is not None else None
        count = words.integer("L", "number of repeats") if (repeats := values.pop("L", None)) is not None else 1
        jump = values.pop("H", None) if call == 98 else None
        rest = Words(machine, values, words.whole, words.g, tuple(code for code in words.m if code != call))
        if values or rest.g or rest.m:
            self.executor.run(rest)
            self.end = self.executor.ended
        if call in ends:
            if call == 17:
                machine.assume("subprogram_end", "M17 ends the subprogram", key="M17")
            return self._return(block, number)
        if number is None:
            raise machine.stop(f"M{call} names no program", remedy="write P with its number", key=f"M{call}")
        if jump is not None:
            raise machine.stop("H in a subprogram call is not understood", key="H")
        if call == 97:
            return self._local_call(block, number, count)
        if machine.profile.call_words == "packed P" and number > 9999 and repeats is None:
            machine.assume("call_words", "M98 P holds the repeats before the program number", key="P")
            count, number = divmod(number, 10_000)
        return self._enter(*self._locate(number), count, block.line + 1, None)

    def _local_call(self, block: Block, number: int, count: int) -> int:
        machine = self.machine
        if machine.profile.local_calls == "refuse":
            raise machine.stop("M97 is not understood", why="only some controls have it",
                               remedy="choose a profile that calls local blocks by M97", key="M97", behaviour="local_calls")
        machine.assume("local_calls", "M97 P calls the block N of the same program", key="M97")
        line = self.library.block_number(number, machine.file, self.library.segment(machine.file, block.line)[0])
        if line is None:
            raise machine.stop(f"M97 P{number} has no block N{number} to call", key="P")
        return self._enter(machine.file, line, count, block.line + 1, None)

    def _locate(self, number: int) -> tuple[int, int]:
        machine = self.machine
        place = self.library.locate(number, machine.file)
        if place is None:
            raise machine.stop(f"program O{number} is not here", why="it is neither in this file nor in the others",
                               remedy=f"add the file with O{number}", key="P")
        machine.sources = self.library.texts
        self.called.add(place[0])
        return place

    def _enter(self, file: int, line: int, repeats: int, following: int, arguments: dict[int, float] | None, *,
               modal: bool = False) -> int:
        machine = self.machine
        if repeats == 0:
            return following
        if len(self._calls) >= self.limits.depth:
            raise machine.stop(f"calls are nested more than {self.limits.depth} deep", why="a subprogram calls itself",
                               remedy="look at the calls")
        self.library.keep = True
        self._calls.append(_Call(machine.file, following, file, line, repeats, arguments, modal, self._loops))
        self._loops = []
        if arguments is not None:
            self.variables.enter(arguments)
        machine.file = file
        return line

    def _return(self, block: Block, number: int | None) -> int:
        machine = self.machine
        if not self._calls and number is not None:
            line = self.library.block_number(number, machine.file, block.line)
            if line is None:
                raise machine.stop(f"M99 P{number} has no block N{number} to go to", key="P")
            return line
        if not self._calls:
            machine.remark("main program begins again", Severity.NOTICE,
                           "M99 in the main program starts it again from the beginning; one pass is computed.",
                           "Write M30 where it shall end.", key="M99")  # fmt: skip
            machine.event("end")
            self.end = "M99"
            return block.line + 1
        call = self._calls[-1]
        if call.repeats > 1:
            call.repeats -= 1
            self._loops = []
            if call.arguments is not None:
                self.variables.leave()
                self.variables.enter(call.arguments)
            return call.target_line
        self._calls.pop()
        self._loops = call.loops or []
        if call.arguments is not None:
            self.variables.leave()
        machine.file = call.file
        if number is None:
            return call.line
        line = self.library.block_number(number, call.file, call.line)
        if line is None:
            raise machine.stop(f"M99 P{number} has no block N{number} to return to", key="P")
        return line
