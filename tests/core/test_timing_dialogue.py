"""Timers by voice: the same at every step, left alone by undo, put right in one turn."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchvoice import replies
from benchvoice.dialogue.advance import TABLE, advance, expected
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.clockwork import length_as_name
from benchvoice.dialogue.scene import Scene, State
from benchvoice.dialogue.states import READY
from benchvoice.meaning import phrases
from benchvoice.messages import Heard, Meaning, Rang, Record, Reply, Words
from benchvoice.timers import timers

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
STATES = [state for state in TABLE.states() if state.name not in ("END", "DIPPING")]


def said(scene: Scene, text: str, seconds: float = 0.0) -> tuple[Scene, str]:
    """Return the scene after something typed, and what is printed."""
    meaning = phrases.understand(Words(text, typed=True), expected(scene))
    scene, answers, _ = advance(scene, Heard(meaning), NINE + timedelta(seconds=seconds))
    return scene, " ".join(sentence.printed for sentence in replies.sentences(answers))


def names(scene: Scene) -> list[str]:
    """Return the names of the timers that are not stopped."""
    return [timer.name for timer in timers(scene.bench.entries)]


@pytest.mark.parametrize("state", STATES, ids=str)
def test_a_timer_can_be_had_at_every_step(state: State) -> None:
    """Begun, asked after and stopped, and the step stays what it was."""
    scene = Scene("t", state, Bench())
    for text in (
        "settle timer ten minutes",
        "how long is left",
        "pause the settle timer",
        "resume the timer",
    ):
        scene, answer = said(scene, text, 1)
        assert "settle" in answer.lower(), (state.name, text, answer)
    scene, _ = said(scene, "stop the settle timer")
    assert names(scene) == []
    assert (scene.state, scene.past) == (state, ())


@pytest.mark.parametrize("state", STATES, ids=str)
def test_a_ring_changes_no_step(state: State) -> None:
    """What is asked stays asked: a ring says its own sentence and nothing else, and writes nothing."""
    scene, _ = said(Scene("t", state, Bench(), said=(Reply("ask_bucket"),)), "settle timer ten minutes")
    rung, answers, effects = advance(scene, Rang("settle"), NINE + timedelta(seconds=600))
    assert [answer.key for answer in answers] == ["timer_due"]
    assert effects == ()
    assert rung == scene


def test_undo_leaves_timers_alone() -> None:
    """An undo takes back the work at the bench and no timer that was begun after it."""
    scene, _ = said(Scene("t", READY, Bench()), "new bucket called tide green")
    scene, _ = said(scene, "1.40 to 1.45")
    scene, _ = said(scene, "settle timer ten minutes")
    scene, _ = said(scene, "undo")
    assert scene.bench.last("bucket") is None
    assert names(scene) == ["settle"]


@pytest.mark.parametrize(
    ("text", "correction", "seconds", "name"),
    [
        ("ten minute timer", "no, fifteen minutes", 900, "fifteen minute"),
        ("ten minute timer", "no fifteen", 900, "fifteen minute"),
        ("ten minute timer", "make that twenty seconds", 20, "twenty second"),
        ("settle timer two hours", "i said three hours", 10_800, "settle"),
        ("soak timer two hours", "no three", 10_800, "soak"),
    ],
)
def test_a_timer_is_put_right_in_one_turn(text: str, correction: str, seconds: float, name: str) -> None:
    """The wrong one is gone; a name that was given stays; a bare number keeps the unit."""
    scene, _ = said(Scene("t", READY, Bench()), text)
    scene, _ = said(scene, correction)
    (timer,) = timers(scene.bench.entries)
    assert (timer.name, timer.left) == (name, seconds)


def test_putting_a_weight_right_is_not_putting_a_timer_right() -> None:
    """A weight said in grams never becomes the time of a timer."""
    scene, _ = said(Scene("t", READY, Bench()), "ten minute timer")
    scene, answer = said(scene, "no, one forty two grams")
    assert "number was wrong" in answer
    assert timers(scene.bench.entries)[0].left == 600


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("timer zero seconds", "would ring at once"),
        ("timer twenty four hours", "24 h from now"),
        ("timer twenty five hours", "a day is the most"),
        ("timer 30 hours", "a day is the most"),
        ("timer 20", "20 of what"),
        ("set a timer", "For how long?"),
        ("tea timer for half an hour", "Tea timer: 30 min from now"),
        ("slake timer one hour twenty", "Slake timer: 1 h 20 min"),
        ("start a ten minute timer called raku kiln", "Raku kiln timer: 10 min"),
        ("90 second timer", "1 min 30 s from now"),
        ("stop the timer", "No timer runs"),
        ("got it", "No timer is ringing"),
        ("how long is left", "No timer runs"),
    ],
)
def test_answers(text: str, answer: str) -> None:
    """One clear sentence for what can be, what cannot, and what is missing."""
    assert answer in said(Scene("t", READY, Bench()), text)[1]


def test_which_of_several_is_asked() -> None:
    """Nothing is stopped or paused by guessing; the one that rings is meant without its name."""
    scene = Scene("t", READY, Bench())
    for text in ("settle timer ten minutes", "soak timer one minute", "five minute timer"):
        scene, _ = said(scene, text)
    for text in ("stop the timer", "pause the timer"):
        same, answer = said(scene, text, 1)
        assert answer.startswith("Which timer: settle, soak or five minute?")
        assert names(same) == names(scene)
    assert names(said(scene, "stop the timer", 61)[0]) == ["settle", "five minute"]
    assert names(said(scene, "stop all timers")[0]) == []


@pytest.mark.parametrize("text", ["stop", "quiet", "got it", "soak", "soak timer", "stop the soak timer"])
def test_a_ringing_timer_is_answered(text: str) -> None:
    """By stop, quiet, got it, or its name; the one that does not ring goes on."""
    scene, _ = said(Scene("t", READY, Bench()), "settle timer ten minutes")
    scene, _ = said(scene, "soak timer one minute")
    assert names(said(scene, text, 75)[0]) == ["settle"]


def test_a_name_is_no_answer_while_nothing_rings() -> None:
    """The name of a timer that runs asks after it and stops nothing."""
    scene, _ = said(Scene("t", READY, Bench()), "soak timer one minute")
    scene, answer = said(scene, "soak timer", 15)
    assert answer == "Soak timer: 45 s left."
    assert names(scene) == ["soak"]


def test_two_of_one_name_are_told() -> None:
    """The new one takes the place of the old, and what that had left is said; by length they are numbered."""
    scene, _ = said(Scene("t", READY, Bench()), "soak timer two hours")
    scene, answer = said(scene, "soak timer one hour", 3600)
    assert answer.startswith("There was a soak timer with 1 h left.")
    assert names(scene) == ["soak"]
    for _ in range(3):
        scene, _ = said(scene, "ten minute timer")
    assert names(scene)[1:] == ["ten minute", "second ten minute", "third ten minute"]


@given(st.integers(1, 86_400))
def test_a_name_by_length_can_be_heard_and_said(seconds: int) -> None:
    """It has no figures and no sign, so the recogniser can wait for it and the voice say it."""
    name = length_as_name(seconds)
    assert name.replace(" ", "").isalpha()
    assert len(name.split()) <= 5


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(
                ["pause the timer", "resume the timer", "how long is left", "undo", "restart", "back"]
            ),
            st.floats(0, 900),
        ),
        max_size=14,
    )
)
def test_seconds_left_never_grow(moves: list[tuple[str, float]]) -> None:
    """Whatever the order of pause, resume, undo and restart, and though the clock is set back in between."""
    scene, now = said(Scene("t", READY, Bench()), "settle timer one hour")[0], 0.0
    left = 3600.0
    for number, (move, seconds) in enumerate(moves):
        before, now = now, now + (-seconds if move == "back" else seconds)
        if move == "restart":
            scene = Scene(f"s{number}", READY, Bench(scene.bench.entries))
        elif move == "back":
            meaning = Meaning("set_back", {"seconds": replies.rounded(before - now, "0.001")})
            scene = advance(scene, Heard(meaning), NINE + timedelta(seconds=now))[0]
        else:
            scene, _ = said(scene, move, now)
        (timer,) = timers(scene.bench.entries)
        here = timer.seconds_left(NINE + timedelta(seconds=now))
        assert here <= left + 0.01
        left = here


def test_every_timer_is_written_down_before_it_runs() -> None:
    """An entry of its own for start, pause, resume and stop: a restart finds all of it."""
    scene = Scene("t", READY, Bench())
    for text in ("settle timer ten minutes", "pause the timer", "resume the timer", "stop the timer"):
        meaning = phrases.understand(Words(text, typed=True), expected(scene))
        scene, _, effects = advance(scene, Heard(meaning), NINE)
        assert [effect.entry.facts["act"] for effect in effects if isinstance(effect, Record)] == [
            text.split()[0] if text.split()[0] != "settle" else "start"
        ]
    assert replace(scene, said=()).bench.entries


@pytest.mark.parametrize("state", STATES, ids=str)
def test_the_answer_that_a_ring_asks_for_silences_it(state: State) -> None:
    """Also where stop means something else, as it does while a drain cup runs."""
    scene, _ = said(Scene("t", state, Bench()), "settle timer ten minutes")
    _, answers, _ = advance(scene, Rang("settle"), NINE + timedelta(seconds=600))
    asked_for = str(answers[0].facts["answer"])
    assert f"Say {asked_for}." in replies.sentence(answers[0]).printed
    after, _ = said(scene, asked_for, 605)
    assert names(after) == []
    assert after.state == state
