"""Routines: a list of steps that leads through the dialogue; begun, left, taken up again, asked after."""

from __future__ import annotations

from benchvoice.dialogue.always import say_where
from benchvoice.dialogue.clockwork import live
from benchvoice.dialogue.following import follow, home, without_timer
from benchvoice.dialogue.past import can_go_back
from benchvoice.dialogue.routine_run import (
    HANDS_OFF,
    ROUTINE_RESUME,
    ROUTINE_STEP,
    running,
    stops_of,
    the_run,
    written,
)
from benchvoice.dialogue.routine_text import Routine, Wait
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always
from benchvoice.dialogue.timing import say_left

__all__ = ["ROWS", "also_heard", "follow", "take_up"]

HEARD_IN_ROUTINE = ("skip",)
"""What is waited for at every step of a routine, besides what the step's own state takes."""


def also_heard(scene: Scene) -> tuple[str, ...]:
    """Return the kinds that are heard at every step while a routine leads."""
    leads = not scene.state.alone and scene.state.name not in HANDS_OFF and running(scene) is not None
    return HEARD_IN_ROUTINE if leads else ()


# ---- guards ---------------------------------------------------------------------------------------


def routine_under_way(turn: Turn) -> bool:
    """Hold while a routine leads; a question that waits for a yes is answered first."""
    asks_first = turn.scene.state.name in HANDS_OFF - {"PAUSED"}
    return not asks_first and running(turn.scene) is not None


def one_under_way(turn: Turn) -> bool:
    """Hold when another routine, or this one, is not finished."""
    return running(turn.scene) is not None


def only_routine_goes_back(turn: Turn) -> bool:
    """Hold when a routine has a step before this one, but this session has none."""
    run = running(turn.scene)
    return routine_under_way(turn) and run is not None and bool(run.waits_before()) and not can_go_back(turn)


def no_bucket_for_it(turn: Turn) -> bool:
    """Hold when it goes through the buckets and there are none."""
    return _named(turn).goes_round and not turn.scene.bench.names()


def _named(turn: Turn) -> Routine:
    name = turn.meaning.text("routine")
    return next(routine for routine in turn.scene.routines if routine.name == name)


# ---- actions ----------------------------------------------------------------------------------------


def begin_routine(turn: Turn) -> Turn:
    """Begin a routine: its name, its length and what it is for."""
    routine, buckets = _named(turn), turn.scene.bench.names()
    facts = {"name": routine.name, "act": "begin", "step": -1, "at": None, "buckets": list(buckets)}
    turn = turn.write("routine", facts, about_bucket=False)
    steps = sum(stop.waits for stop in stops_of(routine, buckets))
    about = routine.about
    return turn.say("routine_begun", routine=routine.name, steps=steps, full=about.full, terse=about.terse)


def say_no_buckets_for_it(turn: Turn) -> Turn:
    """Say how to begin the first bucket."""
    return turn.say("no_buckets")


def say_routines(turn: Turn) -> Turn:
    """Name the routines."""
    return turn.say("routines", names=tuple(routine.name for routine in turn.scene.routines))


def tick_off(turn: Turn) -> Turn:
    """Take the step as done."""
    return _past(turn, "done")


def skip_step(turn: Turn) -> Turn:
    """Leave the step out."""
    return _past(turn, "skip").say("routine_skipped")


def _past(turn: Turn, act: str) -> Turn:
    run = the_run(turn.scene)
    return written(without_timer(turn, run), run, act, run.place)


def step_before(turn: Turn) -> Turn:
    """Begin the step before this one again: what came before the program began anew can not be undone."""
    run = the_run(turn.scene)
    turn = written(without_timer(turn, run), run, "again", run.waits_before()[-1] - 1)
    return turn.say("routine_back")


def say_it_waits(turn: Turn) -> Turn:
    """Say that there is time."""
    return turn.say("routine_waits")


def say_where_in_routine(turn: Turn) -> Turn:
    """Say which step of which routine this is, and at which bucket."""
    run = the_run(turn.scene)
    step, steps = run.counted()
    turn = turn.say("routine_where", routine=run.routine.name, step=step, steps=steps)
    turn = turn if turn.scene.bucket is None else say_where(turn)
    act = run.act
    return say_left(turn) if isinstance(act, Wait) and live(turn.scene) else turn


def leave_routine(turn: Turn) -> Turn:
    """Leave the routine; the bucket stays open."""
    run = the_run(turn.scene)
    turn = written(without_timer(turn, run), run, "left", run.place)
    return home(turn.say("routine_left", routine=run.routine.name))


def ask_resume(turn: Turn) -> Turn:
    """Say how far the routine is that is under way."""
    return turn.set(asking=_resume_facts(turn.scene))


def take_up(turn: Turn) -> Turn:
    """Ask, at the beginning of a session, about a routine that is not finished."""
    if running(turn.scene) is None:
        return turn
    return turn.set(state=ROUTINE_RESUME, asking=_resume_facts(turn.scene))


def _resume_facts(scene: Scene) -> dict[str, object]:
    run = the_run(scene)
    step, steps = run.counted()
    return {"routine": run.routine.name, "step": step, "steps": steps}


def resume_routine(turn: Turn) -> Turn:
    """Go back to the bucket and begin the step again."""
    run = the_run(turn.scene)
    at = run.last.facts["at"]
    turn = turn.set(bucket=None if at is None else str(at), state=ROUTINE_STEP, asking={})
    return written(turn, run, "again", run.place - 1)


ROWS = (
    Row(READY, "list_routines", always, Then.AGAIN, say_routines),
    Row(READY, "start_routine", one_under_way, ROUTINE_RESUME, ask_resume),
    Row(READY, "start_routine", no_bucket_for_it, Then.AGAIN, say_no_buckets_for_it),
    Row(READY, "start_routine", always, ROUTINE_STEP, begin_routine),
    *(Row(ROUTINE_STEP, kind, always, Then.ON, tick_off) for kind in ("done", "yes")),
    Row(ROUTINE_STEP, "no", always, Then.AGAIN, say_it_waits),
    *(Row(ROUTINE_RESUME, kind, always, Then.RETURNS, resume_routine) for kind in ("yes", "continue_")),
    *(Row(ROUTINE_RESUME, kind, always, Then.RETURNS, leave_routine) for kind in ("no", "cancel")),
    Row(ANYWHERE, "skip", routine_under_way, Then.ON, skip_step),
    Row(ANYWHERE, "go_back", only_routine_goes_back, Then.ON, step_before),
    Row(ANYWHERE, "where", routine_under_way, Then.AGAIN, say_where_in_routine),
    Row(ANYWHERE, "cancel", routine_under_way, Then.ON, leave_routine),
)
