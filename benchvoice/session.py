"""The one loop: hear, understand, advance, write down, say. All that acts is handed in."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager
from datetime import datetime
from typing import Protocol

from benchvoice import replies, timers
from benchvoice.dialogue import coming
from benchvoice.dialogue.advance import advance, begin, expected
from benchvoice.dialogue.scene import Scene
from benchvoice.errors import JournalError
from benchvoice.meaning import phrases
from benchvoice.messages import (
    UNCLEAR,
    Closed,
    Effect,
    Entry,
    Heard,
    Leave,
    Rang,
    Record,
    Reply,
    Sentence,
    SetVoice,
    WordNetwork,
    Words,
)  # fmt: skip

ANYTHING = WordNetwork((), frozenset())
"""What is handed to ears that take any words."""
LISTENING, HEARD, NOT_UNDERSTOOD, DUE = "listening", "heard", "not understood", "timer due"
SUSPENDED = "suspended"


class Ears(Protocol):
    """Where words come from: microphone, recording or keyboard."""

    @property
    def listens(self) -> bool:
        """True where a network narrows what is heard; a keyboard needs none."""

    def hear(self, network: WordNetwork, seconds: float | None) -> Words | Closed | None:
        """Return the next words, None when nothing was said within so many seconds, or Closed."""

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts: the bench is speaking."""


class Voice(Protocol):
    """Where sentences go: loudspeaker, sound file or printer."""

    def say(self, sentence: Sentence) -> None:
        """Say a sentence; come back when it has been said."""

    def tone(self, name: str) -> None:
        """Sound a tone."""

    def heard(self, words: str) -> None:
        """Show what was heard."""

    def change(self, change: SetVoice) -> None:
        """Change how sentences are said from now on."""


class Journal(Protocol):
    """Where entries are kept."""

    def write_all(self, entries: Iterable[Entry]) -> None:
        """Write entries down, all or none; they are on the disk when this returns."""


class Session:
    """One conversation, from greeting to goodbye."""

    def __init__(
        self, scene: Scene, *, ears: Ears, voice: Voice, journal: Journal, now: Callable[[], datetime]
    ) -> None:
        self.scene = scene
        self.left = False
        self._ears, self._voice, self._journal, self._now = ears, voice, journal, now
        self._looked = now()
        self._suspended = False

    def run(self) -> Scene:
        """Talk until the potter leaves or the ears are closed; return the last scene."""
        self.open()
        while not self.left and self.turn():
            pass
        return self.scene

    def open(self) -> None:
        """Greet, ask the first question, and tell of timers that fell due since anything was written."""
        self._looked = timers.last_written(self.scene.bench.entries) or self._now()
        self._take(begin(self.scene, self._now()))
        self.ring()

    def turn(self) -> bool:
        """Wait for one event and answer it; return False when the ears are closed."""
        self._show_state()
        words = self._hear(phrases.network(expected(self.scene)) if self._ears.listens else ANYTHING)
        if isinstance(words, Closed):
            return False
        if words is not None and words.text:
            self._answer(words)
        self.ring()
        return True

    def _show_state(self) -> None:
        """Sound the state: each time when it is the potter's turn, once when the bench stands by."""
        was_suspended, self._suspended = self._suspended, self.scene.state.alone
        if (self._suspended and was_suspended) or coming.is_counting(self.scene):
            return
        with self._ears.deaf():
            self._voice.tone(SUSPENDED if self._suspended else LISTENING)

    def _hear(self, network: WordNetwork) -> Words | Closed | None:
        """Return the next words, or None as soon as something comes of itself."""
        while True:
            words = self._ears.hear(network, coming.wait(self.scene, self._now()))
            if words is not None or self._something_came():
                return words

    def _something_came(self) -> bool:
        """Tell whether something has come of itself; until then the clock was right."""
        now = self._now()
        if coming.events(self.scene, self._looked, now):
            return True
        self._looked = now
        return False

    def ring(self) -> None:
        """Let everything come that is due: timers, a moment of a countdown, a clock set back."""
        if self.left:
            return
        before, self._looked = self._looked, self._now()
        for event in coming.events(self.scene, before, self._looked):
            with self._ears.deaf():
                if isinstance(event, Rang):
                    self._voice.tone(DUE)
                self._take(advance(self.scene, event, self._now()))

    def _answer(self, words: Words) -> None:
        meaning = phrases.understand(words, expected(self.scene))
        if meaning.kind == UNCLEAR and self._suspended and not words.typed:
            return  # somebody speaks, but not to the bench
        with self._ears.deaf():
            if not words.typed:
                self._voice.heard(words.text)
            self._voice.tone(NOT_UNDERSTOOD if meaning.kind == UNCLEAR else HEARD)
            self._take(advance(self.scene, Heard(meaning), self._now()))

    def _take(self, outcome: tuple[Scene, tuple[Reply, ...], tuple[Effect, ...]]) -> None:
        """Write down first, then say: nothing is acknowledged that is not on the disk.

        When it cannot be written the scene stays as it was, and that is said.
        """
        scene, answers, effects = outcome
        try:
            self._journal.write_all([effect.entry for effect in effects if isinstance(effect, Record)])
        except JournalError as error:
            self._say((Reply("not_written", {"error": error}),))
            return
        self.scene = scene
        self._carry_out(effects)
        self._say(answers)

    def _carry_out(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            if isinstance(effect, SetVoice):
                self._voice.change(effect)
            elif isinstance(effect, Leave):
                self.left = True

    def _say(self, answers: tuple[Reply, ...]) -> None:
        wording = self.scene.bench.setting("wording", "full")
        with self._ears.deaf():
            for sentence in replies.sentences(answers, wording):
                self._voice.say(sentence)
