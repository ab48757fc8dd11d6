"""What comes of itself: timers that ring, the moments of a countdown, a clock that was set back."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from benchvoice import timers
from benchvoice.dialogue.countdown import Countdown
from benchvoice.dialogue.scene import Scene
from benchvoice.messages import Counted, Event, Heard, Meaning, Rang, SetBack

STEADY = 2.0
"""A clock may be put right by this much [s] without a word (our choice)."""
LOOK_AT_CLOCK = 20.0
"""While a timer runs the clock is looked at this often [s], or nobody would see it set back (our choice)."""


def meaning_of(event: Event, now: datetime) -> Meaning:
    """Return an event as a meaning, for the table."""
    match event:
        case Heard(meaning):
            return meaning
        case Rang(name):
            return Meaning("rang", {"timer": name})
        case Counted():
            return Meaning("counted")
        case SetBack(shown):
            return Meaning("set_back", {"seconds": Decimal(str((shown - now).total_seconds()))})


def events(scene: Scene, before: datetime, now: datetime) -> tuple[Event, ...]:
    """Return what has come since the clock was looked at before; no timer rings into a countdown."""
    if (before - now).total_seconds() > STEADY:
        return (SetBack(before),)
    counting = scene.work(Countdown).at
    if counting is not None:
        return (Counted(),) if counting <= now else ()
    return tuple(Rang(timer.name) for timer in timers.ringing(scene.bench.entries, before, now))


def wait(scene: Scene, now: datetime) -> float | None:
    """Return how long nothing will come [s]; None when nothing is to come at all."""
    ring = timers.seconds_to_next(scene.bench.entries, now)
    counting = scene.work(Countdown).at
    if counting is not None:
        return max((counting - now).total_seconds(), 0.0)
    return None if ring is None else min(ring, LOOK_AT_CLOCK)


def is_counting(scene: Scene) -> bool:
    """Tell whether a countdown is under way: then no tone may fall into it."""
    return scene.work(Countdown).at is not None
