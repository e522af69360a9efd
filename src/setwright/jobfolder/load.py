"""A job folder read whole: job, shop, readings, registers, programs and meshes, every problem named by file, line and key."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath
from typing import Any, Literal, TypeVar

from pydantic import BaseModel

from setwright.base.digest import digest_bytes
from setwright.base.errors import InputRefused, Problem
from setwright.base.span import Span
from setwright.jobfolder.document import LARGEST_TEXT, decode, parse_document, read_toml
from setwright.jobfolder.door import DiskFiles, Files, HeldFiles
from setwright.jobfolder.places import Places
from setwright.model.holding import Holding
from setwright.model.instrument import Instrument
from setwright.model.job import Guess, Job, Setup, Shop
from setwright.model.machine import Machine
from setwright.model.material import Material
from setwright.model.measurement import Gauge
from setwright.model.reading import Readings, Registers
from setwright.model.setup_check import SetupCheck
from setwright.model.tool import Tool

__all__ = ["JOB_FILE", "READINGS_FILE", "JobFolder", "load_held", "load_job", "setup_numbered", "shop_folder_of", "with_readings"]

M = TypeVar("M", bound=BaseModel)
T = TypeVar("T")
JOB_FILE = "job.toml"
READINGS_FILE = "readings.toml"
_LARGEST_PROGRAM = 500_000_000


@dataclass(frozen=True, slots=True)
class JobFolder:
    """A job as read from disk.

    `sources`: bytes of every program file by the name the job gives it. `meshes`: bytes of every mesh file. `digests`: SHA-256 of
    every file read, by name relative to the folder. `root`: the folder. `texts`: what stands in every TOML file read, by its name.
    `shown`: the unit asked for in sentences, "" for the job's own.
    """

    root: Path
    job: Job
    sources: Mapping[str, bytes] = field(repr=False)
    meshes: Mapping[str, bytes] = field(repr=False)
    digests: Mapping[str, str] = field(repr=False)
    places: Places = field(repr=False)
    texts: Mapping[str, str] = field(default_factory=dict, repr=False)
    shown: Literal["mm", "in", ""] = ""

    @property
    def units(self) -> Literal["mm", "in"]:
        """The unit that sentences about this job are written in: the one asked for, else the job's own."""
        return self.shown or self.job.units

    def shown_in(self, units: str | None) -> JobFolder:
        """The same with sentences in mm or inch; in the job's own units for None."""
        return replace(self, shown="in" if units in ("in", "inch") else "mm") if units else self

    @property
    def name(self) -> str:
        """The folder's own name."""
        return self.root.resolve().name

    def refuse(self, what: str, *, at: tuple[str | int, ...], remedy: str, why: str = "") -> InputRefused:
        """A refusal that points at a key of job.toml."""
        return InputRefused.because(what, why=why, remedy=remedy, span=self.places.of(at))

    def answered_at(self, guess: Guess) -> Span:
        """Where a guess is answered: its value where that is written, else its own entry in job.toml."""
        file, _, place = guess.key.partition(": ")
        if file == "job.toml":
            return self.places.of(self._path(guess.setup, place.split(".")))
        if file in self.texts:
            return Places(self.texts[file], file).of(tuple(place.split(".")))
        return self.places.of(("guess", self.job.guess.index(guess)))

    def _path(self, setup: str, place: list[str]) -> tuple[str | int, ...]:
        """ "setup.tool.3.stickout" of a setup as a path of the document, items by their number."""
        number = next(n for n, one in enumerate(self.job.setup) if one.name == setup)
        if place[:2] != ["setup", "tool"]:
            return ("setup", number, *place[1:])
        stations = [str(tool.station) for tool in self.job.setup[number].tool]
        return ("setup", number, "tool", *([stations.index(place[2])] if place[2] in stations else []), *place[3:])


class _Reader:
    """Reads a job's files through their door, keeping digests and gathering problems."""

    def __init__(self, files: Files) -> None:
        self.files = files
        self.digests: dict[str, str] = {}
        self.texts: dict[str, str] = {}
        self.problems: list[Problem] = []

    def gather(self, read: Callable[[], T]) -> T | None:
        try:
            return read()
        except InputRefused as refusal:
            self.problems.extend(refusal.problems)
            return None

    def document(self, name: str, model: type[M]) -> M | None:
        return self.gather(lambda: parse_document(self.text(name), model, shown=name))

    def text(self, name: str) -> str:
        text = decode(self.files.read(name, largest=LARGEST_TEXT), shown=name)
        self.digests[name] = digest_bytes(text.encode())
        self.texts[name] = text
        return text

    def raw(self, name: str) -> bytes | None:
        data = self.gather(lambda: self.files.read(name, largest=_LARGEST_PROGRAM))
        if data is not None:
            self.digests[name] = digest_bytes(data)
        return data


def _load_shop(folder: str, reader: _Reader) -> Shop:
    """A shop folder: machines/, holding/, tools/, instruments/, gauges/, checks/, materials/: one TOML file a thing, its key the
    file's name."""
    kinds: dict[str, type[BaseModel]] = {"machines": Machine, "holding": Holding, "tools": Tool, "instruments": Instrument,
                                         "gauges": Gauge, "checks": SetupCheck, "materials": Material}  # fmt: skip
    found: dict[str, dict[str, BaseModel]] = {kind: {} for kind in kinds}
    for kind, model in kinds.items():
        for name in reader.gather(lambda kind=kind: reader.files.listed(f"{folder}/{kind}", ending=".toml")) or []:  # type: ignore[misc]
            value = reader.document(name, model)
            if value is not None:
                found[kind][PurePosixPath(name).stem] = value
    return Shop.model_validate(found)


def load_job(folder: Path) -> JobFolder:
    """Read a job folder (or the job.toml in it). Raises InputRefused with every problem found in any of its files."""
    root = folder.parent if folder.name == "job.toml" else folder
    if not root.exists():
        remedy = "name a job folder, or draft one with: setwright start PROGRAM -o FOLDER"
        raise InputRefused.because("there is no such folder", remedy=remedy, span=Span(str(folder)))
    if not root.is_dir():
        raise InputRefused.because("this is a file, not a job folder", span=Span(str(folder)),
                                   remedy=f"draft a job from it with: setwright start {folder} -o FOLDER")  # fmt: skip
    return _loaded(DiskFiles(root), root)


def load_held(files: Mapping[str, bytes], *, home: str = "", name: str = "job") -> JobFolder:
    """Files in memory read as a job: only they exist for it. `home`: the job's folder among them; `name`: what the job is called.

    Raises InputRefused with every problem found in any of them.
    """
    return _loaded(HeldFiles(files, home), Path(name))


def _loaded(files: Files, root: Path) -> JobFolder:
    reader = _Reader(files)
    text = reader.text(JOB_FILE)
    raw = read_toml(text, shown=JOB_FILE)
    places = Places(text, JOB_FILE)
    shop = _shop(raw, reader)
    job = reader.gather(lambda: parse_document(text, _JobFile, shown=JOB_FILE))
    readings = _optional(reader, READINGS_FILE, Readings)
    registers = _optional(reader, "registers.toml", Registers)
    if job is None or readings is None or registers is None or reader.problems:
        raise InputRefused(reader.problems)
    whole = job.as_job(shop, readings, registers)
    _check_references(whole, places, reader)
    sources = {name: reader.raw(name) for setup in whole.setup for name in setup.programs}
    meshes = {name: reader.raw(name) for name in _mesh_names(whole)}
    _check_lines(whole, sources, places, reader)
    if reader.problems:
        raise InputRefused(reader.problems)
    return JobFolder(root, whole, {k: v for k, v in sources.items() if v is not None},
                     {k: v for k, v in meshes.items() if v is not None}, reader.digests, places, reader.texts)  # fmt: skip


def shop_folder_of(path: Path) -> Path:
    """Where the shop of a job folder is; of a folder that is no job, that folder itself. Raises InputRefused."""
    if not path.is_dir():
        raise InputRefused.because("there is no such folder", remedy="name a job folder or a shop folder", span=Span(str(path)))
    if not (path / JOB_FILE).exists():
        return path
    files = DiskFiles(path)
    text = decode(files.read(JOB_FILE, largest=LARGEST_TEXT), shown=JOB_FILE)
    stated = read_toml(text, shown=JOB_FILE).get("shop_folder", "shop")
    folder = stated.rstrip("/") or "/" if isinstance(stated, str) else "shop"
    files.declare_shop(folder)
    return path / folder


def with_readings(folder: JobFolder, text: str) -> JobFolder:
    """The job with the readings of another readings.toml; everything else is as it was read. Raises InputRefused."""
    readings = parse_document(text, Readings, shown=READINGS_FILE)
    digests = {**folder.digests, READINGS_FILE: digest_bytes(text.encode())}
    return replace(folder, job=folder.job.model_copy(update={"readings": readings}), digests=digests)


class _JobFile(Job):
    """job.toml itself: the job, and where its shop folder is."""

    shop_folder: str = "shop"

    def as_job(self, shop: Shop, readings: Readings, registers: Registers) -> Job:
        fields: dict[str, Any] = {name: getattr(self, name) for name in Job.model_fields}
        return Job.model_validate(fields | {"shop": shop, "readings": readings, "registers": registers})


def _shop(raw: Mapping[str, Any], reader: _Reader) -> Shop:
    stated = raw.get("shop_folder", "shop")
    folder = stated.rstrip("/") or "/" if isinstance(stated, str) else "shop"
    reader.files.declare_shop(folder)
    shop = _load_shop(folder, reader)
    for name in ("machine.toml", "holding.toml", "tools.toml", "instruments.toml", "gauges.toml", "checks.toml",
                 "materials.toml"):
        if reader.files.exists(name):
            beside = reader.document(name, Shop)
            if beside is not None:
                shop = Shop.model_validate({k: {**getattr(shop, k), **getattr(beside, k)} for k in Shop.model_fields})
    return shop


def _optional(reader: _Reader, name: str, model: type[M]) -> M | None:
    return reader.document(name, model) if reader.files.exists(name) else model()


def _check_references(job: Job, places: Places, reader: _Reader) -> None:
    """Every name one part of the document uses for another must exist."""
    for number, setup in enumerate(job.setup):
        here: tuple[str | int, ...] = ("setup", number)
        _known(setup.machine, job.shop.machines, (*here, "machine"), "machine", "shop/machines", places, reader)
        _known(setup.holding.use, job.shop.holding, (*here, "holding", "use"), "holding", "shop/holding", places, reader)
        for row, tool in enumerate(setup.tool):
            _known(tool.use, job.shop.tools, (*here, "tool", row, "use"), "tool", "shop/tools", places, reader)
        if setup.blank.from_ is not None:
            earlier = [s.name for s in job.setup[:number]]
            _known(setup.blank.from_, earlier, (*here, "blank", "from"), "earlier setup", "this file, above", places, reader)
    names = [setup.name for setup in job.setup]
    for name in {n for n in names if names.count(n) > 1}:
        at = ("setup", names.index(name), "name")
        said = f'two setups are called "{name}"'
        reader.problems.append(Problem(said, remedy="give each setup its own name", span=places.of(at)))
    if reader.problems:
        raise InputRefused(reader.problems)


def _check_lines(job: Job, sources: Mapping[str, bytes | None], places: Places, reader: _Reader) -> None:
    """The lines that a setup runs must be in its program."""
    for number, setup in enumerate(job.setup):
        text = sources.get(setup.programs[0])
        there = None if text is None else len(text.splitlines())
        if setup.lines is not None and there is not None and setup.lines[1] > there:
            what = f"lines = [{setup.lines[0]}, {setup.lines[1]}]: {setup.programs[0]} ends with line {there}"
            reader.problems.append(Problem(what, remedy="write the last line of this clamping", key="lines",
                                           span=places.of(("setup", number, "lines"))))  # fmt: skip


def _known(name: str, known: object, at: tuple[str | int, ...], what: str, where: str, places: Places, reader: _Reader) -> None:
    names = list(known)  # type: ignore[call-overload]
    if name in names:
        return
    near = difflib.get_close_matches(name, names, n=1)
    others = f"known: {', '.join(sorted(names))}" if names else f"there is none in {where}"
    listed = f'did you mean "{near[0]}"?' if near else others
    reader.problems.append(Problem(f'no {what} is called "{name}"', remedy=listed, span=places.of(at), key=str(at[-1])))


def _mesh_names(job: Job) -> list[str]:
    names = [setup.blank.mesh for setup in job.setup if setup.blank.mesh]
    names += [setup.wanted.mesh for setup in job.setup if setup.wanted]
    for setup in job.setup:
        names += [mesh.mesh for mesh in (*setup.holding.meshes, *job.shop.holding[setup.holding.use].meshes)]
    return list(dict.fromkeys(names))


def setup_numbered(job: Job, name: str | None) -> list[Setup]:
    """The setups a command works on: the named one, or all."""
    if name is None:
        return list(job.setup)
    for setup in job.setup:
        if setup.name == name:
            return [setup]
    near = difflib.get_close_matches(name, [s.name for s in job.setup], n=1)
    hint = f'did you mean "{near[0]}"?' if near else "the setups are: " + ", ".join(f'"{s.name}"' for s in job.setup)
    raise InputRefused.because(f'no setup is called "{name}"', remedy=hint, span=Span("job.toml"))
