"""Another bucket's name, said while something is under way: at once where nothing can be lost, else asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from benchvoice.dialogue import advice as advising
from benchvoice.dialogue.buckets import no_cup_yet, open_bucket
from benchvoice.dialogue.dipping import STAYING, stop_counting
from benchvoice.dialogue.routines import leave_routine, routine_under_way
from benchvoice.dialogue.said import heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import (
    ADD_WATER,
    ASK_CONTENTS,
    CUP_EMPTY,
    READY,
    RIGHT,
    THIN,
    WEIGH,
)
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.dialogue.tiles import DIPPING

SWITCHING = State("SWITCHING", "ask_switch", ("yes", "no"))

AT_REST = frozenset({READY, WEIGH, RIGHT, THIN, ASK_CONTENTS, CUP_EMPTY})
"""States in which all that was said is written down."""
DEAF = frozenset({"PAUSED", "END"})
"""States in which nobody speaks to the bench."""


@dataclass(frozen=True, slots=True)
class Switch:
    """The bucket that was named, and where the conversation stood."""

    name: str = ""
    state: State = READY
    asking: Mapping[str, object] = field(default_factory=dict)


# ---- guards ---------------------------------------------------------------------------------------


def nobody_speaks(turn: Turn) -> bool:
    """Hold while the bench is paused or has been left."""
    return turn.scene.state.name in DEAF


def open_already(turn: Turn) -> bool:
    """Hold when the bucket that was named is the open one."""
    return turn.meaning.text("bucket") == turn.scene.bucket


def something_unwritten(turn: Turn) -> bool:
    """Hold when a step is under way of which not all is written down, or a routine that would end."""
    return turn.scene.state not in AT_REST or routine_under_way(turn)


def dip_was_left(turn: Turn) -> bool:
    """Hold when a dip was being counted: nobody knows any more when the tile went in."""
    return turn.scene.work(Switch).state == DIPPING


# ---- actions --------------------------------------------------------------------------------------


def say_open_already(turn: Turn) -> Turn:
    """Say that this is the bucket at work."""
    return turn.say("open_already", name=turn.scene.bucket)


def ask_to_switch(turn: Turn) -> Turn:
    """Ask whether to leave this for that bucket, and say what would be lost."""
    name, scene = turn.meaning.text("bucket"), turn.scene
    kept = scene.work(Switch) if scene.state == SWITCHING else Switch("", scene.state, scene.asking)
    return turn.keep(replace(kept, name=name)).ask(name=name, loses=_loses(turn, kept.state))


def _loses(turn: Turn, state: State) -> str:
    if state not in AT_REST:
        return "step"
    return "routine" if routine_under_way(turn) else ""


def switch(turn: Turn) -> Turn:
    """Put the open bucket aside, as far as it has come, and work on the one that was named."""
    return open_bucket(_put_aside(turn).set(bucket=turn.meaning.text("bucket")))


def switch_as_asked(turn: Turn) -> Turn:
    """Leave what was under way for the bucket that was named."""
    kept = turn.scene.work(Switch)
    turn = turn.set(state=kept.state, asking=kept.asking, held=None)
    turn = leave_routine(turn) if routine_under_way(turn) else turn
    return open_bucket(_put_aside(turn).set(bucket=kept.name))


def _put_aside(turn: Turn) -> Turn:
    bucket = turn.scene.bucket
    if bucket not in turn.scene.bench.names():  # none is open, or one that has no more than a name yet
        return turn
    facts = advising.summary(turn.scene)
    return turn.write("closed", facts).say("put_aside", bucket=bucket, gravity=facts["gravity"])


def stay(turn: Turn) -> Turn:
    """Go on where the conversation stood."""
    kept = turn.scene.work(Switch)
    return turn.set(state=kept.state, asking=kept.asking).say("carrying_on")


# ---- rows -----------------------------------------------------------------------------------------


def _rows(state: State) -> tuple[Row, ...]:
    return (
        Row(state, "choose_bucket", open_already, Then.AGAIN, say_open_already),
        Row(state, "choose_bucket", heard_badly, SWITCHING, ask_to_switch),
        Row(state, "choose_bucket", something_unwritten, SWITCHING, ask_to_switch),
        Row(state, "choose_bucket", no_cup_yet, CUP_EMPTY, switch),
        Row(state, "choose_bucket", always, WEIGH, switch),
    )


ROWS = (
    *(row for state in (WEIGH, RIGHT, THIN, ADD_WATER) for row in _rows(state)),
    Row(ANYWHERE, "choose_bucket", nobody_speaks, Then.AGAIN, nothing),
    *_rows(ANYWHERE),
    Row(SWITCHING, "yes", no_cup_yet, CUP_EMPTY, switch_as_asked),
    Row(SWITCHING, "yes", always, WEIGH, switch_as_asked),
    *(Row(SWITCHING, kind, dip_was_left, Then.RETURNS, stop_counting) for kind in STAYING),
    *(Row(SWITCHING, kind, always, Then.RETURNS, stay) for kind in STAYING),
)
