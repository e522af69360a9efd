"""A check of the setup before the first cut: what a person does, how long it takes, what is looked at and how finely."""

from __future__ import annotations

import re
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, StringConstraints, model_validator

from setwright.base.units import UnitError
from setwright.model.quantity import Length, Name, Part, positive

__all__ = ["CATEGORIES", "NUMBERS", "SetupCheck", "Sight", "Stage", "Subject"]

Number = Literal[
    "tip over datum, x", "tip over datum, y", "tip over far corner, x", "tip over far corner, y", "tip over top, z",
    "tip over height face, z", "datum touched again, x", "datum touched again, y", "opposite face, x", "opposite face, y",
    "turn of the part", "tip at hold point, x", "tip at hold point, y", "tip at hold point, z",
    "stick-out", "tool length", "tool diameter", "blank size, x", "blank size, y", "blank size, z", "top over holding, z",
    "end over holding, x", "end over holding, y",
]  # fmt: skip
Category = Literal[
    "offset register", "length register", "radius register", "tool in station", "parallels", "how the blank lies", "program head",
    "program whole", "block-delete switch", "shifts in force", "display at hold point",
]  # fmt: skip
NUMBERS: tuple[str, ...] = Number.__args__  # type: ignore[attr-defined]
CATEGORIES: tuple[str, ...] = Category.__args__  # type: ignore[attr-defined]
Subject = Literal["setup", "tool", "offset"]
Stage = Literal["standing", "tip over the part", "running"]
Probability = Annotated[float, Field(ge=0.0, lt=0.5)]
Minutes = Annotated[float, AfterValidator(positive)]


class Sight(Part):
    """One thing looked at in a check.

    `resolution`: one standard deviation of what a careful person reads there, mm; only where a number is read.
    """

    what: Number | Category
    resolution: Length | None = None

    @model_validator(mode="after")
    def _resolved(self) -> Self:
        number = self.what in NUMBERS
        if number and (self.resolution is None or self.resolution <= 0):
            raise ValueError(f'"{self.what}" is a number: say how finely it is read, for example resolution = "0.25 mm"')
        if not number and self.resolution is not None:
            raise ValueError(f'"{self.what}" is seen or not seen: leave resolution out')
        return self


class SetupCheck(Part):
    """A check a person can make on the setup.

    `each`: whether it is made once, for every tool of the program, or for every work offset; `minutes` is the time of one. `needs`:
    what must be at hand. `stage`: with everything standing, with a tip brought over the part, or at a hold point of the running
    program. `false_alarm`: how often a good setup makes you look twice; it sets how far a number may be off before you stop.
    `misses`: how often a careful person overlooks what is there to be seen. `left_out`: this shop does not make it.
    """

    name: Name
    do: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=600)]
    each: Subject = "setup"
    minutes: Minutes
    needs: tuple[Name, ...] = ()
    stage: Stage = "standing"
    sees: Annotated[tuple[Sight, ...], Field(min_length=1)]
    false_alarm: Probability = 0.002
    misses: Probability = 0.003
    caution: str = ""
    left_out: bool = False

    @model_validator(mode="after")
    def _decides(self) -> Self:
        if self.false_alarm == 0.0 and any(sight.resolution for sight in self.sees):
            raise UnitError("false_alarm must be more than zero where a number is read, for example 0.002")
        strange = set(re.findall(r"{(.*?)}", self.do + self.caution)) - {"tool", "offset", "block"}
        if strange:
            raise ValueError(f"{{{strange.pop()}}} is not known in a text: {{tool}}, {{offset}} and {{block}} are")
        seen = [sight.what for sight in self.sees]
        if len(set(seen)) < len(seen):
            raise ValueError("a sight is named twice")
        return self
