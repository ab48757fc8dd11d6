"""How sure the recogniser may be of what it heard. Pure.

vosk's own figure is near 1 for noise and for wrong words alike, so it is not used. Two other
things are known of each turn: how much better the best reading fits than the next (``margin``),
and how much worse the words fit than any phones at all would (``strain``, for each second of
speech): true words fit nearly as well as the free choice, wrong ones do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

from benchvoice.messages import UNKNOWN_WORD


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a turn."""

    text: str
    score: float
    """Natural logarithm of how well it fits; only differences mean anything."""
    started: float = 0.0
    """Start of its first word [s]."""
    ended: float = 0.0
    """End of its last word [s]."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """How margin and strain become a chance.

    Fitted by logistic regression (``models/recipe/sureness.py``) on one half of 600 weights, 600 commands and
    120 sentences of talk, each clean and with noise 10 dB below, in ten synthetic voices that the model was
    not trained on. Of the other half, at 0.93 (``said.SURE_ENOUGH``): clean 2 weights of 291 were wrong and
    above, and 87 % of the right ones were above; in noise 2 of 291, and 77 %.
    """

    base: float = -0.411
    margin: float = 0.671
    """Weight of each unit of margin."""
    strain: float = -0.021
    """Weight of each unit of strain a second."""


FITTED = Calibration()
MOST = 8.0
"""Margin where no other reading came near [natural logarithm of a ratio]."""
USUAL_STRAIN = -16.0
"""Strain of right words, for models that have no filler to compare with."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of a turn that may tell whether its first reading is right."""

    margin: float
    """How much better it fits than the next that says something else [natural logarithm], up to ``MOST``."""
    strain: float
    """How much better any phones would fit than its words, for each second of speech."""
    doubtful: bool
    """Whether another reading has a “one” that this one lacks, or “a hundred” where this has eight."""


def confidence(readings: Sequence[Reading], rival: float | None, how: Calibration = FITTED) -> float:
    """Return the chance that the first reading is right, 0 to 1; ``rival`` is the score of mere phones."""
    if UNKNOWN_WORD in readings[0].text.split():
        return 0.0
    return chance(evidence(readings, rival), how)


def evidence(readings: Sequence[Reading], rival: float | None) -> Evidence:
    """Return what margin, strain and the other readings tell."""
    best = readings[0]
    others = (one for one in readings if not alike(one.text, best.text))
    margin = min(MOST, next((best.score - one.score for one in others), MOST))
    doubtful = any(lost_one(best.text, one.text) or eight_for_a(best.text, one.text) for one in readings)
    return Evidence(margin, strain(best, rival), doubtful)


def chance(seen: Evidence, how: Calibration = FITTED) -> float:
    """Return the chance that goes with the evidence; at most a half where it is doubtful.

    >>> chance(Evidence(0.0, 0.0, False), Calibration(0.0, 1.0, 0.0))
    0.5
    """
    worth = how.base + how.margin * seen.margin + how.strain * seen.strain
    most = 0.0 if seen.doubtful else 30.0
    return 1.0 / (1.0 + exp(-max(-30.0, min(most, worth))))


def lost_one(best: str, other: str) -> bool:
    """Return whether the other reading has a “one” where the best has none, before words that both end in.

    A “one” between two other words is the word that is lost most easily, and 39 for 139 the dearest
    mistake. Among the turns above 0.7 that the confidence was fitted on, 2 of 228 right amounts had such a
    reading beside them, and 6 of 20 wrong ones.

    >>> lost_one("no it's thirty nine", "no one thirty nine"), lost_one("one ten", "one ten grams")
    (True, False)
    """
    words, others = best.split(), other.split()
    return others.count("one") > words.count("one") and any(
        word == "one" and _stands_alone(words, others[place + 1 :]) for place, word in enumerate(others)
    )


def eight_for_a(best: str, other: str) -> bool:
    """Return whether the other reading says “a hundred” where the best says “eight hundred”.

    Some say the “a” like the letter. Few cups and few additions weigh eight hundred, so it is asked then.

    >>> eight_for_a("eight hundred and six", "a hundred and six"), eight_for_a("a hundred", "eight hundred")
    (True, False)
    """
    return "eight hundred" in best and best.replace("eight hundred", "a hundred") == other


def _stands_alone(words: list[str], end: list[str]) -> bool:
    """Return whether the words end in this end, without a “one” before it."""
    before = len(words) - len(end)
    return (
        bool(end) and before >= 0 and words[before:] == end and words[max(0, before - 1) : before] != ["one"]
    )


def alike(one: str, other: str) -> bool:
    """Return whether two texts differ in nothing but plurals and spaces, and so mean the same.

    >>> alike("ten litre", "ten litres"), alike("good bye", "goodbye"), alike("ten", "one")
    (True, True, False)
    """
    return _plain(one) == _plain(other)


def _plain(text: str) -> str:
    return "".join(word.removesuffix("s") if len(word) > 3 else word for word in text.split())


def strain(best: Reading, rival: float | None) -> float:
    """Return how much better any phones would fit than the words, for each second of speech."""
    if rival is None:
        return USUAL_STRAIN
    return (rival - best.score) / max(best.ended - best.started, 0.2)
