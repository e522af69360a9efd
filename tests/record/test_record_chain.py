"""A record that was changed by other means than this program says so, and names the entry."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text

from setwright.base.errors import InputRefused
from setwright.record.artefacts import keep_artefact
from setwright.record.backup import _database_faults, back_up, faults, restore, verify
from setwright.record.calculations import CalculationState, ask_calculation, end_calculation, start_calculation
from setwright.record.chain import Seal, read_seal, seal_of, seal_of_revision, sealed_by
from setwright.record.engine import make_engine
from setwright.record.entries import accept_finding, entries, sign_off, state_run, withdraw
from setwright.record.folder import JobFiles
from setwright.record.jobs import add_job, revise
from setwright.record.migrate import migrate
from setwright.record.people import Role, add_person, change_person, note_audit
from setwright.record.refusals import Damaged
from setwright.record.schema import now
from setwright.record.shop import put_thing, take_out_thing
from setwright.record.store import SEAL_FILE, Record, open_record

TOOL = b'name = "end mill 10"\nkind = "end mill"\ndiameter = 10\nflute_length = 22\n'
FINDING = {"slug": "close-pass", "signal": "CAUTION", "text": "the holder passes at 1.2 mm", "setup": "", "file": "cap-1.nc",
           "line": 4}  # fmt: skip
OTHER = "0" * 64


def filled(record: Record, cap: JobFiles) -> Record:
    """Something in every table, with rows that were replaced."""
    add_job(record, cap, name="cap", by="Ada")
    add_job(record, cap, name="other", by="Ben")
    revise(record, "cap", {"note.txt": b"deburr first"}, based_on=1, by="Ben", note="what to do first")
    sign_off(record, "cap", "kit", based_on=2, by="Lea", role=Role.LEAD)
    accept_finding(record, "cap", FINDING, reason="it was looked at", until=now().date(), based_on=2, by="Lea")
    run = state_run(record, "cap", pieces=6, based_on=2, by="Ben")
    withdraw(record, "cap", run.id, based_on=2, by="Ben")
    keep_artefact(record, "cap", b"proof", revision=2, station="prove", setup="", name="proof.json", media_type="application/json",
                  inputs="1" * 64, by="Ada")  # fmt: skip
    asked = ask_calculation(record, "cap", revision=2, station="prove", setup="", options={"pitch_mm": 1.0}, by="Ben")
    start_calculation(record, asked.id)
    end_calculation(record, asked.id, CalculationState.DONE, artefact_id=1)
    put_thing(record, "tools", "em10", TOOL, based_on=0, by="Ada")
    put_thing(record, "tools", "em12", TOOL, based_on=0, by="Ada")
    take_out_thing(record, "tools", "em12", based_on=1, by="Ada")
    add_person(record, "Lea", role=Role.LEAD, secret="s")
    change_person(record, "Lea", role=Role.SETTER)
    note_audit(record, "signed in", by="Lea", subject="Lea", detail={"where": "tablet"})
    note_audit(record, "signed out", by="Lea", subject="Lea")
    verify(record)
    return record


@pytest.fixture
def full(record: Record, cap: JobFiles) -> Record:
    return filled(record, cap)


LATER = "'2027-01-01 00:00:00.000000'"
BLOB = "(SELECT sha256 FROM revision_file WHERE path = 'cap-2.nc' LIMIT 1)"
EDITS = {
    **{f"date of a {table}": (f"UPDATE {table} SET at = {LATER} WHERE {which}", said) for table, which, said in (
        ("job", "id = 1", "job 1"), ("revision", "job_id = 1 AND number = 2", "revision 1/2"), ("entry", "id = 1", "statement 1"),
        ("artefact", "id = 1", "result 1"), ("calculation", "id = 1", "calculation 1"),
        ("shop_revision", "name = 'em10'", "tools/em10/1"), ("person", "id = 1", "person 1"), ("audit", "id = 1", "audit 1"),
        ("chain", "number = 3", "link 3"))},
    **{f"author of a {table}": (f"UPDATE {table} SET by = 'Max' WHERE {which}", said) for table, which, said in (
        ("job", "id = 1", "job 1"), ("revision", "job_id = 1 AND number = 1", "revision 1/1"), ("entry", "id = 2", "statement 2"),
        ("artefact", "id = 1", "result 1"), ("calculation", "id = 1", "calculation 1"),
        ("shop_revision", "name = 'em12' AND number = 2", "tools/em12/2"), ("audit", "id = 1", "audit 1"))},
    "a job renamed": ("UPDATE job SET name = 'cup' WHERE id = 1", "job 1"),
    "a job set back": ("UPDATE job SET head = 1 WHERE id = 1", "job 1"),
    "a job set ahead": ("UPDATE job SET head = 3 WHERE id = 2", "job 2"),
    "a file pointed elsewhere": (f"UPDATE revision_file SET sha256 = {BLOB} WHERE job_id = 1 AND path = 'cap-1.nc'",
                                 "revision 1/1"),
    "a file renamed": ("UPDATE revision_file SET path = 'x.nc' WHERE job_id = 1 AND number = 2 AND path = 'cap-1.nc'",
                       "revision 1/2"),
    "a file taken out": ("DELETE FROM revision_file WHERE job_id = 1 AND number = 2 AND path = 'cap-1.nc'", "revision 1/2"),
    "a file put in": (f"INSERT INTO revision_file VALUES (1, 2, 'more.nc', {BLOB})", "revision 1/2"),
    "a digest of a revision": (f"UPDATE revision SET digest = '{OTHER}' WHERE job_id = 1 AND number = 2", "revision 1/2"),
    "a document of a revision": (f"UPDATE revision SET document = '{OTHER}' WHERE job_id = 1 AND number = 2", "revision 1/2"),
    "a title": ("UPDATE revision SET title = 'Cup' WHERE job_id = 1 AND number = 2", "revision 1/2"),
    "a home": ("UPDATE revision SET home = 'x' WHERE job_id = 1 AND number = 2", "revision 1/2"),
    "a note": ("UPDATE revision SET note = '' WHERE job_id = 1 AND number = 2", "revision 1/2"),
    "a signature moved to another revision": ("UPDATE entry SET revision = 1 WHERE id = 1", "statement 1"),
    "a signature moved to another job": ("UPDATE entry SET job_id = 2, revision = 1 WHERE id = 1", "statement 1"),
    "a signature of another station": ("UPDATE entry SET subject = 'prove' WHERE id = 1", "statement 1"),
    "a statement of another kind": ("UPDATE entry SET kind = 'signed off' WHERE id = 2", "statement 2"),
    "a statement on another setup": ("UPDATE entry SET setup = 'first side' WHERE id = 1", "statement 1"),
    "what a signature was made about": (f"UPDATE entry SET looked_at = '{OTHER}' WHERE id = 1", "statement 1"),
    "the words of a statement": ("UPDATE entry SET body = '{}' WHERE id = 2", "statement 2"),
    "a withdrawal gone": ("DELETE FROM entry WHERE id = 4", "statement 4 is gone"),
    "a signature gone": ("DELETE FROM entry WHERE id = 1", "statement 1 is gone"),
    "all statements gone": ("DELETE FROM entry", "statement 1 is gone"),
    "a statement put in": (f"INSERT INTO entry (id, job_id, revision, kind, setup, subject, looked_at, body, by, at) "
                           f"VALUES (99, 1, 2, 'signed off', '', 'prove', '{OTHER}', '{{}}', 'Lea', {LATER})",
                           "statement 99 was never"),
    "a statement renumbered": ("UPDATE entry SET id = 98 WHERE id = 1", "statement 1 is gone"),
    "a result pointed elsewhere": (f"UPDATE artefact SET sha256 = {BLOB} WHERE id = 1", "result 1"),
    "a result of other inputs": (f"UPDATE artefact SET inputs = '{OTHER}' WHERE id = 1", "result 1"),
    "a result of another revision": ("UPDATE artefact SET revision = 1 WHERE id = 1", "result 1"),
    "a result of another station": ("UPDATE artefact SET station = 'sheet' WHERE id = 1", "result 1"),
    "a result under another name": ("UPDATE artefact SET name = 'x' WHERE id = 1", "result 1"),
    "a result of another kind": ("UPDATE artefact SET media_type = 'text/html' WHERE id = 1", "result 1"),
    "a calculation that did not end so": ("UPDATE calculation SET state = 'refused' WHERE id = 1", "calculation 1"),
    "a calculation without its result": ("UPDATE calculation SET artefact_id = NULL WHERE id = 1", "calculation 1"),
    "a calculation asked otherwise": ("UPDATE calculation SET options = '{}' WHERE id = 1", "calculation 1"),
    "a calculation gone": ("DELETE FROM calculation WHERE id = 1", "calculation 1 is gone"),
    "a tool pointed elsewhere": (f"UPDATE shop_revision SET sha256 = {BLOB} WHERE name = 'em10'", "tools/em10/1"),
    "a tool brought back": ("DELETE FROM shop_revision WHERE name = 'em12' AND number = 2", "tools/em12/2 is gone"),
    "a tool under another name": ("UPDATE shop_revision SET name = 'em11' WHERE name = 'em10'", "tools/em10/1 is gone"),
    "a person made a lead": ("UPDATE person SET role = 'lead' WHERE id = 1", "person 1"),
    "a person's password": ("UPDATE person SET secret = 'mine' WHERE id = 1", "person 1"),
    "a person let in again": ("UPDATE person SET active = 0 WHERE id = 1", "person 1"),
    "a person under another name": ("UPDATE person SET name = 'Max', folded = 'max' WHERE id = 1", "person 1"),
    "a person gone": ("DELETE FROM person WHERE id = 1", "person 1 is gone"),
    "a person put in": (f"INSERT INTO person (id, name, folded, role, secret, active, at) "
                        f"VALUES (9, 'Max', 'max', 'administrator', '', 1, {LATER})", "person 9 was never"),
    "an audit line reworded": ("UPDATE audit SET action = 'signed out' WHERE id = 1", "audit 1"),
    "an audit line on another": ("UPDATE audit SET subject = 'Max' WHERE id = 1", "audit 1"),
    "an audit line from elsewhere": ("UPDATE audit SET address = '10.0.0.9' WHERE id = 1", "audit 1"),
    "an audit line's detail": ("UPDATE audit SET detail = '{}' WHERE id = 1", "audit 1"),
    "two audit lines in another order": ("UPDATE audit SET id = CASE id WHEN 1 THEN 12 ELSE 1 END WHERE id IN (1, 2)",
                                         "audit 2 is gone"),
    "the audit gone": ("DELETE FROM audit", "audit 1 is gone"),
    "a link gone": ("DELETE FROM chain WHERE number = 4", "links 4 to 4"),
    "the last links gone": ("DELETE FROM chain WHERE number > (SELECT max(number) - 3 FROM chain AS c)", "was never written"),
    "a link of another row": ("UPDATE chain SET \"row\" = (SELECT \"row\" FROM chain AS c WHERE number = 1) WHERE number = 3",
                              "link 3"),
    "a link of another table": ("UPDATE chain SET \"of\" = 'audit' WHERE number = 3", "link 3"),
    "the size of a file": (f"UPDATE blob SET size = size + 1 WHERE sha256 = {BLOB}", "another size"),
}  # fmt: skip


def test_every_edit_by_sql_is_found_and_named(full: Record) -> None:
    assert len(EDITS) > 55
    for edit, (line, said) in EDITS.items():
        with full.engine.connect() as connection:
            assert connection.execute(text(line.replace("by =", '"by" =').replace(" by,", ' "by",'))).rowcount, edit
            found = list(faults(full, connection))
            connection.rollback()
        assert any(said in one for one in found), (edit, found)
    verify(full)


UNREADABLE = {
    "a link's key": ("UPDATE chain SET \"key\" = 'x' WHERE number = 3", "link of the chain 3 cannot be read: key"),
    "a link's key that is no list": ("UPDATE chain SET \"key\" = '5' WHERE number = 3", "link of the chain 3 cannot be read: key"),
    "a link's date": ("UPDATE chain SET at = 'yesterday' WHERE number = 3", "link of the chain 3 cannot be read: at"),
    "a link's bytes": ("UPDATE chain SET digest = x'ff00' WHERE number = 3", "link of the chain 3 cannot be read: digest"),
    "a link before the first": ("UPDATE chain SET number = -3 WHERE number = 3", "link -3 of the chain was never written"),
    "words that are none": ("UPDATE entry SET body = '{' WHERE id = 1", "statement 1 cannot be read: body (written 20"),
    "words without end": (f"UPDATE entry SET body = '{'[' * 5000}{']' * 5000}' WHERE id = 1", "statement 1 cannot be read: body"),
    "a number that is none": ("UPDATE entry SET body = 'NaN' WHERE id = 1", "statement 1 cannot be read: body"),
    "a number beyond all": ("UPDATE entry SET body = '{\"a\": 1e999}' WHERE id = 1", "statement 1 cannot be read: body"),
    "words as bytes": ("UPDATE entry SET body = x'ff' WHERE id = 1", "statement 1 cannot be read: body"),
    "a date that is none": ("UPDATE entry SET at = 'never' WHERE id = 1", "statement 1 cannot be read: at (written 20"),
    "a date as a number": ("UPDATE entry SET at = 5 WHERE id = 1", "statement 1 cannot be read: at"),
    "an end that is no date": ("UPDATE calculation SET ended_at = 'no' WHERE id = 1", "calculation 1 cannot be read: ended_at"),
    "letters that are none": ("UPDATE entry SET subject = CAST(x'ffff' AS TEXT) WHERE id = 1",
                              "statement 1 cannot be read: subject"),
    "half a letter": ("UPDATE person SET name = CAST(x'eda080' AS TEXT) WHERE id = 1", "person 1 cannot be read: name"),
    "a number as words": ("UPDATE job SET head = 'two' WHERE id = 1", "job 1 cannot be read: head"),
    "a size as bytes": ("UPDATE blob SET size = x'00'", "cannot be read: size"),
    "a billion revisions": ("UPDATE job SET head = 1000000000 WHERE id = 1", "“cap” should have the revisions 1 to 1000000000"),
    "a trigger": ("CREATE TRIGGER quiet AFTER INSERT ON entry BEGIN UPDATE entry SET subject = 'prove' WHERE id = NEW.id; END",
                  "a trigger “quiet” on entry is none of this program's"),
    "a view": ("CREATE VIEW seen AS SELECT * FROM entry", "a view “seen” on seen is none"),
}  # fmt: skip


def test_what_no_program_wrote_is_named_and_not_tripped_over(tmp_path: Path, cap: JobFiles) -> None:
    """A file takes any value in any column."""
    filled(open_record(tmp_path / "record"), cap).close()
    for edit, (line, said) in UNREADABLE.items():
        place = tmp_path / edit.replace(" ", "-")
        shutil.copytree(tmp_path / "record", place)
        with contextlib.closing(sqlite3.connect(place / "record.sqlite")) as database, database:
            database.execute(line)
        with pytest.raises(Damaged) as damage:
            look_at(place)
        assert any(said in one.what for one in damage.value.problems), (edit, damage.value)
        shutil.rmtree(place)


def look_at(place: Path) -> None:
    with open_record(place) as record:
        verify(record)


def test_what_cannot_be_read_is_told_in_words_to_whoever_asks_for_it(tmp_path: Path, cap: JobFiles) -> None:
    filled(open_record(tmp_path / "record"), cap).close()
    for line in ("UPDATE entry SET body = '{'", "UPDATE entry SET at = 'never'", "UPDATE entry SET subject = CAST(x'ff' AS TEXT)"):
        with contextlib.closing(sqlite3.connect(tmp_path / "record" / "record.sqlite")) as database, database:
            database.execute(line)
        with open_record(tmp_path / "record") as record, pytest.raises(Damaged):
            entries(record, "cap")


def test_what_changes_rows_on_the_way_into_a_server_is_named(server: str) -> None:
    engine = make_engine(server)
    with engine.connect() as connection:
        connection.execute(text("CREATE SCHEMA trig"))  # gone with this connection, like all that follows
        connection.execute(text("SET LOCAL search_path = trig"))
        connection.execute(text("CREATE TABLE entry (id int)"))
        connection.execute(text("CREATE FUNCTION quiet() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'"))
        assert list(_database_faults(connection)) == []
        connection.execute(text("CREATE TRIGGER quiet BEFORE INSERT ON entry EXECUTE FUNCTION quiet()"))
        connection.execute(text("CREATE RULE still AS ON DELETE TO entry DO INSTEAD NOTHING"))
        found = list(_database_faults(connection))
        connection.rollback()
    engine.dispose()
    assert [one.partition(" is none")[0] for one in found] == ["a trigger “quiet” on entry", "a rule “still” on entry"]


def test_an_edit_by_sql_is_refused_by_the_check(full: Record) -> None:
    with full.engine.begin() as connection:
        connection.execute(text("UPDATE entry SET subject = 'prove' WHERE id = 1"))
    with pytest.raises(Damaged, match=r"statement 1 is not what was written \(signed off, prove, by Lea\) \(written 20"):
        verify(full)


def test_what_a_person_did_in_order_is_no_fault(full: Record) -> None:
    looked = verify(full)
    assert looked.seal.number > len(EDITS) / 4
    sign_off(full, "cap", "prove", based_on=2, by="Lea")
    assert verify(full, against=[looked.seal]).seal.number == looked.seal.number + 1


def _files(place: Path) -> dict[str, Callable[[], object]]:
    stored = sorted((place / "blobs").iterdir())
    return {
        "a stored byte": lambda: stored[0].write_bytes(stored[0].read_bytes()[:-1] + b"#"),
        "a stored file emptied": lambda: stored[1].write_bytes(b""),
        "a stored file gone": lambda: stored[2].unlink(),
        "two stored files exchanged": lambda: (stored[3].rename(place / "x"), stored[4].rename(stored[3]),
                                               (place / "x").rename(stored[4])),
        "the seal": lambda: (place / SEAL_FILE).write_text('{"number": 3, "digest": "' + OTHER + '"}'),
        "a stored file that is a link": lambda: (stored[5].rename(place / "y"), stored[5].symlink_to(place / "y")),
        "a stored file that is a pipe": lambda: (stored[6].unlink(), os.mkfifo(stored[6])),
        "a stored file that never ends": lambda: (stored[7].unlink(), stored[7].symlink_to("/dev/zero")),
        "a stored file that is a folder": lambda: (stored[8].unlink(), stored[8].mkdir()),
        "the seal that is a pipe": lambda: ((place / SEAL_FILE).unlink(), os.mkfifo(place / SEAL_FILE)),
        "the seal beyond all numbers": lambda: (place / SEAL_FILE).write_text('{"number": Infinity, "digest": "00"}'),
        "the seal of a number too great": lambda: (place / SEAL_FILE).write_text('{"number": 9' + "9" * 30 + ', "digest": "00"}'),
        "the seal without end": lambda: (place / SEAL_FILE).write_text("[" * 100_000),
        "the seal not to be read": lambda: (place / SEAL_FILE).write_text("whole"),
    }  # fmt: skip


@pytest.mark.parametrize("edit", range(14))
def test_an_edit_of_a_file_is_found(full: Record, edit: int) -> None:
    full.keep_seal()
    edits = _files(full.place)
    edits[sorted(edits)[edit]]()
    with pytest.raises(Damaged) as damage:
        verify(full)
    for problem in damage.value.problems:
        assert "seal.json" in problem.what or "it is " in problem.what  # the entry that the file belongs to is named


SCHEMA = {
    "an older schema": ("UPDATE alembic_version SET version_num = 'first'", 'it names "first"'),
    "no schema": ("DELETE FROM alembic_version", "it names none"),
    "two schemas": ("INSERT INTO alembic_version VALUES ('first')", "it names 2 schemas"),
    "the schemas' table gone": ("DROP TABLE alembic_version", "it names none"),
    "a table gone": ("DROP TABLE session", "the table session is missing"),
    "the chain gone": ("DROP TABLE chain", "the table chain is missing"),
    "a name that may be there twice": ("ALTER TABLE person DROP CONSTRAINT uq_person_folded",
                                       "the table person may hold the same folded twice"),
    "a column gone": ("ALTER TABLE audit DROP COLUMN detail", "columns detail of the table audit are missing"),
}


IN_A_FILE = {"a name that may be there twice": [
    "CREATE TABLE p AS SELECT * FROM person", "PRAGMA defer_foreign_keys = ON", "DROP TABLE person",
    "CREATE TABLE person (id INTEGER PRIMARY KEY, name TEXT UNIQUE, folded TEXT, role TEXT, secret TEXT, active INTEGER, at TEXT)",
    "INSERT INTO person SELECT id, name, folded, role, secret, active, at FROM p", "DROP TABLE p"]}  # fmt: skip


@pytest.mark.parametrize("edit", SCHEMA)
def test_an_edit_of_the_schema_is_told_in_words(full: Record, edit: str) -> None:
    """As `open_record` finds it."""
    line, said = SCHEMA[edit]
    with full.engine.execution_options(writes=True).connect() as connection:
        for one in IN_A_FILE.get(edit, [line]) if connection.dialect.name == "sqlite" else [line]:
            connection.execute(text(one))
        with pytest.raises(Damaged, match=said):
            migrate(connection)
        connection.rollback()
    verify(full)


def test_the_newest_entries_gone_with_their_links_are_missed_by_every_seal(full: Record, tmp_path: Path) -> None:
    """As whoever knows how the chain is made would take them out: nothing is left to see but the seals."""
    backup = back_up(full, tmp_path / "backup.tar").seal
    with full.reading() as connection:
        of_revision = seal_of_revision(connection, 1, 2)
    full.keep_seal()
    with full.engine.begin() as connection:
        connection.execute(text("DELETE FROM audit"))
        connection.execute(text("DELETE FROM chain WHERE \"of\" = 'audit'"))
    assert not [one for one in _said(full) if "seal" not in one]
    assert any("seal.json" in one for one in _said(full))
    (full.place / SEAL_FILE).unlink()
    assert _said(full) == []
    assert any("the seal given" in one for one in _said(full, backup))
    assert _said(full, of_revision) == []  # what a sheet of that revision rests on is as it was


def _said(record: Record, *against: Seal) -> list[str]:
    with record.reading() as connection:
        return list(faults(record, connection, against=against))


def test_a_seal_names_the_entry_that_it_seals(full: Record) -> None:
    with full.reading() as connection:
        seal = seal_of_revision(connection, 1, 2)
        assert sealed_by(connection, read_seal(str(seal))).startswith("revision 2 of “cap”, written 20")
        assert sealed_by(connection, Seal(9999, OTHER)) == ""
        assert seal_of_revision(connection, 1, 9) == Seal(0, OTHER)
    assert verify(full, against=[read_seal(str(seal))]).sealed[0].startswith("revision 2 of “cap”")
    with full.engine.begin() as connection:
        connection.execute(text("UPDATE chain SET digest = :other WHERE number = :n").bindparams(n=seal.number, other=OTHER))
    with pytest.raises(Damaged):
        verify(full, against=[seal])


def test_a_record_rewound_to_an_earlier_copy_does_not_hold_the_later_seal(full: Record, tmp_path: Path) -> None:
    back_up(full, tmp_path / "early.tar")
    sign_off(full, "cap", "prove", based_on=2, by="Lea")
    full.keep_seal()
    later = verify(full).seal
    with restore(tmp_path / "early.tar", tmp_path / "early") as early:
        assert verify(early).seal.number < later.number
        with pytest.raises(Damaged, match="is not the one that was sealed"):
            verify(early, against=[later])
        with pytest.raises(Damaged, match="is not the one that was sealed"):
            verify(early, against=[read_seal(str(later))])
    shutil.copy(full.place / SEAL_FILE, tmp_path / "early" / SEAL_FILE)
    with open_record(tmp_path / "early") as early, pytest.raises(Damaged, match="is not the one that was sealed"):
        verify(early)
    assert f'"number": {later.number}' in (tmp_path / "early" / SEAL_FILE).read_text()  # opening it did not write over what tells


@pytest.mark.parametrize("said", ["", "12", "x 9f3a6c1e20b7", "12 9f3a", "12 9f3a6c1e20bz", "-1 9f3a6c1e20b7"])
def test_what_is_no_seal_is_refused(said: str) -> None:
    with pytest.raises(InputRefused, match="is not a seal"):
        read_seal(said)


def test_a_seal_is_read_as_it_is_printed() -> None:
    seal = Seal(1042, "9f3a6c1e20b7" + "0" * 52)
    assert read_seal(str(seal)) == Seal(1042, "9f3a6c1e20b7")


@pytest.mark.parametrize("line", ['{"number": 1', "DELETE"])
def test_a_refused_restore_leaves_nothing(full: Record, tmp_path: Path, empty_database: Callable[[], str], line: str) -> None:
    if line == "DELETE":
        with full.engine.begin() as connection:
            connection.execute(text("DELETE FROM entry WHERE id = 1"))
        with pytest.raises(Damaged):
            back_up(full, tmp_path / "backup.tar")
        return
    back_up(full, tmp_path / "backup.tar")
    data = (tmp_path / "backup.tar").read_bytes()
    place = data.rindex(b"deburr first")
    (tmp_path / "bad.tar").write_bytes(data[:place] + b"#" + data[place + 1 :])
    database = empty_database()
    with pytest.raises(Damaged):
        restore(tmp_path / "bad.tar", tmp_path / "new", database=database)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["backup.tar", "bad.tar", "record"]
    with restore(tmp_path / "backup.tar", tmp_path / "new", database=database) as back:  # the database is still empty
        assert verify(back).seal == verify(full).seal


def test_nobody_else_on_the_computer_reads_the_record(tmp_path: Path) -> None:
    with open_record(tmp_path / "record"):
        pass
    assert (tmp_path / "record").stat().st_mode & 0o777 == 0o700
    assert (tmp_path / "record" / "record.sqlite").stat().st_mode & 0o777 == 0o600


def test_a_damaged_database_file_is_told_in_words(full: Record, tmp_path: Path) -> None:
    shutil.copytree(full.place, tmp_path / "copy")
    (tmp_path / "copy" / "record.sqlite").write_bytes(b"not a database" * 1000)
    for beside in ("record.sqlite-wal", "record.sqlite-shm"):
        (tmp_path / "copy" / beside).unlink(missing_ok=True)
    with pytest.raises(Damaged, match="database file is damaged"):
        open_record(tmp_path / "copy")


def test_an_empty_record_has_the_empty_seal(record: Record) -> None:
    with record.reading() as connection:
        assert seal_of(connection).number == 0
    assert verify(record).revisions == 0
