"""When a turn is over: how long it must be quiet after the last word. Pure.

Two witnesses say how long it has been quiet. The recogniser's last word tells it through any
noise, but late, since it looks ahead before it decides. The level of the sound tells it at
once, but not in steady noise. So a turn ends when both agree, or when the recogniser alone
has been sure for longer than it looks ahead.
"""

from __future__ import annotations

import sys
from array import array
from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt

Unfinished = Callable[[str], bool]
"""Tells whether more is to be expected after the words so far."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait, in seconds."""

    finished: float = 0.55
    """Quiet after words that may stand as they are."""
    unfinished: float = 1.3
    """Quiet after words that call for more, such as half a number."""
    look_ahead: float = 0.4
    """How far the recogniser lags behind the sound."""


PATIENCE = Patience()


def is_over(now: float, last_word: float, last_loud: float, wait: float, look_ahead: float) -> bool:
    """Return whether a turn is over; all times in seconds on one clock.

    >>> is_over(now=2.0, last_word=1.4, last_loud=1.4, wait=0.55, look_ahead=0.4)
    True
    >>> is_over(now=2.0, last_word=1.4, last_loud=1.9, wait=0.55, look_ahead=0.4)
    False
    >>> is_over(now=2.4, last_word=1.4, last_loud=2.4, wait=0.55, look_ahead=0.4)
    True
    """
    quiet = now - last_word
    return quiet >= wait + look_ahead or (quiet >= wait and now - last_loud >= wait)


@dataclass(slots=True)
class Level:
    """Follows the level of a sound and tells when it was last well above the room's."""

    floor: float = 200.0
    """Level of the room, root mean square of 16 bit samples: falls at once, rises slowly."""
    last_loud: float = 0.0
    """When it was last loud, seconds."""
    silent: bool = True
    """True while every sample so far was zero."""

    def take(self, sound: bytes, end: float) -> None:
        """Take in a block that ends at ``end`` seconds."""
        level = loudness(sound)
        self.silent = self.silent and level == 0.0
        self.floor = min(level, self.floor) if level < self.floor else self.floor * 1.02 + 0.1
        if level > 30.0 and level > 3.0 * self.floor:
            self.last_loud = end


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
