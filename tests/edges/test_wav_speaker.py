"""Speech into a file, read back by another library (libsndfile)."""

import contextlib
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy
import pytest
import soundfile

from benchvoice.errors import LoudspeakerError
from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice.engine import LEAD, RATE, TAIL, Engine
from benchvoice.voice.manner import Manner
from benchvoice.voice.wav_speaker import GAP, WavSpeaker

WATER = Sentence("Add three hundred and twenty grams of water.", "Add 320 g of water.")
LYE = Sentence("Gloves and goggles on.", "Gloves and goggles on.", safety=True)


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    """One engine for all, as in a session."""
    with contextlib.closing(Engine()) as engine:
        yield engine


@pytest.fixture
def speaker(engine: Engine, tmp_path: Path) -> Iterator[WavSpeaker]:
    """Make a speaker into ``said.wav``."""
    with contextlib.closing(WavSpeaker(tmp_path / "said.wav", engine)) as speaker:
        yield speaker


def said(tmp_path: Path) -> numpy.ndarray:
    """Read the samples in the file."""
    samples, rate = soundfile.read(tmp_path / "said.wav", dtype="int16")
    assert rate == RATE
    return samples.astype("f8")


def loudness(samples: numpy.ndarray) -> float:
    """Root mean square."""
    return float(numpy.sqrt(numpy.mean(samples**2)))


def test_all_is_in_the_file_one_after_the_other(speaker: WavSpeaker, tmp_path: Path) -> None:
    """As long as its parts with the gaps between: nothing lost, nothing on top of another."""
    lengths = []
    for _ in range(5):
        before = speaker.seconds
        speaker.say(WATER)
        lengths.append(speaker.seconds - before)
    speaker.tone("heard")
    assert max(lengths) - min(lengths) < 0.02
    assert len(said(tmp_path)) / RATE == pytest.approx(sum(lengths) + 0.11 + GAP, abs=0.005)


def test_between_sentences_is_silence(speaker: WavSpeaker, tmp_path: Path) -> None:
    """Each of three sentences is framed by tail, gap and lead."""
    for _ in range(3):
        speaker.say(WATER)
    quiet = abs(said(tmp_path)) < 100
    edges = numpy.flatnonzero(numpy.diff(quiet.astype("i1")))
    longest_silences = sorted(numpy.diff(edges))[-2:]
    assert min(longest_silences) / RATE == pytest.approx(TAIL + GAP + LEAD, abs=0.01)


@pytest.mark.parametrize("rate", [120, 240, 400])
def test_rate(speaker: WavSpeaker, rate: int) -> None:
    """The same sentence, faster or slower, as the rate says (computed), within 15 %."""
    speaker.say(WATER)
    normal = speaker.seconds - GAP - LEAD - TAIL
    speaker.change(SetVoice(rate=rate))
    before = speaker.seconds
    speaker.say(WATER)
    changed = speaker.seconds - before - GAP - LEAD - TAIL
    assert changed / normal == pytest.approx(Manner().rate / rate, rel=0.15)


def test_volume(speaker: WavSpeaker, tmp_path: Path) -> None:
    """Half the volume is half the level: 6 dB (computed)."""
    speaker.say(WATER)
    speaker.change(SetVoice(volume=0.5))
    speaker.say(WATER)
    samples = said(tmp_path)
    middle = len(samples) // 2
    assert loudness(samples[middle:]) / loudness(samples[:middle]) == pytest.approx(0.5, rel=0.05)


def test_muted_leaves_cautions_and_tones(speaker: WavSpeaker) -> None:
    """No speech but what keeps the potter safe; and it can be taken back."""
    speaker.change(SetVoice(muted=True))
    speaker.say(WATER)
    assert speaker.seconds == 0
    speaker.say(LYE)
    speaker.tone("timer due")
    after = speaker.seconds
    assert after > 1.0
    speaker.change(SetVoice(muted=False))
    speaker.say(WATER)
    assert speaker.seconds > after + 1.0


@pytest.mark.parametrize(
    ("change", "manner"),
    [
        (SetVoice(rate=10), Manner(rate=120)),
        (SetVoice(rate=9999), Manner(rate=400)),
        (SetVoice(volume=-1), Manner(volume=0.0)),
        (SetVoice(volume=3), Manner(volume=1.0)),
        (SetVoice(), Manner()),
        (SetVoice(muted=True), Manner(muted=True)),
    ],
)
def test_manner_stays_within_its_limits(change: SetVoice, manner: Manner) -> None:
    """Beyond the end is the end."""
    assert Manner().changed(change) == manner


def test_the_file_is_whole_before_it_is_closed(speaker: WavSpeaker, tmp_path: Path) -> None:
    """A session that is cut off leaves a file that plays."""
    speaker.say(WATER)
    with wave.open(str(tmp_path / "said.wav")) as file:
        assert file.getnframes() == pytest.approx(speaker.seconds * RATE, abs=2)


def test_a_place_that_cannot_be_written(engine: Engine, tmp_path: Path) -> None:
    """One clear sentence with a next step."""
    with pytest.raises(LoudspeakerError, match=r"cannot be written: .*Choose another place"):
        WavSpeaker(tmp_path / "no such folder" / "said.wav", engine)
