"""Two people on one job: what does not overlap is put together, what does is shown with both values, and nothing is lost."""

from __future__ import annotations

import threading
import tomllib

import pytest

from setwright.record.folder import JobFiles
from setwright.record.jobs import add_job, find_revision, revision_files, revisions
from setwright.record.merge import Choice, merge_files, save
from setwright.record.refusals import Clashing, NotThere
from setwright.record.store import Record

JOB = "job.toml"
TEXT = """\
# plate
units = "mm"

[job]
title = "Plate"      # as on the drawing
revision = "A"

[[setup]]
name = "one"
offset = "G54"
blank = { box = [100, 80, 20], varies = [1, 1, 1] }

[[setup.tool]]
station = 1
stickout = 40
[[setup.tool]]
station = 2
stickout = 30
"""


def joined(
    base: str, yours: str, theirs: str, *choices: Choice, file: str = JOB
) -> tuple[str | None, list[tuple[str, str | None, str | None]]]:
    files, clashes = merge_files({file: base.encode()}, {file: yours.encode()}, {file: theirs.encode()}, choices)
    data = files[file]
    return None if data is None else data.decode(), [(one.what, one.yours, one.theirs) for one in clashes]


def test_changes_of_other_lines_are_put_together_with_every_comment() -> None:
    yours, theirs = TEXT.replace("stickout = 40", "stickout = 41"), TEXT.replace('"A"', '"B"  # new')
    assert joined(TEXT, yours, theirs) == (theirs.replace("stickout = 40", "stickout = 41"), [])


def test_changes_of_one_line_are_put_together_field_by_field() -> None:
    text, clashes = joined(TEXT, TEXT.replace("80", "81"), TEXT.replace("[1, 1, 1]", "[2, 2, 2]"))
    assert clashes == []
    assert text == TEXT.replace("80", "81").replace("[1, 1, 1]", "[2, 2, 2]")


def test_fields_side_by_side_are_two_fields() -> None:
    text, clashes = joined(TEXT, TEXT.replace('"Plate"', '"Big plate"'), TEXT.replace('"A"', '"B"'))
    assert (text, clashes) == (TEXT.replace('"Plate"', '"Big plate"').replace('"A"', '"B"'), [])


def test_what_both_add_is_there_twice_and_what_one_takes_out_is_gone() -> None:
    third, fourth = ("[[setup.tool]]\nstation = 3\nstickout = 33\n", "[[setup.tool]]\nstation = 4\nstickout = 44\n")
    text, clashes = joined(TEXT, TEXT + third, TEXT.replace("[[setup.tool]]\nstation = 1\nstickout = 40\n", "") + fourth)
    assert clashes == []
    assert text is not None
    assert {one["station"]: one["stickout"] for one in tomllib.loads(text)["setup"][0]["tool"]} == {2: 30, 3: 33, 4: 44}


def test_readings_that_both_added_are_all_there() -> None:
    base = '[[contact]]\non = "left"\nx = 1.0\n'
    yours, theirs = base + '\n[[contact]]\non = "back"\ny = 2.0\n', base + '\n[[contact]]\non = "top"\nz = 3.0\n'
    text, clashes = joined(base, yours, theirs, file="readings.toml")
    assert clashes == []
    assert text is not None
    assert [one["on"] for one in tomllib.loads(text)["contact"]] == ["left", "top", "back"]


def test_a_field_that_both_changed_is_shown_with_both_values_and_settled_by_a_choice() -> None:
    yours, theirs = TEXT.replace("= 40", "= 41").replace("= 30", "= 31"), TEXT.replace("= 40", "= 42")
    what = "setup “one” › tool “1” › stickout"
    assert joined(TEXT, yours, theirs)[1] == [(what, "41", "42")]
    assert joined(TEXT, yours, theirs, Choice(JOB, what, "42", "yours")) == (yours, [])
    assert joined(TEXT, yours, theirs, Choice(JOB, what, "42", "theirs")) == (theirs.replace("= 30", "= 31"), [])
    assert joined(TEXT, yours, theirs, Choice(JOB, what, "40", "yours"))[1] == [(what, "41", "42")]  # not what was seen


def test_taken_out_against_changed_is_a_clash() -> None:
    gone, longer = TEXT.replace("[[setup.tool]]\nstation = 2\nstickout = 30\n", ""), TEXT.replace("= 30", "= 31")
    assert [clash[1:] for clash in joined(TEXT, gone, longer)[1]] == [(None, '{"station": 2, "stickout": 31}')]
    assert [clash[1:] for clash in joined(TEXT, longer, gone)[1]] == [('{"station": 2, "stickout": 31}', None)]


def test_a_program_is_put_together_by_its_lines() -> None:
    base = "".join(f"N{n} X{n}.\n" for n in range(1, 30))
    yours, theirs = base.replace("X5.", "X5.5"), base.replace("N20 X20.\n", "")
    assert joined(base, yours, theirs, file="a.nc") == (theirs.replace("X5.", "X5.5"), [])
    beside = base.replace("X6.", "X6.6")
    assert joined(base, yours, beside, file="a.nc")[1] == [("lines 5 to 6", "N5 X5.5\nN6 X6.", "N5 X5.\nN6 X6.6")]
    assert joined(base, yours, beside, Choice("a.nc", "lines 5 to 6", "N5 X5.\nN6 X6.6", "yours"), file="a.nc") == (yours, [])


def test_files_that_are_no_text_clash_as_a_whole() -> None:
    files, clashes = merge_files({"a.stl": b"\xff1"}, {"a.stl": b"\xff22"}, {"a.stl": b"\xff333"})
    assert files == {"a.stl": b"\xff333"}
    assert [(one.yours, one.theirs) for one in clashes] == [("3 bytes", "4 bytes")]
    assert merge_files({"a": b"1"}, {"a": None}, {"a": b"2"})[1][0].yours is None
    assert merge_files({"a": b"1"}, {"a": None}, {"a": b"1"}) == ({"a": None}, [])
    assert merge_files({}, {"a": b"1"}, {"a": b"1"}) == ({"a": b"1"}, [])


def together(count: int, work: object) -> list[object]:
    """What `work(number)` gives or raises in as many threads, which begin at once."""
    gate, answers = threading.Barrier(count), [None] * count

    def one(number: int) -> None:
        gate.wait()
        try:
            answers[number] = work(number)  # type: ignore[operator]
        except Clashing as clash:
            answers[number] = clash

    threads = [threading.Thread(target=one, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def test_twenty_people_on_one_file_lose_nothing(record: Record, cap: JobFiles) -> None:
    """Each writes a line of his own into one text, all from the same revision."""
    note = "".join(f"place {n}:\n\n\n" for n in range(20))
    add_job(record, JobFiles({**cap.files, "note.txt": note.encode()}), name="cap", by="Ada")

    def write(n: int) -> object:
        return save(record, "cap", {"note.txt": note.replace(f"place {n}:", f"place {n}: done").encode()}, based_on=1, by=f"P{n}")

    together(20, write)
    held = revision_files(record, find_revision(record, "cap")).files["note.txt"].decode()
    assert held == "".join(f"place {n}: done\n\n\n" for n in range(20))
    assert [one.number for one in revisions(record, "cap")] == list(range(1, 22))


def test_of_twenty_who_change_one_field_one_is_first_and_the_others_hear_both_values(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    text = cap.files[JOB].decode()

    def change(n: int) -> object:
        return save(record, "cap", {JOB: text.replace('revision = "C"', f'revision = "C{n}"').encode()}, based_on=1, by=f"P{n}")

    answers = together(20, change)
    clashes = [(n, one) for n, one in enumerate(answers) if isinstance(one, Clashing)]
    assert len(clashes) == 19
    (first,) = set(range(20)) - {n for n, _ in clashes}
    assert {(one.clashes[0]["what"], one.clashes[0]["yours"], one.clashes[0]["theirs"]) for _, one in clashes} == {
        ("job › revision", f'"C{n}"', f'"C{first}"') for n, _ in clashes
    }
    assert find_revision(record, "cap").number == 2


def test_others_changes_are_told_and_a_revision_to_come_is_refused(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    save(record, "cap", {"a.txt": b"one"}, based_on=1, by="Ben")
    saved = save(record, "cap", {"b.txt": b"two"}, based_on=1, by="Lea", note="second")
    assert [str(change) for change in saved.others] == ["a.txt: new, 3 bytes"]
    assert saved.revision.note == "second (put together with revision 2)"
    assert {"a.txt", "b.txt"} <= set(saved.revision.files)
    with pytest.raises(NotThere, match="no revision 9"):
        save(record, "cap", {"b.txt": b"3"}, based_on=9, by="Lea")
