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
    """How margin and strain become a chance, fitted on sounds with known words."""

    base: float = 0.0
    margin: float = 0.8
    """Weight of each unit of margin."""
    strain: float = -0.35
    """Weight of each unit of strain a second."""


FITTED = Calibration()


def confidence(readings: Sequence[Reading], rival: float | None, how: Calibration = FITTED) -> float:
    """Return the chance that the first reading is right, 0 to 1."""
    best = readings[0]
    if UNKNOWN_WORD in best.text.split():
        return 0.0
    margin = next((best.score - one.score for one in readings if one.text != best.text), 8.0)
    worth = how.base + how.margin * min(margin, 8.0) + how.strain * strain(best, rival)
    return 1.0 / (1.0 + exp(-max(-30.0, min(30.0, worth))))


def strain(best: Reading, rival: float | None) -> float:
    """Return how much better any phones would fit than the words, for each second of speech."""
    if rival is None:
        return 0.0
    return (rival - best.score) / max(best.ended - best.started, 0.2)
