"""Tones: one pitch, told apart by rhythm; measured on the samples."""

import itertools

import numpy
import pytest

from benchvoice.voice import tones
from benchvoice.voice.tones import LISTENING, NAMES, PITCH, RHYTHMS, tone

RATE = 22050


def envelope(name: str) -> numpy.ndarray:
    """Peak in each millisecond, as a part of the loudest."""
    samples = abs(tone(name, RATE).samples.astype("f8"))
    step = RATE // 1000
    peaks = samples[: len(samples) // step * step].reshape(-1, step).max(axis=1)
    return peaks / peaks.max()


def beeps(name: str) -> list[float]:
    """Lengths of beep, gap, beep, … [s], measured at half height."""
    return [len(list(group)) / 1000 for _, group in itertools.groupby(envelope(name) > 0.5)]


def test_all_are_there() -> None:
    """One for each thing that is told by a tone."""
    assert set(NAMES) == {"listening", "heard", "not understood", "timer due", "microphone lost", "suspended"}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rate", [16000, 22050, 44100, 48000])
def test_pitch(name: str, rate: int) -> None:
    """The strongest frequency is the pitch, and it is between 0.8 and 2 kHz.

    Expected: computed by FFT, zero-padded to a tenth of a hertz a bin.
    """
    samples = tone(name, rate).samples
    spectrum = abs(numpy.fft.rfft(samples, n=rate * 10))
    assert numpy.argmax(spectrum) / 10 == pytest.approx(PITCH, abs=20)
    assert 800 <= PITCH <= 2000


@pytest.mark.parametrize("name", NAMES)
def test_energy_is_at_the_pitch(name: str) -> None:
    """A single pitch: what is more than 150 Hz away from it is 30 dB down or more."""
    samples = tone(name, RATE).samples.astype("f8")
    power = abs(numpy.fft.rfft(samples, n=RATE)) ** 2
    far = numpy.r_[power[: PITCH - 150], power[PITCH + 150 :]].sum()
    assert 10 * numpy.log10(far / power.sum()) < -12
    assert 10 * numpy.log10(power[3 * PITCH - 50 : 3 * PITCH + 50].sum() / power.sum()) < -30


@pytest.mark.parametrize("name", NAMES)
def test_short(name: str) -> None:
    """No tone keeps the potter waiting for more than a fifth of a second."""
    assert 0.05 <= tone(name, RATE).seconds <= 0.2001


@pytest.mark.parametrize("name", NAMES)
def test_rhythm_is_as_written(name: str) -> None:
    """Measured lengths of beeps and gaps are those of the table, within the edges."""
    measured = [length for length in beeps(name) if length > 0.004]
    assert measured == pytest.approx(RHYTHMS[name], abs=0.012)


def test_rhythms_differ() -> None:
    """Any two tones differ in number of beeps, or by half in the length of one."""
    for one, other in itertools.combinations(NAMES, 2):
        a, b = RHYTHMS[one], RHYTHMS[other]
        assert len(a) != len(b) or any(max(x, y) >= 1.5 * min(x, y) for x, y in zip(a, b, strict=True))


@pytest.mark.parametrize("name", NAMES)
def test_edges_are_soft(name: str) -> None:
    """No click: it begins and ends at nothing, and the first millisecond is below a tenth."""
    samples = tone(name, RATE).samples
    assert abs(int(samples[0])) < 10
    assert abs(int(samples[-1])) < 10
    assert envelope(name)[0] < 0.15


def test_an_unknown_name_is_a_defect() -> None:
    """Not a silent nothing."""
    with pytest.raises(KeyError):
        tone("birdsong", RATE)


def test_level() -> None:
    """Peak as stated, never clipped."""
    peak = int(abs(tone(LISTENING, RATE).samples.astype("i4")).max())
    assert peak / 32767 == pytest.approx(tones.LOUDNESS, rel=0.02)
