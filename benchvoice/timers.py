"""Timers as values, worked out from the journal's entries: they run on across a restart.

An entry of kind ``timer`` has a ``name``, an ``act`` and ``seconds``:

    start, resume   it will be due in so many seconds
    pause           it stands still with so many seconds left
    rang            it was due and not yet answered; it is due again in so many seconds
    stop            it is no more
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchvoice.messages import Entry

RING_AGAIN = 20.0
"""A timer that nobody answers rings again after this long [s] (our choice)."""


@dataclass(frozen=True, slots=True)
class Timer:
    """A timer that runs, stands still or rings."""

    name: str
    due: datetime | None
    """When it is due; None while it stands still."""
    left: float
    """Seconds left when its last entry was written."""
    ringing: bool = False
    """True when it was due and nobody has answered."""

    def seconds_left(self, now: datetime) -> float:
        """Return the seconds left, 0 when it is due or overdue."""
        return self.left if self.due is None else max((self.due - now).total_seconds(), 0.0)


def timers(entries: Iterable[Entry]) -> tuple[Timer, ...]:
    """Return the timers that are not stopped, in the order in which they were begun."""
    found: dict[str, Timer] = {}
    for entry in entries:
        if entry.kind == "timer":
            name = str(entry.facts["name"])
            if entry.facts["act"] == "stop":
                found.pop(name, None)
            else:
                found[name] = _timer(entry, name)
    return tuple(found.values())


def _timer(entry: Entry, name: str) -> Timer:
    left, act = float(str(entry.facts["seconds"])), entry.facts["act"]
    due = None if act == "pause" else entry.at + timedelta(seconds=left)
    return Timer(name, due, left, ringing=act == "rang")


def due(entries: Iterable[Entry], now: datetime) -> tuple[Timer, ...]:
    """Return the timers that are due, the longest overdue first."""
    late = [(timer.due, timer) for timer in timers(entries) if timer.due is not None and timer.due <= now]
    return tuple(timer for _, timer in sorted(late, key=lambda pair: pair[0]))


def seconds_to_next(entries: Iterable[Entry], now: datetime) -> float | None:
    """Return how long nothing will be due [s], or None when no timer runs."""
    waits = [timer.seconds_left(now) for timer in timers(entries) if timer.due is not None]
    return min(waits, default=None)
