"""A microphone as a stream of sound.

PortAudio calls back from a thread of its own that must never wait: the callback copies the
sound and puts it into a queue of limited length, nothing else. What a broken microphone does
is told by what comes out of the queue: nothing for two seconds (unplugged), nothing but zeros
for five (muted), blocks missing (too slow).
"""

from __future__ import annotations

import contextlib
import queue
import threading
from dataclasses import dataclass
from typing import Any

from benchvoice.errors import MicrophoneError
from benchvoice.messages import Block

RATE = 16000
"""The rate asked for first [Hz]; a device that refuses it is read at its own."""
BLOCK_SECONDS = 0.025
"""Length of a block [s]: what was said is read 0.03 s later in the middle; with twice as much, 0.05 s."""
QUEUE_SECONDS = 10.0
"""How much sound may wait to be read [s]."""
CLOSE_SECONDS = 1.0
"""How long closing may take [s]."""
LETTING_GO = "letting go of a microphone"
"""Name of the thread that does so."""
STARTS_WITHIN = 5.0
"""A stream that was just opened may take this long for its first block [s]; PulseAudio takes two."""
UNPLUGGED_AFTER = 2.0
"""No block for this long means that the microphone went away [s]."""
MUTED_AFTER = 5.0
"""Nothing but zeros for this long means that it is muted [s]."""

_TYPE = "Carry on typing, or mend it and start again."


@dataclass(frozen=True, slots=True)
class InputDevice:
    """A microphone that could be used."""

    number: int
    name: str
    rate: float
    """The rate that it likes best [Hz]."""
    chosen: bool
    """True for the one that the system would take."""


class Microphone:
    """An open microphone."""

    def __init__(self, device: str | None = None, kept: float = QUEUE_SECONDS) -> None:
        """Open a device by its number or a part of its name; None is the system's choice.

        ``kept`` is how much sound waits to be read before some is lost, in seconds.
        """
        self.position = 0.0
        self.lost = 0
        """Blocks that were lost because nobody read them in time."""
        self.muted = False
        """True while nothing but zeros has come for some seconds."""
        self._queue: queue.Queue[bytes] = queue.Queue(int(kept / BLOCK_SECONDS))
        self._shut = False
        self._unheard = 0
        self._zeros = 0.0
        self._wait = STARTS_WITHIN
        self.rate, self._stream = self._open(device)

    def read(self) -> Block:
        """Return the next block; raise ``MicrophoneError`` when none comes any more."""
        try:
            sound = self._queue.get(timeout=self._wait)
        except queue.Empty:
            raise MicrophoneError("The microphone has gone quiet: it may be unplugged.", _TYPE) from None
        self._wait = UNPLUGGED_AFTER
        seconds = len(sound) / 2 / self.rate
        self.position += seconds
        self._watch(sound, seconds)
        return Block(sound, self.rate)

    def shut(self) -> None:
        """Drop what comes in from now on."""
        self._shut = True
        self._empty()

    def open(self) -> None:
        """Let sound in again, from this moment on."""
        self._empty()
        self.position += self._unheard / self.rate
        self._unheard = 0
        self._shut = False

    def close(self) -> None:
        """Let go of the device. Letting go of one that went away can hang: let it, but not us."""
        letting_go = threading.Thread(target=_drop, args=(self._stream,), name=LETTING_GO, daemon=True)
        letting_go.start()
        letting_go.join(CLOSE_SECONDS)

    # ---- what comes in -----------------------------------------------------------------

    def _called(self, sound: Any, frames: int, time: Any, status: Any) -> None:  # noqa: ARG002
        if status:
            self.lost += 1
        if self._shut:
            self._unheard += frames
            return
        try:
            self._queue.put_nowait(bytes(sound))
        except queue.Full:
            self.lost += 1
            self._unheard += frames

    def _empty(self) -> None:
        try:
            while True:
                self.position += len(self._queue.get_nowait()) / 2 / self.rate
        except queue.Empty:
            pass

    def _watch(self, sound: bytes, seconds: float) -> None:
        self._zeros = 0.0 if sound.strip(b"\0") else self._zeros + seconds
        self.muted = self._zeros >= MUTED_AFTER

    # ---- opening -------------------------------------------------------------------------

    def _open(self, device: str | None) -> tuple[int, Any]:
        sounddevice = _sounddevice()
        number = _number(sounddevice, device)
        try:
            rate = _rate(sounddevice, number)
            stream = sounddevice.RawInputStream(
                samplerate=rate,
                blocksize=int(rate * BLOCK_SECONDS),
                device=number,
                dtype="int16",
                channels=1,
                callback=self._called,
            )
            stream.start()
        except sounddevice.PortAudioError as error:
            raise _refused(error) from error
        return rate, stream


def _drop(stream: Any) -> None:
    import sounddevice

    with contextlib.suppress(sounddevice.PortAudioError):  # It went away already.
        stream.abort()
        stream.close()


def input_devices() -> list[InputDevice]:
    """Return the microphones that there are; empty when there is none."""
    sounddevice = _sounddevice()
    chosen = sounddevice.default.device[0]
    return [
        InputDevice(number, one["name"], one["default_samplerate"], number == chosen)
        for number, one in enumerate(sounddevice.query_devices())
        if one["max_input_channels"] > 0
    ]


def _sounddevice() -> Any:
    try:
        import sounddevice
    except OSError as error:  # The library under it is missing.
        raise MicrophoneError(
            "The sound library PortAudio is missing.", "Install libportaudio2, or carry on typing."
        ) from error
    return sounddevice


def _number(sounddevice: Any, device: str | None) -> int:
    wanted = int(device) if device is not None and device.isdecimal() else device
    try:
        found = sounddevice.query_devices(wanted, "input")
    except ValueError as error:
        raise MicrophoneError(f"There is no single microphone “{device}”.", _choices()) from error
    except sounddevice.PortAudioError as error:
        raise MicrophoneError("No microphone was found.", "Plug one in, or carry on typing.") from error
    return int(found["index"])


def _choices() -> str:
    names = "; ".join(f"{one.number} {one.name}" for one in input_devices())
    return f"Choose one of: {names}." if names else "There is none at all: plug one in, or carry on typing."


def _rate(sounddevice: Any, number: int) -> int:
    try:
        sounddevice.check_input_settings(device=number, channels=1, dtype="int16", samplerate=RATE)
    except sounddevice.PortAudioError:
        return int(sounddevice.query_devices(number)["default_samplerate"])
    return RATE


def _refused(error: Exception) -> MicrophoneError:
    # PortAudio's numbers: -9985 device in use, -9993 whatever else ALSA says, -9997 rate, -9998 channels.
    code = error.args[1] if len(error.args) > 1 else 0
    if code == -9985:
        return MicrophoneError(
            "The microphone is in use by another program.", "Close that, or carry on typing."
        )
    if code == -9993:
        return MicrophoneError("The microphone cannot be opened: it may have been unplugged.", _TYPE)
    if code in (-9997, -9998):
        return MicrophoneError("The microphone does not give sound in a form that can be used.", _TYPE)
    return MicrophoneError(
        f"The microphone cannot be opened: {error.args[0] if error.args else error}.", _TYPE
    )
