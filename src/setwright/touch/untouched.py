"""What Touch says of a setup whose readings give no place yet: nothing was touched, or the readings cannot be solved together."""

from __future__ import annotations

from typing import Any

from setwright.base.errors import InputRefused
from setwright.base.span import Span
from setwright.jobfolder.load import setup_numbered
from setwright.kit.station import Kit
from setwright.model.job import Job, Setup, joined
from setwright.model.reading import Readings
from setwright.touch.conditions import conditions_of
from setwright.touch.features import features_of

__all__ = ["is_untouched", "setups_touched", "untouched_plain", "untouched_sentence"]


def setups_touched(job: Job, name: str | None) -> list[Setup]:
    """The setups to answer for: the named one, else those that have readings, all where nothing was read yet.

    Refuses readings of a setup that the job does not have.
    """
    own, read = [setup.name for setup in job.setup], [contact.setup for contact in job.readings.contact]
    held = job.readings
    named = {"contact": read, "tool_length": [one.setup for one in held.tool_length],
             "tool_diameter": [one.setup for one in held.tool_diameter]}  # fmt: skip
    for kind, setups in named.items():
        for number, said in enumerate(setups, start=1):
            if said not in own:
                names = " or ".join(f'setup = "{one}"' for one in own)
                raise InputRefused.because(f'{kind} {number} was read for setup "{said}", and the job has no such setup',
                                           remedy=f"write {names} there", span=Span("readings.toml"))  # fmt: skip
    return [one for one in setup_numbered(job, name) if name is not None or one.name in read or not read]


def is_untouched(kit: Kit, readings: Readings) -> bool:
    """Whether no contact was read for the kit's setup."""
    return not any(one.setup == kit.setup.name and one.purpose == "place" for one in readings.contact)


def untouched_sentence(kit: Kit) -> str:
    """What to touch first: the faces the datum names, each once, with what it gives; without the angle where nothing gives it."""
    job, datum = kit.folder.job, kit.setup.datum
    there = features_of(job, kit.setup, conditions_of(job, job.readings.surroundings))
    gives: dict[str, list[str]] = {}
    for face, what in ((datum.x, "X"), (datum.y, "Y"), (datum.angle, "the angle"), (datum.z.face, "Z")):
        if what != "the angle" or all(part in there for part in joined(face)):
            gives.setdefault(face, []).append(what)
    said = [f"{face} for {_joined(what)}" for face, what in gives.items()]
    return f"Nothing is touched yet: touch {_joined(said)}."


def _joined(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def untouched_plain() -> dict[str, Any]:
    """The keys of a solution, with nothing in them."""
    nothing: dict[str, Any] = {key: {} for key in ("offsets", "tool_lengths", "tool_radii", "determined", "contributions")}
    nothing |= {key: [] for key in ("outliers", "unchecked", "slips", "beyond", "type", "read_back", "drift")}
    return nothing | dict.fromkeys(("no_slip", "unlisted", "settled", "tells_apart", "next_contact")) | {"g10": ""}
