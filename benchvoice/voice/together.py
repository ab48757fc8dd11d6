"""Several speakers as one: the printer first, so that the eye need not wait for the ear."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from benchvoice.errors import SetupError
from benchvoice.messages import Sentence, SetVoice


class Speaker(Protocol):
    """The door that every speaker has."""

    def say(self, sentence: Sentence) -> None:
        """Say a sentence; come back when it has been said."""

    def heard(self, words: str) -> None:
        """Show what was heard."""

    def tone(self, name: str) -> None:
        """Sound a tone."""

    def change(self, change: SetVoice) -> None:
        """Change how sentences are said from now on."""

    def close(self) -> None:
        """Say no more."""


class Together:
    """Speakers that all say the same, in the order given.

    When one of them can no longer speak, the others tell so once and go on without it; it is
    tried again with every sentence, and joins in when it can. When none can, that is an error.
    """

    def __init__(self, *speakers: Speaker) -> None:
        self._speakers = speakers
        self._silent: set[int] = set()  # places of those that failed last time

    def say(self, sentence: Sentence) -> None:
        """Let each say it in turn."""
        self._each(lambda speaker: speaker.say(sentence))

    def heard(self, words: str) -> None:
        """Let each show it."""
        self._each(lambda speaker: speaker.heard(words))

    def tone(self, name: str) -> None:
        """Let each sound it."""
        self._each(lambda speaker: speaker.tone(name))

    def change(self, change: SetVoice) -> None:
        """Change each."""
        for speaker in self._speakers:
            speaker.change(change)

    def close(self) -> None:
        """Close each."""
        for speaker in self._speakers:
            speaker.close()

    def _each(self, act: Callable[[Speaker], None]) -> None:
        failed = {place: error for place in range(len(self._speakers)) if (error := self._tried(place, act))}
        if len(failed) == len(self._speakers):
            raise next(iter(failed.values()))
        news = [error for place, error in failed.items() if place not in self._silent]
        self._silent = set(failed)
        for error in news:
            self._tell(Sentence(str(error), str(error)))

    def _tried(self, place: int, act: Callable[[Speaker], None]) -> SetupError | None:
        try:
            act(self._speakers[place])
        except SetupError as error:
            return error
        return None

    def _tell(self, sentence: Sentence) -> None:
        for place, speaker in enumerate(self._speakers):
            if place not in self._silent:
                speaker.say(sentence)
