"""Whether it is too noisy here to be heard: told from turns that were heard badly. Pure."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

TOO_NOISY = (
    "It is too noisy here for me to hear you well. Come closer to the microphone, "
    "switch off what is running while you give me a reading, or type it."
)
OF_LATE = 5
"""So many turns are looked at."""
TOO_MANY = 3
"""When so many of them were heard badly over noise, it is said."""
LITTLE = 12.0
"""Words that stand no further than this above the room are spoken over noise [dB].

An ordinary quiet room is 20 decibels below speech and more (our choice).
"""


@dataclass(slots=True)
class Noise:
    """The last turns."""

    sure: float
    """Confidence below which a turn was heard badly."""
    _badly: deque[bool] = field(default_factory=lambda: deque(maxlen=OF_LATE))
    _told: bool = False

    def take(self, confidence: float | None, above_room: float) -> bool:
        """Take in a turn, and return whether it should be said now that it is too noisy.

        It is said once, and again only after as many turns as are looked at were heard well.

        >>> noise = Noise(sure=0.8)
        >>> [noise.take(0.4, 8.0) for _ in range(5)]
        [False, False, True, False, False]
        """
        self._badly.append(confidence is not None and confidence < self.sure and above_room < LITTLE)
        if not any(self._badly):
            self._told = False
        now = sum(self._badly) >= TOO_MANY and not self._told
        self._told = self._told or now
        return now
