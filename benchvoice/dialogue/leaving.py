"""Saying goodbye while timers run: they run on, but nobody can hear them ring."""

from __future__ import annotations

from benchvoice.dialogue.always import END, PAUSED, leave
from benchvoice.dialogue.clockwork import live
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.table import ANYWHERE, Row


def _still_to_come(turn: Turn) -> tuple[str, ...]:
    return tuple(t.name for t in live(turn.scene) if t.due is not None and not t.rings(turn.now))


def timers_run(turn: Turn) -> bool:
    """Hold when a timer is still to be due."""
    return bool(_still_to_come(turn))


def leave_timers_running(turn: Turn) -> Turn:
    """Say that timers run on unheard, and end the session."""
    return leave(turn.say("timers_run_on", names=_still_to_come(turn)))


ROWS = tuple(Row(state, "goodbye", timers_run, END, leave_timers_running) for state in (PAUSED, ANYWHERE))
