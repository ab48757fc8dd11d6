"""One step of the conversation: ``advance(scene, event, now) -> (scene, replies, effects)``.

Everything that changes the state of the conversation is in the table's rows and here; the
clock is an argument and whatever is to happen outside is returned as effects.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from benchvoice.calculator.limits import Refusal
from benchvoice.dialogue import (
    aiming,
    always,
    batching,
    buckets,
    calibrating,
    coating,
    coming,
    dipping,
    dissolving,
    dropping,
    filling,
    first_water,
    flowing,
    history,
    hydrometry,
    judging,
    leaving,
    more,
    recipes,
    routines,
    switching,
    timing,
    weighing,
    weighing_out,
    wrong_material,
)
from benchvoice.dialogue.more import forget_more
from benchvoice.dialogue.past import with_step
from benchvoice.dialogue.scene import Scene, State, Turn, expectation
from benchvoice.dialogue.table import ANYWHERE, Row, Table, Then
from benchvoice.errors import CalculatorError
from benchvoice.messages import Effect, Event, Expectation, Meaning, Reply

TABLE = Table(
    [
        *routines.ROWS,  # before buckets: cancel leaves the routine first
        *buckets.ROWS,
        *switching.ROWS,
        *calibrating.ROWS,
        *weighing.ROWS,
        *filling.ROWS,
        *dropping.ROWS,
        *dissolving.ROWS,
        *aiming.ROWS,
        *history.ROWS,  # before flowing: a good mark that makes a range is more than a good mark
        *flowing.ROWS,
        *hydrometry.ROWS,
        *judging.ROWS,
        *recipes.ROWS,
        *batching.ROWS,
        *weighing_out.ROWS,
        *wrong_material.ROWS,
        *first_water.ROWS,
        *dipping.ROWS,
        *coating.ROWS,
        *leaving.ROWS,
        *more.ROWS,
        *timing.ROWS,
        *always.ROWS,
    ]
)
MISSES = frozenset({"unclear", "ambiguous", "silence"})
NOT_REPEATED = frozenset({"repeat", "rang", "counted"})


def begin(scene: Scene, now: datetime) -> tuple[Scene, tuple[Reply, ...], tuple[Effect, ...]]:
    """Open a session: greet, and ask the first question."""
    turn = Turn(scene, Meaning("start"), now)
    turn = turn.say("greeting", buckets=scene.bench.names())
    return _said(_asked(routines.take_up(turn)))


def advance(scene: Scene, event: Event, now: datetime) -> tuple[Scene, tuple[Reply, ...], tuple[Effect, ...]]:
    """Return the scene after an event, what is to be said, and what is to be carried out.

    What the calculator refuses is said and changes nothing.
    """
    meaning = coming.meaning_of(event, now)
    turn = Turn(scene, meaning, now)
    try:
        turn = _carried_out(turn)
    except CalculatorError as refusal:
        before = _back_from_held(Turn(scene, meaning, now))
        turn = _asked(before.say("refused", error=refusal, **_facts(refusal)))
    if meaning.kind not in MISSES:
        turn = turn.set(misses=0)
    return _said(forget_more(turn, scene))


def expected(scene: Scene) -> Expectation:
    """Return what the scene's state takes, for the recogniser and for understanding."""
    return expectation(scene, (*TABLE.kinds_taken(scene.state), *routines.also_heard(scene)))


def _carried_out(turn: Turn) -> Turn:
    """Find the row, do what it says, go where it leads."""
    row = TABLE.row_for(turn)
    if row.then is Then.HELD:
        return _carry_out_held(row.action(turn))
    done = _with_past(_acted(turn, row), turn, row)
    followed = routines.follow(done, lambda asked: _acted(asked, TABLE.row_for(asked)))
    return followed if row.then is Then.STAYS and followed is done else _asked(followed)


def _acted(turn: Turn, row: Row) -> Turn:
    """Do what a row says, and go to the state that it names."""
    done = row.action(turn)
    if not isinstance(row.then, State):
        return done
    asking: Mapping[str, object] = {} if done.scene.asking is turn.scene.asking else done.scene.asking
    return done.set(state=row.then, asking=asking)


def _with_past(done: Turn, turn: Turn, row: Row) -> Turn:
    """Make it possible to come back here, where there is something to come back to."""
    moved = isinstance(row.then, State) or row.then is Then.ON
    here = row.then in (Then.STAYS, Then.AGAIN) and row.state is not ANYWHERE
    worth_it = moved or (here and done.scene.written > turn.scene.written)
    return replace(done, scene=with_step(done.scene, turn.scene, turn.meaning)) if worth_it else done


def _carry_out_held(turn: Turn) -> Turn:
    """Go to where the held meaning was said and carry it out there."""
    held = turn.scene.held
    assert held is not None
    scene = replace(turn.scene, state=held.state, held=None, asking=held.asking, past=held.past)
    there = replace(turn, scene=scene, meaning=held.meaning)
    return _carried_out(there).set(sure=False)


def _facts(refusal: CalculatorError) -> Mapping[str, object]:
    """Return a refusal's own facts, for its wording."""
    return refusal.facts if isinstance(refusal, Refusal) else {}


def _back_from_held(turn: Turn) -> Turn:
    """Leave the question whether something is right: it was refused, and is to be said anew."""
    held = turn.scene.held
    if held is None:
        return turn
    return turn.set(state=held.state, held=None, asking=held.asking, past=held.past)


def _asked(turn: Turn) -> Turn:
    """Add the question of the state that the scene is in."""
    scene = turn.scene
    facts = {"bucket": scene.bucket, "example": next(iter(scene.state.examples), "help"), **scene.asking}
    return turn.say(scene.state.ask, **facts)


def _said(turn: Turn) -> tuple[Scene, tuple[Reply, ...], tuple[Effect, ...]]:
    """Remember what is said, so that it can be repeated; a timer that cuts in is not what is asked for."""
    keeps = turn.meaning.kind in NOT_REPEATED or not turn.replies
    scene = turn.scene if keeps else replace(turn.scene, said=turn.replies)
    return scene, turn.replies, turn.effects
