"""Backup and restore on both kinds of database and between them; migrations from every released schema."""

from __future__ import annotations

import datetime
import io
import json
import os
import tarfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import insert, select, update

from setwright.base.errors import InputRefused
from setwright.record.artefacts import artefacts, keep_artefact
from setwright.record.backup import _restored, back_up, restore, verify
from setwright.record.entries import Kind, entries, sign_off, standing
from setwright.record.folder import JobFiles
from setwright.record.history import history
from setwright.record.jobs import add_job, find_revision, jobs, revise, revision_files
from setwright.record.people import Role, add_person, audit_lines, find_person, note_audit, open_session, session_person
from setwright.record.refusals import AlreadyThere, Damaged, Unavailable
from setwright.record.schema import metadata, now
from setwright.record.shop import put_thing, thing_bytes, things
from setwright.record.store import Record, open_record

RELEASED = sorted((Path(__file__).parent / "released").glob("*.tar"))
TOOL = b'name = "end mill 10"\nkind = "end mill"\ndiameter = 10\nflute_length = 22\n'


@pytest.fixture
def full(record: Record, cap: JobFiles) -> Record:
    add_job(record, cap, name="cap", by="Ada")
    revise(record, "cap", {"note.txt": "\u2028 ends no line".encode()}, based_on=1, by="Ben", note="zwei\u2028Zeilen")
    sign_off(record, "cap", "kit", based_on=2, by="Lea")
    keep_artefact(record, "cap", b"proof", revision=2, station="prove", setup="", name="proof.json", media_type="application/json",
                  inputs="1" * 64, by="Ada")  # fmt: skip
    put_thing(record, "tools", "em10", TOOL, based_on=0, by="Ada")
    lea = add_person(record, "Lea", role=Role.LEAD, secret="s")
    open_session(record, lea, "t" * 64, ends_at=now() + datetime.timedelta(hours=1))
    note_audit(record, "signed in", by="Lea", detail={"where": "tablet"})
    return record


def everything(record: Record) -> list[object]:
    revisions = [find_revision(record, "cap", number=number) for number in (1, 2)]
    files = [revision_files(record, one) for one in revisions]
    stated = [entries(record, "cap"), artefacts(record, "cap"), history(record, "cap")]
    return [revisions, files, jobs(record), stated, things(record), find_person(record, "Lea"), audit_lines(record)]


@pytest.mark.parametrize("to_file", [True, False])
def test_everything_comes_back(full: Record, empty_database: Callable[[], str], tmp_path: Path, to_file: bool) -> None:
    looked = back_up(full, tmp_path / "backup.tar")
    assert looked.revisions == 2
    assert looked.blobs > 10
    with restore(tmp_path / "backup.tar", tmp_path / "new", database="" if to_file else empty_database()) as back:
        assert everything(back) == everything(full)
        assert session_person(full, "t" * 64, idle=datetime.timedelta(hours=1)) is not None
        assert session_person(back, "t" * 64, idle=datetime.timedelta(hours=1)) is None
        revise(back, "cap", {"more.txt": b"x"}, based_on=2, by="Ada")
        sign_off(back, "cap", "prove", based_on=3, by="Lea")
        assert [one.entry.subject for one in standing(back, "cap", Kind.SIGNED) if one.stands] == ["prove"]
        add_person(back, "Max", role=Role.VIEWER, secret="s")


def test_the_same_record_gives_the_same_backup(full: Record, tmp_path: Path) -> None:
    back_up(full, tmp_path / "a.tar")
    back_up(full, tmp_path / "b.tar")
    assert (tmp_path / "a.tar").read_bytes() == (tmp_path / "b.tar").read_bytes()


def test_nothing_is_overwritten_and_no_other_file_is_taken_for_a_backup(full: Record, tmp_path: Path) -> None:
    back_up(full, tmp_path / "backup.tar")
    with restore(tmp_path / "backup.tar", tmp_path / "new"):
        pass
    with pytest.raises(AlreadyThere):
        restore(tmp_path / "backup.tar", tmp_path / "new")
    (tmp_path / "text").write_text("hello")
    with pytest.raises(InputRefused, match="cannot be read as a backup"):
        restore(tmp_path / "text", tmp_path / "other")
    with pytest.raises(InputRefused, match="cannot be written"):
        back_up(full, tmp_path / "nowhere" / "backup.tar")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.tar", "new", "record", "text"]


def test_a_changed_byte_in_a_backup_is_noticed(full: Record, tmp_path: Path) -> None:
    back_up(full, tmp_path / "backup.tar")
    data = (tmp_path / "backup.tar").read_bytes()
    for number, place in enumerate((data.index(b'"Lea"'), data.index(b"diameter = 10"))):
        changed = tmp_path / f"changed-{number}.tar"
        changed.write_bytes(data[:place] + b"#" + data[place + 1 :])
        with pytest.raises(Damaged):
            restore(changed, tmp_path / f"new-{number}")


def remade(backup: Path, out: Path, member: str, change: Callable[[bytes], bytes]) -> None:
    """The backup with one member changed, and everything that its head says of the others set right, as a forger would."""
    with tarfile.open(backup) as archive:
        members = {one.name: file.read() for one in archive if (file := archive.extractfile(one)) is not None}
    members[member] = change(members.get(member, b""))
    head = json.loads(members["record.json"])
    names = [name for name in members if name.startswith("tables/")]
    members["record.json"] = json.dumps(head | {"tables": {name: sha256(members[name]).hexdigest() for name in names}}).encode()
    with tarfile.open(out, "w", format=tarfile.PAX_FORMAT) as archive:
        for name, data in members.items():
            info = tarfile.TarInfo(name)
            info.size = len(data)
            archive.addfile(info, io.BytesIO(data))


def _headed(**other: object) -> Callable[[bytes], bytes]:
    return lambda data: json.dumps(json.loads(data) | other).encode()


ENTRY = "tables/entry.jsonl"
FORGED: dict[str, tuple[str, Callable[[bytes], bytes]]] = {
    "no document": (ENTRY, lambda _: b"{\n"), "no row": (ENTRY, lambda _: b"[1]\n"), "no text": (ENTRY, lambda _: b"\xff\n"),
    "nothing": (ENTRY, lambda _: b"null\n"), "an empty row": (ENTRY, lambda _: b"{}\n"),
    "without end": (ENTRY, lambda _: b'{"id": ' + b"[" * 100_000 + b"\n"),
    "another column": (ENTRY, lambda data: data.replace(b'"kind"', b'"kinds"')),
    "no date": (ENTRY, lambda data: data.replace(b'"at": "2', b'"at": "x')),
    "a date as a number": (ENTRY, lambda data: data.replace(b'"at": "', b'"at": 5, "by": "')),
    "a number as words": (ENTRY, lambda data: data.replace(b'"id": 1', b'"id": "q"')),
    "a number as a list": (ENTRY, lambda data: data.replace(b'"id": 1', b'"id": [1]')),
    "a number beyond all": (ENTRY, lambda data: data.replace(b'"id": 1', b'"id": 1' + b"0" * 30)),
    "half a letter": (ENTRY, lambda data: data.replace(b'"by": "Lea"', b'"by": "\\ud800"')),
    "of no job": (ENTRY, lambda data: data.replace(b'"job_id": 1', b'"job_id": 77')),
    "a row twice": (ENTRY, lambda data: data + data),
    "another author": (ENTRY, lambda data: data.replace(b'"by": "Lea"', b'"by": "Max"')),
    "the audit gone": ("tables/audit.jsonl", lambda _: b""),
    "no seal": ("record.json", _headed(seal=None)), "a seal of nothing": ("record.json", _headed(seal={})),
    "a seal as words": ("record.json", _headed(seal={"number": "x", "digest": 1})),
    "the seal of an empty record": ("record.json", _headed(seal={"number": 0, "digest": "0" * 64})),
}  # fmt: skip


def test_a_forged_backup_is_refused_in_words_and_leaves_nothing(
    full: Record, empty_database: Callable[[], str], tmp_path: Path
) -> None:
    back_up(full, tmp_path / "backup.tar")
    database = empty_database()
    for forged, (member, change) in FORGED.items():
        remade(tmp_path / "backup.tar", tmp_path / "forged.tar", member, change)
        with pytest.raises(Damaged):
            print(forged, restore(tmp_path / "forged.tar", tmp_path / "new", database=database))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.tar", "forged.tar", "record"]
    with restore(tmp_path / "backup.tar", tmp_path / "new", database=database) as back:
        assert everything(back) == everything(full)


def test_a_session_put_into_a_backup_signs_nobody_in(full: Record, tmp_path: Path) -> None:
    back_up(full, tmp_path / "backup.tar")
    later = (now() + datetime.timedelta(hours=1)).isoformat()
    row = {"token": "t" * 64, "person_id": 1, "seen_at": now().isoformat(), "ends_at": later, "at": now().isoformat()}
    remade(tmp_path / "backup.tar", tmp_path / "forged.tar", "tables/session.jsonl", lambda _: json.dumps(row).encode() + b"\n")
    with restore(tmp_path / "forged.tar", tmp_path / "new") as back:
        assert session_person(back, "t" * 64, idle=datetime.timedelta(hours=1)) is None


def test_the_slower_of_two_restores_overwrites_nothing(full: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    back_up(full, tmp_path / "backup.tar")

    def faster(*given: Any) -> None:
        _restored(*given)
        (tmp_path / "new").mkdir()
        (tmp_path / "new" / "record.sqlite").write_bytes(b"of the other")

    monkeypatch.setattr("setwright.record.backup._restored", faster)
    with pytest.raises(AlreadyThere, match="nothing is overwritten"):
        restore(tmp_path / "backup.tar", tmp_path / "new")
    assert [(one.name, one.read_bytes()) for one in (tmp_path / "new").iterdir()] == [("record.sqlite", b"of the other")]


def test_what_is_no_file_is_no_backup(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for source in (tmp_path / "pipe", tmp_path, Path("/dev/zero")):
        with pytest.raises(InputRefused, match="no plain file"):
            restore(source, tmp_path / "new")


def test_verify_reads_every_byte(full: Record) -> None:
    assert verify(full).bytes == sum(full.blobs.path(name).stat().st_size for name in full.blobs.names())
    thing = things(full)[0]
    assert thing.sha256
    full.blobs.path(thing.sha256).write_bytes(thing_bytes(full, thing).replace(b"10", b"12"))
    with pytest.raises(Damaged):
        verify(full)


def test_the_steps_lead_to_the_tables_of_this_release(record: Record) -> None:
    with record.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


@pytest.mark.parametrize("released", RELEASED, ids=[path.stem for path in RELEASED])
def test_a_record_of_every_released_schema_can_be_read(
    released: Path, empty_database: Callable[[], str], tmp_path: Path
) -> None:
    with tarfile.open(released) as archive:
        file = archive.extractfile("record.json")
        assert file is not None
        assert json.load(file)["schema"] == released.stem
    with restore(released, tmp_path / "old", database=empty_database()) as back:
        assert jobs(back)[0].title == "Bearing cap, irrigation pump"
        assert [one.stands for one in standing(back, jobs(back)[0].name, Kind.SIGNED)] == [True]
        assert things(back)
        assert find_person(back, "Lea").role is Role.LEAD


def test_every_step_has_a_record_from_before_it() -> None:
    steps = (Path(__file__).parents[2] / "src/setwright/record/migrations/versions").glob("[a-z]*.py")
    assert {path.stem for path in steps} == {path.stem for path in RELEASED}


def test_a_record_of_a_later_release_is_refused(record: Record, database: str, tmp_path: Path) -> None:
    with record.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = 'later'")
    with pytest.raises(Unavailable, match='schema "later"'):
        open_record(tmp_path / "record", database=database)


def test_a_database_that_cannot_be_used_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for place, database in ((tmp_path / "file", ""), (tmp_path / "r", "mysql://x/y"), (tmp_path / "r", "post gres"),
                            (tmp_path / "r", f"postgresql://nobody@/none?host={tmp_path}")):  # fmt: skip
        with pytest.raises(Unavailable):
            open_record(place, database=database)


def test_a_reader_sees_one_state_while_others_write(record: Record) -> None:
    person = metadata.tables["person"]
    with record.writing() as connection:
        connection.execute(insert(person).values(name="Ada", folded="ada", role="viewer", secret="", active=1, at=now()))
    with record.reading() as reader:
        assert reader.execute(select(person.c.role)).scalars().all() == ["viewer"]
        with record.writing() as writer:
            writer.execute(update(person).values(role="lead"))
        assert reader.execute(select(person.c.role)).scalars().all() == ["viewer"]
    with record.reading() as reader:
        assert reader.execute(select(person.c.role)).scalars().all() == ["lead"]


def test_half_a_write_is_no_write(record: Record) -> None:
    person = metadata.tables["person"]

    def half() -> None:
        with record.writing() as connection:
            connection.execute(insert(person).values(name="Ada", folded="ada", role="viewer", secret="", active=1, at=now()))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        half()
    with record.reading() as connection:
        assert connection.execute(select(person)).all() == []


@pytest.mark.parametrize("lost", [True, False])
def test_a_stored_file_that_is_not_in_the_backup_or_is_another_one_is_named(full: Record, tmp_path: Path, lost: bool) -> None:
    back_up(full, tmp_path / "backup.tar")
    with tarfile.open(tmp_path / "backup.tar") as whole, tarfile.open(tmp_path / "other.tar", "w") as other:
        name = next(member.name for member in whole if member.name.startswith("blobs/"))
        for member in whole:
            data = whole.extractfile(member)
            if member.name == name and not lost:
                member.size, data = 4, io.BytesIO(b"else")
            if member.name != name or not lost:
                other.addfile(member, data)
    said = name.removeprefix("blobs/")[:12] if lost else name
    with pytest.raises(Damaged, match=said):
        restore(tmp_path / "other.tar", tmp_path / "new")
    assert not (tmp_path / "new").exists()
