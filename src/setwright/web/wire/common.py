"""What many answers have in common."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, Field

__all__ = ["FindingSaid", "Point", "Refusal", "RevisionSaid", "StationAnswer"]

Point = tuple[float, float, float]


class FindingSaid(BaseModel):
    """One thing a check says. `line` and `column` from 1, 0 for no place in a program; `motion` -1 for none. Findings
    of one setup with the same slug and `cause` come of one thing; where `cause` is empty, those with the same file, tool, body.
    `told_with`: the number, from 0, of the finding in the list that this one is told with, as another place of it or as what
    follows from it; null for one told by itself. `question`: it asks for what the text leaves open."""

    slug: str
    signal: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    text: str
    remedy: str
    file: str
    line: int
    column: int
    setup: str
    tool: int | None
    body: str
    value: float | None
    unit: str
    state: Literal["found", "undecided"]
    motion: int
    excerpt: str
    cause: str = ""
    question: bool = False
    told_with: int | None = None


class StationAnswer(BaseModel):
    """What every station's answer has. `refused`: something could not be read; `findings` say what."""

    schema_version: int = Field(alias="schema")
    command: str
    version: str
    job: str
    units: str
    findings: list[FindingSaid]
    refused: Literal[True] | None = None


class Refusal(StationAnswer):
    """Whatever is refused, and whatever goes wrong."""


class RevisionSaid(BaseModel):
    """A revision of a job. `files`: SHA-256 by path. `home`: the folder in which job.toml stands."""

    job: str
    number: int
    digest: str
    document: str
    title: str
    home: str
    note: str
    by: str
    at: str
    files: dict[str, str]

