"""How long the bench takes to answer, stage by stage, through a software sound card.

    python -m tests.benchmarks.latency [TURNS]

Speech is played to the microphone and the reply is taken from the loudspeaker's monitor; the end of the
speech and the first sound of the reply are found in that one recording, so that both are on the same
clock. The stages between are the session's own calls, timed as they happen. Printed: the middle, the 95th
percentile and the longest of each stage in seconds, and the turns that took longer than was wanted.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soundfile

from benchvoice import building, talking
from benchvoice.live.ears import LiveEars
from benchvoice.live.voice import LiveVoice
from benchvoice.messages import Closed, Sentence, SetVoice, WordNetwork, Words
from benchvoice.session import Session
from tests.edges.soundcard import RATE, Recording, SoundCard, running

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"
BEGUN = ("new bucket called tide green", "usual", "tared", "one hundred grams", "done", "be brief")
WANTED = 0.9
"""The 95th percentile that is wanted from the end of speech to the reply [s]."""
LOUD = 600
"""Samples above this are sound; the noise of the room is far below."""


@dataclass(slots=True)
class Turn:
    """When each thing happened in a turn, by ``time.monotonic``."""

    heard: float = 0.0
    printed: float = 0.0
    sounded: float = 0.0
    text: str = ""


@dataclass
class Watch:
    """Looks on between the session and its ears and voice."""

    ears: LiveEars
    voice: LiveVoice
    turns: list[Turn] = field(default_factory=list)
    free: threading.Event = field(default_factory=threading.Event)
    listens: bool = True

    def hear(self, network: WordNetwork, seconds: float | None = None) -> Words | Closed | None:
        """Note when words were heard, and that it is the potter's turn until then."""
        self.free.set()
        heard = self.ears.hear(network, seconds)
        if heard is not None:
            self.free.clear()
        if isinstance(heard, Words) and not heard.typed:
            self.turns.append(Turn(time.monotonic(), text=heard.text))
        return heard

    def deaf(self) -> AbstractContextManager[None]:
        """Hear nothing while this context lasts."""
        return self.ears.deaf()

    def say(self, sentence: Sentence) -> None:
        """Note when the first sentence is there."""
        if self.turns and not self.turns[-1].printed:
            self.turns[-1].printed = time.monotonic()
        self.voice.say(sentence)

    def tone(self, name: str) -> None:
        """Sound a tone."""
        self.voice.tone(name)

    def heard(self, words: str) -> None:
        """Show what was heard."""
        self.voice.heard(words)

    def change(self, change: SetVoice) -> None:
        """Change how sentences are said."""
        self.voice.change(change)


def runs(recording: Recording, pieces_from: int) -> Iterator[tuple[float, float, bool]]:
    """Yield (start, end, is a tone) of every stretch of sound since a piece, by ``time.monotonic``."""
    times, samples = _samples(recording, pieces_from)
    if not len(samples):
        return
    window = RATE // 100
    frames = samples[: len(samples) // window * window].reshape(-1, window)
    loud = np.sqrt((frames**2).mean(axis=1)) > LOUD / 3
    edges = np.flatnonzero(np.diff(np.r_[0, loud.astype("i1"), 0]))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        sound = frames[start:end].ravel()
        spectrum = abs(np.fft.rfft(sound * np.hanning(len(sound))))
        pitch = int(spectrum.argmax()) * RATE / len(sound)
        tone = abs(pitch - 1000) < 40 and end - start < 14
        yield times + start / 100, times + end / 100, tone


def _samples(recording: Recording, first: int) -> tuple[float, np.ndarray]:
    pieces = recording.pieces[first:]
    data = b"".join(piece for _, piece in pieces)
    samples = np.frombuffer(data[: len(data) // 2 * 2], "<i2").astype("f8")
    return (pieces[-1][0] - len(samples) / RATE if pieces else 0.0), samples


Stages = dict[str, float]
Found = list[tuple[str, Stages]]
"""What was heard in a turn, and how long each stage of it took."""


def turns(count: int, card: SoundCard, watch: Watch, recording: Recording) -> Found:
    """Say one weight after the other and return each turn that was answered."""
    dice, found = random.Random(7), []
    clips = [
        FIXTURES / voice / f"{number}.wav"
        for voice in ("pico_gb", "espeak_annie", "flite_awb")
        for number in ("01", "03", "04")
    ]
    for _ in range(count):
        watch.free.wait(60)
        time.sleep(0.3)
        samples, rate = soundfile.read(dice.choice(clips), dtype="int16")
        first, before = len(recording.pieces), len(watch.turns)
        card.play(samples, rate)
        _until(lambda: len(watch.turns) > before, 4.0)  # noqa: B023 (asked at once)
        watch.free.wait(60)
        if len(watch.turns) > before and (stages := _stages(watch.turns[before], recording, first)):
            found.append((watch.turns[before].text, stages))
    return found


def _until(true: Callable[[], bool], seconds: float) -> None:
    """Wait until something is true, but no longer than so many seconds."""
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.02)
    time.sleep(0.1)


def _stages(turn: Turn, recording: Recording, first: int) -> Stages | None:
    found = list(runs(recording, first))
    spoken = [end for start, end, _ in found if start < turn.heard - 0.2 and end < turn.heard]
    tones = [start for start, _, tone in found if tone and start > turn.heard]
    words = [start for start, _, tone in found if not tone and start > turn.heard and turn.printed]
    if not spoken or not words:
        return None
    ended = max(spoken)
    return {
        "end of speech -> words": turn.heard - ended,
        "words -> reply's text": turn.printed - turn.heard,
        "text -> first sound of the reply": words[0] - turn.printed,
        "end of speech -> tone": tones[0] - ended if tones else float("nan"),
        "end of speech -> reply": words[0] - ended,
    }


def main(count: int) -> None:
    """Run and print the table."""
    with running() as card, tempfile.TemporaryDirectory() as folder, card.recording() as recording:
        reading, writing = os.pipe()
        lines, keyboard = os.fdopen(reading), os.fdopen(writing, "w", buffering=1)
        with (
            building.open_journal(Path(folder)) as journal,
            talking.quiet_libraries(),
            talking.live(journal, talking.Wishes(), lines, open(os.devnull, "w")) as session,  # noqa: PTH123
        ):
            _watched(session, card, recording, keyboard, count)


def _watched(session: Session, card: SoundCard, recording: Recording, keyboard: object, count: int) -> None:
    ears, voice = session._ears, session._voice
    assert isinstance(ears, LiveEars)
    assert isinstance(voice, LiveVoice)
    watch = Watch(ears, voice)
    session._ears, session._voice = watch, watch
    found: Found = []

    def potter() -> None:
        print(*BEGUN, sep="\n", file=keyboard)  # type: ignore[call-overload]
        time.sleep(25)
        found.extend(turns(count, card, watch, recording))
        print("goodbye", file=keyboard)  # type: ignore[call-overload]

    thread = threading.Thread(target=potter)
    thread.start()
    session.run()
    thread.join()
    _print(found, count)
    print(
        f"heard beyond what was said (the bench's own voice, or half a turn): {len(watch.turns) - len(found)}"
    )


def _print(found: Found, count: int) -> None:
    print(f"{len(found)} of {count} turns answered")
    print(f"{'stage':36} {'p50':>6} {'p95':>6} {'max':>6}  [s]")
    for stage in found[0][1] if found else ():
        values = [stages[stage] for _, stages in found]
        print(f"{stage:36}", *(f"{np.nanpercentile(values, part):6.2f}" for part in (50, 95, 100)))
    for text, stages in found:
        if stages["end of speech -> reply"] > WANTED:
            print(f"slow: {text!r}", *(f"{seconds:.2f}" for seconds in stages.values()))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
