"""A piece of sound, and the few things done to one before it is played or written.

All sound inside benchvoice is mono, 16 bit signed, little endian. numpy, soxr and soundfile
are imported where they are used, so that a printed session never loads them.
"""

from __future__ import annotations

import io
import wave
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy import int16
    from numpy.typing import NDArray

BYTES_A_SAMPLE = 2
QUIETEST = 100
"""Samples of at most this size (of 32767, so 50 dB down) count as silence when trimming."""


@dataclass(frozen=True, slots=True)
class Sound:
    """A piece of sound.

    >>> Sound.silence(0.5, 8000).seconds
    0.5
    """

    pcm: bytes
    """Mono samples, signed 16 bit, little endian."""
    rate: int
    """Samples per second [Hz]."""

    @classmethod
    def silence(cls, seconds: float, rate: int) -> Sound:
        """Return so many seconds of nothing."""
        return cls(bytes(BYTES_A_SAMPLE * round(seconds * rate)), rate)

    @classmethod
    def of(cls, samples: NDArray[int16], rate: int) -> Sound:
        """Return the sound with these samples."""
        return cls(samples.astype("<i2").tobytes(), rate)

    @property
    def samples(self) -> NDArray[int16]:
        """The samples, to be read only."""
        import numpy

        return numpy.frombuffer(self.pcm, dtype="<i2")

    @property
    def count(self) -> int:
        """How many samples."""
        return len(self.pcm) // BYTES_A_SAMPLE

    @property
    def seconds(self) -> float:
        """How long it lasts [s]."""
        return self.count / self.rate

    def louder(self, gain: float) -> Sound:
        """Return the sound with every sample times ``gain``; too loud is clipped, never wrapped.

        >>> Sound((20000).to_bytes(2, "little"), 8000).louder(2).samples.tolist()
        [32767]
        """
        if gain == 1.0:
            return self
        scaled = (self.samples * float(gain)).round().clip(-32768, 32767)
        return Sound.of(scaled.astype("<i2"), self.rate)

    def at_rate(self, rate: int) -> Sound:
        """Return the same sound at another rate, band-limited."""
        if rate == self.rate or not self.pcm:
            return Sound(self.pcm, rate)
        import soxr

        return Sound.of(soxr.resample(self.samples, self.rate, rate), rate)

    def after(self, seconds: float) -> Sound:
        """Return the sound without its first seconds.

        >>> Sound.silence(0.5, 8000).after(0.125).count
        3000
        """
        return Sound(self.pcm[BYTES_A_SAMPLE * round(seconds * self.rate) :], self.rate)

    def trimmed(self, lead: float, tail: float) -> Sound:
        """Return the sound with exactly ``lead`` seconds of silence before and ``tail`` after it.

        Sound that is silent throughout becomes empty.
        """
        loud = (abs(self.samples.astype("i4")) > QUIETEST).nonzero()[0]
        if not len(loud):
            return Sound(b"", self.rate)
        kept = self.pcm[BYTES_A_SAMPLE * int(loud[0]) : BYTES_A_SAMPLE * (int(loud[-1]) + 1)]
        before, after = Sound.silence(lead, self.rate), Sound.silence(tail, self.rate)
        return Sound(before.pcm + kept + after.pcm, self.rate)

    def write(self, path: Path) -> None:
        """Write a WAV file."""
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(BYTES_A_SAMPLE)
            file.setframerate(self.rate)
            file.writeframes(self.pcm)


def join(sounds: Iterable[Sound], rate: int) -> Sound:
    """Return the sounds one after the other, all brought to one rate."""
    return Sound(b"".join(sound.at_rate(rate).pcm for sound in sounds), rate)


def decode(content: bytes) -> Sound:
    """Return what is in a sound file, whatever its name says it is (WAV, AIFF).

    Two channels are averaged to one. A file that is no sound raises ``ValueError``.
    """
    plain = _plain_wav(content)
    return plain if plain is not None else _any_file(content)


def _plain_wav(content: bytes) -> Sound | None:
    """Return a mono 16-bit WAV without loading soundfile; None for anything else."""
    try:
        with wave.open(io.BytesIO(content)) as file:
            if (file.getnchannels(), file.getsampwidth()) != (1, BYTES_A_SAMPLE):
                return None
            return Sound(file.readframes(file.getnframes()), file.getframerate())
    except (wave.Error, EOFError):
        return None


def _any_file(content: bytes) -> Sound:
    import soundfile

    try:
        samples, rate = soundfile.read(io.BytesIO(content), dtype="int16", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise ValueError(f"not a sound file: {error}") from error
    return Sound.of(samples.mean(axis=1).round().astype("<i2"), int(rate))
