"""What Touch says of a revision's readings, with everything but the readings put together once and remembered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePosixPath
from typing import Any

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.geometry.bodies import MeshShape
from setwright.jobfolder.document import decode
from setwright.jobfolder.load import READINGS_FILE, JobFolder, load_held, setup_numbered, with_readings
from setwright.jobfolder.measured import MEASURED_FILE
from setwright.kit.station import Kit, kit
from setwright.model.answer import document, refusal_findings
from setwright.model.finding import Finding
from setwright.record.blobs import Blobs
from setwright.record.jobs import Revision
from setwright.sheet.picture import touch_picture
from setwright.touch.pencil import Pencil
from setwright.touch.sentence import sentence
from setwright.touch.station import Wanted, touch
from setwright.touch.untouched import is_untouched, setups_touched, untouched_plain, untouched_sentence
from setwright.web.remembered import remembered

__all__ = ["Together", "plan_of", "readings_path", "readings_text", "size_of_folder", "together_of", "touch_document"]


_PARSED, _PUT_TOGETHER = 20, 200_000


def touch_document(
    blobs: Blobs, found: Revision, text: str, setup: str | None, job: str, wanted_units: str | None = None, *, whole: bool = False
) -> dict[str, Any]:
    """The solution with the readings in `text`; everything else is put together once for all readings. Before anything is
    touched it says what there is to touch; readings that cannot be solved are told, or (with `whole`) refused."""
    together = together_of(blobs, found)
    read_job = with_readings(together.folder, text)
    units = wanted_units or ("inch" if read_job.job.units == "in" else "mm")
    setups = setups_touched(read_job.job, setup)
    answers = [_touch_of(replace(together.kit(one.name), folder=read_job), units, whole=whole) for one in setups]
    documents = [document for document, _, _ in answers]
    findings = [finding for _, said, _ in answers for finding in said]
    refused: dict[str, Any] = {"refused": True} if any(stopped for _, _, stopped in answers) else {}
    return document("touch", {**refused, **documents[0], "setups": documents}, job=job, units=units, findings=findings)


def plan_of(blobs: Blobs, found: Revision, text: str, setup: str | None) -> list[dict[str, Any]]:
    """What is still to be touched in a setup with the readings in `text`; the first setup where none is named."""
    together = together_of(blobs, found)
    read_job = with_readings(together.folder, text)
    return Pencil.of(replace(together.kit(setup_numbered(read_job.job, setup)[0].name), folder=read_job)).as_plain()


def _touch_of(together: Kit, units: str, *, whole: bool) -> tuple[dict[str, Any], list[Finding], bool]:
    """One setup: its document, what is found, and whether its readings cannot be solved."""
    pencil = Pencil.of(together)
    named: dict[str, Any] = {"setup": together.setup.name, "plan": pencil.as_plain(), "usual": pencil.usual()}
    if is_untouched(together, together.folder.job.readings):
        picture = touch_picture(together, None)
        return named | untouched_plain() | {"answer": untouched_sentence(together), "picture": picture}, [], False
    try:
        result = touch(together, wanted=Wanted.AS_FAR, units=units)
    except InputRefused as refusal:
        if whole:
            raise
        said = "These readings cannot be solved together."
        return (
            named | untouched_plain() | {"answer": said, "picture": touch_picture(together, None)},
            refusal_findings(refusal.problems),
            True,
        )
    picture = touch_picture(together, result)
    return named | result.as_plain(units) | {"answer": sentence(result, units), "picture": picture}, list(result.findings), False


@dataclass(frozen=True, slots=True)
class Together:
    """A revision without its readings: the job, and its setups put together as they are asked for."""

    key: str
    folder: JobFolder

    def kit(self, setup: str) -> Kit:
        """A setup put together. Raises InputRefused."""
        return remembered(("kit", self.key, setup), lambda: kit(self.folder, self.folder.job.setup_named(setup)), size=_kit_size)


def together_of(blobs: Blobs, found: Revision) -> Together:
    """The job put together without what is read at the machine and at the bench."""
    apart = {found.at_home(READINGS_FILE), found.at_home(MEASURED_FILE)}
    others = {path: digest for path, digest in found.files.items() if path not in apart}
    key = digest_document({"home": found.home, "files": others, "job": found.job})

    def opened() -> JobFolder:
        files = {path: blobs.get(digest) for path, digest in others.items()}
        return load_held(files, home=found.home, name=PurePosixPath(found.home).name or found.job)

    return Together(key, remembered(("folder", key), opened, size=size_of_folder))


def size_of_folder(read_job: JobFolder) -> int:
    """Bytes of the files, and about what a parsed document takes for each of its text."""
    held = sum(map(len, (*read_job.sources.values(), *read_job.meshes.values())))
    return held + _PARSED * sum(map(len, read_job.texts.values()))


def _kit_size(together: Kit) -> int:
    """Bytes of the meshes, and about what everything else takes; the folder is remembered by itself."""
    bodies = [body.shape for body in together.placement.bodies] + ([together.blank.shape] if together.blank else [])
    return _PUT_TOGETHER + sum(shape.triangles.nbytes for shape in bodies if isinstance(shape, MeshShape))


def readings_path(revision: Revision) -> str:
    return f"{revision.home}/{READINGS_FILE}" if revision.home else READINGS_FILE


def readings_text(blobs: Blobs, revision: Revision) -> str:
    digest = revision.files.get(readings_path(revision))
    return "" if digest is None else decode(blobs.get(digest), shown=READINGS_FILE)
