"""The dialogue table: every state answers everything, is reachable, and can reach the end."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from benchvoice import replies
from benchvoice.dialogue.advance import TABLE, advance
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.table import ANYWHERE, OTHERWISE, Then, always
from benchvoice.meaning import phrases
from benchvoice.messages import Heard, Meaning, Words

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MADE_BY_UNDERSTANDING = ("unclear", "ambiguous", "no_name", "silence", "rang", "counted", "set_back")
KINDS = (*phrases.kinds(), *MADE_BY_UNDERSTANDING)
BACKWARD = (Then.HELD, Then.RETURNS, Then.ON)


def led_to(state: State) -> set[State]:
    """Return the states that the rows of a state itself lead to."""
    return {row.then for row in TABLE.rows if row.state == state and isinstance(row.then, State)}


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_every_state_answers_every_kind(state: State) -> None:
    """For each kind of meaning the last row that may answer has no guard."""
    for kind in KINDS:
        rows = list(TABLE.candidates(state, kind))
        assert rows[-1].guard is always, (state.name, kind)


def test_every_kind_in_the_table_can_be_said() -> None:
    """No row waits for a kind that no phrase gives."""
    assert {row.kind for row in TABLE.rows} - {OTHERWISE, *KINDS} == set()


def test_every_state_is_reachable() -> None:
    """Every state is led to from the first one, or from anywhere."""
    reached = {READY} | {
        row.then for row in TABLE.rows if row.state is ANYWHERE and isinstance(row.then, State)
    }
    reached |= {row.then for row in TABLE.rows if isinstance(row.then, State) and row.state.name == "WEIGH"}
    while more := {new for state in reached for new in led_to(state)} - reached:
        reached |= more
    assert set(TABLE.states()) - reached == set()


@pytest.mark.parametrize("state", [s for s in TABLE.states() if s.name != "END"], ids=str)
def test_every_state_comes_back_without_cancelling(state: State) -> None:
    """From each state its own rows lead home, or back to where it was entered."""
    seen, todo = set(), {state}
    while todo:
        here = todo.pop()
        seen.add(here)
        if any(row.state == here and row.then in BACKWARD for row in TABLE.rows):
            return
        todo |= led_to(here) - seen
    assert READY in seen


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_every_state_can_be_asked_and_helped(state: State) -> None:
    """Each question is worded both ways, and its help names one to five things, each understood there."""
    if state.name == "END":
        return
    assert {"full", "terse"} <= set(replies.wordings()[state.ask])
    assert 1 <= len(state.examples) <= 5
    takes = TABLE.kinds_taken(state)
    for example in state.examples:
        scene = Scene("t", state, Bench())
        from benchvoice.dialogue.scene import expectation

        meaning = phrases.understand(Words(example, typed=True), expectation(scene, takes))
        assert meaning.kind not in ("unclear", "ambiguous"), (state.name, example)


def test_what_is_not_understood_changes_nothing() -> None:
    """An unclear meaning leaves the state, the bench and the past as they were."""
    scene = Scene("t", READY, Bench())
    after, said, effects = advance(
        scene, Heard(Meaning("unclear", {"understood": "", "stopped_at": "x"})), NOW
    )
    assert (after.state, after.bench, after.past) == (scene.state, scene.bench, scene.past)
    assert said
    assert effects == ()


def test_the_first_matching_row_answers() -> None:
    """No row stands behind one without a guard for the same state and kind."""
    for state in (*TABLE.states(), ANYWHERE):
        for kind in dict.fromkeys(row.kind for row in TABLE.rows if row.state == state):
            rows = [row for row in TABLE.rows if (row.state, row.kind) == (state, kind)]
            assert [row for row in rows[:-1] if row.guard is always] == [], (state.name, kind)


def test_turns_are_values() -> None:
    """Saying something makes a new turn and leaves the old one as it was."""
    turn = Turn(Scene("t", READY), Meaning("help"), NOW)
    turn.say("goodbye")
    assert turn.replies == ()
