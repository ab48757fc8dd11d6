"""Saying goodbye: noise must not say it, and timers that still run are told of."""

from __future__ import annotations

from benchvoice.dialogue.always import END, leave, pause, resume
from benchvoice.dialogue.clockwork import live
from benchvoice.dialogue.said import heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing

LEAVING = State("LEAVING", "ask_leaving", ("yes", "no"))
SURE = 0.9
"""Below this confidence a spoken goodbye is asked about: a yes costs less than a session (our choice)."""


def _still_to_come(turn: Turn) -> tuple[str, ...]:
    return tuple(t.name for t in live(turn.scene) if t.due is not None and not t.rings(turn.now))


def timers_run(turn: Turn) -> bool:
    """Hold when a timer is still to be due."""
    return bool(_still_to_come(turn))


def may_be_noise(turn: Turn) -> bool:
    """Hold when the recogniser was not quite sure."""
    confidence = turn.meaning.words.confidence
    return confidence is not None and confidence < SURE


def leave_timers_running(turn: Turn) -> Turn:
    """Say that timers run on unheard, and end the session."""
    return leave(turn.say("timers_run_on", names=_still_to_come(turn)))


ROWS = (
    *(Row(LEAVING, kind, heard_badly, Then.AGAIN, nothing) for kind in ("yes", "goodbye")),
    *(Row(LEAVING, kind, timers_run, END, leave_timers_running) for kind in ("yes", "goodbye")),
    *(Row(LEAVING, kind, always, END, leave) for kind in ("yes", "goodbye")),
    *(Row(LEAVING, kind, always, Then.RETURNS, resume) for kind in ("no", "cancel", "continue_")),
    Row(ANYWHERE, "goodbye", may_be_noise, LEAVING, pause),
    Row(ANYWHERE, "goodbye", timers_run, END, leave_timers_running),
)
