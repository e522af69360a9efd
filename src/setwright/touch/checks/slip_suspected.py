"""A setup mistake explains readings and registers better than none.

What silence proves
    Among the mistakes considered, none is likelier than a clean setup.

Why it matters
    A radius taken on the wrong side, exchanged axes or a number of the last job look like a correct setup until metal moves.

How it decides
    Each mistake predicts a shift of readings and registers; its probability follows from how well that fits and how often it
    happens (Bayes). Said when the probability of no mistake is below one half, with every mistake that is not 20 times less likely.

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
_RIVAL_ODDS = 20.0


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding: the likeliest mistake, with its rivals."""
    if case.diagnosis.none >= _LIKELIER_THAN_NOT or not case.diagnosis.ranked:
        return
    first = case.diagnosis.ranked[0]
    told = [outlier.text(case.units) for outlier in case.outliers]
    if first.told or first.words == case.because or any(text.endswith(first.words) for text in told):  # by a check that names it
        return
    rivals = [one for one in case.diagnosis.ranked if one.probability * _RIVAL_ODDS > first.probability]
    text = "; or ".join(f"{one.words} (probability {one.probability:.0%})" for one in rivals)
    remedy = "; or ".join(dict.fromkeys(one.remedy for one in rivals))
    yield case.finding(META.slug, META.signal, text, remedy=remedy, value=first.probability)
