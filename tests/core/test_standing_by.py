"""A bench that stands by: a few words of its own are heard, nothing else, and no reply says them."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pytest

from benchvoice import replies
from benchvoice.dialogue.advance import TABLE, expected
from benchvoice.dialogue.always import PAUSED
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.meaning import phrases
from benchvoice.messages import Closed, Entry, Words
from benchvoice.session import Session
from benchvoice.voice.printer import Printer
from benchvoice.voice.tones import NAMES
from tests.conversations.conftest import HandedEars

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
STANDING_BY = expected(Scene("t", PAUSED, Bench()))
CALL = "bench are you there"


class Kept:
    """A journal that takes everything."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def write_all(self, entries: object) -> None:
        """Take entries."""
        self.entries.extend(entries)  # type: ignore[arg-type]


def test_little_is_waited_for() -> None:
    """Standing by, the network is hundreds of times smaller than that of a weight, and holds no number."""
    network = phrases.network(STANDING_BY)
    weighing = phrases.network(expected(Scene("t", READY, Bench())))
    assert len(network.arcs) < 100 < len(weighing.arcs) / 5
    assert not network.vocabulary() & {"one", "two", "three", "forty", "hundred", "undo", "goodbye", "yes"}
    assert {*CALL.split(), "continue", "carry", "stop"} <= network.vocabulary()


@pytest.mark.parametrize("kind", [kind for kind in phrases.kinds() if kind not in STANDING_BY.kinds])
def test_nothing_else_is_understood_when_spoken(kind: str) -> None:
    """A sentence of any other kind is nothing when heard."""
    sentence = phrases.sentences_of(kind, 1)[0]
    meant = phrases.understand(Words(sentence, confidence=0.97), STANDING_BY).kind
    assert meant in ("unclear", *STANDING_BY.kinds)  # "stop" is said in more than one sense


@pytest.mark.parametrize("sentence", ["help", "slower", "undo", "one forty two", "goodbye", "where are we"])
def test_what_is_typed_still_counts(sentence: str) -> None:
    """A keyboard is never spoken to by somebody else."""
    assert phrases.understand(Words(sentence, typed=True), STANDING_BY).kind != "unclear"


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_the_call_is_no_number_and_no_command(state: object) -> None:
    """At no other step do the words of the call begin a sentence that is waited for."""
    if state is PAUSED:
        return
    network = phrases.network(expected(Scene("t", state, Bench())))  # type: ignore[arg-type]
    ends = {word: end for start, word, end in network.arcs if start == 0}
    reached = ends.get("bench")
    assert reached is None or not [1 for start, word, _ in network.arcs if (start, word) == (reached, "are")]


def test_our_own_prompts_never_call() -> None:
    """No reply contains the call, so that a loudspeaker cannot wake the bench."""
    for key, forms in replies.wordings().items():
        for text in forms.values():
            assert CALL not in text.lower().replace(",", ""), key


def _session(said: list[Words]) -> tuple[Session, io.StringIO]:
    out = io.StringIO()
    session = Session(
        Scene("t", READY, Bench()),
        ears=HandedEars(said),
        voice=Printer(out, NAMES),
        journal=Kept(),  # type: ignore[arg-type]
        now=lambda: NOON,
    )
    return session, out


def test_states_are_told_by_tones() -> None:
    """Listening sounds at each turn of the potter, standing by once; what is not for us is not answered."""
    noise = Words("[unk]", confidence=0.0)
    talk = [
        Words("standby", typed=True),
        noise,
        Words("one forty two", confidence=0.97),
        Words(CALL, confidence=0.97),
        noise,
    ]
    session, out = _session(talk)
    session.run()
    lines = [line for line in out.getvalue().splitlines() if line.startswith(("tone:", "heard:"))]
    assert lines == [
        "tone: listening",
        "tone: heard",
        "tone: suspended",
        f"heard: {CALL}",
        "tone: heard",
        "tone: listening",
        "heard: [unk]",
        "tone: not understood",
        "tone: listening",
    ]
    assert isinstance(HandedEars([]).hear(phrases.network(STANDING_BY), None), Closed)
