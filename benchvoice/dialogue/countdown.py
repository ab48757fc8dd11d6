"""A countdown for hands in the bucket: what is said when, as a value.

Up to the word "in" each moment comes a step after the one before it was said, however long the saying took.
From then on every moment is counted from "in", so that the dip is as long as it was to be.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

STEP = 1.0
"""From one number to the next [s]."""
GETTING_READY = 4.0
"""From the order to the first number [s]: it is said back first, and a hand finds the tile (our choice)."""
MOST_COUNTED = 3
"""So many seconds before the end are counted down aloud (our choice)."""
QUIET_AT_FIRST = 2
"""So many seconds after "in" nothing is counted, or the words would run together (our choice)."""
MISSED = 1.5
"""A moment so long past [s] cannot be said any more; the dip begins anew (our choice)."""
SLOW = 0.25
"""A moment so late [s] shows a voice too slow to count in seconds: then only "out" is said after "in"."""
IN, OUT = "in", "out"
BEFORE = ("three", "two", "one", IN)


@dataclass(frozen=True, slots=True)
class Countdown:
    """A dip under way."""

    dip_s: float = 0.0
    """How long the tile is to be in [s]; 0 when no dip is under way."""
    at: datetime | None = None
    """When the next moment is due."""
    left: tuple[str, ...] = ()
    """What is said at it, and after it."""
    ends: datetime | None = None
    """When "out" is due; None before "in"."""
    slow: bool = False
    """True once a moment was late: the voice, or its echo, takes longer than a second."""

    @property
    def says(self) -> str:
        """What is said next."""
        return self.left[0]

    def missed(self, now: datetime) -> bool:
        """Tell whether the next moment went by unsaid."""
        return self.at is not None and (now - self.at).total_seconds() > MISSED


def begun(dip_s: float, now: datetime) -> Countdown:
    """Return the countdown for a dip, from the moment it was asked for."""
    return Countdown(dip_s, now + timedelta(seconds=GETTING_READY), (*BEFORE, *_inside(dip_s)))


def _inside(dip_s: float) -> tuple[str, ...]:
    """Return what is said after "in": the last seconds, where there is room for them, and "out"."""
    counted = min(MOST_COUNTED, int(dip_s) - QUIET_AT_FIRST)
    return (*BEFORE[:-1][MOST_COUNTED - max(counted, 0) :], OUT)


def after(counting: Countdown, now: datetime) -> Countdown:
    """Return the countdown once its next moment has been said, at this time."""
    left = counting.left[1:]
    if not left:
        return Countdown()
    assert counting.at is not None
    counting = replace(counting, slow=counting.slow or (now - counting.at).total_seconds() > SLOW)
    if counting.slow and IN not in left:
        left = (OUT,)
    if counting.says == IN:
        counting = replace(counting, ends=now + timedelta(seconds=counting.dip_s))
    at = now + timedelta(seconds=STEP) if counting.ends is None else _counted_back(counting.ends, len(left))
    return replace(counting, at=at, left=left)


def _counted_back(ends: datetime, moments: int) -> datetime:
    return ends - timedelta(seconds=STEP * (moments - 1))
