"""Macro loops at speed: the few kinds of block that loops are made of, executed without ceremony.

Only what leaves no doubt is done here: assignments, conditions, jumps within the program, and G0 or G1 moves with axis and feed
words, while no compensation, cycle, rotation, polar coordinates or modal call is in force. Every other block is handed back. It
does what `run` and `execute` do for the same blocks, and the tests compare the two.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from setwright.base.tolerance import COORDINATE_ROUND_OFF_MM
from setwright.program.block import Block, Code, StatementKind, Value
from setwright.program.words import LARGEST_NUMBER

if TYPE_CHECKING:
    from setwright.program.run import Runner

__all__ = ["run_hot"]

_COLD, _ASSIGN, _MOVE, _WHILE, _END, _IF_GOTO, _IF_THEN, _GOTO, _NOTHING = range(9)
_MOVE_LETTERS = frozenset("XYZF")
_FIRST_SYSTEM = 1000
_LOCALS = 34


def run_hot(runner: Runner, line: int, blocks: dict[int, Block], budget: int) -> int:
    """Execute from `line` on while blocks are simple, at most `budget` of them; the line to go on with."""
    variables, machine = runner.variables, runner.machine
    local, common, system, indirect = variables.locals, variables.commons, variables.system, variables.indirect
    unset = common.unset
    count = 0
    while count < budget:
        block = blocks.get(line)
        if block is None:
            break
        kind = block.kind if block.kind >= 0 else _classify(block)
        if kind == _COLD:
            break
        machine.line = line
        if block.number >= 0:
            variables.block_number = block.number
        if kind == _ASSIGN:
            for target, code in block.assignments:
                _assign(runner, target, code)
            line += 1
        elif kind == _MOVE:
            if not _move(runner, block):
                break
            line += 1
        elif kind == _END:
            line = runner.end_of_loop(block)
        elif kind == _NOTHING:
            line += 1
        else:
            statement = block.statement
            assert statement is not None
            holds = statement.condition is None
            if statement.condition is not None:
                try:
                    holds = statement.condition(local, common, system, indirect) not in (0.0, None)
                except (ArithmeticError, ValueError):
                    holds = runner.truth(statement)
            if kind == _WHILE:
                line = runner.enter_loop(block) if holds else runner.leave_loop(block)
            elif not holds:
                line += 1
            elif kind == _IF_THEN:
                for target, code in statement.assignments:
                    _assign(runner, target, code)
                line += 1
            else:
                line = runner.goto(statement)
        count += 1
        if unset:
            runner.say_unset()
    runner.count(count)
    return line


def _assign(runner: Runner, target: Value, code: Code) -> None:
    variables = runner.variables
    try:
        value = code(variables.locals, variables.commons, variables.system, variables.indirect)
    except (ArithmeticError, ValueError):
        value = runner.evaluate(code)
    if isinstance(target, float) and (value is None or value - value == 0.0):
        index = int(target)
        if 0 < index < _LOCALS:
            variables.locals[index] = value
            return
        if 100 <= index < _FIRST_SYSTEM:
            variables.commons[index] = value
            return
    runner.assign(target, code)


def _move(runner: Runner, block: Block) -> bool:
    """A straight move; False (and nothing done) where the machine's state or a value asks for more care."""
    machine = runner.machine
    modal = machine.modal
    motion = block.g[0] if block.g else modal.motion
    if (motion not in (0, 10) or modal.motion not in (0, 10) or machine.chain is not None or machine.corner is not None
            or machine.transform.linear is not None or modal.polar or modal.feed_mode != 940
            or (block.whole and machine.profile.decimal != "whole units")
            or not (modal.turning * modal.speed or "spindle stands in a feed move" in machine.said)):  # fmt: skip
        return False
    variables = runner.variables
    point = [*machine.prog]
    feed = modal.feed
    for letter, value in block.words.items():
        if not isinstance(value, float):
            try:
                number = value(variables.locals, variables.commons, variables.system, variables.indirect)
            except (ArithmeticError, ValueError):
                return False
            if number is None:
                continue
        else:
            number = value
        if not -LARGEST_NUMBER <= number <= LARGEST_NUMBER:
            return False
        if letter == "F":
            feed = number * modal.unit
        else:
            i = "XYZ".index(letter)
            point[i] = number * modal.unit + (0.0 if modal.absolute else point[i])
    if not feed > 0.0 and motion == 10:
        return False
    modal.feed = feed
    if motion != modal.motion:
        modal.motion = motion
        machine.state_changed()
    x, y, z = machine.prog = (point[0], point[1], point[2])
    shift, at = machine.transform.shift, machine.at
    end = (x + shift[0], y + shift[1], z + shift[2])
    if math.dist(at, end) > COORDINATE_ROUND_OFF_MM:
        rapid = motion == 0
        machine.rows.add((at, end, math.nan if rapid else feed, -1, block.line, machine.state_number(), machine.frame_number(),
                          machine.file, 0 if rapid else 1))  # fmt: skip
        machine.at = end
    return True


def _classify(block: Block) -> int:
    """The kind of a block, kept in it."""
    block.kind = _kind_of(block)
    return block.kind


def _kind_of(block: Block) -> int:
    if block.skip or block.m or block.program >= 0 or block.dynamic_codes or block.tape:
        return _COLD
    if block.statement is not None:
        if block.words or block.g or block.assignments:
            return _COLD
        return {StatementKind.WHILE: _WHILE, StatementKind.DO: _WHILE, StatementKind.END: _END, StatementKind.IF_GOTO: _IF_GOTO,
                StatementKind.IF_THEN: _IF_THEN, StatementKind.GOTO: _GOTO}.get(block.statement.kind, _COLD)  # fmt: skip
    if block.assignments:
        return _COLD if block.words or block.g else _ASSIGN
    if not block.words and not block.g:
        return _NOTHING
    if block.words.keys() <= _MOVE_LETTERS and block.g in ((), (0,), (10,)) and block.words.keys() != {"F"}:
        return _MOVE
    return _COLD
