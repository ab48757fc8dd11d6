"""Small networks of words for tests, the fixtures that belong to them, and a sound that stands in memory."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from benchvoice.ears.recordings import RATE
from benchvoice.messages import Block, WordNetwork

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"


def network_of(*phrases: str) -> WordNetwork:
    """Return the network of some phrases: a tree, all ends final."""
    arcs: dict[tuple[int, str], int] = {}
    finals = set()
    for phrase in phrases:
        state = 0
        for word in phrase.split():
            state = arcs.setdefault((state, word), len(arcs) + 1)
        finals.add(state)
    return WordNetwork(tuple((start, word, end) for (start, word), end in arcs.items()), frozenset(finals))


class Stream:
    """A sound that stands in memory, for ears to read block by block."""

    def __init__(self, samples: np.ndarray, block: int = 800, rate: int = RATE) -> None:
        self._data, self._block, self._rate, self._at = samples.astype("<i2").tobytes(), 2 * block, rate, 0
        self.position = 0.0
        self.shut_times = 0

    def read(self) -> Block | None:
        """Return the next block."""
        sound = self._data[self._at : self._at + self._block]
        self._at += len(sound)
        self.position = self._at / 2 / self._rate
        return Block(sound, self._rate) if sound else None

    def shut(self) -> None:
        """Count that it was shut."""
        self.shut_times += 1

    def open(self) -> None:
        """Go on."""

    def close(self) -> None:
        """Nothing to close."""
