"""Timers as values: whatever is done to them and whatever the clock does, they never gain time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.messages import Entry
from benchvoice.timers import (
    KEEN_FOR,
    RING_AGAIN,
    RING_LATE,
    known_names,
    ringing,
    seconds_to_next,
    timers,
)

NINE = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def at(seconds: float) -> datetime:
    """Return a moment so long after nine."""
    return NINE + timedelta(seconds=seconds)


def entry(when: float, act: str, seconds: float = 0.0, name: str = "settle", **more: object) -> Entry:
    """Return one line of a timer."""
    facts = {"name": name, "act": act, "seconds": seconds, **more}
    return Entry(f"t-{when}-{act}", "timer", at(when), None, facts)


def test_a_timer_runs_down_with_the_clock() -> None:
    """Ten minutes, three of them gone, leave seven."""
    (timer,) = timers([entry(0, "start", 600)])
    assert timer.seconds_left(at(180)) == 420
    assert not timer.rings(at(599.9))
    assert timer.rings(at(600))
    assert timer.seconds_late(at(720)) == 120


def test_a_paused_timer_stands_still() -> None:
    """It keeps what it had left for as long as it stands, and runs on from there."""
    paused = [entry(0, "start", 600), entry(180, "pause", 420)]
    assert timers(paused)[0].seconds_left(at(10_000)) == 420
    assert not ringing(paused, at(0), at(10_000))
    assert seconds_to_next(paused, at(10_000)) is None
    (timer,) = timers([*paused, entry(10_000, "resume", 420)])
    assert timer.due == at(10_420)
    assert timer.length == 600


def test_a_stopped_timer_is_no_more_and_a_new_start_comes_last() -> None:
    """The order is the order of the starts."""
    lines = [entry(0, "start", 600), entry(1, "start", 60, "dip"), entry(2, "start", 300)]
    assert [timer.name for timer in timers(lines)] == ["dip", "settle"]
    assert [timer.name for timer in timers([*lines, entry(3, "stop", name="dip")])] == ["settle"]


@pytest.mark.parametrize(
    ("after", "now", "rings"),
    [
        (0, 599, False),
        (0, 600, True),
        (600, 619, False),
        (600, 620, True),
        (610, 630, True),
        (620.5, 639, False),
        (600 + KEEN_FOR, 600 + KEEN_FOR + RING_AGAIN, False),
        (600 + KEEN_FOR, 600 + KEEN_FOR + RING_LATE, True),
        (599, 100_000, True),
    ],
)
def test_it_rings_again_until_it_is_stopped(after: float, now: float, rings: bool) -> None:
    """Every twenty seconds at first, every five minutes once nobody can be at the bench."""
    lines = [entry(0, "start", 600)]
    assert bool(ringing(lines, at(after), at(now))) == rings
    assert not ringing([*lines, entry(601, "stop")], at(after), at(now))


def test_the_longest_overdue_rings_first() -> None:
    """Two that fell due while nobody looked come in the order in which they were due."""
    lines = [entry(0, "start", 600), entry(0, "start", 300, "dip")]
    assert [timer.name for timer in ringing(lines, at(0), at(900))] == ["dip", "settle"]


@given(
    st.floats(1, 86_400),
    st.lists(st.floats(0.1, 4000), min_size=1, max_size=40),
)
def test_waiting_as_long_as_it_says_never_misses_a_ring(length: float, waits: list[float]) -> None:
    """Whoever waits for the next ring, however often something comes between, finds it there."""
    lines, now = [entry(0, "start", length)], 0.0
    for wait in waits:
        to_next = seconds_to_next(lines, at(now))
        assert to_next is not None
        assert to_next > 0
        if wait < to_next - 1e-3:
            assert not ringing(lines, at(now), at(now + wait))
            now += wait
        else:
            assert ringing(lines, at(now), at(now + to_next + 1e-3))
            now += to_next + 1e-3


MOVES = st.lists(
    st.tuples(st.sampled_from(["pause", "resume", "look", "restart", "clock"]), st.floats(-5000, 5000)),
    max_size=30,
)


@given(st.floats(1, 86_400), MOVES)
def test_what_is_left_never_grows(length: float, moves: list[tuple[str, float]]) -> None:
    """Whatever the order of pause, resume and restart, and wherever the clock jumps."""
    lines, now, left = [entry(0, "start", length)], 0.0, length
    for move, step in moves:
        now += step if move == "clock" else abs(step)
        found = timers(tuple(lines) if move == "restart" else lines)[0]
        here = min(found.seconds_left(at(now)), left)
        assert 0 <= found.seconds_left(at(now)) <= found.left <= length + 1e-3
        if move in ("pause", "resume"):
            lines.append(entry(now, move, here))
            assert timers(lines)[0].seconds_left(at(now)) <= here + 1e-3
            left = here


def test_names_given_by_the_potter_are_known_again() -> None:
    """A name that was given is waited for after its timer is gone; one by length is not."""
    lines = [
        entry(0, "start", 60, "kiln", given=True),
        entry(1, "start", 60, "one minute", given=False),
        entry(2, "stop", name="kiln"),
        entry(3, "stop", name="one minute"),
    ]
    assert known_names(lines) == ("kiln",)
    assert known_names(lines[:3]) == ("one minute", "kiln")
