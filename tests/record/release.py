"""Writes the record that stands for this release's schema, once, when the release is made: python -m tests.record.release"""

from __future__ import annotations

import tempfile
from pathlib import Path

from setwright.record.artefacts import keep_artefact
from setwright.record.backup import back_up
from setwright.record.calculations import ask_calculation, start_calculation
from setwright.record.entries import sign_off
from setwright.record.folder import gather_folder
from setwright.record.jobs import add_job, revise
from setwright.record.migrate import schema_of
from setwright.record.people import Role, add_person, note_audit
from setwright.record.shop import put_thing
from setwright.record.store import open_record

HERE = Path(__file__).resolve().parent
DEMO = HERE.parents[1] / "src" / "setwright" / "demo" / "bearing-cap"


def main() -> None:
    """One row of every kind, so that every table has something to lose."""
    with tempfile.TemporaryDirectory() as scratch, open_record(Path(scratch)) as record:
        files = gather_folder(DEMO)
        add_job(record, files, name="bearing-cap", by="Ada")
        revise(record, "bearing-cap", {"note.txt": b"deburr the seat first"}, based_on=1, by="Ben", note="what to do first")
        sign_off(record, "bearing-cap", "kit", based_on=2, by="Lea", role=Role.LEAD)
        keep_artefact(record, "bearing-cap", b"{}", revision=2, station="prove", setup="", name="proof.json",
                      media_type="application/json", inputs="0" * 64, by="Ben")  # fmt: skip
        asked = ask_calculation(record, "bearing-cap", revision=2, station="prove", setup="", options={}, by="Ben")
        start_calculation(record, asked.id)
        put_thing(record, "tools", "end-mill-16", files.files["shop/tools/end-mill-16.toml"], based_on=0, by="Lea")
        add_person(record, "Lea", role=Role.LEAD, secret="")
        note_audit(record, "signed in", by="Lea", detail={"where": "tablet"})
        with record.reading() as connection:
            schema = schema_of(connection)
        back_up(record, HERE / "released" / f"{schema}.tar")


if __name__ == "__main__":
    main()
