# ruff: noqa: E501
"""Sound through vosk: words come out, on time, and not where there are none.

The clips are recordings from ``audio_fixtures`` (voices that the model was not trained on) and
sounds made on the spot. Limits are lenient: what is measured closely is in the benchmarks.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.ears.engines import BenchEngine, grammar, phrases
from benchvoice.ears.model_folder import CHECKOUT, OURS, check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.recordings import RATE, Recording
from benchvoice.ears.workshop import Workshop
from benchvoice.errors import ModelError
from benchvoice.meaning.unfinished import unfinished
from benchvoice.messages import UNKNOWN_WORD, Closed, WordNetwork, Words
from tests.edges.nets import FIXTURES, Stream, network_of

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "oh")
NUMBERS = network_of(
    *(f"{a} {b} {c}" for a in DIGITS for b in DIGITS for c in DIGITS), "yes", "no", "done", *DIGITS
)
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
CLIPS = network_of(
    "new bucket called tide green",
    "one hundred grams",
    "ten litres",
    "done",
    "goodbye",
    "undo",
    *(f"one {ten} {digit}" for ten in TENS for digit in DIGITS),
    *(f"a hundred and {ten} {digit} point {part}" for ten in TENS for digit in DIGITS for part in DIGITS),
)


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> BenchEngine:
    """Our model, with a folder for graphs of its own."""
    return BenchEngine(Workshop(check_model(CHECKOUT / OURS), tmp_path_factory.mktemp("graphs")))


def _clip(name: str) -> np.ndarray:
    samples, rate = soundfile.read(FIXTURES / f"{name}.wav", dtype="int16")
    assert rate == RATE
    return samples


def _room(seconds: float, level: float = 12.0, seed: int = 1) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, level, int(seconds * RATE))


def _in_a_room(*parts: np.ndarray | float) -> np.ndarray:
    """Join clips and pauses (in seconds) on the quiet noise of a room."""
    joined = np.concatenate(
        [np.zeros(int(part * RATE)) if isinstance(part, float) else part for part in parts]
    )
    return joined + _room(1.0 + len(joined) / RATE)[: len(joined)]


def _all(ears: SpeechEars, network: WordNetwork) -> Iterator[Words]:
    while not isinstance(words := ears.hear(network, None), Closed):
        assert words is not None
        yield words


# ---- words ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["demo/04", "demo/07", "pico_gb/01", "pico_us/01", "pico_gb/02"])
def test_hears_what_was_said(engine: BenchEngine, name: str) -> None:
    """A clear phrase of the network is heard word for word."""
    said = " ".join((FIXTURES / f"{name}.txt").read_text().split())
    ears = SpeechEars(engine, Stream(_in_a_room(0.5, _clip(name), 1.5)))

    assert [words.text for words in _all(ears, CLIPS)] == [said]


def test_times_and_confidence(engine: BenchEngine) -> None:
    """Words say when they began and ended, and how sure they are."""
    clip = _clip("demo/07")
    (words,) = _all(SpeechEars(engine, Stream(_in_a_room(2.0, clip, 1.5))), CLIPS)

    assert words.started is not None
    assert words.ended is not None
    assert 2.0 < words.started < words.ended < 2.1 + len(clip) / RATE
    assert words.confidence is not None
    assert 0.0 <= words.confidence <= 1.0
    assert words.text not in words.alternatives
    assert not words.typed


def test_ends_soon_after_the_last_word(engine: BenchEngine) -> None:
    """The words come 0.4 to 0.9 seconds of sound after the end of speech."""
    clip = _clip("demo/07")
    spoken = np.nonzero(np.abs(clip) > 0.03 * np.abs(clip).max())[0][-1] / RATE
    stream = Stream(_in_a_room(0.5, clip, 3.0))
    ears = SpeechEars(engine, stream)

    ears.hear(CLIPS, None)

    waited = stream.position - 0.5 - spoken
    print(f"words came {waited:.2f} s after the end of speech")
    assert 0.4 < waited < 0.9


def test_waits_for_the_rest_of_a_number(engine: BenchEngine) -> None:
    """A pause within an unfinished number does not cut it in two; after a finished one it does."""
    clip = _clip("demo/04")  # one hundred grams
    sound = _in_a_room(0.5, clip, 0.3, _clip("demo/07"), 2.0)
    network = network_of("one hundred grams", "ten litres", "one hundred grams ten litres")

    patient = SpeechEars(engine, Stream(sound), unfinished=lambda text: not text.endswith("litres"))
    hasty = SpeechEars(engine, Stream(sound))

    assert [words.text for words in _all(patient, network)] == ["one hundred grams ten litres"]
    assert [words.text for words in _all(hasty, network)] == ["one hundred grams", "ten litres"]


def _quietest(clip: np.ndarray, about: float) -> int:
    """Return the sample at which it is quietest within a tenth of a second of a time."""
    places = range(int((about - 0.1) * RATE), int((about + 0.1) * RATE), 80)
    return min(places, key=lambda at: float((clip[at - 160 : at + 160].astype("f8") ** 2).sum()))


@pytest.mark.parametrize("pause", [0.6, 1.0])
@pytest.mark.parametrize("before", ["and", "thirty", "nine", "five"])
@pytest.mark.parametrize("voice", ["espeak_annie", "pico_gb"])
def test_nobody_is_cut_off_within_a_number(
    engine: BenchEngine, voice: str, before: str, pause: float
) -> None:
    """Somebody who stops in "a hundred … and … thirty … nine point … five" is heard to the end."""
    clip = _clip(f"{voice}/02")
    heard = engine.recogniser(CLIPS, RATE)
    heard.AcceptWaveform(_in_a_room(clip, 1.0).astype("<i2").tobytes())
    words = json.loads(heard.FinalResult())["alternatives"][0]["result"]
    at = _quietest(clip, next(word["start"] for word in words if word["word"] == before))
    sound = _in_a_room(0.5, clip[:at], pause, clip[at:], 2.5)

    ears = SpeechEars(engine, Stream(sound, 400), unfinished)

    assert [words.text for words in _all(ears, CLIPS)] == ["a hundred and thirty nine point five"]


def test_one_recording_many_turns(engine: BenchEngine) -> None:
    """A long recording falls into turns at its pauses, each under its own network."""
    sound = _in_a_room(0.5, _clip("demo/01"), 1.0, _clip("demo/04"), 1.0, _clip("demo/07"), 1.0)
    ears = SpeechEars(engine, Stream(sound))

    first = ears.hear(network_of("new bucket called tide green", "goodbye"), None)
    second = ears.hear(network_of("one hundred grams", "one thousand grams"), None)
    third = ears.hear(network_of("ten litres", "two litres"), None)

    texts = [heard.text for heard in (first, second, third) if isinstance(heard, Words)]
    assert texts == ["new bucket called tide green", "one hundred grams", "ten litres"]
    assert isinstance(ears.hear(CLIPS, None), Closed)


def test_changing_the_network_loses_no_beginning(engine: BenchEngine) -> None:
    """Calls that bring nothing, each with another network, take no sound away from the next."""
    sound = _in_a_room(1.0, _clip("demo/07"), 1.5)
    ears = SpeechEars(engine, Stream(sound))
    networks = [network_of("ten litres", "two litres"), network_of("ten litres", "five litres")]

    heard: Words | Closed | None = None
    for turn in range(100):
        if (heard := ears.hear(networks[turn % 2], 0.15)) is not None:
            break

    assert isinstance(heard, Words)
    assert heard.text == "ten litres"


def test_nothing_within_the_time(engine: BenchEngine) -> None:
    """Silence for the time given is None, measured in the sound's own time."""
    stream = Stream(_room(10.0))
    ears = SpeechEars(engine, stream)

    assert ears.hear(NUMBERS, 3.0) is None
    assert stream.position == pytest.approx(3.0, abs=0.1)


def test_partial_words(engine: BenchEngine) -> None:
    """While somebody speaks, the words so far are told."""
    told: list[str] = []
    ears = SpeechEars(engine, Stream(_in_a_room(0.5, _clip("demo/01"), 1.5)), partly=told.append)

    (words,) = _all(ears, CLIPS)

    assert len(told) > 2
    assert any(words.text.startswith(text) for text in told if text)


def test_deaf(engine: BenchEngine) -> None:
    """The sound is shut while the machine speaks."""
    stream = Stream(_room(1.0))

    with SpeechEars(engine, stream).deaf():
        assert stream.shut_times == 1


@pytest.mark.parametrize("rate", [8000, 44100, 48000])
def test_other_rates(engine: BenchEngine, rate: int) -> None:
    """A microphone that has its own rate is understood, too."""
    import soxr

    sound = soxr.resample(_in_a_room(0.5, _clip("demo/07"), 1.5), RATE, rate)

    heard = [words.text for words in _all(SpeechEars(engine, Stream(sound, rate // 20, rate)), CLIPS)]

    assert heard == ["ten litres"]


def test_recording_from_a_file(engine: BenchEngine, tmp_path: Path) -> None:
    """The ears read a stereo recording of 96 kHz from a file."""
    import soxr

    sound = soxr.resample(_in_a_room(0.5, _clip("demo/07"), 1.5), RATE, 96000) / 32768
    soundfile.write(tmp_path / "a.flac", np.stack([sound, sound], axis=1), 96000)
    ears = SpeechEars(engine, Recording(tmp_path / "a.flac"))

    assert [words.text for words in _all(ears, CLIPS)] == ["ten litres"]
    ears.close()


def test_what_was_said_too_softly_is_asked_about(engine: BenchEngine) -> None:
    """Last words that never stood above the room are left out; then the rest is not sure: 530 is not 539."""
    sound = np.concatenate([np.zeros(RATE), _clip("demo/04"), 0.012 * _clip("demo/07"), np.zeros(2 * RATE)])
    network = network_of("one hundred grams", "one hundred grams ten litres")
    ears = SpeechEars(engine, Stream(sound + _room(10.0, 0.6)[: len(sound)]), unfinished=bool)
    (words,) = _all(ears, network)

    assert words.text in ("one hundred grams", "one hundred grams ten")
    assert words.confidence is not None
    assert words.confidence <= 0.5


# ---- no words --------------------------------------------------------------------------------


def _noises() -> dict[str, np.ndarray]:
    dice, time_ = np.random.default_rng(5), np.arange(20 * RATE) / RATE
    white = dice.normal(0, 1, len(time_))
    shape = 1 / np.sqrt(np.maximum(np.fft.rfftfreq(len(time_), 1 / RATE), 20))
    pink = np.fft.irfft(np.fft.rfft(white) * shape, len(time_))
    hum = sum(np.sin(2 * np.pi * 47.3 * k * time_ + k) / k for k in range(1, 25))
    chords = np.zeros(len(time_))
    for start in range(0, len(time_) - RATE, RATE // 3):
        fade = np.exp(-np.arange(RATE // 2) / 4000)
        for pitch in dice.choice([220, 247, 262, 294, 330, 349, 392, 440], 3):
            tone = sum(np.sin(2 * np.pi * pitch * h * np.arange(RATE // 2) / RATE) / h for h in range(1, 6))
            chords[start : start + RATE // 2] += fade * tone
    knocks = np.zeros(len(time_))
    for start in dice.integers(0, len(time_) - 4000, 15):
        knocks[start : start + 4000] += dice.normal(0, 1, 4000) * np.exp(-np.arange(4000) / 200)
    sounds = {"white": white, "pink": pink, "hum": hum, "chords": chords, "knocks": knocks}
    return {name: 6000 * sound / np.abs(sound).max() for name, sound in sounds.items()} | {
        "silence": np.zeros(len(time_)),
        "room": _room(20.0),
    }


NOISES = _noises()


@pytest.mark.parametrize("name", sorted(NOISES))
def test_noise_is_no_number(engine: BenchEngine, name: str) -> None:
    """Twenty seconds of a noise bring nothing, ``[unk]`` or what is asked about: never a number for sure."""
    heard = list(_all(SpeechEars(engine, Stream(NOISES[name])), NUMBERS))
    print(name, [(words.text, words.confidence) for words in heard])

    whole = [words for words in heard if UNKNOWN_WORD not in words.text]
    assert [words for words in whole if (words.confidence or 0.0) >= SURE_ENOUGH] == []
    assert len(whole) <= 2


@pytest.mark.parametrize("name", ["white", "hum", "silence"])
def test_noise_takes_no_time(engine: BenchEngine, name: str) -> None:
    """Steady noise costs next to nothing (measured: 0.001 of real time, the longest block 1 ms)."""
    ears, longest = SpeechEars(engine, Stream(NOISES[name])), 0.0
    before = time.process_time()
    while True:
        start = time.process_time()
        if isinstance(ears.hear(NUMBERS, 0.05), Closed):
            break
        longest = max(longest, time.process_time() - start)

    spent = time.process_time() - before
    print(f"{name}: {spent / 20:.3f} of real time, longest block {longest * 1000:.0f} ms")
    assert spent < 1.0
    assert longest < 0.2


@pytest.mark.parametrize("voice", ["pico_gb", "pico_us", "espeak_annie", "demo"])
def test_a_short_word_alone_is_no_knock(engine: BenchEngine, voice: str) -> None:
    """A word of a quarter of a second at the end of a recording is heard, though it fits no phrase, too."""
    number = {"demo": "12"}.get(voice, "17")  # done; yes
    for network, wanted in ((network_of("yes", "done"), True), (network_of("seventy litres"), False)):
        words = SpeechEars(engine, Stream(_in_a_room(_clip(f"{voice}/{number}")))).hear(network, None)
        assert isinstance(words, Words)
        assert (UNKNOWN_WORD not in words.text) is wanted


def test_talk_that_fits_nothing(engine: BenchEngine) -> None:
    """A sentence about something else is not pressed into a number."""
    ears = SpeechEars(engine, Stream(_in_a_room(0.5, _clip("demo/09"), 1.5)))

    heard = list(_all(ears, NUMBERS))

    assert all(UNKNOWN_WORD in words.text for words in heard)
    assert all(words.confidence == 0.0 for words in heard)


# ---- grammars for other models -------------------------------------------------------------


def _knows_all(word: str) -> bool:  # noqa: ARG001
    return True


def test_grammar_is_json_with_the_unknown_word() -> None:
    """A grammar is a list of phrases that ends with the word for everything else."""
    made = json.loads(grammar(["one forty two", "yes"], _knows_all))

    assert made[:2] == ["one forty two", "yes"]
    assert made[-1] == UNKNOWN_WORD
    assert len(made) == len(set(made))


def test_phrases_with_unknown_words_are_left_out_whole() -> None:
    """A phrase is kept or left out; vosk would keep the part that it knows."""
    made = json.loads(grammar(["a hundred", "a hundred zinc"], lambda word: word != "zinc"))

    assert "a hundred" in made
    assert not any("zinc" in phrase for phrase in made)


@pytest.mark.parametrize("made_of", [[], [""], ["  "], ['yes"], "'], ["123"], ["[unk]"]])
def test_no_grammar_is_better_than_a_deadly_one(made_of: list[str]) -> None:
    """What would end the process inside vosk is refused before it gets there."""
    with pytest.raises(ModelError):
        grammar(made_of, _knows_all)


def test_phrases_hold_every_pair_of_words() -> None:
    """Between them the phrases hold each word after each word that it may follow."""
    network = network_of("one forty two grams", "one oh two")

    made = phrases(network)

    text = " | ".join(made)
    assert all(pair in text for pair in ("one forty", "forty two", "two grams", "one oh", "oh two"))
    assert set(" ".join(made).split()) == network.vocabulary()


# ---- what must not end the process ---------------------------------------------------------


def _apart(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, timeout=120, check=False
    )


_HEAR = """
import sys
from pathlib import Path
from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.ears.engines import BenchEngine
from benchvoice.ears.model_folder import check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.workshop import Workshop
from benchvoice.messages import Block, WordNetwork
class Sound:
    position = 0.0
    def __init__(self, *blocks): self.blocks = list(blocks)
    def read(self): return self.blocks.pop(0) if self.blocks else None
    def shut(self): pass
    def open(self): pass
    def close(self): pass
engine = BenchEngine(Workshop(check_model(Path(sys.argv[1])), Path(sys.argv[2])))
one = WordNetwork(((0, "yes", 1),), frozenset({1}))
"""


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("an odd number of bytes", "ears = SpeechEars(engine, Sound(Block(b'abc', 16000))); ears.hear(one)"),
        ("empty blocks", "ears = SpeechEars(engine, Sound(Block(b'', 16000), Block(b'', 16000))); ears.hear(one)"),
        ("no block at all", "SpeechEars(engine, Sound()).hear(one)"),
        ("a network without words", "SpeechEars(engine, Sound(Block(bytes(64000), 16000))).hear(WordNetwork((), frozenset()))"),
        ("a network without an end", "SpeechEars(engine, Sound(Block(bytes(64000), 16000))).hear(WordNetwork(((0, 'yes', 1),), frozenset()))"),
        ("another rate each time", "SpeechEars(engine, Sound(*(Block(bytes(8000), r) for r in (16000, 8000, 48000)))).hear(one)"),
        ("many networks", "[engine.recogniser(WordNetwork(((0, 'yes', n),), frozenset({n})), 16000) for n in range(1, 40)]"),
        ("ears dropped in mid-turn", "ears = SpeechEars(engine, Sound(Block(bytes(64000), 16000), Block(bytes(64000), 16000))); ears.hear(one, 0.0); del ears, engine"),
    ],
)  # fmt: skip
def test_survives(tmp_path: Path, name: str, code: str) -> None:
    """Odd input to the ears ends in an answer or an error of ours; never in a dead process or noise."""
    run = _apart(_HEAR + code + "\nprint('alive')", str(CHECKOUT / OURS), str(tmp_path))

    assert run.returncode == 0, f"{name}: {run.stderr}"
    assert run.stdout == "alive\n"
    assert run.stderr == ""
