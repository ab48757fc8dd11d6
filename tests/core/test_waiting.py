"""The session waits in time: timers against a clock that jumps, and a countdown against slow speech.

Ears, voice and clock here are made for the test: they share one true time, which passes only while somebody
waits or speaks, and a clock on the wall, which may be set back.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice.building import first_scene
from benchvoice.dialogue.coming import LOOK_AT_CLOCK, STEADY
from benchvoice.journal import Journal
from benchvoice.messages import Closed, Sentence, SetVoice, WordNetwork, Words
from benchvoice.session import Session

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@dataclass
class World:
    """A room with its true time, its clock, and what will be said and done in it."""

    will_say: list[tuple[float, str]]
    will_set_back: list[tuple[float, float]] = field(default_factory=list)
    speech_s: float = 0.0
    """How long each sentence of the bench takes [s]."""
    true_s: float = 0.0
    ends: float = 100_000.0
    said: list[tuple[float, str]] = field(default_factory=list)
    """When the bench began to say what."""
    tones: list[tuple[float, str]] = field(default_factory=list)
    listens: bool = False

    def clock(self) -> datetime:
        """Return what the clock on the wall shows."""
        back = sum(by for when, by in self.will_set_back if when <= self.true_s)
        return NINE + timedelta(seconds=self.true_s - back)

    # ears

    def hear(self, network: WordNetwork, seconds: float | None) -> Words | Closed | None:  # noqa: ARG002
        """Wait: for words, for the time to pass, for the end."""
        until = self.ends if seconds is None else self.true_s + seconds
        if self.will_say and self.will_say[0][0] <= until:
            when, text = self.will_say.pop(0)
            self.true_s = max(self.true_s, when)
            return Words(text, typed=True)
        self.true_s = min(until, self.ends)
        return Closed() if self.true_s >= self.ends else None

    def deaf(self) -> nullcontext[None]:
        """Do nothing."""
        return nullcontext()

    # voice

    def say(self, sentence: Sentence) -> None:
        """Note when a sentence begins, and let it take its time."""
        self.said.append((self.true_s, sentence.printed))
        self.true_s += self.speech_s

    def tone(self, name: str) -> None:
        """Note a tone."""
        self.tones.append((self.true_s, name))

    def heard(self, words: str) -> None:
        """Do nothing."""

    def change(self, change: SetVoice) -> None:
        """Do nothing."""

    # asked afterwards

    def times_of(self, text: str) -> list[float]:
        """Return when the bench began to say a sentence with these words in it."""
        return [when for when, sentence in self.said if text in sentence]


@contextmanager
def session_in(world: World) -> Iterator[Session]:
    """Yield a session in a room, over a journal of its own."""
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "journal.sqlite") as journal:
        scene = first_scene(journal, world.clock)
        yield Session(scene, ears=world, voice=world, journal=journal, now=world.clock)


def lived(world: World) -> World:
    """Let everything in a room happen."""
    with session_in(world) as session:
        session.run()
    return world


@settings(max_examples=25, deadline=None)
@given(
    st.integers(1, 3000),
    st.lists(st.tuples(st.floats(0, 3000), st.floats(0.1, 100_000)), max_size=3),
    st.lists(st.floats(0, 3000), max_size=3),
)
def test_a_timer_rings_in_time_however_far_the_clock_is_set_back(
    length: int, set_back: list[tuple[float, float]], questions: list[float]
) -> None:
    """At most one look at the clock late for each time that it is set back; never hours, never early."""
    asked = [(when, "how long is left") for when in sorted(questions)]
    world = World([(0.0, f"settle timer {length} seconds"), *asked], sorted(set_back))
    world.ends = length + 500.0
    rang = lived(world).times_of("Settle timer: time is up")[:1] or world.times_of("Settle timer was due")[:1]
    assert rang
    late = (LOOK_AT_CLOCK + STEADY) * len(set_back) + 0.01
    assert length - 0.01 <= rang[0] <= length + late


def test_a_clock_set_back_is_told() -> None:
    """Whoever set it hears at the next look that the timers go on as before."""
    world = lived(World([(0.0, "settle timer ten minutes")], [(100.0, 3600.0)], ends=300.0))
    (when,) = world.times_of("The clock of this machine was set back")
    assert 100 <= when <= 100 + LOOK_AT_CLOCK


def test_an_unanswered_timer_rings_every_twenty_seconds() -> None:
    """The tone and the sentence come together, and stop when somebody answers."""
    world = World([(0.0, "sieve timer one minute"), (105.0, "got it")], ends=300.0)
    rang = [when for when, tone in lived(world).tones if tone == "timer due"]
    assert rang == pytest.approx([60, 80, 100])
    assert world.times_of("Sieve timer: time is up") == pytest.approx([60, 80, 100])


@pytest.mark.parametrize("speech_s", [0.0, 0.3, 0.6, 0.95, 1.4])
@pytest.mark.parametrize("dip_s", [2, 3, 5, 8, 2.5, 20])
def test_a_dip_lasts_as_long_as_it_was_to(dip_s: float, speech_s: float) -> None:
    """From the beginning of "in" to that of "out" it is the dip, however slow the voice is."""
    world = lived(World([(0.0, f"dip {dip_s} seconds")], speech_s=speech_s, ends=60.0))
    (went_in,), (came_out,) = world.times_of("In!"), world.times_of("Out!")
    assert came_out - went_in == pytest.approx(dip_s, abs=1e-3)


@pytest.mark.parametrize("speech_s", [0.0, 0.6, 0.95])
def test_the_counts_are_a_second_apart(speech_s: float) -> None:
    """Three, two, one and in; then two, one and out: each a second after the one before."""
    world = lived(World([(0.0, "dip four seconds")], speech_s=speech_s, ends=60.0))
    counts = [(when, text) for when, text in world.said if text in ("Three.", "Two.", "One.", "In!", "Out!")]
    assert [text for _, text in counts] == ["Three.", "Two.", "One.", "In!", "Two.", "One.", "Out!"]
    gaps = [later - earlier for (earlier, _), (later, _) in pairwise(counts)]
    assert gaps == pytest.approx([1, 1, 1, 2, 1, 1], abs=1e-3)


def test_no_tone_and_no_timer_falls_into_a_count() -> None:
    """A timer that is due while a hand is in the bucket rings when it is out again."""
    will_say = [(0.0, "settle timer 12 seconds"), (5.0, "dip five seconds"), (12.8, "speak up")]
    world = lived(World(will_say, speech_s=0.4, ends=90.0))
    begun, out = world.times_of("Ready")[0], world.times_of("Out!")[0]
    assert begun < 12 < out
    assert [tone for when, tone in world.tones if begun < when < out] == ["heard"]
    assert world.times_of("Settle timer")[1] > out


def test_a_voice_that_hangs_does_not_lengthen_a_dip_in_silence() -> None:
    """When a moment could not be said in time the count is broken off, and nothing is written down."""
    world = World([(0.0, "dip four seconds")], speech_s=6.0, ends=120.0)
    with session_in(world) as session:
        session.run()
        assert not [entry for entry in session.scene.bench.entries if entry.kind == "tile"]
    assert world.times_of("The count was broken off")


def test_a_clock_set_back_breaks_a_count_off() -> None:
    """Nobody knows any more when the tile went in, so nobody says when it is to come out."""
    world = lived(World([(0.0, "dip five seconds")], [(9.0, 1800.0)], ends=3600.0))
    assert world.times_of("The count was broken off")
    assert not world.times_of("Out!")


def test_a_timer_begun_long_ago_is_still_known_after_many_others() -> None:
    """A restart finds every timer that runs, however much was written down since."""
    often = [(10.0 + n, text) for n in range(0, 160, 2) for text in ("sieve timer one hour",)]
    world = World([(0.0, "slake timer twenty hours"), *often], ends=400.0)
    with tempfile.TemporaryDirectory() as folder, Journal.open(Path(folder) / "journal.sqlite") as journal:
        for _ in range(2):
            scene = first_scene(journal, world.clock)
            Session(scene, ears=world, voice=world, journal=journal, now=world.clock).run()
            world.will_say, world.ends = [(world.true_s + 1, "how long is left")], world.true_s + 20
    assert world.times_of("Slake timer: 19 h 53 min left")
