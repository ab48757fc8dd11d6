"""A speaker that speaks into a WAV file: for demonstrations, and for tests without a sound card."""

from __future__ import annotations

import wave
from pathlib import Path
from typing import BinaryIO

from benchvoice.errors import LoudspeakerError
from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice.engine import RATE, Engine
from benchvoice.voice.manner import Manner
from benchvoice.voice.sound import BYTES_A_SAMPLE, Sound
from benchvoice.voice.tones import tone

GAP = 0.25
"""Silence after each sentence and tone [s]."""


class WavSpeaker:
    """A speaker whose loudspeaker is a file; the file is whole after every sentence."""

    def __init__(self, path: Path, engine: Engine, manner: Manner | None = None) -> None:
        self._engine = engine
        self._manner = manner or Manner()
        self._seconds = 0.0
        self._file = _opened(path)
        self._wave = wave.open(self._file, "wb")  # noqa: SIM115 (open as long as the speaker is)
        self._wave.setnchannels(1)
        self._wave.setsampwidth(BYTES_A_SAMPLE)
        self._wave.setframerate(RATE)

    @property
    def seconds(self) -> float:
        """How much has been written so far [s]."""
        return self._seconds

    @property
    def playing(self) -> bool:
        """Always False: nobody hears a file while it is written."""
        return False

    def say(self, sentence: Sentence) -> None:
        """Speak a sentence into the file."""
        if self._manner.speaks(sentence):
            self.add(self._engine.render(sentence.spoken, self._manner.rate).louder(self._manner.volume))

    def heard(self, words: str) -> None:
        """Do nothing: what was heard is shown by the printer."""

    def tone(self, name: str) -> None:
        """Put a tone into the file."""
        self.add(tone(name, RATE).louder(self._manner.volume))

    def add(self, sound: Sound) -> None:
        """Put any sound into the file, such as what the potter said."""
        whole = sound.at_rate(RATE)
        self._wave.writeframes(whole.pcm + Sound.silence(GAP, RATE).pcm)
        self._file.flush()
        self._seconds += whole.seconds + GAP

    def change(self, change: SetVoice) -> None:
        """Change how the next sentences are spoken."""
        self._manner = self._manner.changed(change)
        self._engine.use(self._manner.voice)

    def close(self) -> None:
        """Close the file. The engine belongs to whoever made it."""
        self._wave.close()
        self._file.close()


def _opened(path: Path) -> BinaryIO:
    try:
        return path.open("wb")
    except OSError as error:
        raise LoudspeakerError(
            f"The sound file {path} cannot be written: {error.strerror}.", "Choose another place for it."
        ) from error
