"""Several recordings, one after the other, as one stream of sound with a pause after each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from benchvoice.ears.recordings import Recording
from benchvoice.messages import Block

PAUSE = 1.5
"""Silence after each recording [s]: long enough that a turn is over."""


class Playlist:
    """A stream that plays recordings; the next file is opened only when the last is done."""

    def __init__(self, files: Sequence[Path]) -> None:
        self._files = list(files)
        self._now: Recording | None = None
        self._silence = 0.0
        self._rate = 16000
        self.position = 0.0

    def read(self) -> Block | None:
        """Return the next block; None after the last recording."""
        while True:
            if self._silence > 0:
                return self._counted(self._quiet())
            if self._now is None:
                if not self._files:
                    return None
                self._now = Recording(self._files.pop(0))
            block = self._now.read()
            if block is not None:
                self._rate = block.rate
                return self._counted(block)
            self._now.close()
            self._now, self._silence = None, PAUSE

    def _quiet(self) -> Block:
        seconds = min(self._silence, 0.1)
        self._silence -= seconds
        return Block(bytes(2 * int(seconds * self._rate)), self._rate)

    def _counted(self, block: Block) -> Block:
        self.position += len(block.sound) / 2 / block.rate
        return block

    def shut(self) -> None:
        """Do nothing: a recording waits while the bench speaks."""

    def open(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Let go of the file that is being played."""
        if self._now is not None:
            self._now.close()
