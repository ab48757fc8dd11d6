"""Twenty minutes at a noisy bench: spoken weights through a software sound card, in real time.

    python -m tests.benchmarks.soak [MINUTES] [WEIGHTS] [DECIBELS] [FOLDER]

Noise (a fan's steady rush with the mains' hum, a tap that comes and goes, knocks of pots and tools: made
here, by numbers) plays all the time; over it weights are said so that speech, while it lasts, is so many
decibels above the noise (speech by the method of ITU-T P.56, noise as its root mean square). Each weight ends
in one of four ways: heard right; asked again (the bench doubts it, or did not understand); wrong (another
number was taken without a question, and read back); silent (nothing came of it). All turns that were heard
are counted as well: those beyond the weights are noise that was taken for somebody.

A folder of one's own holds VOICE-NUMBER.wav and beside each the words in VOICE-NUMBER.txt: weights in whole
grams between 120 and 165. Without it, the three such phrases of ``audio_fixtures`` are said in their five
voices; four of these are the ones that the model hears worst.
"""

from __future__ import annotations

import itertools
import re
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr
from scipy.signal import lfilter

from benchvoice.meaning import phrases
from benchvoice.messages import Expectation, Words
from tests.edges.soundcard import RATE, SoundCard, running
from tests.edges.talks import Talk, room

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"
VOICES = ("pico_gb", "pico_us", "espeak_annie", "flite_awb", "festival_ked")
BEGUN = ("new bucket called tide green", "usual", "tared", "one hundred grams", "done", "be brief")
BACK = ("cancel", "calibrate", "tared", "one hundred grams", "done", "tide green")
"""What is typed where a weight was taken for something else and led away from the scale."""
AT_THE_SCALE = "bench: Weight of the cup?"
SPEECH = 3000.0
"""How loud the potter is [root mean square of 16-bit samples while speaking]."""
WEIGHTS = ("01", "03", "04")
"""Fixtures in which a weight is said that may be right at this step."""
TAKEN = re.compile(r"bench: (\d+)(?: g)?\. (?:The gravity is )?\d\.\d+")
"""How a weight is answered that was taken."""
ASKED_RIGHTLY = "asked again: only a yes wanted"
KINDS = ("heard right", "asked again", "wrong", "silent")
"""What may come of a weight; of those asked again, some were heard right but not for sure."""


def noise(seconds: float, seed: int = 3) -> np.ndarray:
    """Return the sound of a bench at which a fan runs, with root mean square 1."""
    dice = np.random.default_rng(seed)
    count = int(seconds * RATE)
    white = np.fft.rfft(dice.normal(size=count))
    pitch = np.fft.rfftfreq(count, 1 / RATE)
    rush = np.fft.irfft(white / np.sqrt(1 + (pitch / 400) ** 2), count)
    time_s = np.arange(count) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * n * time_s + n) / n for n in (1, 2, 3, 5))
    tap = np.fft.irfft(np.fft.rfft(dice.normal(size=count)) * (pitch > 1500), count)
    tap *= np.clip(np.sin(2 * np.pi * time_s / 37), 0, 1)
    total = rush / rush.std() + 0.3 * hum + 0.5 * tap / tap.std()
    for start in dice.integers(0, count - RATE, int(seconds / 9)):
        knock = np.exp(-np.arange(RATE // 5) / (0.012 * RATE)) * dice.normal(size=RATE // 5)
        total[start : start + len(knock)] += 8 * knock
    return total / total.std()


@dataclass(frozen=True)
class Clip:
    """A spoken weight."""

    voice: str
    weight: int
    """What is said [g]."""
    sound: np.ndarray
    """16-bit samples at the card's rate, at the potter's level."""


def clip(wav: Path, voice: str) -> Clip:
    """Read a recording and the weight in the text beside it."""
    samples, rate = soundfile.read(wav)
    sound = soxr.resample(samples, rate, RATE)
    said = Words(wav.with_suffix(".txt").read_text("utf-8").strip(), typed=True)
    weight = int(phrases.understand(said, Expectation(("weight",))).amount().value)
    return Clip(voice, weight, sound * SPEECH / active_level(sound))


def clips(folder: Path | None) -> list[Clip]:
    """Return the weights that are said, one voice after the other."""
    if folder is None:
        return [clip(FIXTURES / voice / f"{name}.wav", voice) for name in WEIGHTS for voice in VOICES]
    files = sorted(folder.glob("*.wav"), key=lambda file: file.stem.rpartition("-")[::-1])
    return [clip(file, file.stem.rpartition("-")[0]) for file in files]


def active_level(sound: np.ndarray, rate: int = RATE) -> float:
    """Return the root mean square of speech while it lasts, pauses left out: ITU-T P.56, from memory.

    The envelope is the magnitude, smoothed twice over 0.03 s. Sound is active while the envelope is above a
    bar and for 0.2 s after; the bar is the one that lies 15.9 decibels below the level of what it leaves.

    >>> round(active_level(np.sin(np.arange(22050) * 0.3)), 1)
    0.7
    """
    keep = np.exp(-1 / (0.03 * rate))
    envelope = lfilter([1 - keep], [1, -keep], lfilter([1 - keep], [1, -keep], abs(sound)))
    levels = []
    for bar in abs(sound).max() * 10 ** (-np.arange(10, 60, 0.5) / 20):
        active = np.convolve(envelope >= bar, np.ones(int(0.2 * rate)))[: len(sound)] > 0.5
        if active.any():
            level = float(np.sqrt((sound**2).sum() / active.sum()))
            levels.append((abs(20 * np.log10(level / bar) - 15.9), level))
    return min(levels)[1]


def main(minutes: float, count: int, decibels: float, folder: Path | None) -> None:
    """Run and print the figures."""
    said = [found for _, found in zip(range(count), itertools.cycle(clips(folder)), strict=False)]
    with running() as card, tempfile.TemporaryDirectory() as data:
        level = SPEECH / 10 ** (decibels / 20)
        with Talk(Path(data)) as talk, room(card, noise(60) * level):
            _begin(talk)
            every, began = 60 * minutes / count, time.monotonic()
            results = [_said(card, talk, one, began + place * every, every) for place, one in enumerate(said)]
            time.sleep(max(0.0, began + 60 * minutes - time.monotonic()))
            alive = talk.process.poll() is None
            memory = _megabytes(talk) if alive else 0.0
            ended = talk.close() if alive else talk.process.poll()
    _print(said, results, talk, f"{minutes:g} minutes, speech {decibels:g} dB above the noise")
    print(f"memory at the end {memory:.0f} MB; ended with {ended}")


def _begin(talk: Talk) -> None:
    """Type what comes before the first weight, and wait until the bench has said all it has to say."""
    talk.wait_for("state: listening", 60)
    for line in BEGUN:
        talk.turn(line, "^bench: ", 60)
    _let_it_finish(talk, 15.0)


def _said(card: SoundCard, talk: Talk, one: Clip, at: float, every: float) -> str:
    """Say a weight when it is time for it and return what came of it."""
    time.sleep(max(0.0, at - time.monotonic()))
    before = len(talk.lines)
    card.play(one.sound)
    time.sleep(min(9.0, 0.6 * every))
    lines = list(talk.text(before))
    result = judged(lines, one.weight)
    print(one.voice, one.weight, result, [line for line in lines if "Weight" not in line], file=sys.stderr)
    if result in ("heard right", "wrong"):
        talk.turn("undo", "^bench: ")
    elif any("Right?" in line for line in lines):
        talk.turn("no", "^bench: ")
    _return_to_the_scale(talk, before)
    return result


def _return_to_the_scale(talk: Talk, before: int) -> None:
    """Let the next weight be said where this one was."""
    _let_it_finish(talk, 2.5)
    since = talk.text(before)
    if since and since[-1] != AT_THE_SCALE and "tone: not understood" not in since:
        for line in BACK:
            talk.turn(line, "^bench: ")
        _let_it_finish(talk, 4.0)


def _let_it_finish(talk: Talk, seconds: float) -> None:
    """Wait until the bench has said all it has to say: nothing new was printed for so long."""
    while time.monotonic() - talk.lines[-1][0] < seconds:
        time.sleep(0.1)


def judged(lines: list[str], weight: int) -> str:
    """Return what came of a weight, from what was printed since.

    >>> judged(["heard: one forty two", "bench: 142 g. The gravity is 1.42."], 142)
    'heard right'
    >>> judged(["heard: one forty", "bench: I heard 140. Right?"], 142)
    'asked again'
    >>> judged(["heard: one forty two", "bench: I heard 142. Right?"], 142)
    'asked again: only a yes wanted'
    """
    if not [line for line in lines if line.startswith("heard: ")]:
        return "silent"
    taken = [found for line in lines if (found := TAKEN.match(line))]
    if taken:
        return "heard right" if int(taken[-1][1]) == weight else "wrong"
    wanted = re.compile(rf"bench: (?:I heard )?{weight}(?: g)?\b.*Right\?")
    return ASKED_RIGHTLY if any(wanted.match(line) for line in lines) else "asked again"


def _megabytes(talk: Talk) -> float:
    pages = int(Path(f"/proc/{talk.process.pid}/statm").read_text().split()[1])
    return pages * 4096 / 1e6


def _print(said: list[Clip], results: list[str], talk: Talk, what: str) -> None:
    print(f"{what}: {len(results)} weights")
    for kind in (*KINDS, ASKED_RIGHTLY):
        voices = Counter(one.voice for one, result in zip(said, results, strict=True) if result == kind)
        print(f"{kind:31} {results.count(kind):3}   {dict(voices) or ''}")
    unclear = list(talk.text()).count("tone: not understood")
    print(f"turns heard in all {len(talk.heard())}; not understood {unclear}")


if __name__ == "__main__":
    given = dict(enumerate(sys.argv[1:]))
    own = Path(given[3]) if 3 in given else None
    main(float(given.get(0, 20)), int(given.get(1, 60)), float(given.get(2, 10)), own)
