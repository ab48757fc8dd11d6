"""Going on with a routine by itself: after each turn, and as far as it goes without the potter.

A step asks for its task as the potter would, so that it is the table that decides what follows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from benchvoice.calculator.limits import Refusal
from benchvoice.dialogue import readings
from benchvoice.dialogue.bench import of_kind
from benchvoice.dialogue.clockwork import live
from benchvoice.dialogue.routine_run import (
    HANDS_OFF,
    ROUTINE_STEP,
    Run,
    Stop,
    running,
    the_run,
    written,
)
from benchvoice.dialogue.routine_tasks import SPOKEN, TASKS, Asked
from benchvoice.dialogue.routine_text import Ask, Do, Told, Wait
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import ASK_TARGET, CUP_EMPTY, READY, RIGHT, WEIGH
from benchvoice.dialogue.timing import say_left
from benchvoice.errors import CalculatorError
from benchvoice.messages import Meaning
from benchvoice.timers import Timer

GOES_BACK = frozenset({"undo", "go_back"})
"""What returns to an earlier step, and must not go on again at once."""
RANG = ("timer_due", "timer_was_due")
CarryOut = Callable[[Turn], Turn]


def follow(turn: Turn, carry_out: CarryOut) -> Turn:
    """Go on with the routine when its present step is over, as far as it goes without the potter."""
    run = running(turn.scene)
    if run is None or turn.scene.state.name in HANDS_OFF:
        return turn
    if turn.meaning.kind in GOES_BACK and run.last.facts["act"] == "step":
        return _waiting_again(turn, run)
    turn = _with_target(turn, run, carry_out)
    run = the_run(turn.scene)
    return _go_on(turn, run, carry_out) if _over(turn, run) else turn


def _over(turn: Turn, run: Run) -> bool:
    """Tell whether the present step is over: ticked off, skipped, reached, or its bucket was left."""
    if run.last.facts["act"] != "step":
        return True
    scene, act = turn.scene, run.stop.step.act
    if isinstance(act, Wait):
        return all(timer.rings(turn.now) for timer in _timer(scene, act))
    if isinstance(act, Do) and act.task in TASKS:
        left = not run.stop.can_be_done(scene) and scene.state == READY
        return left or TASKS[act.task].reached(scene, run.since_last)
    return False


def _with_target(turn: Turn, run: Run, carry_out: CarryOut) -> Turn:
    """Answer the question for a new bucket's target where the step says it."""
    act = run.act
    if not (turn.scene.state == ASK_TARGET and isinstance(act, Do) and act.target):
        return turn
    low, high = (Decimal(str(gravity)) for gravity in act.target)
    return _as_if_said(turn, Meaning("target_range", {"low": low, "high": high}), carry_out)


def _go_on(turn: Turn, run: Run, carry_out: CarryOut) -> Turn:
    turn = without_timer(turn, run)
    for place in range(run.place + 1, len(run.stops)):
        stop = run.stops[place]
        if stop.can_be_done(turn.scene):
            turn = _begun(turn, run, place, carry_out)
            now = running(turn.scene)
            if now is not None and now.last.facts["act"] == "step" and not _over(turn, now):
                return replace(turn, meaning=Meaning("done"))
    turn = written(turn, run, "end", len(run.stops)).say("routine_done", routine=run.routine.name)
    return replace(home(turn), meaning=Meaning("done"))


def _begun(turn: Turn, run: Run, place: int, carry_out: CarryOut) -> Turn:
    """Begin one step: say what is to be said, and ask for its task; nothing where there is nothing to do."""
    stop = run.stops[place]
    if stop.bucket is not None and turn.scene.bucket is not None:
        turn = turn.set(bucket=stop.bucket)
    asked = _asked(turn, stop)
    if asked is None and isinstance(stop.step.act, Do) and stop.step.act.task in TASKS:
        return turn
    turn = _told(turn, stop.step.told)
    match stop.step.act:
        case None:
            return turn
        case Ask(question):
            asking = {"question": question.full, "terse": question.terse}
            return written(turn, run, "step", place).set(state=ROUTINE_STEP, asking=asking)
        case Wait() as wait:
            return _waiting(written(turn, run, "step", place), run, wait)
        case Do(task) if task in SPOKEN:
            return SPOKEN[task](turn, run.since_begun, run.buckets)
        case Do():
            assert asked is not None
            return _asked_for(written(turn, run, "step", place), run, place, asked, carry_out)


def _asked(turn: Turn, stop: Stop) -> Asked | None:
    """Return how a step's task is asked for; None when it has none, or when there is nothing to do."""
    act = stop.step.act
    return (
        TASKS[act.task].asks(turn.scene, stop.bucket) if isinstance(act, Do) and act.task in TASKS else None
    )


def _asked_for(turn: Turn, run: Run, place: int, asked: Asked, carry_out: CarryOut) -> Turn:
    """Ask for a task; what the calculator refuses is said, and the step is over."""
    there = turn.set(state=asked.state, asking={})
    if asked.state == READY:
        there = there.set(bucket=None)
    if asked.meaning is None:
        return there
    try:
        return _as_if_said(there, asked.meaning, carry_out)
    except CalculatorError as refusal:
        facts = refusal.facts if isinstance(refusal, Refusal) else {}
        return written(there.say("refused", error=refusal, **facts), run, "done", place)


def _as_if_said(turn: Turn, meaning: Meaning, carry_out: CarryOut) -> Turn:
    return replace(carry_out(replace(turn, meaning=meaning)), meaning=turn.meaning)


def _told(turn: Turn, told: Told | None) -> Turn:
    """Say a step's sentence; who wants it short hears nothing where there is no short one."""
    if told is None or (not told.terse and turn.scene.bench.setting("wording", "full") == "terse"):
        return turn
    return turn.say("routine_says", full=told.full, terse=told.terse)


def _waiting(turn: Turn, run: Run, wait: Wait) -> Turn:
    """Let the timer run; after a new start of the program it still does."""
    turn = turn.set(state=ROUTINE_STEP, asking={"called": wait.called})
    if run.last.facts["act"] == "again" and _timer(turn.scene, wait):
        return say_left(turn)
    return _timer_begun(turn, wait)


def _waiting_again(turn: Turn, run: Run) -> Turn:
    """Let the timer run anew when the step that was gone back to waits for one that is no more."""
    act = run.act
    gone = isinstance(act, Wait) and not _timer(turn.scene, act)
    return _timer_begun(turn, act) if isinstance(act, Wait) and gone else turn


def _timer(scene: Scene, wait: Wait) -> tuple[Timer, ...]:
    """Return the timer that is waited for, if it is not stopped."""
    return tuple(timer for timer in live(scene) if timer.name == wait.called)


def _timer_begun(turn: Turn, wait: Wait) -> Turn:
    facts = {"name": wait.called, "act": "start", "seconds": wait.seconds, "given": True}
    return turn.write("timer", facts, about_bucket=False).say(
        "timer_left", name=wait.called, seconds=wait.seconds
    )


def without_timer(turn: Turn, run: Run) -> Turn:
    """Stop the timer of a wait that is over; where it rang, say no more than that."""
    act = run.act
    if not isinstance(act, Wait) or run.last.facts["act"] == "again" or not _timer(turn.scene, act):
        return turn
    others = tuple(r for r in turn.replies if not (r.key in RANG and r.facts["name"] == act.called))
    if any(timer.rings(turn.now) for timer in _timer(turn.scene, act)):
        turn = replace(turn, replies=others).say("routine_time_up", name=act.called)
    return turn.write("timer", {"name": act.called, "act": "stop", "seconds": 0.0}, about_bucket=False)


def home(turn: Turn) -> Turn:
    """Return to the state in which the bench is without a routine, if the routine's own was the last."""
    scene = turn.scene
    if scene.state.name not in ("ROUTINE_STEP", "ROUTINE_RESUME"):
        return turn
    return turn.set(state=_home_state(scene), asking={})


def _home_state(scene: Scene) -> State:
    if scene.bucket is None:
        return READY
    if scene.bench.last("cup") is None:
        return CUP_EMPTY
    read = of_kind(scene.bench.since("opened", scene.bucket), "reading")
    return RIGHT if read and readings.last_verdict(scene) == "right" else WEIGH
