"""A contact written into readings.toml, whole or not at all; what stands there already is not touched."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path

from setwright.jobfolder.document import parse_document, read_text
from setwright.model.reading import Contact, LengthReading, Readings

__all__ = ["append_contact", "append_length", "replace_bytes", "replace_text"]


def append_contact(root: Path, contact: Contact) -> None:
    """Add one contact at the end of the folder's readings. Raises InputRefused if the file as it stands cannot be read."""
    _append(root, _written(contact))


def append_length(root: Path, read: LengthReading) -> None:
    """Add one reading of a tool's length at the end, as `append_contact` does."""
    lines = ["[[tool_length]]", f"setup = {json.dumps(read.setup)}", f"tool = {read.tool}", f"with = {json.dumps(read.with_)}",
             f"on = {json.dumps(read.on)}", f'display = {{ z = "{_digits(read.display.z or 0.0)} mm" }}']  # fmt: skip
    if read.last_step:
        lines.append(f'last_step = "{_digits(read.last_step)} mm"')
    _append(root, "\n".join(lines) + "\n")


def _append(root: Path, block: str) -> None:
    path = root / "readings.toml"
    before = read_text(path, shown="readings.toml") if path.exists() else 'format = 1\nunits = "mm"\n'
    after = before.rstrip("\n") + "\n\n" + block
    parse_document(after, Readings, shown="readings.toml")
    replace_text(path, after)


def _written(contact: Contact) -> str:
    read = {axis: getattr(contact.display, axis) for axis in "xyz"}
    shown = ", ".join(f'{axis} = "{_digits(mm)} mm"' for axis, mm in read.items() if mm is not None)
    said = {"setup": contact.setup, "on": contact.on, "with": contact.with_, "toward": contact.toward}
    lines = ["[[contact]]", *(f"{key} = {json.dumps(value)}" for key, value in said.items()), f"display = {{ {shown} }}"]
    if contact.last_step:
        lines.append(f'last_step = "{_digits(contact.last_step)} mm"')
    if contact.tool is not None:
        lines.append(f"tool = {contact.tool}")
    if contact.purpose != "place":
        lines.append(f'purpose = "{contact.purpose}"')
    if contact.when is not None:
        lines.append(f"when = {contact.when.isoformat()}")
    return "\n".join(lines) + "\n"


def _digits(mm: float) -> str:
    """To the nanometre, without idle zeros."""
    return f"{mm:.6f}".rstrip("0").rstrip(".")


def replace_text(path: Path, text: str) -> None:
    """Write a text file so that it is either the old one or the new one, never half."""
    replace_bytes(path, text.encode("utf-8"))


def replace_bytes(path: Path, data: bytes) -> None:
    """Write a file so that it is either the old one or the new one, never half."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except BaseException as stop:
        Path(name).unlink(missing_ok=True)
        if isinstance(stop, OSError) and stop.filename is None:  # writing, other than opening, does not say where
            stop.filename = str(path)
        raise
