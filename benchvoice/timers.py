"""Timers as values, worked out from the journal's entries: they run on across a restart.

An entry of kind ``timer`` has a ``name``, an ``act`` and ``seconds``:

    start    it is due in so many seconds; one of the same name is no more
    resume   likewise, after it stood still or the clock was set back
    pause    it stands still with so many seconds left
    stop     it is no more

A timer that is due rings, and rings again, until it is stopped. That it rang is not written down: when
follows from when it was due, so nothing has to be written while it rings.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from benchvoice.messages import Entry

RING_AGAIN = 20.0
"""A timer that nobody answers rings again after this long [s] (our choice)."""
KEEN_FOR = 600.0
"""So long it rings that often [s]; whoever has not come by then is not at the bench (our choice)."""
RING_LATE = 300.0
"""Later it rings again after this long [s] (our choice)."""
REMEMBERED = 4
"""So many names that were given by the potter are waited for again; each costs some accuracy."""


@dataclass(frozen=True, slots=True)
class Timer:
    """A timer that runs, stands still or rings."""

    name: str
    due: datetime | None
    """When it is due; None while it stands still."""
    left: float
    """Seconds left when its last entry was written."""
    length: float
    """Seconds for which it was started."""
    since: datetime
    """When its last entry was written."""

    def seconds_left(self, now: datetime) -> float:
        """Return the seconds left [s]: 0 when due, and never more than when it was last written down."""
        if self.due is None:
            return self.left
        return min(max((self.due - now).total_seconds(), 0.0), self.left)

    def seconds_late(self, now: datetime) -> float:
        """Return how long ago it was due [s], 0 when it is not due yet."""
        return 0.0 if self.due is None else max((now - self.due).total_seconds(), 0.0)

    def rings(self, now: datetime) -> bool:
        """Tell whether it is due and nobody has stopped it."""
        return self.due is not None and self.due <= now


def timers(entries: Iterable[Entry]) -> tuple[Timer, ...]:
    """Return the timers that are not stopped, in the order in which they were begun."""
    found: dict[str, Timer] = {}
    for entry in entries:
        if entry.kind == "timer":
            name = str(entry.facts["name"])
            before = found.pop(name, None) if entry.facts["act"] in ("start", "stop") else found.get(name)
            if entry.facts["act"] != "stop":
                found[name] = _timer(entry, name, before)
    return tuple(found.values())


def _timer(entry: Entry, name: str, before: Timer | None) -> Timer:
    left, act = float(str(entry.facts["seconds"])), entry.facts["act"]
    due = None if act == "pause" else entry.at + timedelta(seconds=left)
    length = left if act == "start" or before is None else before.length
    return Timer(name, due, left, length, entry.at)


def ringing(entries: Iterable[Entry], after: datetime, now: datetime) -> tuple[Timer, ...]:
    """Return the timers that ring, for the first time or again, after one moment and up to another.

    The longest overdue comes first; each comes once, however often it would have rung.
    """
    late = [(t.due, t) for t in timers(entries) if t.due is not None and t.due <= now]
    return tuple(t for due, t in sorted(late, key=lambda pair: pair[0]) if _next_ring(due, after) <= now)


def _next_ring(due: datetime, after: datetime) -> datetime:
    """Return the first moment after another at which a timer rings that was due then and not answered."""
    late = (after - due).total_seconds()
    if late < 0:
        return due
    if late < KEEN_FOR:
        return due + timedelta(seconds=RING_AGAIN * (late // RING_AGAIN + 1))
    return due + timedelta(seconds=KEEN_FOR + RING_LATE * ((late - KEEN_FOR) // RING_LATE + 1))


def seconds_to_next(entries: Iterable[Entry], now: datetime) -> float | None:
    """Return how long nothing will ring [s], or None when no timer runs."""
    waits = [(_next_ring(t.due, now) - now).total_seconds() for t in timers(entries) if t.due is not None]
    return min(waits, default=None)


def last_written(entries: Sequence[Entry]) -> datetime | None:
    """Return what the clock showed when the newest entry was written, or None."""
    return entries[-1].at if entries else None


def known_names(entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return the names of all timers that are not stopped, and the newest that were given by name."""
    given = [str(e.facts["name"]) for e in entries if e.kind == "timer" and e.facts.get("given")]
    live = (timer.name for timer in timers(entries))
    return tuple(dict.fromkeys((*live, *given[-REMEMBERED:])))
