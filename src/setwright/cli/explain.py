"""Explain a name: a check and what its silence proves, a slip and what gives it away, a check of a setup and how it is made."""

from __future__ import annotations

import difflib
import inspect
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Final

import typer

from setwright.base.errors import InputRefused
from setwright.cli.common import Color, guarded
from setwright.model.check import checks_in

__all__ = ["ANSWERS", "CATALOGUES", "NAME", "Page", "command", "every_page"]

NAME = "explain"
CATALOGUES = ("setwright.read.checks", "setwright.kit.checks", "setwright.prove.checks", "setwright.touch.checks")

ANSWERS: Final = {
    "input-refused": """Something that was given cannot be used.

        Nothing was worked out and nothing was written. The text says where, why, and what to write instead; the exit status
        is 2.""",
    "readings-incomplete": """The readings of a setup do not fix its whole zero.

        Where a touch-off is needed for more than its own answer, the stated place of the holding is taken for what no contact
        fixes; such a place is rough. Touch what the text names, and ask again.""",
    "under-another-reading": """The program can be read in more than one way, and under another reading something else happens.

        The text of a program leaves open what this control does at some point. What is proved is one reading; what the others do
        that is worse is told under this name. Look up what the control does and state it as `control.behaviours`.""",
    "other-reading-not-studied": """Slips were followed under one reading of the program only.

        Hover follows every slip under the reading that was proved. Where the program can be read otherwise, what slips do under the
        other reading is not known. State the behaviour, and hover again.""",
    "not-proved": """The setup goes wrong even without a slip.

        Hover follows slips on top of a setup that works. This one does not: see `prove` first. What is said of slips then compares
        with a setup that is wrong itself.""",
    "slip-uncaught": """Some slips that would hurt are caught by no check as surely as asked.

        All checks together were reckoned with. The text names the likeliest harm among them. Think of a check of your own
        (shop/checks), or take a second person.""",
    "slip-found": """What was seen points to one slip.

        Said by `hover --seen` once one slip, with those that no check can tell from it, holds 95 % of the probability and fits all
        that was seen. Put it right as the text says, and make the checks again.""",
    "slip-unknown": """What was seen fits no slip of the catalogue.

        Something is odd in one place or several, and no slip explains it together with what was normal elsewhere. Stop, look at the
        setup with somebody else, and touch again.""",
    "supposed": """What would happen if something of the setup were as supposed.

        The answer of `hover --if`: only that is followed, on top of the setup as it should be.""",
    "piece-out-of-limits": """A measured feature is proved bad.

        Its value lies beyond a limit by more than the guard band of its gauge (ISO 14253-1). Keep the piece apart.""",
    "piece-undecided": """A measured feature is neither proved good nor proved bad.

        Its value lies nearer to a limit than its gauge can tell (ISO 14253-1). A finer gauge may decide it; until then it is not
        passed.""",
    "measurement-suspect": """A measured value fits nothing that is known of the setup.

        It lies far from what the simulated part, the touch-off and the other values say, and no one explanation holds 95 % of the
        probability. It may be misread, or a register grossly wrong: measure again before anything is typed.""",
    "not-mended-by-offsets": """A feature is off by something that no register changes.

        A tool without compensation that is too large or small, a part that lies turned, or a size that stays outside its limits
        with every register at its best. The text names the likely cause.""",
    "limit-near": """A feature may leave its limits within a few pieces.

        Its level and slope over the pieces so far reach a limit with a chance of more than 5 % that soon. Measure the next piece,
        and ask Piece what to type.""",
    "process-unstable": """A point of a control chart breaks a run rule.

        Something changed at that piece beyond the usual scatter: another blank, a chip under the part, a tool, the coolant. Look
        for it before anything is adjusted; capability is not reckoned from such a process. A good process breaks a rule once in
        about 92 points as well.""",
    "limits-unsure": """Printed tables differ in the limits that a name gives this size.

        The text says which value is taken. Compare it with the table your drawing refers to.""",
}
"""Findings that are no check's: what stations say of their own answers, by name."""


@dataclass(frozen=True, slots=True)
class Page:
    """What is said of one name: its kind in a word or two ("DANGER", "slip"), its sentence, and the whole text."""

    name: str
    kind: str
    text: str

    @property
    def sentence(self) -> str:
        """The first line."""
        return self.text.splitlines()[0]


def command(
    slug: Annotated[str | None, typer.Argument(help="The name as it is printed: of a check, a slip, a check of a setup.")] = None,
    *,
    no_color: Color = False,
) -> None:
    """Explain one name that Setwright prints, or list them all."""
    del no_color

    def work() -> None:
        known = {page.name: page for page in every_page()}
        if slug is None:
            for name, page in sorted(known.items()):
                print(f"{name:<32} {page.kind:<14} {page.sentence}")
        elif slug in known:
            print(f"{slug} ({known[slug].kind})\n\n{known[slug].text}")
        else:
            near = difflib.get_close_matches(slug, known, n=1)
            hint = f'did you mean "{near[0]}"?' if near else "see the list with: setwright explain"
            raise InputRefused.because(f'nothing is called "{slug}"', remedy=hint)

    guarded(NAME, work, as_json=False)


def every_page() -> Iterator[Page]:
    """Every name that can be printed: checks of the stations, what stations say of their answers, slips, checks of a setup."""
    from setwright.hover.check_list import bundled_checks
    from setwright.slips.catalogue import slips

    for package in CATALOGUES:
        for check in checks_in(package):
            yield Page(check.META.slug, check.META.signal.value, inspect.cleandoc(check.__doc__))
    for name, text in ANSWERS.items():
        yield Page(name, "answer", inspect.cleandoc(text))
    for slip in slips():
        hides = f"\n\nWhat hides it\n    {slip.what_hides_it}" if slip.what_hides_it else ""
        how_far = f"{100.0 * slip.rate:.2g} % for {slip.per}: {slip.source}. {slip.how_far}"
        yield Page(slip.slug, "slip", f"{inspect.cleandoc(slip.page)}{hides}\n\nHow far\n    {how_far}")
    for name, made in bundled_checks().items():
        caution = f"\n\nCAUTION: {made.caution}" if made.caution else ""
        yield Page(name, "setup check", f"{made.name}\n\n{made.do}\n\n{made.minutes:g} minutes, {made.stage}{caution}")
