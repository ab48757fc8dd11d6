"""Ears for a working day: a microphone that may come and go, beside a keyboard that is always there.

Whichever brings words first is heard. A microphone that fails is told of once, in a sentence that says how to
go on; the session stays as it is and is typed until the microphone is back.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from math import inf
from typing import Protocol

from benchvoice.ears.keyboard import normalised
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.turns import PATIENCE
from benchvoice.errors import SetupError
from benchvoice.live.keys import Keys
from benchvoice.live.noise import TOO_NOISY, Noise
from benchvoice.messages import Closed, WordNetwork, Words

STEP = 0.1
"""How long the microphone is heard before the keyboard is looked at again [s]."""
TRY_AGAIN = 3.0
"""A microphone that failed is tried again this often [s]."""
LOOK_AGAIN = 15.0
"""While there is none, new ones are looked for this often [s]; the loudspeaker is let go of for that."""
LEFT_ALONE = 25.0
"""A bench that is to be called stands by after nobody has spoken for so long [s]."""
PUSHED_FOR = 8.0
"""A key opens the microphone for so long; words that have begun are heard to their end [s]."""


class Bell(Protocol):
    """What the ears ask of the voice."""

    def begin(self) -> None:
        """Let a key cut the reply short from now on."""

    def end(self) -> None:
        """Come back when the reply is over, and so is its echo in the room."""

    def tell(self, text: str) -> None:
        """Print and say a sentence that is no reply."""

    def sound(self, tone: str) -> None:
        """Sound a tone."""

    def typing_only(self, only: bool) -> None:
        """Show whether nothing can be heard just now."""

    @property
    def stands_by(self) -> bool:
        """Whether the bench waits to be called."""

    def let_go(self) -> None:
        """Close the loudspeaker until it is needed again."""


@dataclass(frozen=True, slots=True)
class Manners:
    """How the ears listen."""

    push: bool = False
    """Only after a key."""
    left_alone: float = inf
    """Stand by, until called, when nobody has spoken for so long [s]."""
    patience: Callable[[], float] = lambda: 1.0
    """How many times the usual wait for the end of a sentence."""
    look_again: Callable[[], bool] = lambda: False
    """Looks for devices that were plugged in since."""
    sure: float = 0.8
    """Confidence below which a turn was heard badly."""


class LiveEars:
    """Hears a microphone and a keyboard."""

    listens = True

    def __init__(
        self, listen: Callable[[], SpeechEars], keys: Keys, bell: Bell, manners: Manners | None = None
    ) -> None:
        """Take what opens a microphone, the keys, the bell, and how to listen."""
        self._listen, self._keys, self._bell = listen, keys, bell
        self._manners = manners or Manners()
        self._looked = self._spoken_at = time.monotonic()
        self._muted = self._too_noisy = False
        self._noise = Noise(self._manners.sure)
        self.ever_open = False
        """Whether a microphone was ever open."""
        self._speech: SpeechEars | None = None
        self._next_try = 0.0
        self._told = ""
        self._pushed_until = 0.0
        self._depth = 0

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Return the next words, spoken or typed; None when there were none within ``seconds``."""
        end = None if seconds is None else time.monotonic() + seconds
        while True:
            words = self._typed() or self._spoken(network) or self._left_alone()
            if words is not None:
                return words
            if end is not None and time.monotonic() >= end:
                return None

    @contextmanager
    def deaf(self) -> Iterator[None]:
        """Hear nothing while this context lasts, nor the echo of what was said in it."""
        if self._depth:
            yield
            return
        self._depth = 1
        try:
            with self._speech.deaf() if self._speech is not None else nullcontext():
                self._bell.begin()
                self._say_if_too_noisy()
                yield
                self._bell.end()
        finally:
            self._depth = 0
            self._spoken_at = time.monotonic()
        if self._speech is None:  # so that the tone that invites the potter comes when it can be heard
            self._open()

    def close(self) -> None:
        """Let go of the microphone."""
        speech, self._speech = self._speech, None
        if speech is not None:
            speech.close()

    # ---- the keyboard ------------------------------------------------------------------

    def _typed(self) -> Words | Closed | None:
        if self._speech is None:
            self._open()
        if self._keys.over:
            return self._without_keys()
        line = self._keys.line(0.0 if self._speech is not None else STEP)
        if line is None:
            return None
        self._pushed_until = 0.0
        return Words(normalised(line), typed=True) if line.strip() else None

    def _without_keys(self) -> Closed | None:
        """End the session when nothing can be heard any more, or when a potter at a terminal ended it."""
        if self._keys.is_terminal or not self.ever_open:
            return Closed()
        if self._speech is None:
            time.sleep(STEP)  # a bench without a keyboard waits for its microphone to come back
        return None

    # ---- the microphone ------------------------------------------------------------------

    def _spoken(self, network: WordNetwork) -> Words | Closed | None:
        if self._speech is None or not self._is_open(self._speech):
            return None
        self._speech.patience = PATIENCE.times(self._manners.patience())
        try:
            words = self._speech.hear(network, STEP)
            self._watch(self._speech)
        except SetupError as error:
            self._lose(error)
            return None
        if words is not None:
            self._pushed_until = 0.0
            self._keys.drop_half_line()
        if isinstance(words, Words) and not self._bell.stands_by:
            self._too_noisy = self._noise.take(words.confidence, self._speech.above_room(words))
        return words

    def _say_if_too_noisy(self) -> None:
        """Say so before the reply, so that what the reply asks comes last."""
        if self._too_noisy:
            self._too_noisy = False
            self._bell.tell(TOO_NOISY)

    def _is_open(self, speech: SpeechEars) -> bool:
        """Tell whether the microphone is to be heard; while it is not, wait a moment for a key."""
        if not self._manners.push or time.monotonic() < self._pushed_until:
            return True
        with speech.deaf():
            if not self._keys.pressed(STEP):
                return False
        with self.deaf():
            self._bell.sound("listening")
        self._pushed_until = time.monotonic() + PUSHED_FOR
        return True

    def _watch(self, speech: SpeechEars) -> None:
        """Tell when the microphone gives nothing but zeros; once, for some do so whenever nobody speaks."""
        if speech.muted and not self._muted:
            self._muted = True
            self.tell("The microphone gives no sound at all: it may be muted. You can type.")

    def tell(self, text: str) -> None:
        """Print and say a sentence that is no reply, without hearing it."""
        with self.deaf():
            self._bell.tell(text)

    def _left_alone(self) -> Words | None:
        """Stand by, as if told to, when nobody has spoken for long enough."""
        alone = time.monotonic() - self._spoken_at > self._manners.left_alone
        return Words("standby", typed=True) if alone and not self._bell.stands_by else None

    def _open(self) -> None:
        if time.monotonic() < self._next_try:
            return
        if self._told and time.monotonic() - self._looked > LOOK_AGAIN:
            self._looked = time.monotonic()
            self._bell.let_go()
            self._manners.look_again()
        try:
            self._speech = self._listen()
            self.ever_open = True
        except SetupError as error:
            self._tell_once(error)
            self._next_try = time.monotonic() + TRY_AGAIN
        else:
            self._bell.typing_only(False)
            if self._told:
                self.tell("The microphone is back.")
            self._told = ""

    def _lose(self, error: SetupError) -> None:
        self.close()
        self._next_try = time.monotonic() + TRY_AGAIN
        self._tell_once(error)

    def _tell_once(self, error: SetupError) -> None:
        """Tell that the microphone failed; what fails again and again is told once."""
        if not self._told:
            self._told = str(error)
            self._bell.typing_only(True)
            self._bell.sound("microphone lost")
            self._bell.tell(self._told)
