"""What the processes for short work are asked (see `bounded`): functions that take files as they were sent or by their digests, and
give what goes out. None knows the record's database."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any, Final

from setwright.base.digest import digest_document
from setwright.base.errors import InputRefused
from setwright.jobfolder.document import decode, parse_document
from setwright.jobfolder.load import JobFolder, load_held, setup_numbered
from setwright.kit.drawn import holding_alone, tool_alone
from setwright.kit.findings import kit_findings
from setwright.kit.registers import nominal_truth
from setwright.kit.sentence import kit_sentence
from setwright.kit.station import Kit, kit
from setwright.model.answer import document, refusal_findings
from setwright.model.finding import Signal
from setwright.model.holding import Holding
from setwright.model.tool import Tool
from setwright.program.source import Source
from setwright.prove.reading import read_setup
from setwright.prove.standing import standing_of
from setwright.read.station import Reading
from setwright.record.blobs import Blobs
from setwright.record.changes import changes
from setwright.record.guesses import settle_guess
from setwright.record.jobs import Revision
from setwright.record.readings import ReadingKind, add_reading, change_reading, readings_in, remove_reading
from setwright.record.shop import KINDS
from setwright.start.draft import draft
from setwright.web.answers import encoded
from setwright.web.columns import path_columns
from setwright.web.measuring import Known, measured_words
from setwright.web.remembered import remembered
from setwright.web.scene import body_plain, kit_scene, tool_plain
from setwright.web.touching import plan_of, readings_text, size_of_folder, together_of, touch_document

__all__ = [
    "CardWords", "Drafted", "card_words", "changes_said", "document_said", "drafted", "drawn", "kept_readings", "kit_said",
    "path_said", "read_said", "readings_changed", "readings_said", "settled_text", "setups_said", "thing_said", "title_said",
    "touch_said", "warm_up", "without_readings",
]  # fmt: skip

_WARM: Final = b"%\nO1\nG21 G17 G90 G54\nT1 M6 (MILL D10)\nS3000 M3\nG0 X0 Y0\nG43 H1 Z5\nG1 Z-1 F200\nX10\nG0 Z50\nM30\n%\n"


def warm_up() -> None:
    """Have code and kernels ready that every draft needs."""
    from setwright.base.jit import remember_compiled

    drafted([("warm.nc", _WARM)])
    remember_compiled("program", "motion")


@dataclass(frozen=True, slots=True)
class Drafted:
    """A drafted job's files by path, its guesses as plain data."""

    files: Mapping[str, bytes]
    guesses: list[dict[str, Any]]


def drafted(programs: Sequence[tuple[str, bytes]]) -> Drafted:
    """The draft of a job from programs by name, seen to go together. Raises InputRefused."""
    made = draft([Source(name, data) for name, data in programs])
    read = load_held(made.files)
    for setup in read.job.setup:
        kit(read, setup)
    return Drafted(dict(made.files), [guess.model_dump(mode="json") for guess in made.guesses])


def title_said(files: Mapping[str, bytes], home: str, name: str) -> tuple[str, str]:
    """Title and digest of a job's document. Raises InputRefused for what is no job."""
    read = load_held(files, home=home, name=name)
    return read.job.job.title, digest_document(read.job.model_dump(mode="json", by_alias=True))


def document_said(blobs: Blobs, found: Revision) -> dict[str, Any]:
    """The whole job as one document."""
    return _folder(blobs, found).job.model_dump(mode="json", by_alias=True)


def setups_said(blobs: Blobs, found: Revision) -> list[str]:
    """The names of a job's setups."""
    return [setup.name for setup in _folder(blobs, found).job.setup]


def _folder(blobs: Blobs, found: Revision) -> JobFolder:
    def opened() -> JobFolder:
        files = {path: blobs.get(digest) for path, digest in found.files.items()}
        return load_held(files, home=found.home, name=PurePosixPath(found.home).name or found.job)

    return remembered(("whole folder", found.job, found.digest, found.home), opened, size=size_of_folder)


def _kits(blobs: Blobs, found: Revision, setup: str | None) -> list[Kit]:
    read_job = _folder(blobs, found)
    return [kit(read_job, one) for one in setup_numbered(read_job.job, setup)]


def _reading(revision: Revision, together: Kit) -> Reading:
    """A setup's programs as they were read for whoever asks: the page asks for the answer and for the path at once."""
    key = ("reading", revision.job, revision.digest, revision.home, together.setup.name)
    return remembered(key, lambda: read_setup(together, nominal_truth(together)), size=_path_size)


def _path_size(reading: Reading) -> int:
    """Bytes of the path, which is nearly all there is."""
    path = reading.interpreted.path
    return sum(column.nbytes for column in (path.start, path.end, path.kind, path.feed, path.line, path.file, path.state))


def read_said(blobs: Blobs, found: Revision, setup: str | None) -> bytes:
    """Read's document."""
    readings = [(one.setup.name, _reading(found, one)) for one in _kits(blobs, found, setup)]
    documents = [{"setup": name, **reading.as_plain()} for name, reading in readings]
    problems = [problem for _, reading in readings for problem in reading.problems]
    findings = [*(finding for _, reading in readings for finding in reading.findings), *refusal_findings(problems)]
    body = {**({"refused": True} if problems else {}), **documents[0], "setups": documents}
    return encoded(document("read", body, job=found.job, findings=findings))


def path_said(blobs: Blobs, found: Revision, setup: str | None) -> bytes:
    """The path of a setup's programs, in columns."""
    return path_columns(_reading(found, _kits(blobs, found, setup)[0]))


def kit_said(blobs: Blobs, found: Revision, setup: str | None) -> bytes:
    """Kit's document with the shapes of everything."""
    kits = _kits(blobs, found, setup)
    findings = [finding for one in kits for finding in kit_findings(one)]
    setups = [kit_scene(one) | _standing_said(one) for one in kits]
    return encoded(document("kit", {"setups": setups}, job=found.job, findings=findings))


def _standing_said(one: Kit) -> dict[str, Any]:
    """Where the holding may stand, or why that is not known."""
    try:
        return {"may_stand": standing_of(one).as_plain(), "may_stand_open": ""}
    except InputRefused as refusal:
        return {"may_stand": None, "may_stand_open": refusal.problems[0].what}


def touch_said(
    blobs: Blobs, found: Revision, text: str | None, setup: str | None, units: str | None, whole: bool  # noqa: FBT001
) -> bytes:
    """Touch's document with these readings; the job's own where there are none. `whole`: readings that cannot be solved are
    refused."""
    own = readings_text(blobs, found) if text is None else text
    return encoded(touch_document(blobs, found, own, setup, found.job, units, whole=whole))


def kept_readings(blobs: Blobs, found: Revision, setup: str | None) -> dict[str, Any]:
    """What a reading that was kept leads to: the plan, the solution, or why there is none yet."""
    answer: dict[str, Any] = {"touch": None, "plan": [], "undecided": []}
    try:
        text = readings_text(blobs, found)
        answer["plan"] = plan_of(blobs, found, text, setup)
        answer["touch"] = touch_document(blobs, found, text, setup, found.job, whole=True)
    except InputRefused as refusal:  # the reading is kept; the solution needs more
        answer["undecided"] = [finding.as_plain() for finding in refusal_findings(refusal.problems)]
    return answer


def readings_said(blobs: Blobs, found: Revision) -> tuple[str, dict[str, list[dict[str, Any]]]]:
    """The text of the readings, and its lists."""
    text = readings_text(blobs, found)
    return text, {kind.value: readings_in(text, kind) for kind in ReadingKind}


def readings_changed(text: str, kind: ReadingKind, number: int | None, reading: Mapping[str, Any] | None) -> str:
    """The text with a reading added (no number), changed, or taken out (no reading)."""
    if number is None:
        return add_reading(text, kind, reading or {})
    return remove_reading(text, kind, number) if reading is None else change_reading(text, kind, number, reading)


def without_readings(text: str, setup: str) -> str:
    """The text without the readings of a setup."""
    for kind in ReadingKind:
        numbered = list(enumerate(readings_in(text, kind), start=1))
        for number, reading in reversed(numbered):  # from the last, so that the numbers of the others stay
            text = remove_reading(text, kind, number) if reading.get("setup") == setup else text
    return text


@dataclass(frozen=True, slots=True)
class CardWords:
    """What the stations that answer at once say on the route card, each with whether somebody must look at it (`measured`: Piece
    and Run, by name); and the names of the setups."""

    kit: tuple[str, bool]
    touch: tuple[str, bool]
    measured: dict[str, tuple[str, bool]]
    setups: list[str]


def card_words(blobs: Blobs, found: Revision, known: Known) -> CardWords:
    """The sentences of the stations that answer at once; `known`: what was worked out of each setup for Piece and Run."""
    together = together_of(blobs, found)
    setups = [setup.name for setup in together.folder.job.setup]
    try:
        kits = [together.kit(setup) for setup in setups]
    except InputRefused as refusal:
        kit_words = f"It does not go together: {refusal.problems[0].what}.", True
    else:
        findings = [finding for one in kits for finding in kit_findings(one)]
        kit_words = kit_sentence(kits, findings), any(finding.signal is Signal.DANGER for finding in findings)
    answers = [_touch_words(blobs, found, setup) for setup in setups]
    named = [text if len(setups) == 1 else f"{setup}: {text}" for setup, (text, _) in zip(setups, answers, strict=True)]
    touch_words = " ".join(named), any(look for _, look in answers)
    return CardWords(kit_words, touch_words, measured_words(blobs, found, known), setups)


def _touch_words(blobs: Blobs, found: Revision, setup: str) -> tuple[str, bool]:
    try:
        answer = touch_document(blobs, found, readings_text(blobs, found), setup, found.job)
    except InputRefused as refusal:
        return f"{refusal.problems[0].what}.", True
    return str(answer["answer"]), bool(answer.get("refused"))


def settled_text(text: str, setup: str, what: str) -> str:
    """The text of a job.toml with a guess settled. Raises NotThere."""
    return settle_guess(text, setup=setup, what=what)


def changes_said(blobs: Blobs, before: Mapping[str, str], after: Mapping[str, str]) -> list[dict[str, Any]]:
    """What changed between two sets of files by digest; a file that is the same in both is not read."""
    differing = {path for path in (*before, *after) if before.get(path) != after.get(path)}
    old, new = ({path: blobs.get(digest) for path, digest in files.items() if path in differing} for files in (before, after))
    return [change.as_plain() for change in changes(old, new)]


def thing_said(kind: str, data: bytes, shown: str) -> dict[str, Any]:
    """The document of a thing of the shop. Raises InputRefused for a text that is none."""
    return parse_document(decode(data, shown=shown), KINDS[kind], shown=shown).model_dump(mode="json", by_alias=True)


def drawn(kind: str, text: str) -> dict[str, Any]:
    """A thing of the shop as it is being typed: a tool's outline, the bodies of a vise or plate around a part."""
    thing = parse_document(text, KINDS[kind], shown="text")
    bodies = [body_plain(body) for body in holding_alone(thing)] if isinstance(thing, Holding) and not thing.meshes else []
    return {"tool": tool_plain(tool_alone(thing)) if isinstance(thing, Tool) else None, "bodies": bodies}
