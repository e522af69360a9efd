"""Jobs in the record: the same bytes back, revisions that never change, nobody's change silently overwritten."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused, LimitReached
from setwright.jobfolder.load import load_job
from setwright.record.folder import JobFiles, check_path, gather_folder, write_folder
from setwright.record.jobs import add_job, find_revision, job_folder, job_name, jobs, revise, revision_files, revisions, setups_of
from setwright.record.refusals import AlreadyThere, Damaged, NotThere, Stale
from setwright.record.store import Record
from tests.record.conftest import DEMO


def bytes_in(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_folder_comes_back_byte_for_byte(record: Record, cap: JobFiles, tmp_path: Path) -> None:
    add_job(record, cap, name="cap", by="Ada")
    write_folder(revision_files(record, find_revision(record, "cap")).files, tmp_path / "back")
    assert bytes_in(tmp_path / "back") == bytes_in(DEMO)
    assert len(cap.files) > 10


def test_a_revision_names_its_files_and_its_document(record: Record, cap: JobFiles) -> None:
    made = add_job(record, cap, name="cap", by="Ada", note="from the desk")
    assert made.files["cap-1.nc"] == hashlib.sha256((DEMO / "cap-1.nc").read_bytes()).hexdigest()
    assert made.document == digest_document(load_job(DEMO).job.model_dump(mode="json", by_alias=True))
    assert (made.number, made.by, made.note, made.title) == (1, "Ada", "from the desk", "Bearing cap, irrigation pump")
    assert setups_of(record, made) == [setup.name for setup in load_job(DEMO).job.setup]


def test_the_stations_get_the_job_that_was_put_in(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    read = job_folder(record, find_revision(record, "cap"))
    assert read.job == load_job(DEMO).job
    assert read.sources == load_job(DEMO).sources
    assert read.name == "cap"


def test_a_change_is_a_new_revision_and_the_old_one_stays(record: Record, cap: JobFiles) -> None:
    first = add_job(record, cap, name="cap", by="Ada")
    second = revise(record, "cap", {"cap-2.nc": b"%\nO2\nM30\n%\n"}, based_on=1, by="Ben", note="shorter")
    third = revise(record, "cap", {"notes/seat.txt": "Sitz prüfen".encode()}, based_on=2, by="Ada")
    assert [one.number for one in revisions(record, "cap")] == [1, 2, 3]
    assert find_revision(record, "cap", number=1) == first
    assert revision_files(record, first).files == cap.files
    assert len({first.digest, second.digest, third.digest}) == 3
    assert third.document == second.document
    assert revise(record, "cap", {"notes/seat.txt": None}, based_on=3, by="Ada").digest == second.digest


def test_a_change_that_changes_nothing_makes_no_revision(record: Record, cap: JobFiles) -> None:
    first = add_job(record, cap, name="cap", by="Ada")
    assert revise(record, "cap", {"cap-1.nc": cap.files["cap-1.nc"]}, based_on=1, by="Ben") == first


def test_a_change_based_on_an_old_revision_is_refused(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    revise(record, "cap", {"a.txt": b"a"}, based_on=1, by="Ben")
    with pytest.raises(Stale, match=r'from revision 1, but "cap" is at revision 2, Ben changed it on \d{4}-'):
        revise(record, "cap", {"a.txt": b"b"}, based_on=1, by="Ada")
    assert revision_files(record, find_revision(record, "cap")).files["a.txt"] == b"a"


def test_of_many_at_once_one_gets_through_and_the_others_hear_of_it(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    together = threading.Barrier(4)
    said: list[str] = []

    def change(who: str) -> None:
        together.wait()
        try:
            revise(record, "cap", {"who.txt": who.encode()}, based_on=1, by=who)
            said.append(f"kept {who}")
        except Stale:
            said.append("stale")

    threads = [threading.Thread(target=change, args=(f"P{n}",)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    kept = [one for one in said if one.startswith("kept")]
    assert len(kept) == 1
    assert said.count("stale") == 3
    assert revision_files(record, find_revision(record, "cap")).files["who.txt"].decode() == kept[0].split()[1]


def test_what_is_no_job_is_refused_with_its_place_and_leaves_nothing(record: Record, cap: JobFiles) -> None:
    text = cap.files["job.toml"].replace(b"[setup.datum]", b"[setup.datom]", 1)
    with pytest.raises(InputRefused) as refusal:
        add_job(record, JobFiles({**cap.files, "job.toml": text}), name="cap", by="Ada")
    span = refusal.value.problems[0].span
    assert span is not None
    assert span.file == "job.toml"
    assert span.line > 0
    assert jobs(record) == []
    with pytest.raises(NotThere):
        find_revision(record, "cap")


def test_names(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    with pytest.raises(AlreadyThere):
        add_job(record, cap, name="cap", by="Ada")
    with pytest.raises(InputRefused, match='for example "bearing-cap-2"'):
        add_job(record, cap, name="Bearing Cap (2)", by="Ada")
    with pytest.raises(NotThere, match='did you mean "cap"'):
        find_revision(record, "capp")
    with pytest.raises(NotThere, match="has no revision 7"):
        find_revision(record, "cap", number=7)
    assert job_name("…/..") == "job"


def test_the_job_changed_last_comes_first(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="one", by="Ada")
    add_job(record, cap, name="two", by="Ada")
    revise(record, "one", {"a.txt": b"a"}, based_on=1, by="Ben")
    assert [(line.name, line.head, line.by) for line in jobs(record)] == [("one", 2, "Ben"), ("two", 1, "Ada")]


def test_a_changed_byte_on_disk_is_noticed(record: Record, cap: JobFiles) -> None:
    made = add_job(record, cap, name="cap", by="Ada")
    path = record.blobs.path(made.files["cap-1.nc"])
    data = bytearray(path.read_bytes())
    data[10] ^= 1
    path.write_bytes(data)
    with pytest.raises(Damaged, match="is not what was written"):
        revision_files(record, made)
    path.unlink()
    with pytest.raises(Damaged, match="cannot be read"):
        revision_files(record, made)


def shared_shop(tmp_path: Path) -> Path:
    """A job that refers to a shop folder beside it."""
    base = tmp_path / "works"
    write_folder(gather_folder(DEMO).files, base / "jobs" / "cap")
    (base / "jobs" / "cap" / "shop").rename(base / "shop")
    text = (base / "jobs" / "cap" / "job.toml").read_text()
    (base / "jobs" / "cap" / "job.toml").write_text(text.replace('units = "mm"', 'units = "mm"\nshop_folder = "../../shop"', 1))
    return base / "jobs" / "cap"


def test_a_shared_shop_folder_comes_along(record: Record, tmp_path: Path) -> None:
    given = gather_folder(shared_shop(tmp_path))
    assert given.home == "jobs/cap"
    made = add_job(record, given, name="cap", by="Ada")
    assert "shop/machines/mill-2.toml" in made.files
    back = revision_files(record, made)
    write_folder(back.files, tmp_path / "back")
    assert bytes_in(tmp_path / "back") == bytes_in(tmp_path / "works")
    assert load_job(tmp_path / "back" / back.home).job == job_folder(record, made).job


def test_what_is_not_taken_in_is_named(tmp_path: Path) -> None:
    write_folder(gather_folder(DEMO).files, tmp_path / "cap")
    (tmp_path / "cap" / ".hidden").write_text("x")
    (tmp_path / "cap" / "link.txt").symlink_to(tmp_path / "cap" / "job.toml")
    given = gather_folder(tmp_path / "cap")
    assert sorted(given.left_out) == [".hidden", "link.txt"]
    assert not {".hidden", "link.txt"} & set(given.files)


@pytest.mark.parametrize(
    "path", ["../x", "a/../x", "/x", "a//b", "", ".", "a/.b/x", "a\\b", "c:x", "a\nb", "aux.txt", "x.", "x" * 401]
)
def test_paths_that_could_do_harm_are_refused(path: str) -> None:
    with pytest.raises(InputRefused):
        check_path(path)


@pytest.mark.parametrize("path", ["cap-1.nc", "shop/tools/Fräser 16.toml", "a b/c_d.e", "O1234"])
def test_ordinary_paths_are_taken(path: str) -> None:
    check_path(path)
    assert path


def test_names_that_differ_in_case_only_and_too_many_files_are_refused(record: Record, cap: JobFiles) -> None:
    with pytest.raises(InputRefused, match="differ only in upper and lower case"):
        add_job(record, replace(cap, files={**cap.files, "Cap-1.NC": b""}), name="cap", by="Ada")
    with pytest.raises(LimitReached):
        add_job(record, replace(cap, files={**cap.files, **{f"n{n}": b"" for n in range(5000)}}), name="cap", by="Ada")


def test_nothing_is_overwritten(cap: JobFiles, tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "file").write_text("mine")
    with pytest.raises(InputRefused, match="is there already"):
        write_folder(cap.files, tmp_path / "there")
    assert bytes_in(tmp_path) == {"there/file": b"mine"}


@pytest.mark.parametrize("name", ["/etc/passwd", "../outside.nc", "/proc/self/environ"])
def test_the_record_takes_in_no_file_from_outside_the_job(record: Record, cap: JobFiles, tmp_path: Path, name: str) -> None:
    (tmp_path / "outside.nc").write_bytes(b"the password")
    text = cap.files["job.toml"].replace(b'programs = ["cap-1.nc"]', f'programs = ["cap-1.nc", "{name}"]'.encode())
    assert text != cap.files["job.toml"]
    with pytest.raises(InputRefused, match="leads out"):
        add_job(record, JobFiles(dict(cap.files) | {"job.toml": text}), name="cap", by="Ada")
    write_folder(dict(cap.files) | {"job.toml": text}, tmp_path / "job")
    with pytest.raises(InputRefused, match="leads out"):
        gather_folder(tmp_path / "job")
    add_job(record, cap, name="cap", by="Ada")
    with pytest.raises(InputRefused, match="leads out"):
        revise(record, "cap", {"job.toml": text}, based_on=1, by="Ada")
    assert find_revision(record, "cap").number == 1
