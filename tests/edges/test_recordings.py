"""Sound files of every kind, and files that are none, made on the spot with soundfile."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.ears.recordings import RATE, Recording
from benchvoice.errors import RecordingError


def _tone(rate: int, channels: int, seconds: float = 1.0, pitch: float = 440.0) -> np.ndarray:
    samples = 0.25 * np.sin(2 * np.pi * pitch * np.arange(int(rate * seconds)) / rate)
    return np.repeat(samples[:, None], channels, axis=1)


def _read(path: Path) -> np.ndarray:
    recording, parts = Recording(path), []
    while (block := recording.read()) is not None:
        assert block.rate == RATE
        parts.append(block.sound)
    recording.close()
    return np.frombuffer(b"".join(parts), "<i2").astype(float) / 32768


def _pitch(samples: np.ndarray) -> float:
    """Return the strongest frequency."""
    strength = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(strength) * RATE / len(samples))


@pytest.mark.parametrize("rate", [8000, 11025, 16000, 22050, 44100, 48000, 96000])
@pytest.mark.parametrize("channels", [1, 2])
def test_any_rate_and_channels(tmp_path: Path, rate: int, channels: int) -> None:
    """A recording of any rate comes in at 16 kHz mono, as long, as loud and as high as it was."""
    soundfile.write(tmp_path / "tone.wav", _tone(rate, channels), rate, subtype="PCM_16")

    samples = _read(tmp_path / "tone.wav")

    assert len(samples) == pytest.approx(RATE, abs=RATE * 0.01)
    assert _pitch(samples) == pytest.approx(440, abs=2)
    assert np.sqrt(np.mean(samples[2000:-2000] ** 2)) == pytest.approx(0.25 / np.sqrt(2), rel=0.02)


@pytest.mark.parametrize(
    ("name", "subtype"),
    [
        ("a.wav", "PCM_U8"),
        ("a.wav", "PCM_24"),
        ("a.wav", "FLOAT"),
        ("a.wav", "ULAW"),
        ("a.flac", "PCM_16"),
        ("a.flac", "PCM_24"),
        ("a.ogg", "VORBIS"),
        ("a.ogg", "OPUS"),
    ],
)
def test_forms(tmp_path: Path, name: str, subtype: str) -> None:
    """WAV, FLAC and Ogg in their usual inner forms are read."""
    soundfile.write(tmp_path / name, _tone(16000, 1), 16000, subtype=subtype)

    assert _pitch(_read(tmp_path / name)) == pytest.approx(440, abs=3)


def test_content_counts_not_the_name(tmp_path: Path) -> None:
    """An MP3 that is called .wav is read as what it is."""
    path = tmp_path / "really_an_mp3.wav"
    with path.open("wb") as file:
        soundfile.write(file, _tone(44100, 2), 44100, format="MP3", subtype="MPEG_LAYER_III")

    assert _pitch(_read(path)) == pytest.approx(440, abs=3)


def test_opposite_channels_cancel(tmp_path: Path) -> None:
    """Channels are averaged, so equal and opposite ones leave nothing."""
    samples = _tone(48000, 2)
    samples[:, 1] *= -1
    soundfile.write(tmp_path / "a.wav", samples, 48000)

    assert np.abs(_read(tmp_path / "a.wav")).max() < 0.001


def test_full_scale_does_not_wrap(tmp_path: Path) -> None:
    """The loudest sound stays the loudest; it does not turn over to the other sign."""
    loud = np.clip(_tone(48000, 1) * 8, -1, 1)
    soundfile.write(tmp_path / "a.wav", loud, 48000, subtype="FLOAT")

    samples = _read(tmp_path / "a.wav")

    assert np.abs(np.diff(samples)).max() < 1.0


def test_position_counts_what_was_read(tmp_path: Path) -> None:
    """The position is the time of what was read so far."""
    soundfile.write(tmp_path / "a.wav", _tone(16000, 1), 16000)
    recording = Recording(tmp_path / "a.wav")

    assert recording.position == 0.0
    recording.read()
    assert recording.position == pytest.approx(0.05)
    while recording.read():
        pass
    assert recording.position == pytest.approx(1.0)
    recording.close()


def _write(path: Path, data: bytes) -> None:
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty: 0 bytes"),
        (b"one hundred and forty two grams\n" * 30, "a text file"),
        (b"PK\x03\x04" + bytes(200), "a zip archive"),
        (b"\x89PNG\r\n" + bytes(200), "a picture"),
        (b"\0\0\0\x20ftypM4A " + bytes(200), "an MPEG-4 file"),
        (b"RIFF\x24\0\0\0WAVEfmt ", "a damaged WAV file"),
        (bytes(range(128, 256)) * 4, "no sound format that is known"),
    ],
)
def test_what_is_no_recording(tmp_path: Path, data: bytes, says: str) -> None:
    """A file that is no recording is refused with what it looks like and what to do."""
    path = tmp_path / "mislabelled.wav"
    _write(path, data)

    with pytest.raises(RecordingError) as caught:
        Recording(path)

    assert says in str(caught.value)
    assert str(path) in str(caught.value)
    assert caught.value.next_step


def test_header_without_sound(tmp_path: Path) -> None:
    """A WAV file with a header and no samples is refused."""
    soundfile.write(tmp_path / "a.wav", np.zeros((0, 1)), 16000)

    with pytest.raises(RecordingError, match="no sound in it"):
        Recording(tmp_path / "a.wav")


def test_missing(tmp_path: Path) -> None:
    """A missing file is said to be missing."""
    with pytest.raises(RecordingError, match="There is no recording"):
        Recording(tmp_path / "nowhere.wav")


def test_folder(tmp_path: Path) -> None:
    """A folder is said to be a folder."""
    with pytest.raises(RecordingError, match="is a folder"):
        Recording(tmp_path)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may read everything")
def test_forbidden(tmp_path: Path) -> None:
    """A file that may not be read is said to be so."""
    _write(tmp_path / "a.wav", b"RIFF")
    (tmp_path / "a.wav").chmod(0)

    with pytest.raises(RecordingError, match="cannot be opened"):
        Recording(tmp_path / "a.wav")


def test_cut_off_in_the_middle(tmp_path: Path) -> None:
    """What there is of a file that was cut off is read, or it is refused; it never hangs."""
    soundfile.write(tmp_path / "a.flac", _tone(16000, 1, 3.0), 16000)
    whole = (tmp_path / "a.flac").read_bytes()
    _write(tmp_path / "cut.flac", whole[: len(whole) // 2])

    heard = _seconds_or_refusal(tmp_path / "cut.flac")

    assert "cut.flac" in str(heard) if isinstance(heard, RecordingError) else 0 < heard < 3


def _seconds_or_refusal(path: Path) -> float | RecordingError:
    try:
        return len(_read(path)) / RATE
    except RecordingError as error:
        return error
