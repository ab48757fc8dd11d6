"""Makes every recording in this folder: ``python audio_fixtures/make.py`` (Debian: see ENGINES for packages).

None of these voices trained the model (``models/recipe/voices.py`` keeps them apart). ``demo/`` is one
potter's session, a file a turn; the other folders hold the same phrases in one voice each, beside
each WAV the words that were spoken. Names, buckets and weights are invented.

The demo is spoken by the voice that the model hears best of the five: a recorded potter cannot answer when
the bench asks again. The other four are asked again, or misheard, somewhere in it.

    apt-get install libttspico-utils flite festival festvox-kdlpc16k espeak-ng
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile
import soxr

HERE = Path(__file__).parent
RATE = 16000
EDGE = 0.3
"""Silence before and after the words [s]."""
PEAK = 0.5
COUNTED = 16.0
"""Silence while the bench counts a dip of five seconds in and out [s]."""
DRYING = 25.0
"""Silence while a tile dries [s]."""

DEMO_VOICE = "espeak_annie"
DEMO = (
    "new bucket called tide green",
    "one point four to one point four five",
    "tared",
    "one hundred grams",
    "one hundred grams",
    "one fifty two",
    "ten litres",
    "added one thousand grams",
    "the kettle is on and the cat wants out",
    "one forty nine",
    "no one forty eight",
    "done",
    "one forty six",
    "undo",
    "one forty four",
    "finish",
    "goodbye",
)
SESSIONS: dict[str, tuple[str | float, ...]] = {
    "flow": (
        *("new bucket called tide green", "usual", "tared", "one hundred grams", "one hundred grams"),
        *("one forty two", "check the flow", "like cream", "check the tile", "looks right", "call it good"),
        *("history", "finish", "goodbye"),
    ),
    "drops": (
        *("new bucket called tide green", "usual", "tared", "one hundred grams", "one hundred grams"),
        *("one forty two", "check the flow", "like yogurt", "use sodium silicate", "understood"),
        *("ten percent", "ten litres", "done", "like cream", "finish", "goodbye"),
    ),
    "hydrometer": ("hydrometer reads forty degrees twaddell", "goodbye"),
    "timer": ("ten minute timer", "how long is left", "goodbye"),
    "batch": (
        *("new recipe called winter ash", "feldspar fifty", "quartz thirty", "kaolin twenty", "done"),
        *("make a batch", "one kilo dry", "usual", "yes", "five hundred grams", "three hundred grams"),
        *("two hundred grams", "goodbye"),
    ),
    "routine": (
        "routine first cup",
        "tared",
        "one hundred grams",
        "one hundred grams",
        "where are we",
        "goodbye",
    ),
    "buckets": (
        *("new bucket called tide green", "usual", "tared", "one hundred grams", "one hundred grams"),
        *("one forty two", "finish", "new bucket called sea mist", "usual", "one forty"),
        *("open tide green", "one forty three", "help", "tell me more", "finish", "goodbye"),
    ),
    "dip": (
        *("new bucket called tide green", "usual", "tared", "one hundred grams", "one hundred grams"),
        *("one forty two", "test tile", "fifty two grams", "dip five seconds", COUNTED, "seventy grams"),
        *(DRYING, "dry now", "fifty eight grams", "eight centimetres", "five centimetres"),
        *("six millimetres", "half a millimetre", "finish", "goodbye"),
    ),
    "stored": (
        *("new bucket called storm slate", "one point four to one point four six", "tared"),
        *("two hundred grams", "two hundred grams", "two hundred and eighty six", "finish", "goodbye"),
    ),
    "reviving": (
        *("routine stored glaze", "storm slate", "done", "done", "done"),
        *("three hundred and twenty two", "seven litres", "added one thousand seven hundred grams"),
        *("two hundred and eighty seven", "like yogurt", "understood", "neat", "done", "like cream"),
        *("skip it", "skip it", "goodbye"),
    ),
}
"""One session for each topic, in DEMO_VOICE; a number is so many seconds in which nothing is said.

``reviving`` comes months after ``stored``, over the same journal.
"""
PHRASES = (
    "one forty two",
    "a hundred and thirty nine point five",
    "one four seven",
    "one hundred and fifty grams",
    "one point four three",
    "two hundred and sixteen grams",
    "four hundred and sixty grams",
    "twelve hundred grams",
    "ninety eight point six",
    "three hundred and thirteen",
    "ten litres",
    "seven and a half litres",
    "no one thirty nine",
    "undo",
    "repeat that",
    "go back",
    "yes",
    "i don't know",
)


def pico(language: str) -> Callable[[str, Path], list[str]]:
    """Return the command of the pico engine (Debian libttspico-utils)."""
    return lambda text, wav: ["pico2wave", "-l", language, "-w", str(wav), text]


def flite(text: str, wav: Path) -> list[str]:
    """Return the command of flite's voice awb (Debian flite)."""
    return ["flite", "-voice", "awb", "-t", text, "-o", str(wav)]


def festival(text: str, wav: Path) -> list[str]:
    """Return the command of festival's voice ked (Debian festvox-kdlpc16k)."""
    utterance = f'(utt.synth (Utterance Text "{text}"))'
    return ["festival", "-b", f'(begin (voice_ked_diphone) (utt.save.wave {utterance} "{wav}" \'riff))']


def espeak(text: str, wav: Path) -> list[str]:
    """Return the command of espeak-ng's variant Annie (Debian espeak-ng)."""
    return ["espeak-ng", "-v", "en-gb+Annie", "-s", "150", "-w", str(wav), text]


ENGINES = {
    "pico_gb": pico("en-GB"),
    "pico_us": pico("en-US"),
    "flite_awb": flite,
    "festival_ked": festival,
    "espeak_annie": espeak,
}


def speak(voice: str, text: str | float) -> np.ndarray:
    """Return a text in one voice: mono, 16 kHz, the same loudness for all, silence around it."""
    if isinstance(text, float):
        return np.zeros(int(text * RATE), np.float32)
    with tempfile.TemporaryDirectory() as scratch:
        wav = Path(scratch) / "said.wav"
        subprocess.run(ENGINES[voice](text, wav), check=True, capture_output=True)
        samples, rate = soundfile.read(wav, dtype="float32")
    samples = soxr.resample(samples, rate, RATE)
    edge = np.zeros(int(EDGE * RATE), np.float32)
    return np.concatenate([edge, samples / np.abs(samples).max() * PEAK, edge])


def write(folder: str, number: int, text: str | float, voice: str) -> None:
    """Write one recording and its words."""
    place = HERE / folder
    place.mkdir(parents=True, exist_ok=True)
    soundfile.write(place / f"{number:02}.wav", speak(voice, text), RATE, subtype="PCM_16")
    words = text if isinstance(text, str) else f"({text:g} seconds of silence)"
    (place / f"{number:02}.txt").write_text(words + "\n", "utf-8")


def main() -> None:
    """Make everything anew."""
    for number, text in enumerate(DEMO, 1):
        write("demo", number, text, DEMO_VOICE)
    for topic, session in SESSIONS.items():
        for number, text in enumerate(session, 1):
            write(f"sessions/{topic}", number, text, DEMO_VOICE)
    for voice in ENGINES:
        for number, text in enumerate(PHRASES, 1):
            write(voice, number, text, voice)
    print(f"{len(DEMO)} turns and {len(PHRASES)} phrases in {len(ENGINES)} voices.")


if __name__ == "__main__":
    main()
