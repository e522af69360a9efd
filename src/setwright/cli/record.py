"""Keep jobs in a record: take in, give out, history, backup, people."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from rich.table import Table
from rich.text import Text

from setwright.base.errors import InputRefused
from setwright.cli.common import Answer, Asked, Color, Json, answer, ask, guarded

if TYPE_CHECKING:
    from setwright.record.store import Record

__all__ = [
    "NAME", "add_or_change_person", "app", "back_up_record", "check_record", "export_job", "import_job", "job_ran",
    "list_jobs", "restore_record", "show_changes", "show_history",
]  # fmt: skip

NAME = "record"
app = typer.Typer(name=NAME, help=__doc__, no_args_is_help=True, add_completion=False, rich_markup_mode=None)

Place = Annotated[Path | None, typer.Option("--record", help="The record's folder.", metavar="DIR")]
Database = Annotated[str, typer.Option("--database", help="A PostgreSQL database instead of a file.", metavar="ADDRESS")]
JobName = Annotated[str, typer.Argument(help="The job's name in the record.", metavar="JOB")]


def _within(
    verb: str, place: Path | None, database: str, work: Callable[[Asked, Record], Answer], *, json: bool, no_color: bool = False
) -> None:
    """Open the record, do the work, answer."""

    def whole() -> None:
        from setwright.record.store import open_record
        from setwright.web.settings import default_place

        asked = ask(f"{NAME} {verb}", as_json=json, units="mm", own="mm", quiet=False, no_color=no_color)
        with open_record(place or default_place(), database=database or os.environ.get("SETWRIGHT_DATABASE", "")) as record:
            given = work(asked, record)
        answer(asked, given)

    guarded(f"{NAME} {verb}", whole, as_json=json)


def _me() -> str:
    from setwright.web.settings import own_name

    return own_name()


@app.command("list")
def list_jobs(*, record: Place = None, database: Database = "", json: Json = False, no_color: Color = False) -> None:
    """List the jobs, the one changed last first."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.jobs import jobs

        lines = jobs(held)
        table = Table(box=None, pad_edge=False, header_style="bold")
        for column in ("job", "", "revision", "by", "at"):
            table.add_column(column)
        for one in lines:
            table.add_row(one.name, one.title, str(one.head), one.by, one.at.strftime("%Y-%m-%d %H:%M UTC"))
        asked.people.print(table if lines else "No job yet. Take one in with: setwright record import FOLDER")
        return Answer("", {"jobs": [{"name": one.name, "title": one.title, "revision": one.head, "by": one.by,
                                     "at": one.at.isoformat()} for one in lines]})  # fmt: skip

    _within("list", record, database, work, json=json, no_color=no_color)


@app.command("import")
def import_job(
    folder: Annotated[Path, typer.Argument(help="A job folder.")],
    *,
    name: Annotated[str, typer.Option("--name", help="The job's name in the record, else the folder's.")] = "",
    based_on: Annotated[int | None, typer.Option("--based-on", help="Revise a job: the revision this was made from.")] = None,
    note: Annotated[str, typer.Option("--note", help="What changed, in a sentence.")] = "",
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Take a job's plain folder in, byte for byte."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.folder import gather_folder, rehomed
        from setwright.record.jobs import add_job, find_revision, job_name
        from setwright.record.merge import save

        given = gather_folder(folder)
        called = name or job_name(folder.resolve().name)
        if based_on is None:
            made, others = add_job(held, given, name=called, by=_me(), note=note), []
        else:
            before = find_revision(held, called, number=based_on)
            files = rehomed(given, before.home).files
            gone = {path: None for path in before.files if path not in files}
            saved = save(held, called, {**files, **gone}, based_on=based_on, by=_me(), note=note)
            made, others = saved.revision, [str(change) for change in saved.others]
        asked.people.print(Text(f"{made.job}: revision {made.number}, {len(made.files)} files.", "bold"))
        for other in others:
            asked.people.print(Text(f"  put together with what changed meanwhile: {other}"))
        for left in given.left_out:
            asked.people.print(f"  left out: {left}")
        return Answer(made.job, {"revision": made.as_plain(), "others": others, "left_out": list(given.left_out)})

    _within("import", record, database, work, json=json, no_color=no_color)


@app.command("export")
def export_job(
    job: JobName,
    *,
    out: Annotated[Path, typer.Option("-o", "--out", help="The folder to make.", metavar="DIR")],
    revision: Annotated[int | None, typer.Option("--revision", help="A revision, else the newest.", min=1)] = None,
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Give a job out as its plain folder, byte for byte."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.folder import write_folder
        from setwright.record.jobs import find_revision, revision_files

        found = find_revision(held, job, number=revision)
        given = revision_files(held, found)
        write_folder(given.files, out)
        home = out / given.home
        said = f"{job}, revision {found.number}: {len(given.files)} files in {out}; the job is {home}."
        asked.people.print(Text(said, "bold"))
        return Answer(job, {"revision": found.as_plain(), "folder": str(home)})

    _within("export", record, database, work, json=json, no_color=no_color)


@app.command("history")
def show_history(
    job: JobName, *, record: Place = None, database: Database = "", json: Json = False, no_color: Color = False
) -> None:
    """Tell everything that happened to a job."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.history import history

        events = history(held, job)
        for event in events:
            asked.people.print(Text(f"{event.at.strftime('%Y-%m-%d %H:%M')}  r{event.revision:<4} {event.by:<16} {event.text}"))
        return Answer(job, {"events": [event.as_plain() for event in events]})

    _within("history", record, database, work, json=json, no_color=no_color)


@app.command("changes")
def show_changes(
    job: JobName,
    *,
    since: Annotated[int | None, typer.Option("--since", help="A revision, else the one that ran last.", min=1)] = None,
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Say what changed since the job ran last, or since a revision."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.history import changes_between, since_last_run

        document: dict[str, Any]
        if since is not None:
            found = changes_between(held, job, before=since)
            document = {"since": since, "changes": [change.as_plain() for change in found]}
        else:
            last = since_last_run(held, job)
            found, document = list(last.changes), last.as_plain()
            ran = last.ran
            asked.people.print(f"It ran last as revision {ran.revision}, on {ran.at:%Y-%m-%d}." if ran else "It never ran.")
        for change in found:
            asked.people.print(Text(f"  {change}"))
        asked.people.print(Text(f"{len(found)} change{'' if len(found) == 1 else 's'}.", "bold"))
        return Answer(job, document)

    _within("changes", record, database, work, json=json, no_color=no_color)


@app.command("backup")
def back_up_record(
    *,
    out: Annotated[Path, typer.Option("-o", "--out", help="The file to write.", metavar="FILE")],
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Write the whole record into one file; others may go on working."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.backup import back_up

        looked = back_up(held, out)
        said = f"{out}: {looked.revisions} revisions, {looked.blobs} files, {looked.bytes:,} bytes, all whole."
        asked.people.print(Text(said, "bold"))
        asked.people.print(f"Seal: {looked.seal}  (keep it apart from the record, for: record check --sealed)")
        body = {"revisions": looked.revisions, "files": looked.blobs, "bytes": looked.bytes, "seal": str(looked.seal)}
        return Answer("", {"file": str(out)} | body)

    _within("backup", record, database, work, json=json, no_color=no_color)


@app.command("restore")
def restore_record(
    file: Annotated[Path, typer.Argument(help="A file written by: setwright record backup")],
    *,
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Make a record from a backup, in a folder that holds none yet."""

    def whole() -> None:
        from setwright.record.backup import restore, verify
        from setwright.web.settings import default_place

        asked = ask(f"{NAME} restore", as_json=json, units="mm", own="mm", quiet=False, no_color=no_color)
        place = record or default_place()
        with restore(file, place, database=database or os.environ.get("SETWRIGHT_DATABASE", "")) as held:
            looked = verify(held)
        asked.people.print(Text(f"{place}: {looked.revisions} revisions and {looked.blobs} files are back, all whole.", "bold"))
        answer(asked, Answer("", {"record": str(place), "revisions": looked.revisions, "files": looked.blobs}))

    guarded(f"{NAME} restore", whole, as_json=json)


@app.command("check")
def check_record(
    *,
    sealed: Annotated[
        list[str] | None, typer.Option("--sealed", help="A seal as a sheet or a backup states it.", metavar="SEAL")
    ] = None,
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """Prove the record whole: every row, every reference, every stored byte."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.backup import verify
        from setwright.record.chain import read_seal

        given = [read_seal(one) for one in sealed or []]
        looked = verify(held, against=given)
        asked.people.print(Text(f"{looked.revisions} revisions, {looked.blobs} files, {looked.bytes:,} bytes: all whole.", "bold"))
        asked.people.print(f"Seal: {looked.seal}")
        for seal, about in zip(given, looked.sealed, strict=True):
            asked.people.print(Text(f"Seal {seal} stands: {about}. That entry, and everything before it, is as it was then."))
        body: dict[str, Any] = {"revisions": looked.revisions, "files": looked.blobs, "bytes": looked.bytes}
        body["seal"] = str(looked.seal)
        body["sealed"] = [{"seal": str(seal), "about": about} for seal, about in zip(given, looked.sealed, strict=True)]
        return Answer("", body)

    _within("check", record, database, work, json=json, no_color=no_color)


@app.command("ran")
def job_ran(
    job: JobName,
    *,
    pieces: Annotated[int, typer.Option("--pieces", help="How many pieces were made.", min=0)],
    based_on: Annotated[int, typer.Option("--based-on", help="The revision that ran.", min=1)],
    setup: Annotated[str, typer.Option("--setup", help="The setup that ran, else all.", metavar="NAME")] = "",
    note: Annotated[str, typer.Option("--note", help="Anything worth knowing next time.")] = "",
    record: Place = None,
    database: Database = "",
    json: Json = False,
    no_color: Color = False,
) -> None:
    """State that the job ran on the machine."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.entries import state_run

        made = state_run(held, job, setup=setup, pieces=pieces, based_on=based_on, by=_me(), note=note)
        asked.people.print(Text(f"{job}, revision {based_on}: ran, {pieces} pieces.", "bold"))
        return Answer(job, {"entry": made.as_plain()})

    _within("ran", record, database, work, json=json, no_color=no_color)


@app.command("person")
def add_or_change_person(
    name: Annotated[str, typer.Argument(help="The person's name.")],
    *,
    role: Annotated[str, typer.Option("--role", help="viewer, setter, lead or administrator.")] = "setter",
    record: Place = None,
    database: Database = "",
    no_color: Color = False,
) -> None:
    """Add a person who may sign in, or give one a new role and password; asks for the password."""

    def work(asked: Asked, held: Record) -> Answer:
        from setwright.record.people import Role, add_person, change_person, note_audit, people
        from setwright.web.passwords import hashed

        if role not in [one.value for one in Role]:
            raise InputRefused.because(f'no role is called "{role}"', remedy=f"write one of {', '.join(Role)}")
        secret = hashed(typer.prompt("Password", hide_input=True, confirmation_prompt=True), name=name)
        there = any(one.name.casefold() == " ".join(name.split()).casefold() for one in people(held))
        if there:
            made = change_person(held, name, role=Role(role), secret=secret, active=True)
        else:
            made = add_person(held, name, role=Role(role), secret=secret)
        note_audit(held, "person changed" if there else "person added", by=_me(), subject=made.name, detail={"role": role})
        asked.people.print(Text(f"{made.name} may sign in as {made.role.value}.", "bold"))
        return Answer("", {"person": made.as_plain()})

    _within("person", record, database, work, json=False, no_color=no_color)
