"""Several speakers as one: the printer first, so that the eye need not wait for the ear."""

from __future__ import annotations

from typing import Protocol

from benchvoice.messages import Sentence, SetVoice


class Speaker(Protocol):
    """The door that every speaker has."""

    def say(self, sentence: Sentence) -> None:
        """Say a sentence; come back when it has been said."""

    def tone(self, name: str) -> None:
        """Sound a tone."""

    def change(self, change: SetVoice) -> None:
        """Change how sentences are said from now on."""

    def close(self) -> None:
        """Say no more."""


class Together:
    """Speakers that all say the same, in the order given."""

    def __init__(self, *speakers: Speaker) -> None:
        self._speakers = speakers

    def say(self, sentence: Sentence) -> None:
        """Let each say it in turn."""
        for speaker in self._speakers:
            speaker.say(sentence)

    def tone(self, name: str) -> None:
        """Let each sound it."""
        for speaker in self._speakers:
            speaker.tone(name)

    def change(self, change: SetVoice) -> None:
        """Change each."""
        for speaker in self._speakers:
            speaker.change(change)

    def close(self) -> None:
        """Close each."""
        for speaker in self._speakers:
            speaker.close()
