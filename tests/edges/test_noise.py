"""Too noisy to be heard: said once, with what to do, and only where that is so."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from benchvoice.ears.engines import BenchEngine
from benchvoice.ears.model_folder import CHECKOUT, OURS, check_model
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.ears.workshop import Workshop
from benchvoice.live.ears import LiveEars
from benchvoice.live.keys import Keys
from benchvoice.live.noise import TOO_NOISY, Noise
from benchvoice.messages import Closed, Words
from tests.edges.nets import FIXTURES, Stream, network_of
from tests.edges.test_talk import Told

RATE = 16000
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
WEIGHTS = network_of(
    *(
        f"{hundred} {ten} {digit}"
        for hundred in ("one", "two")
        for ten in TENS
        for digit in ("two", "three", "six")
    )
)
BADLY, WELL, IN_QUIET = (0.4, 8.0), (0.95, 9.0), (0.3, 35.0)
"""(how sure, how far above the room [dB])."""


@pytest.mark.parametrize(
    ("turns", "said_after"),
    [
        ([BADLY] * 3, [2]),
        ([BADLY] * 12, [2]),
        ([BADLY, WELL, BADLY, WELL, BADLY], [4]),
        ([BADLY, WELL, WELL, BADLY, WELL, BADLY], []),
        ([IN_QUIET] * 6, []),
        ([WELL] * 6, []),
        ([(None, 5.0)] * 6, []),
        ([*[BADLY] * 3, *[WELL] * 5, *[BADLY] * 3], [2, 10]),
    ],
)
def test_when_it_is_said(turns: list[tuple[float | None, float]], said_after: list[int]) -> None:
    """At the third turn of five that was heard badly over noise; once, until it was better for five."""
    noise = Noise(sure=0.8)

    assert [place for place, turn in enumerate(turns) if noise.take(*turn)] == said_after


def _session(level: float, tmp_path: Path) -> tuple[list[Words], list[str]]:
    """Let what is no weight be said six times over noise, each answered; return what was heard and told."""
    clip, _ = soundfile.read(FIXTURES / "demo" / "09.wav", dtype="int16")
    dice, pause = np.random.default_rng(2), np.zeros(3 * RATE)
    said = np.concatenate([pause, *[part for _ in range(6) for part in (0.2 * clip, pause)]])
    engine = BenchEngine(Workshop(check_model(CHECKOUT / OURS), tmp_path))
    bell, heard = Told(), []
    reading, writing = os.pipe()
    with os.fdopen(reading) as lines, Keys(lines) as keys:
        stream = Stream(said + dice.normal(0, level, len(said)))
        ears = LiveEars(lambda: SpeechEars(engine, stream), keys, bell)
        while not isinstance(words := ears.hear(WEIGHTS, 60.0), Closed | None):
            heard.append(words)
            with ears.deaf():
                bell.tell("reply")
        os.close(writing)
    return heard, bell.said


def test_said_in_noise_once_and_before_the_reply(tmp_path: Path) -> None:
    """What cannot be made out over noise brings the sentence, before the third reply at the earliest."""
    heard, said = _session(250.0, tmp_path)

    assert said.count(TOO_NOISY) == 1, [(words.text, words.confidence) for words in heard]
    assert said[said.index(TOO_NOISY) + 1] == "reply"
    assert said[: said.index(TOO_NOISY)].count("reply") >= 2


def test_never_said_in_quiet(tmp_path: Path) -> None:
    """In a quiet room the same words do not bring it."""
    heard, said = _session(6.0, tmp_path)

    assert len(heard) >= 5
    assert TOO_NOISY not in said
