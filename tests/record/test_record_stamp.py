"""A job's stamp: one question tells whether anything was added to what the record has about it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from setwright.record.artefacts import artefacts, keep_artefact
from setwright.record.entries import entries, remark, sign_off, withdraw
from setwright.record.folder import JobFiles
from setwright.record.jobs import add_job, find_revision, revise
from setwright.record.refusals import NotThere
from setwright.record.stamp import Stamp, stamp_of
from setwright.record.store import Record


def test_everything_added_changes_the_stamp_and_nothing_else_does(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    add_job(record, cap, name="other", by="Ada")
    before = [stamp_of(record, "cap")]
    assert (before[0].revision, before[0].statements, before[0].results, before[0].by) == (1, 0, 0, "Ada")

    def kept() -> None:
        keep_artefact(record, "cap", b"{}", revision=2, station="prove", setup="", name="proof.json", media_type="application/json",
                      inputs="0" * 64, by="Eve")  # fmt: skip

    def taken_back() -> None:
        withdraw(record, "cap", entries(record, "cap")[-1].id, based_on=2, by="Dan")

    changes: list[tuple[str, Callable[[], object]]] = [
        ("Ben", lambda: revise(record, "cap", {"note.txt": b"x"}, based_on=1, by="Ben")),
        ("Cid", lambda: sign_off(record, "cap", "kit", based_on=2, by="Cid")),
        ("Dan", taken_back),
        ("Eve", kept),
        ("Fay", lambda: remark(record, "cap", "clean the vise", based_on=2, by="Fay")),
    ]
    for who, change in changes:
        assert stamp_of(record, "cap") == before[-1], "asking twice gives the same"
        change()
        before.append(stamp_of(record, "cap"))
        assert before[-1].by == who
    assert len(set(before)) == len(before)
    last: Stamp = before[-1]
    assert (last.revision, last.digest) == (2, find_revision(record, "cap").digest)
    assert (last.statements, last.results) == (len(entries(record, "cap")), len(artefacts(record, "cap"))) == (3, 1)
    remark(record, "other", "not of this job", based_on=1, by="Gus")
    assert stamp_of(record, "cap") == last


def test_a_job_that_is_not_there_is_refused(record: Record, cap: JobFiles) -> None:
    add_job(record, cap, name="cap", by="Ada")
    with pytest.raises(NotThere, match='did you mean "cap"'):
        stamp_of(record, "cab")
