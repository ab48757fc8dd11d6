"""The loudspeaker: one output stream that stays open, and the true end of what it plays.

A stream per sentence ends up to a second late and may lose its beginning; so one stream runs
all the time and plays silence when there is nothing else. Samples are counted as they are
handed over; the end of a sound is when its last sample has been handed over and the delay
that the sound system reports for it has passed.
"""

from __future__ import annotations

import contextlib
import ctypes
import sys
import threading
import time
from collections import deque
from collections.abc import Iterator
from typing import Any

from benchvoice.errors import LoudspeakerError
from benchvoice.voice.engine import RATE
from benchvoice.voice.sound import BYTES_A_SAMPLE, Sound

BLOCK = 0.02
"""Length of the blocks that are handed over [s]; ``stop`` takes effect at the next one."""
DELAY = 0.06
"""Delay asked of the sound system [s]: with it ``stop`` takes effect within 0.08 s (measured)."""
LARGEST_DELAY = 0.24
"""A machine too busy to keep up makes gaps in the sound. After one, the delay is doubled before the
next sound, up to this [s]: a whole sentence is worth more than a quick stop."""
BELIEVABLE_DELAY = 0.5
"""A reported delay beyond this [s] is not believed."""
DEAD_AFTER = 2.0
"""The sound system has gone when it asks for nothing for so long [s]."""
START_WAIT = 3.0
"""A new stream may take so much longer [s]."""
DROP_WAIT = 0.5
"""Longest wait for a dead stream to close before another is opened [s]."""
FADE = 0.005
"""A sound that is stopped fades out over so long [s], lest it click."""

_WITHOUT = "benchvoice goes on with printed replies."


class Loudspeaker:
    """The loudspeaker. Opens it at once; none to open is a ``LoudspeakerError``."""

    def __init__(self, device: str | int | None = None) -> None:
        self._device = device
        self._changed = threading.Condition()
        self._waiting: deque[memoryview] = deque()
        self._added = 0  # bytes ever put in line
        self._given = 0  # bytes ever handed over
        self._heard_at = 0.0  # when the last byte handed over will have been heard
        self._beat = 0.0  # when the sound system last asked
        self._filled_at = 0.0  # when the last block was handed over
        self._running = False  # whether the stream has begun to play what it is given
        self._ended = False  # whether the stream stopped by itself
        self._stuttered = False  # whether the sound system had to wait for us
        self._delay = DELAY
        self._opening = threading.Lock()
        self._dropping: threading.Thread | None = None
        self._stream: Any = None
        self._open()

    @property
    def playing(self) -> bool:
        """Whether anything is to be heard, now or as soon as the sound system has it."""
        return self._given < self._added or time.monotonic() < self._heard_at

    @property
    def delay(self) -> float:
        """The delay asked of the sound system just now [s]."""
        return self._delay

    def play(self, sound: Sound) -> int:
        """Put a sound in line and return its mark, to be waited for; come back at once."""
        self._make_ready()
        with self._changed:
            return self._put(self._for_device(sound))

    def wait(self, mark: int) -> None:
        """Come back when everything up to a mark has been heard, or was stopped."""
        with self._changed:
            while self._given < mark:
                self._check_alive()
                self._changed.wait(0.1)
            heard_at = self._heard_at
        time.sleep(max(0.0, heard_at - time.monotonic()))

    def finish(self) -> None:
        """Come back when everything in line has been heard."""
        self.wait(self._added)

    def stop(self) -> None:
        """Let everything fade out at once."""
        with self._changed:
            rest = b"".join(self._waiting)
            self._waiting.clear()
            self._given = self._added
            self._put(_faded(rest, round(FADE * self._rate) * self._frame))
            self._changed.notify_all()

    def close(self) -> None:
        """Close the stream; what has not been heard is lost."""
        stream, self._stream = self._stream, None
        _drop(stream)

    def _make_ready(self) -> None:
        """Open the stream anew if it has gone, or, between two sounds, if it has stuttered."""
        with self._opening:
            if self._dead():
                self._let_go()
            elif self._stuttered and not self.playing:
                self._delay = min(2 * self._delay, LARGEST_DELAY)
                self.close()
            if self._stream is None:
                self._open()

    def _open(self) -> None:
        if self._dropping is not None:
            self._dropping.join(DROP_WAIT)
        sounddevice = _sounddevice()
        self._rate, self._channels = _settings(sounddevice, self._device)
        self._frame = BYTES_A_SAMPLE * self._channels
        try:
            self._stream = sounddevice.RawOutputStream(
                samplerate=self._rate,
                channels=self._channels,
                device=self._device,
                dtype="int16",
                blocksize=round(BLOCK * self._rate),
                latency=self._delay,
                callback=self._fill,
                finished_callback=self._finished,
            )
            self._filled_at = time.monotonic()
            self._beat = self._filled_at + START_WAIT
            self._running = self._ended = self._stuttered = False
            self._stream.start()
        except sounddevice.PortAudioError as error:
            self._stream = None
            raise LoudspeakerError(f"The loudspeaker refused: {error}.", _WITHOUT) from error

    def _for_device(self, sound: Sound) -> bytes:
        """Return the samples as the device takes them: its rate, the same on every channel."""
        samples = sound.at_rate(self._rate).samples
        return samples.repeat(self._channels).tobytes()

    def _put(self, samples: bytes) -> int:
        if samples:
            self._waiting.append(memoryview(samples))
            self._added += len(samples)
        return self._added

    def _fill(self, out: Any, frames: int, times: Any, status: Any) -> None:
        """Hand over the next block. Called by the sound system, in a hurry, in its own thread."""
        with self._changed:
            since, self._filled_at = self._filled_at, time.monotonic()
            if self._running_since(self._filled_at - since, bool(status.output_underflow)):
                filled = self._hand_over(out, frames)
                self._note_end(filled, times)
            else:
                out[:] = bytes(len(out))
            self._changed.notify_all()

    def _running_since(self, pause: float, underflow: bool) -> bool:
        """Note a call after a pause, and return whether the stream is running.

        A new stream first asks for all it can hold, as fast as it gets it, and may then take a
        second to begin: that first fill must be silence, lest its end be reckoned too early.
        """
        if not self._running:
            self._running = pause > BLOCK / 2
            return self._running
        # PulseAudio does not report every gap: asked so late, there was nothing left to play
        gap = underflow or pause > self._delay + BLOCK
        self._stuttered |= gap and self._delay < LARGEST_DELAY
        self._beat = self._filled_at
        return True

    def _hand_over(self, out: Any, frames: int) -> int:
        """Fill a block with what is next in line, then with silence; return the bytes in line."""
        filled = 0
        for part in self._next_parts(frames * self._frame):
            out[filled : filled + len(part)] = part
            filled += len(part)
        out[filled:] = bytes(len(out) - filled)
        self._given += filled
        return filled

    def _note_end(self, filled: int, times: Any) -> None:
        """Note when the last of so many bytes will have been heard."""
        if filled:
            delay = times.outputBufferDacTime - times.currentTime
            believed = min(max(delay, 0.0), BELIEVABLE_DELAY)
            self._heard_at = self._filled_at + believed + filled / self._frame / self._rate

    def _next_parts(self, room: int) -> Iterator[memoryview]:
        """Take what is next in line, no more than there is room for."""
        while room and self._waiting:
            part = self._waiting.popleft()
            if len(part) > room:
                self._waiting.appendleft(part[room:])
                part = part[:room]
            room -= len(part)
            yield part

    def _dead(self) -> bool:
        return self._stream is None or self._ended or time.monotonic() - self._beat > DEAD_AFTER

    def _check_alive(self) -> None:
        """Raise when the sound system no longer asks; the next ``play`` tries to open it anew."""
        if self._dead():
            self._let_go()
            raise LoudspeakerError("The loudspeaker went away.", f"Plug it in again. Until then {_WITHOUT}")

    def _let_go(self) -> None:
        """Forget the stream and what was in line for it."""
        self._waiting.clear()
        self._given, self._heard_at = self._added, 0.0
        # Closing a stream whose device has gone can hang: let it, but not us.
        stream, self._stream = self._stream, None
        self._dropping = threading.Thread(target=_drop, args=(stream,), daemon=True)
        self._dropping.start()

    def _finished(self) -> None:
        """Note that the stream came to its end. Called by the sound system."""
        self._ended = True


def _drop(stream: Any) -> None:
    if stream is not None:
        stream.abort(ignore_errors=True)
        stream.close(ignore_errors=True)


def _faded(samples: bytes, length: int) -> bytes:
    """Return the first ``length`` bytes, fading to nothing."""
    import numpy

    start = numpy.frombuffer(samples[:length], dtype="<i2")
    ramp = numpy.linspace(1.0, 0.0, len(start))
    return (start * ramp).astype("<i2").tobytes()


def _sounddevice() -> Any:
    """Return the sounddevice module; on Linux its import fails without PortAudio."""
    try:
        import sounddevice
    except OSError as error:
        raise LoudspeakerError(
            "The loudspeaker cannot be used: the PortAudio library is missing.",
            f"Install it (on Debian and Ubuntu the package libportaudio2). Until then {_WITHOUT}",
        ) from error
    _quieten_alsa()
    return sounddevice


def _quieten_alsa() -> None:
    """Keep ALSA's remarks off standard error, where a screen reader would read them out.

    ALSA takes a C function to report to; any that ignores what it is given will do.
    """
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            ignore = ctypes.cast(ctypes.CDLL(None).getpid, ctypes.c_void_p)
            ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(ignore)


def _settings(sounddevice: Any, device: str | int | None) -> tuple[int, int]:
    """Return a sample rate and a number of channels that the device takes, the engine's own first."""
    try:
        own_rate = int(sounddevice.query_devices(device, "output")["default_samplerate"])
    except (ValueError, sounddevice.PortAudioError) as error:
        named = "" if device is None else f" called '{device}'"
        raise LoudspeakerError(
            f"There is no loudspeaker{named}.", f"Plug one in. Until then {_WITHOUT}"
        ) from error
    for rate, channels in ((RATE, 1), (own_rate, 1), (own_rate, 2)):
        try:
            sounddevice.check_output_settings(device, channels, "int16", samplerate=rate)
        except sounddevice.PortAudioError as error:
            refusal = error
        else:
            return rate, channels
    raise LoudspeakerError(f"The loudspeaker refused every setting: {refusal}.", _WITHOUT)
