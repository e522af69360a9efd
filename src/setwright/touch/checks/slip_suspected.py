"""A setup mistake explains readings and registers better than none.

What silence proves
    Among the mistakes considered, none is likelier than a clean setup.

Why it matters
    A radius taken on the wrong side, exchanged axes or a number of the last job look like a correct setup until metal moves.

How it decides
    Each mistake predicts a shift of readings and registers; its probability follows from how well that fits and how often it
    happens (Bayes). Something that is not in the list is a rival of them all: odd in one place or in several, normal in the
    others. Said when the probability of no mistake is below one half, with every answer that is not 20 times less likely. It is
    settled when one of them holds 95 % and the readings are not further from it than one time in a thousand; else the touch that
    tells the two likeliest apart is named, with what the display shows there by either.

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
from setwright.slips.catalogue import UNLISTED, UNLISTED_REMEDY
from setwright.touch.case import TouchCase
from setwright.touch.slips import Suspected

__all__ = ["META", "run"]

META = Meta("slip-suspected", Signal.WARNING, brings=("contact-disagrees",))

_LIKELIER_THAN_NOT = 0.5
_RIVAL_ODDS = 20.0


def run(case: TouchCase) -> Iterator[Finding]:
    """At most one finding: the likeliest answer, with its rivals."""
    found = case.diagnosis
    if found.none >= _LIKELIER_THAN_NOT:
        return
    told = [outlier.text(case.units) for outlier in case.outliers]
    first = found.ranked[0] if found.ranked and found.ranked[0].probability >= found.unlisted else None
    if first is not None and (first.told or first.words == case.because or any(text.endswith(first.words) for text in told)):
        return  # a check of its own names it
    other = Suspected("", UNLISTED, UNLISTED_REMEDY, found.unlisted)
    most = found.unlisted if first is None else first.probability
    rivals = [one for one in (*found.ranked, other) if one.probability * _RIVAL_ODDS > most]
    rivals.sort(key=lambda one: -one.probability)
    text = "; or ".join(f"{one.words} (probability {one.probability:.0%})" for one in rivals)
    remedies = [found.apart] if found.apart else []
    remedy = "; or ".join(dict.fromkeys([*remedies, *(one.remedy for one in rivals)]))
    yield case.finding(META.slug, META.signal, text, remedy=remedy, value=most)
