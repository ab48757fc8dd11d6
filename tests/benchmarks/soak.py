"""Twenty minutes at a noisy bench: spoken weights through a software sound card, in real time.

    python -m tests.benchmarks.soak [MINUTES] [WEIGHTS] [DECIBELS]

Noise (a fan's steady rush with the mains' hum, a tap that comes and goes, knocks of pots and tools: made
here, by numbers) plays all the time; over it weights are said so that speech is so many decibels above the
noise. Each weight ends in one of four ways: heard right; asked again (the bench doubts it, or did not
understand); wrong (another number was taken without a question); silent (nothing came of it). All turns that
were heard are counted as well: those beyond the weights are noise that was taken for somebody.
"""

from __future__ import annotations

import random
import re
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile
import soxr

from tests.edges.soundcard import RATE, SoundCard, running
from tests.edges.talks import Talk, room

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"
VOICES = ("pico_gb", "pico_us", "espeak_annie", "flite_awb", "festival_ked")
BEGUN = ("new bucket called tide green", "usual", "tared", "one hundred grams", "done", "be brief")
SPEECH = 3000.0
"""How loud the potter is [root mean square of 16-bit samples]."""
WEIGHTS = {"01": 142, "03": 147}
"""Fixtures in which a weight is said that may be right at this step, and how much it is [g]."""
TAKEN = re.compile(r"bench: (\d+)(?: g)?\. (?:The gravity is )?\d\.\d+")
"""How a weight is answered that was taken."""


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


def main(minutes: float, count: int, decibels: float) -> None:
    """Run and print the figures."""
    with running() as card, tempfile.TemporaryDirectory() as folder:
        level = SPEECH / 10 ** (decibels / 20)
        with Talk(Path(folder)) as talk, room(card, noise(60) * level):
            _begin(talk)
            began = time.monotonic()
            results = [_said(card, talk, began, 60 * minutes / count, place) for place in range(count)]
            time.sleep(max(0.0, began + 60 * minutes - time.monotonic()))
            alive = talk.process.poll() is None
            memory = _megabytes(talk) if alive else 0.0
            ended = talk.close() if alive else talk.process.poll()
    _print(results, talk, minutes, decibels, memory, ended)


def _begin(talk: Talk) -> None:
    talk.wait_for("state: listening", 60)
    for line in BEGUN:
        talk.turn(line, "^bench: ", 60)
    time.sleep(20)


def _said(card: SoundCard, talk: Talk, began: float, every: float, place: int) -> str:
    """Say a weight when it is time for it and return what came of it."""
    time.sleep(max(0.0, began + place * every - time.monotonic()))
    dice = random.Random(place)
    name, voice = dice.choice(sorted(WEIGHTS)), VOICES[place % len(VOICES)]
    sound, rate = soundfile.read(FIXTURES / voice / f"{name}.wav")
    sound = soxr.resample(sound, rate, RATE)
    loud = abs(sound) > 0.02
    sound *= SPEECH / np.sqrt((sound[loud] ** 2).mean())
    before = len(talk.lines)
    card.play(sound)
    time.sleep(min(9.0, 0.6 * every))
    result = judged(list(talk.text(before)), WEIGHTS[name])
    if result in ("heard right", "wrong"):
        talk.turn("undo", "^bench: ")
    elif any("Right?" in line for line in talk.text(before)):
        talk.turn("no", "^bench: ")
    return result


def judged(lines: list[str], weight: int) -> str:
    """Return what came of a weight, from what was printed since.

    >>> judged(["heard: one forty two", "bench: 142 g. The gravity is 1.42."], 142)
    'heard right'
    >>> judged(["heard: one forty", "bench: I heard 140. Right?"], 142)
    'asked again'
    """
    if not [line for line in lines if line.startswith("heard: ")]:
        return "silent"
    taken = [found for line in lines if (found := TAKEN.match(line))]
    if taken:
        return "heard right" if int(taken[-1][1]) == weight else "wrong"
    return "asked again"


def _megabytes(talk: Talk) -> float:
    pages = int(Path(f"/proc/{talk.process.pid}/statm").read_text().split()[1])
    return pages * 4096 / 1e6


def _print(
    results: list[str], talk: Talk, minutes: float, decibels: float, memory: float, ended: int | None
) -> None:
    print(f"{minutes:g} minutes, {len(results)} weights, speech {decibels:g} dB above the noise")
    for kind in ("heard right", "asked again", "wrong", "silent"):
        print(f"{kind:12} {results.count(kind):3}")
    heard = talk.heard()
    print(
        f"turns heard in all {len(heard)}; not understood {list(talk.text()).count('tone: not understood')}"
    )
    print("\n".join(talk.text()), file=sys.stderr)
    print(f"memory at the end {memory:.0f} MB; ended with {ended}")


if __name__ == "__main__":
    given = [float(one) for one in sys.argv[1:]]
    main(
        *[
            given[0] if given else 20.0,
            int(given[1]) if len(given) > 1 else 60,
            given[2] if len(given) > 2 else 10.0,
        ]
    )
