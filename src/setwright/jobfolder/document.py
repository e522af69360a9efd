"""One TOML file read into one part of the document, with every problem found in it named by file, line and key."""

from __future__ import annotations

import difflib
import re
import tomllib
import types
import typing
from pathlib import Path
from typing import Any, Final, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.jobfolder.door import read_regular
from setwright.jobfolder.places import Places
from setwright.model.fits import GENERAL_CLASSES

__all__ = ["LARGEST_TEXT", "decode", "parse_document", "read_bytes", "read_text", "read_toml"]

M = TypeVar("M", bound=BaseModel)
_DEEPEST: Final = 60
_LONG_KEY: Final = re.compile(r"""(?<![\w."'-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){60}""")
LARGEST_TEXT = 20_000_000
"""Bytes of a text that a person wrote; more is refused unread."""


def read_text(path: Path, *, shown: str) -> str:
    """A text file as UTF-8, or InputRefused saying what is wrong with it and what to do."""
    return decode(read_bytes(path, shown=shown), shown=shown)


def read_bytes(path: Path, *, shown: str, largest: int = LARGEST_TEXT) -> bytes:
    """The bytes of a file that a person named, which may be a link, or InputRefused: missing, a folder, unreadable, too large."""
    try:
        real = path.resolve()
    except (OSError, RuntimeError, ValueError) as error:
        raise InputRefused.because(f"the file cannot be found ({error})", remedy="check the name", span=Span(shown)) from error
    return read_regular(real, shown=shown, largest=largest)


def decode(data: bytes, *, shown: str) -> str:
    """Bytes as UTF-8 text without byte-order mark."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        where = Span(shown, line)
        raise InputRefused.because("this is not UTF-8 text", remedy="save the file as UTF-8 text", span=where) from error
    if "\0" in text:
        raise InputRefused.because("this is a binary file, not text", remedy="name a text file", span=Span(shown))
    return text


def read_toml(text: str, *, shown: str) -> dict[str, Any]:
    """The parsed document, or InputRefused with line and column of the syntax error."""
    long = _LONG_KEY.search(text)
    if long is not None:
        raise _too_deep(Span(shown, text.count("\n", 0, long.start()) + 1))
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line, column = _syntax_place(str(error))
        lines = text.splitlines()
        excerpt = lines[line - 1] if 0 < line <= len(lines) else ""
        said = str(error).split(" (at ")[0]
        raise InputRefused.because(
            f"this line is not TOML ({said})",
            remedy='write key = value; a text stands in quotes, for example size = "12.7 mm"',
            span=Span(shown, line or len(lines), column, 1, excerpt),
        ) from error
    except RecursionError as error:
        raise _too_deep(Span(shown)) from error
    except ValueError as error:  # the parser's own int() has a limit
        said, remedy = "a number has more digits than any length, speed or count", "write it with its unit, rounded"
        raise InputRefused.because(said, remedy=remedy, span=Span(shown)) from error
    if _deeper(document, _DEEPEST):
        raise _too_deep(Span(shown))
    return document


def _too_deep(span: Span) -> InputRefused:
    return InputRefused.because(f"tables and lists stand more than {_DEEPEST} deep in each other", span=span,
                                remedy="see the pages on the job folder: nothing there is deeper than six")  # fmt: skip


def _deeper(value: Any, levels: int) -> bool:
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return bool(inside) and (levels == 0 or any(_deeper(one, levels - 1) for one in inside))


def _syntax_place(message: str) -> tuple[int, int]:
    words = message.replace(",", "").replace(")", "").split()
    if "line" in words and "column" in words:
        return int(words[words.index("line") + 1]), int(words[words.index("column") + 1])
    return 0, 0


def parse_document(text: str, model: type[M], *, shown: str, units: str | None = None) -> M:
    """Validate a TOML text as `model`; raises InputRefused with every problem. `units` overrides the document's own statement."""
    document = read_toml(text, shown=shown)
    stated = units or document.get("units", "mm")
    if stated not in ("mm", "in"):
        raise InputRefused.because(f"units = {stated!r} is not known", remedy='write units = "mm" or units = "in"',
                                   span=Places(text, shown).of(("units",)), key="units")  # fmt: skip
    if "units" not in model.model_fields:
        document.pop("units", None)
    if "format" not in model.model_fields:
        _check_format(document.pop("format", 1), Places(text, shown))
    try:
        return model.model_validate(document, context={"units": stated, "general_tolerance": _general_tolerance(document)})
    except ValidationError as error:
        places = Places(text, shown)
        raise InputRefused(_problem(detail, model, places) for detail in _told(error.errors())) from error


def _general_tolerance(document: dict[str, Any]) -> str | None:
    """The class that the job's title block states for sizes without limits; what is wrong with it is told at its own place."""
    title = document.get("job")
    stated = title.get("general_tolerance") if isinstance(title, dict) else None
    return stated if stated in GENERAL_CLASSES else None


def _told(errors: list[ErrorDetails]) -> list[ErrorDetails]:
    """Without the complaint that a list is too short where it is so because what stands in it is wrong."""
    def within(outer: ErrorDetails) -> bool:
        path = outer["loc"]
        return any(other["loc"][: len(path)] == path and len(other["loc"]) > len(path) for other in errors)

    return [error for error in errors if not (error["type"] == "too_short" and within(error))]


def _check_format(value: object, places: Places) -> None:
    if value != 1:
        raise InputRefused.because(f"format = {value!r} is not known", remedy="this version reads format = 1",
                                   span=places.of(("format",)), key="format")  # fmt: skip


def _problem(detail: ErrorDetails, model: type[BaseModel], places: Places) -> Problem:
    path = tuple(detail["loc"])
    span = places.of(path)
    key = ".".join(str(part + 1) if isinstance(part, int) else part for part in path)
    kind = detail["type"]
    said = detail["msg"].removeprefix("Value error, ")
    if kind == "extra_forbidden":
        known = _fields_at(model, path[:-1])
        near = difflib.get_close_matches(str(path[-1]), known, n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"?' if near else f"known here: {', '.join(sorted(known))}"
        return Problem(f'unknown key "{path[-1]}"', remedy=hint, span=span, key=key)
    if kind == "missing":
        return Problem(f'"{path[-1]}" is missing', remedy="write it in this part of the file", span=span, key=key)
    if kind == "literal_error":
        wanted = str(detail.get("ctx", {}).get("expected", ""))
        given = detail["input"]
        near = difflib.get_close_matches(str(given), [w.strip(" '") for w in wanted.replace(" or ", ",").split(",")], n=1)
        hint = f'; did you mean "{near[0]}"?' if near else ""
        return Problem(f'"{given}" is not known here', remedy=f"write one of {wanted}{hint}", span=span, key=key)
    return Problem(said[0].lower() + said[1:] if said else kind, span=span, key=key)


def _fields_at(model: type[BaseModel], path: tuple[str | int, ...]) -> list[str]:
    """The keys a part of the document may have, as they are written."""
    current: Any = model
    for part in path:
        if isinstance(part, int) or not _is_model(current):
            continue
        names = {info.alias or name: info.annotation for name, info in current.model_fields.items()}
        current = _inner_model(names.get(str(part)))
    if not _is_model(current):
        return []
    return [info.alias or name for name, info in current.model_fields.items()]


def _is_model(value: object) -> bool:
    return isinstance(value, type) and issubclass(value, BaseModel)


def _inner_model(annotation: Any) -> Any:
    if _is_model(annotation):
        return annotation
    if typing.get_origin(annotation) is typing.Annotated or isinstance(annotation, types.UnionType) or typing.get_args(annotation):
        for argument in typing.get_args(annotation):
            inner = _inner_model(argument)
            if inner is not None:
                return inner
    return None
