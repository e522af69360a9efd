"""A setup mistake explains readings and registers better than none.

What silence proves
    Among the mistakes considered, none is likelier than a clean setup.

Why it matters
    A radius taken on the wrong side, exchanged axes or a number of the last job look like a correct setup until metal moves.

How it decides
    Each mistake predicts a shift of readings and registers; its probability follows from how well that fits and how often it
    happens (Bayes). Said when the probability of no mistake is below one half.

Blind spots
    Two mistakes at once; mistakes that leave no trace in readings and registers, such as a program of the wrong revision.

What to do
    Do the check that is named; if it finds nothing, touch again.

Source
    Rates of the order of handbooks of human reliability; they only rank mistakes whose traces look alike.
"""

from __future__ import annotations

from collections.abc import Iterator

from setwright.model.check import Meta
from setwright.model.finding import Finding, Signal
from setwright.touch.case import TouchCase

__all__ = ["META", "run"]

META = Meta("slip-suspected", Signal.WARNING, brings=("contact-disagrees",))

_LIKELIER_THAN_NOT = 0.5


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding: the likeliest mistake."""
    if case.diagnosis.none >= _LIKELIER_THAN_NOT or not case.diagnosis.ranked:
        return
    first = case.diagnosis.ranked[0]
    told = [outlier.text(case.units) for outlier in case.outliers]
    told += [one.text for one in case.determined.values() if one.by == "contradiction"]
    if any(text.endswith(first.words) for text in told):  # by the check that names the reading, or what is wrong in all
        return
    text = f"{first.words} (probability {first.probability:.0%})"
    yield case.finding(META.slug, META.signal, text, remedy=first.remedy, value=first.probability)
