"""The doors of the ears: what the session sees of them, and what they see of a sound."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Protocol

from benchvoice.messages import Block, Closed, WordNetwork, Words


class Ears(Protocol):
    """Whatever words come from: a microphone, a recording, a keyboard."""

    @property
    def listens(self) -> bool:
        """True where a network narrows what is heard; a keyboard needs none."""

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Return the next words, or None when there were none within ``seconds``.

        None for ``seconds`` is to wait for ever. Words that have begun are heard to their end.
        A recording counts its own time. ``Closed`` says that no more will come.
        """

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts: the machine speaks."""

    def close(self) -> None:
        """Let go of the device or file."""


class Sound(Protocol):
    """A stream of sound that is read block by block."""

    position: float
    """Where the block that was read last ends: seconds since the stream was opened."""

    def read(self) -> Block | None:
        """Return the next block, waiting for it if need be; None when the sound is over."""

    def shut(self) -> None:
        """Drop what comes in from now on, if it comes in by itself."""

    def open(self) -> None:
        """Let it in again."""

    def close(self) -> None:
        """Let go of the device or file."""
