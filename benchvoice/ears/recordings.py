"""Sound files as ears hear them: any rate, any number of channels, read as 16 kHz mono.

What the file is decides, not what it is called: whatever libsndfile can read is read (WAV,
FLAC, Ogg, and MP3 too, even one that is called ``.wav``). Anything else is refused with a
sentence that says what it looks like.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from benchvoice.errors import RecordingError
from benchvoice.messages import Block

RATE = 16000
"""Samples per second of every block [Hz]."""
BLOCK = 800
"""Samples in a block: 50 milliseconds."""

_USE = "Give a WAV, FLAC or Ogg file."
_SIGNATURES = (
    (b"\x1a\x45\xdf\xa3", "a Matroska or WebM video"),
    (b"PK", "a zip archive"),
    (b"%PDF", "a PDF document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"RIFF", "a damaged WAV file"),
    (b"fLaC", "a damaged FLAC file"),
    (b"OggS", "a damaged or unknown Ogg file"),
    (b"ID3", "a damaged MP3 file"),
)


class Recording:
    """A sound file, read from its beginning to its end."""

    def __init__(self, path: Path) -> None:
        self._file, self._resampler = _open(path)
        self._path, self._rest = path, b""
        self._over = False
        self.position = 0.0

    def read(self) -> Block | None:
        """Return the next 50 milliseconds; None at the end."""
        while len(self._rest) < 2 * BLOCK and not self._over:
            self._rest += self._more()
        sound, self._rest = self._rest[: 2 * BLOCK], self._rest[2 * BLOCK :]
        self.position += len(sound) / 2 / RATE
        return Block(sound, RATE) if sound else None

    def shut(self) -> None:
        """Do nothing: a recording waits while the machine speaks."""

    def open(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def _more(self) -> bytes:
        try:
            samples = self._file.read(self._file.samplerate // 10, dtype="float32", always_2d=True)
        except RuntimeError as error:  # soundfile's own error, too, is one
            raise RecordingError(f"The recording {self._path} breaks off in the middle.", _USE) from error
        self._over = not len(samples)
        mono = self._resampler.resample_chunk(samples.mean(axis=1), last=self._over)
        return bytes((mono * 32767.0).clip(-32768, 32767).astype("<i2").tobytes())


def _open(path: Path) -> tuple[Any, Any]:
    import soundfile
    import soxr

    _check(path)
    try:
        file = soundfile.SoundFile(str(path))
    except RuntimeError as error:
        raise RecordingError(
            f"The recording {path} cannot be read: it is {_looks_like(path)}.", _USE
        ) from error
    if not file.frames:
        file.close()
        raise RecordingError(f"The recording {path} has no sound in it.", "Record it again.")
    return file, soxr.ResampleStream(file.samplerate, RATE, 1, dtype="float32")


def _check(path: Path) -> None:
    if path.is_dir():
        raise RecordingError(f"{path} is a folder, not a recording.", "Give one file in it.")
    if not path.exists():
        raise RecordingError(f"There is no recording {path}.", "Check the path.")
    try:
        with path.open("rb") as file:
            empty = not file.read(1)
    except OSError as error:
        raise RecordingError(f"The recording {path} cannot be opened.", "Check its permissions.") from error
    if empty:
        raise RecordingError(f"The recording {path} is empty: 0 bytes.", "Record it again.")


def _looks_like(path: Path) -> str:
    with path.open("rb") as file:
        head = file.read(512)
    for start, name in _SIGNATURES:
        if head.startswith(start):
            return name
    if head[4:8] == b"ftyp":
        return "an MPEG-4 file (m4a or mp4)"
    printable = sum(byte in b"\t\r\n" or 32 <= byte < 127 for byte in head)
    return "a text file" if printable > 0.95 * len(head) else "no sound format that is known here"
