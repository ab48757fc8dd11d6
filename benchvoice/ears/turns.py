"""When a turn is over: how long it must be quiet after the last word. Pure.

Two witnesses tell how long it has been quiet: the level of the sound, which tells it at once,
and the words so far, which stand still. A turn ends when the sound has been no louder than the
room for long enough and the words have settled. Where the room itself is never quiet (talk,
music), it ends when the words have stood still for much longer.
"""

from __future__ import annotations

import sys
from array import array
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import takewhile
from math import inf, log10, sqrt
from statistics import mean, median

Unfinished = Callable[[str], bool]
"""Tells whether more is to be expected after the words so far."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait, in seconds."""

    finished: float = 0.5
    """Quiet after words that may stand as they are."""
    unfinished: float = 1.3
    """Quiet after words that call for more, such as half a number."""
    settled: float = 0.05
    """The words must have stood still for this long."""
    loud_room: float = 2.0
    """How long the words must stand still where it is never quiet."""

    def times(self, factor: float) -> Patience:
        """Return the patience of somebody who waits so many times as long.

        >>> Patience().times(2.0).finished
        1.0
        """
        return replace(self, finished=factor * self.finished, unfinished=factor * self.unfinished)


PATIENCE = Patience()


def is_over(now: float, changed: float, loud: float, finished: bool, patience: Patience = PATIENCE) -> bool:
    """Return whether a turn is over; all times are seconds on one clock.

    ``changed`` is when the words last changed, ``loud`` when the sound last was.

    >>> is_over(now=2.0, changed=1.6, loud=1.4, finished=True)
    True
    >>> is_over(now=2.0, changed=1.6, loud=1.4, finished=False)
    False
    >>> is_over(now=3.7, changed=1.6, loud=3.7, finished=True)
    True
    """
    wait = patience.finished if finished else patience.unfinished
    still = now - changed
    return (now - loud >= wait and still >= patience.settled) or still >= max(patience.loud_room, wait)


LATELY = 4.0
"""The quietest moment of this long a stretch tells of the room, whoever speaks in it [s]."""
ABOVE_QUIETEST = 2.5
"""How many times louder than that speech is, at the least (8 decibels)."""
USUALLY = 8.0
"""Over this long a stretch most moments are the room alone: nobody at the bench speaks half the time [s]."""
ABOVE_USUAL = 1.5
"""How many times louder than its middle moment speech is, at the least (3.5 decibels).

In steady noise this is the lower bar of the two. With it, in the noises of a workshop 10 decibels below
speech, 93 % of the blocks with speech in them are loud instead of 83 %, 5 below 76 % instead of 58 %
(eleven kinds of noise, 14 phrases each).
"""
QUIETEST = 40.0
"""What is below this is never loud, however quiet the room."""
REMEMBERED = 30.0
"""How long a loud moment is remembered [s]."""


@dataclass(frozen=True, slots=True)
class Moment:
    """How loud one block was."""

    end: float
    """When it ended [s]."""
    level: float
    """Root mean square of its 16 bit samples."""
    steady: float
    """The same, of it and the one before: the room's level is told from these, which waver less."""
    loud: bool
    """Whether it was well above the room."""


@dataclass(slots=True)
class Level:
    """Follows the level of a sound and tells when it was well above the room's."""

    last_loud: float = -inf
    """When it was loud last [s]; long ago when never."""
    moments: deque[Moment] = field(default_factory=deque)
    """The last blocks."""

    def take(self, sound: bytes, end: float) -> None:
        """Take in a block that ends at ``end`` seconds."""
        level = loudness(sound)
        before = self.moments[-1].level if self.moments else level
        steady = sqrt((level**2 + before**2) / 2)
        loud = level > max(QUIETEST, self._bar(steady, end))
        self.moments.append(Moment(end, level, steady, loud))
        self.last_loud = end if loud else self.last_loud
        while self.moments[0].end < end - REMEMBERED:
            self.moments.popleft()

    def _bar(self, now: float, end: float) -> float:
        lately = self._since(end - LATELY) or [now]
        usually = self._since(end - USUALLY) or [now]
        return min(ABOVE_QUIETEST * min(lately), ABOVE_USUAL * median(usually))

    def _since(self, start: float) -> list[float]:
        since = takewhile(lambda moment: moment.end >= start, reversed(self.moments))
        return [moment.steady for moment in since]

    @property
    def is_loud(self) -> bool:
        """Whether it is loud just now."""
        return bool(self.moments) and self.moments[-1].loud

    def above_room(self, start: float, end: float) -> float:
        """Return how far the loud moments of a time stand above the usual level [dB]."""
        loud = [moment.level**2 for moment in self.moments if moment.loud and start <= moment.end <= end]
        usual = max(1.0, median(self._since(end - USUALLY) or [0.0]))
        return 10.0 * log10(mean(loud) / usual**2) if loud else 0.0

    def loud_share(self, start: float, end: float) -> float:
        """Return how much of the time between two moments was loud, 0 to 1."""
        between = [moment.loud for moment in self.moments if start <= moment.end <= end]
        return sum(between) / len(between) if between else 0.0


def loudness(sound: bytes) -> float:
    """Return the root mean square of 16 bit samples, from every fourth of them.

    >>> loudness(b"")
    0.0
    """
    samples = array("h", sound[: len(sound) // 2 * 2])
    if sys.byteorder == "big":
        samples.byteswap()
    some = samples[::4]
    return sqrt(sum(one * one for one in some) / len(some)) if some else 0.0
