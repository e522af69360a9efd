"""The shape of a slip, and the catalogue of them all.

A slip stands in the file of its family: a function whose docstring is its page, under the headings below, and which gives every way
it can happen in a setup; `slip` makes the entry of the catalogue from it, with name, rate, how far its sizes spread, what hides it
and how a test writes it into a job folder by hand. Magnitudes come from the job itself wherever it knows them.

A size that is not fixed by the job is k times the stated one, k being spread about 1 log-normally: the greater, the rarer, but no
size is impossible. What a way changes is proportional to k as far as it is small; `at` gives the way for any k.
"""

from __future__ import annotations

import importlib
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Final, Literal

from setwright.slips.case import SlipCase
from setwright.slips.changes import Change

__all__ = ["FAMILIES", "FITS", "HEADINGS", "JUDGEMENT", "ODD", "PRIOR", "SETTLED", "UNLISTED", "UNLISTED_RATE", "UNLISTED_REMEDY",
           "Occurrence", "Slip", "Way", "rate_of", "scalable", "slip", "slip_named", "slips"]  # fmt: skip

HEADINGS: Final = ("What happens", "What it changes", "How often", "Where it can occur", "What gives it away", "Source")
FAMILIES: Final = ("typing", "lengths", "radii", "holding", "blank", "tool", "program", "finder")
"""The files of the catalogue."""
PRIOR: Final = "of the order that handbooks of human reliability give"
JUDGEMENT: Final = "shop's judgement"
UNLISTED: Final = "something that is not in the list"
"""The rival of every slip: it is odd in one place or in several, and normal in all others."""
UNLISTED_REMEDY: Final = "stop and look with somebody else; touch again"
UNLISTED_RATE: Final = 0.002
ODD: Final = 0.2
"""The probability that it is odd in any one place."""
SETTLED: Final = 0.95
"""What an answer must hold to be settled ..."""
FITS: Final = 0.001
"""... and how probably, at the least, what was seen would be so far from it."""

Written = Literal["registers", "tools", "part", "holding", "blank", "program", "readings"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way a slip can happen in a setup.

    `words`: what is wrong, with number and unit. `share`: of the slip's rate. `subject`: the register or thing it is about
    ("G54 X", "length 2", "T2", "blank"). `remedy`: how it is put right. `change`: the world with the slip from the world without
    it. `size_mm`: how far it is off, where one number says it. `rebuilds`: the things are put together anew, so that in a double
    slip it comes first. `at`: the same way with k times the size, None where the job fixes it. `unknown`: why nobody can say what
    happens.
    """

    words: str
    share: float
    subject: str
    remedy: str
    change: Change = field(repr=False, compare=False)
    size_mm: float | None = None
    rebuilds: bool = False
    at: Callable[[float], Way] | None = field(default=None, repr=False, compare=False)
    unknown: str = ""


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip of the catalogue.

    `slug` names it in words; `rate` is how often it happens at one opportunity, `per` what an opportunity is, `source` where the
    rate comes from. `spread`: the factor by which its sizes spread about the stated one (geometric standard deviation; 1: the job
    fixes them), `either_way`: whether it happens as often the other way. `misread`: made while measuring, so that the sheet carries
    its number too. `one_contact`: of one contact among several, which the others can contradict. `hidden`: sights that show nothing
    of it. `by_hand`: what a test changes to write it
    into a job folder. `page`: the text under the headings. `ways`: how it can happen in a setup.
    """

    slug: str
    rate: float
    per: str
    source: str
    page: str = field(repr=False)
    ways: Callable[[SlipCase], Iterator[Way]] = field(repr=False, compare=False)
    spread: float = 1.0
    either_way: bool = False
    misread: bool = False
    one_contact: bool = False
    hidden: frozenset[str] = frozenset()
    by_hand: Written = "registers"

    def occurrences(self, case: SlipCase) -> Iterator[Occurrence]:
        """Every way it can happen in this setup."""
        for way in self.ways(case):
            yield Occurrence.of(self, way)

    @property
    def what_hides_it(self) -> str:
        """In a sentence; "" where nothing of its own does."""
        said = []
        if self.misread:
            said.append("It is made while measuring: the sheet carries the same wrong number, and reading the control back against "
                        "the sheet shows nothing.")  # fmt: skip
        if self.one_contact:
            said.append("Only other contacts on the same face or bore contradict it.")
        if self.hidden:
            said.append(f"It does not show at: {', '.join(sorted(self.hidden))}.")
        return " ".join(said)

    @property
    def how_far(self) -> str:
        """Its sizes, in a sentence."""
        if self.spread == 1.0:
            return "The job fixes its sizes."
        low, high = 1.0 / self.spread**2, self.spread**2
        ways = ", either way" if self.either_way else ""
        return (f"Sizes spread about the stated one{ways}, by a factor of {self.spread:g} (log-normal): 19 of 20 lie between "
                f"{low:.2g} and {high:.3g} times of it.")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One way of a slip, with its `rate` in a setup of this kind; the rest as in `Way`. `about`: the slip's own entry, None for two
    slips at once."""

    slug: str
    words: str
    rate: float
    subject: str
    remedy: str
    change: Change = field(repr=False, compare=False)
    size_mm: float | None = None
    rebuilds: bool = False
    at: Callable[[float], Way] | None = field(default=None, repr=False, compare=False)
    about: Slip | None = field(default=None, repr=False, compare=False)
    unknown: str = ""

    @classmethod
    def of(cls, entry: Slip, way: Way) -> Occurrence:
        """A slip's way."""
        return cls(entry.slug, way.words, entry.rate * way.share, way.subject, way.remedy, way.change, way.size_mm, way.rebuilds,
                   way.at if entry.spread > 1.0 else None, entry, way.unknown)  # fmt: skip

    @property
    def misread(self) -> bool:
        """Whether the sheet carries its number too."""
        return self.about is not None and self.about.misread

    @property
    def one_contact(self) -> bool:
        """Whether it is of one contact among several."""
        return self.about is not None and self.about.one_contact

    @property
    def hidden(self) -> frozenset[str]:
        """Sights that show nothing of it."""
        return frozenset() if self.about is None else self.about.hidden

    def scaled(self, times: float) -> Occurrence:
        """The same with `times` its size; itself where the job fixes the size."""
        if self.at is None or self.about is None:
            return self
        return replace(Occurrence.of(self.about, self.at(times)), at=self.at)

    def log_density(self, times: float) -> float:
        """Log of the probability density of being `times` as large as stated (negative: the other way), per unit of `times`."""
        if self.at is None or self.about is None:
            raise ValueError(f"the job fixes the size of {self.slug}")
        if times == 0.0 or (times < 0.0 and not self.about.either_way):
            return -math.inf
        spread, size = math.log(self.about.spread), abs(times)
        log = -0.5 * (math.log(size) / spread) ** 2 - math.log(size * spread * math.sqrt(2.0 * math.pi))
        return log - math.log(2.0) if self.about.either_way else log


def scalable(make: Callable[[float], Way]) -> Way:
    """The way as stated (`make(1)`), which knows how it is at any other size."""
    return replace(make(1.0), at=make)


def slip(
    slug: str, *, rate: float, per: str, source: str = JUDGEMENT, spread: float = 1.0, either_way: bool = False,
    misread: bool = False, one_contact: bool = False, hidden: tuple[str, ...] = (), by_hand: Written = "registers",
) -> Callable[[Callable[[SlipCase], Iterator[Way]]], Slip]:  # fmt: skip
    """Make a slip of the function that gives its ways; its docstring is the slip's page."""

    def made(ways: Callable[[SlipCase], Iterator[Way]]) -> Slip:
        return Slip(slug, rate, per, source, ways.__doc__ or "", ways, spread, either_way, misread, one_contact, frozenset(hidden),
                    by_hand)  # fmt: skip

    return made


@cache
def slips() -> tuple[Slip, ...]:
    """The whole catalogue, in the order of the names."""
    modules = (importlib.import_module(f"setwright.slips.{family}") for family in FAMILIES)
    found = [entry for module in modules for entry in vars(module).values() if isinstance(entry, Slip)]
    return tuple(sorted(found, key=lambda entry: entry.slug))


def slip_named(slug: str) -> Slip:
    """The slip of this name. Raises KeyError for a name that is in no family."""
    return {entry.slug: entry for entry in slips()}[slug]


def rate_of(slug: str) -> float:
    """How often a slip happens at one opportunity."""
    return slip_named(slug).rate
