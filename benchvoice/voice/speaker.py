"""A speaker that is heard: sentences through the engine and the loudspeaker."""

from __future__ import annotations

import contextlib
import threading

from benchvoice.errors import LoudspeakerError
from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice.engine import LEAD, RATE, Engine
from benchvoice.voice.loudspeaker import Loudspeaker
from benchvoice.voice.manner import Manner
from benchvoice.voice.tones import tone


class Speaker:
    """Says sentences aloud, one at a time, in the order in which they come.

    ``say`` may be called from any thread, and ``stop`` from any other meanwhile.
    """

    def __init__(self, engine: Engine, loudspeaker: Loudspeaker, manner: Manner | None = None) -> None:
        self._engine = engine
        self._loudspeaker = loudspeaker
        self._manner = manner or Manner()
        self._engine.use(self._manner.voice)
        self._turn = threading.Lock()  # held while a sentence is being said
        self._state = threading.Lock()
        self._caution = False  # the sentence being said must not be cut short
        self._cut = False
        self._led = False  # a tone is in line right before what is said next

    @property
    def playing(self) -> bool:
        """Whether anything can be heard: while it can, the microphone hears us and not the potter."""
        return self._turn.locked() or self._loudspeaker.playing

    @property
    def cut(self) -> bool:
        """Whether the last sentence was cut short by ``stop``."""
        return self._cut

    def say(self, sentence: Sentence) -> None:
        """Say a sentence; come back when its last sound has been heard."""
        if not self._manner.speaks(sentence):
            return
        with self._turn:
            self._begin(sentence)
            try:
                self._loudspeaker.wait(self._spoken(sentence.spoken))
            except BaseException:  # Ctrl-C too: who leaves wants no more talk
                self._loudspeaker.stop()
                raise
            finally:
                self._caution = False

    def heard(self, words: str) -> None:
        """Do nothing: what was heard is shown by the printer."""

    def tone(self, name: str) -> None:
        """Sound a tone, after what is being said; come back when it has been heard."""
        sound = tone(name, RATE).louder(self._manner.volume)
        self._loudspeaker.wait(self._loudspeaker.play(sound))

    def lead(self, name: str) -> None:
        """Put a tone in line, right before what is said next; come back at once."""
        self._loudspeaker.play(tone(name, RATE).louder(self._manner.volume))
        self._led = True

    def change(self, change: SetVoice) -> None:
        """Change how the next sentences are spoken."""
        self._manner = self._manner.changed(change)
        self._engine.use(self._manner.voice)

    def stop(self) -> bool:
        """Cut short what is being said, unless it is a caution; return whether it was cut."""
        with self._state:
            if self._caution:
                return False
            self._cut = True
            self._loudspeaker.stop()
            return True

    def close(self) -> None:
        """Let what is in line be heard and close the loudspeaker. The engine belongs to its maker."""
        with contextlib.suppress(LoudspeakerError):  # it went away first
            self._loudspeaker.finish()
        self._loudspeaker.close()

    def _begin(self, sentence: Sentence) -> None:
        with self._state:
            self._caution, self._cut = sentence.safety, False

    def _spoken(self, text: str) -> int:
        """Put a text in line, each sentence while the one before it plays; return the last mark."""
        mark = 0
        for sound in self._engine.rendered(text, self._manner.rate):
            if self._led:  # the tone has woken the loudspeaker: no silence need do so
                sound, self._led = sound.after(LEAD), False
            with self._state:
                if self._cut:
                    break
                mark = self._loudspeaker.play(sound.louder(self._manner.volume))
        return mark
