"""Sentences through a real sound path: engine, loudspeaker, PortAudio, PulseAudio, and back.

What comes out of the sink is recorded and compared with what was rendered.
"""

import contextlib
import ctypes
import io
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy
import pytest

from benchvoice.errors import LoudspeakerError
from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice.engine import RATE, TAIL, Engine
from benchvoice.voice.loudspeaker import Loudspeaker
from benchvoice.voice.manner import Manner
from benchvoice.voice.printer import Printer
from benchvoice.voice.sound import Sound
from benchvoice.voice.speaker import Speaker
from benchvoice.voice.together import Together
from benchvoice.voice.tones import NAMES, tone
from tests.edges.soundcard import Recording, SoundCard, needs_soundcard, running

WATER = "Add three hundred and twenty grams of water to the bucket and stir it well for two minutes."
SHORT = "Add three hundred and twenty grams of water."
FAST = Manner(rate=400)


@pytest.fixture(scope="module")
def engine() -> Iterator[Engine]:
    """One engine for all, as in a session."""
    with contextlib.closing(Engine()) as engine:
        yield engine


@pytest.fixture(scope="module")
def card() -> Iterator[SoundCard]:
    """One sound card for all."""
    with running() as card:
        yield card


@pytest.fixture
def speaker(engine: Engine, card: SoundCard) -> Iterator[Speaker]:
    """Make a speaker on the card."""
    assert card
    with contextlib.closing(Speaker(engine, Loudspeaker(), FAST)) as speaker:
        yield speaker


sound_path = [pytest.mark.sound, needs_soundcard]


def plain(text: str, safety: bool = False) -> Sentence:
    """Make a sentence that is printed as it is spoken."""
    return Sentence(text, text, safety)


def stretches(recording: Recording, pause: float = 0.25) -> list[numpy.ndarray]:
    """Return what was recorded, cut wherever it was silent for longer than a pause."""
    samples = recording.samples
    loud = numpy.flatnonzero(abs(samples) > 100)
    if not len(loud):
        return []
    cuts = numpy.flatnonzero(numpy.diff(loud) > pause * RATE)
    starts, ends = [loud[0], *loud[cuts + 1]], [*loud[cuts], loud[-1]]
    return [samples[start : end + 1] for start, end in zip(starts, ends, strict=True)]


def likeness(heard: numpy.ndarray, rendered: Sound) -> float:
    """Return the peak of the normalised cross-correlation: 1 for the same sound, shifted or not."""
    wanted = rendered.samples.astype("f8")
    size = 1 << (len(heard) + len(wanted)).bit_length()
    product = numpy.fft.rfft(heard, size) * numpy.conj(numpy.fft.rfft(wanted, size))
    peak = abs(numpy.fft.irfft(product)).max()
    return float(peak / numpy.sqrt((heard**2).sum() * (wanted**2).sum()))


def energy(samples: numpy.ndarray) -> float:
    """Return the sum of squares."""
    return float((samples.astype("f8") ** 2).sum())


def all_played(turns: int, card: SoundCard) -> None:
    """Say so many sentences and compare each with what a second engine renders for the same words.

    espeak-ng never gives the same samples twice, but the same series of texts gives the same
    series of sounds: so the second engine's sounds are those that were sent to the loudspeaker.
    """
    texts = [f"Cup {number}, one four two." for number in range(turns)]
    with (
        contextlib.closing(Engine()) as engine,
        contextlib.closing(Engine()) as twin,
        contextlib.closing(Speaker(engine, Loudspeaker(), FAST)) as speaker,
        card.recording() as recording,
    ):
        for text in texts:
            speaker.say(plain(text))
            time.sleep(0.3)
        rendered = [twin.render(text, FAST.rate).trimmed(0, 0) for text in texts]
    heard = stretches(recording)
    assert len(heard) == turns
    for text, samples, sound in zip(texts, heard, rendered, strict=True):
        assert len(samples) == pytest.approx(sound.count, abs=0.02 * RATE), text
        assert energy(samples) == pytest.approx(energy(sound.samples), rel=0.05), text
        assert likeness(samples, sound) > 0.95, text


class TestOnACard:
    """With sound going all the way."""

    pytestmark = sound_path

    def test_every_sample_arrives(self, engine: Engine, card: SoundCard) -> None:
        """What is played comes out sample for sample, at least three times of four.

        Each of the four may have one gap where a busy machine did not keep up, and no sound less.
        """
        sound = engine.render(SHORT, 400)
        with contextlib.closing(Loudspeaker()) as loudspeaker, card.recording() as recording:
            for _ in range(4):
                loudspeaker.wait(loudspeaker.play(sound))
        whole = b"".join(piece for _, piece in recording.pieces)
        assert whole.count(sound.trimmed(0, 0).pcm) >= 3
        assert energy(recording.samples) == pytest.approx(4 * energy(sound.samples), rel=0.02)

    def test_eight_turns(self, card: SoundCard) -> None:
        """Every sentence of eight is played from beginning to end."""
        all_played(8, card)

    @pytest.mark.slow
    def test_two_hundred_turns(self, card: SoundCard) -> None:
        """And of two hundred."""
        all_played(200, card)

    def test_say_comes_back_at_the_true_end(self, speaker: Speaker, card: SoundCard) -> None:
        """Neither before the last sound has come out, nor much after it."""
        with card.recording() as recording:
            for text in ("Yes.", WATER):
                speaker.say(plain(text))
                back = time.monotonic()
                time.sleep(0.3)
                # the tail of silence is part of what was said; recording takes a few hundredths
                assert back - TAIL - 0.1 < recording.last_loud() < back - TAIL + 0.1

    def test_playing_lasts_as_long_as_there_is_sound(self, speaker: Speaker, card: SoundCard) -> None:
        """The gate for the microphone: shut before the first sound, open only after the last."""
        assert not speaker.playing
        with card.recording() as recording:
            talk = threading.Thread(target=speaker.say, args=(plain(WATER),))
            talk.start()
            time.sleep(0.05)
            assert speaker.playing
            while speaker.playing:
                time.sleep(0.001)
            opened = time.monotonic()
            talk.join()
        assert recording.last_loud() < opened + 0.05

    def test_a_long_text_begins_soon(self, speaker: Speaker, card: SoundCard) -> None:
        """Twelve sentences: the first sounds while the others are still being made."""
        with card.recording() as recording:
            talk = threading.Thread(target=speaker.say, args=(plain(" ".join(["Weigh the cup."] * 12)),))
            began = time.monotonic()
            talk.start()
            time.sleep(1.0)
            speaker.stop()
            talk.join()
        assert recording.first_loud() - began < 0.4

    def test_two_at_once_take_turns(self, speaker: Speaker, engine: Engine, card: SoundCard) -> None:
        """Two threads, one voice: no overlap, nothing lost."""
        texts = ["One four two grams.", "Stir it well."]
        with card.recording() as recording:
            talks = [threading.Thread(target=speaker.say, args=(plain(text),)) for text in texts * 2]
            for talk in talks:
                talk.start()
            for talk in talks:
                talk.join()
        spoken = sum(abs(recording.samples) > 100)
        wanted = sum((abs(engine.render(text, 400).samples.astype("i4")) > 100).sum() for text in texts * 2)
        assert spoken == pytest.approx(wanted, rel=0.05)

    def test_stop_cuts_within_a_tenth_of_a_second(self, speaker: Speaker, card: SoundCard) -> None:
        """Silence 0.1 s after ``stop``, as a rule; never later than 0.2 s on a busy machine."""
        delays = []
        with card.recording() as recording:
            for _ in range(5):
                talk = threading.Thread(target=speaker.say, args=(plain(WATER),))
                talk.start()
                time.sleep(0.6)
                stopped = time.monotonic()
                assert speaker.stop()
                talk.join()
                assert time.monotonic() - stopped < 0.2
                assert speaker.cut
                time.sleep(0.4)
                delays.append(recording.last_loud() - stopped)
        assert sorted(delays)[2] < 0.1
        assert max(delays) < 0.2

    def test_after_a_stop_the_next_is_whole(self, speaker: Speaker, engine: Engine, card: SoundCard) -> None:
        """A stop is for one sentence, and nothing of that one is left over."""
        talk = threading.Thread(target=speaker.say, args=(plain(WATER),))
        talk.start()
        time.sleep(0.4)
        speaker.stop()
        talk.join()
        time.sleep(0.2)
        with card.recording() as recording:
            speaker.say(plain("One four two."))
        (heard,) = stretches(recording)
        assert not speaker.cut
        assert len(heard) == pytest.approx(
            engine.render("One four two.", 400).trimmed(0, 0).count, abs=0.02 * RATE
        )

    def test_a_caution_is_never_cut(self, speaker: Speaker, engine: Engine, card: SoundCard) -> None:
        """Stop is refused while the potter is told about lye."""
        with card.recording() as recording:
            talk = threading.Thread(target=speaker.say, args=(plain(WATER, safety=True),))
            talk.start()
            time.sleep(0.4)
            assert not speaker.stop()
            talk.join()
        (heard,) = stretches(recording)
        whole = engine.render(WATER, 400).trimmed(0, 0)
        assert len(heard) == pytest.approx(whole.count, abs=0.02 * RATE)
        assert energy(heard) == pytest.approx(energy(whole.samples), rel=0.1)

    @pytest.mark.parametrize(
        ("change", "ratio"), [(SetVoice(volume=0.5), 0.25), (SetVoice(volume=0.1), 0.01), (SetVoice(), 1.0)]
    )
    def test_volume(self, speaker: Speaker, card: SoundCard, change: SetVoice, ratio: float) -> None:
        """Energy goes with the square of the volume (computed)."""
        energies = []
        for each in (SetVoice(), change):
            speaker.change(each)
            with card.recording() as recording:
                speaker.say(plain("One four two."))
            energies.append(energy(recording.samples))
        assert energies[1] / energies[0] == pytest.approx(ratio, rel=0.15)

    def test_rate(self, speaker: Speaker, card: SoundCard) -> None:
        """At 200 words a minute a sentence takes twice as long as at 400 (computed), less a fifth."""
        lengths = []
        for rate in (400, 200):
            speaker.change(SetVoice(rate=rate))
            with card.recording() as recording:
                speaker.say(plain(SHORT))
            lengths.append(len(stretches(recording)[0]))
        assert lengths[1] / lengths[0] == pytest.approx(2.0, rel=0.2)

    def test_tones_come_in_line(self, speaker: Speaker, card: SoundCard) -> None:
        """All tones one after the other and a sentence: as much sound as all together, none on top."""
        with card.recording() as recording:
            for name in NAMES:
                speaker.tone(name)
            speaker.say(plain("One four two."))
        whole = b"".join(piece for _, piece in recording.pieces)
        for name in NAMES:
            assert tone(name, RATE).pcm in whole, name

    def test_muted_is_silent_but_for_cautions(self, speaker: Speaker, card: SoundCard) -> None:
        """Nothing comes out; a caution does."""
        speaker.change(SetVoice(muted=True))
        with card.recording() as recording:
            speaker.say(plain("One four two."))
            assert not speaker.playing
        assert stretches(recording) == []
        with card.recording() as recording:
            speaker.say(plain("Gloves on.", safety=True))
        assert len(stretches(recording)) == 1

    def test_unplugged_and_plugged_in_again(self, engine: Engine) -> None:
        """An error at once, one more while there is none, and speech again when there is."""
        with running() as own, contextlib.closing(Speaker(engine, Loudspeaker(), FAST)) as speaker:
            threading.Timer(0.7, own.stop).start()
            started = time.monotonic()
            with pytest.raises(LoudspeakerError, match="went away"):
                speaker.say(plain(WATER))
            assert time.monotonic() - started < 5.0
            assert not speaker.playing
            with pytest.raises(LoudspeakerError, match="refused"):
                speaker.say(plain(WATER))
            own.start()
            with own.recording() as recording:
                speaker.say(plain("One four two."))
            assert len(stretches(recording)) == 1

    def test_the_printer_goes_on_without_it(self, engine: Engine) -> None:
        """Unplugged, replies are printed, with one line about it; plugged in, they are heard again."""
        stream = io.StringIO()
        with running() as own:
            both = Together(Printer(stream), Speaker(engine, Loudspeaker(), FAST))
            own.stop()
            for text in ("One.", "Two.", "Three."):
                both.say(plain(text))
            own.start()
            with own.recording() as recording:
                both.say(plain("Four."))
            both.close()
        first, about, *others = stream.getvalue().splitlines()
        assert first == "bench: One."
        assert "loudspeaker" in about
        assert others == ["bench: Two.", "bench: Three.", "bench: Four."]
        assert len(stretches(recording)) == 1

    def test_unplugged_while_silent(self, engine: Engine) -> None:
        """Pulled out and back in between two sentences: the potter notices nothing."""
        with running() as own, contextlib.closing(Speaker(engine, Loudspeaker(), FAST)) as speaker:
            own.stop()
            time.sleep(0.5)
            own.start()
            with own.recording() as recording:
                speaker.say(plain("One four two."))
            assert len(stretches(recording)) == 1

    def test_a_tone_right_after_opening_is_whole(self, card: SoundCard) -> None:
        """A stream that is still starting loses nothing, and the end is the true end here too."""
        with card.recording() as recording:
            with contextlib.closing(Loudspeaker()) as loudspeaker:
                loudspeaker.wait(loudspeaker.play(tone(NAMES[0], RATE)))
                back = time.monotonic()
            time.sleep(0.3)
        assert tone(NAMES[0], RATE).pcm in b"".join(piece for _, piece in recording.pieces)
        assert back - 0.1 < recording.last_loud() < back + 0.1

    def test_after_a_stutter_the_delay_grows(self, card: SoundCard) -> None:
        """Kept from running for a third of a second, it makes more room before the next sound."""
        assert card
        with contextlib.closing(Loudspeaker()) as loudspeaker:
            before = loudspeaker.delay
            loudspeaker.wait(loudspeaker.play(tone(NAMES[0], RATE)))  # now it is running
            ctypes.PyDLL(None).usleep(300_000)  # PyDLL: no other thread of Python runs meanwhile
            time.sleep(0.2)
            with card.recording() as recording:
                loudspeaker.wait(loudspeaker.play(tone(NAMES[0], RATE)))
            assert loudspeaker.delay == 2 * before
        assert tone(NAMES[0], RATE).pcm in b"".join(piece for _, piece in recording.pieces)

    def test_a_name_that_is_no_loudspeaker(self, card: SoundCard) -> None:
        """One clear sentence with a next step."""
        assert card
        with pytest.raises(LoudspeakerError, match=r"There is no loudspeaker called 'trumpet'\. Plug one in"):
            Loudspeaker("trumpet")


def told_by(program: str, **environment: str) -> str:
    """Run a program that meets a loudspeaker error and return what it tells."""
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])} | environment,
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
    return done.stdout + done.stderr


OPEN = (
    "from benchvoice.errors import LoudspeakerError\n"
    "from benchvoice.voice.loudspeaker import Loudspeaker\n"
    "try:\n    Loudspeaker()\n"
    "except LoudspeakerError as error:\n    print(error)\n"
)


def test_without_portaudio_it_says_what_to_install(tmp_path: Path) -> None:
    """A sounddevice whose import fails as it does on Linux without PortAudio (its source, seen)."""
    (tmp_path / "sounddevice.py").write_text("raise OSError('PortAudio library not found')\n")
    path = f"{tmp_path}{os.pathsep}{Path(__file__).parents[2]}"
    assert "libportaudio2" in told_by(OPEN, PYTHONPATH=path)


@pytest.mark.sound
@needs_soundcard
@pytest.mark.skipif(Path("/dev/snd").exists(), reason="this machine has a sound card of its own")
def test_without_any_card(tmp_path: Path) -> None:
    """A machine without sound: one sentence, and not a word from the sound libraries."""
    told = told_by(OPEN, HOME=str(tmp_path), XDG_RUNTIME_DIR=str(tmp_path))
    assert (
        told == "There is no loudspeaker. Plug one in. Until then benchvoice goes on with printed replies.\n"
    )
