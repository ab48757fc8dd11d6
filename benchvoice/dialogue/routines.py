"""Routines: a list of steps that leads through the dialogue. A step asks for its task as the potter would.

Where a routine stands is in its entries (kind ``routine``), so undo and a new start of the program need
nothing of their own: ``act`` is begin, step, done, skip, again, end or left, ``step`` the place of the step.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import cast

from benchvoice.calculator.limits import Refusal
from benchvoice.dialogue import readings
from benchvoice.dialogue.always import say_where
from benchvoice.dialogue.bench import of_kind
from benchvoice.dialogue.clockwork import live
from benchvoice.dialogue.past import can_go_back
from benchvoice.dialogue.routine_tasks import SPOKEN, TASKS, Asked
from benchvoice.dialogue.routine_text import Ask, Do, ForEvery, Routine, Step, Told, Wait
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import ASK_TARGET, READY, RIGHT, WEIGH
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always
from benchvoice.dialogue.timing import say_left
from benchvoice.errors import CalculatorError
from benchvoice.messages import Entry, Meaning
from benchvoice.timers import Timer

ROUTINE_STEP = State(
    "ROUTINE_STEP", "ask_routine_step", ("done", "skip it", "go back", "where are we", "cancel")
)
ROUTINE_RESUME = State("ROUTINE_RESUME", "ask_routine_resume", ("yes", "no"))

HANDS_OFF = frozenset({"PAUSED", "END", "CONFIRM", "ROUTINE_RESUME"})
"""States in which no step is begun, whatever is reached."""
HEARD_IN_ROUTINE = ("skip",)
"""What is waited for at every step of a routine, besides what the step's own state takes."""
GOES_BACK = frozenset({"undo", "go_back"})
"""What returns to an earlier step, and must not go on again at once."""
RANG = ("timer_due", "timer_was_due")
CarryOut = Callable[[Turn], Turn]


@dataclass(frozen=True, slots=True)
class Stop:
    """A step in its place, with the bucket that it is about."""

    step: Step
    bucket: str | None = None

    @property
    def waits(self) -> bool:
        """Whether the potter is waited for here."""
        act = self.step.act
        if isinstance(act, Do):
            own = act.task == "open a bucket" and self.bucket is not None
            return act.task in TASKS and not TASKS[act.task].goes_on and not own
        return act is not None

    def can_be_done(self, scene: Scene) -> bool:
        """Tell whether an open bucket is there where one is needed."""
        act = self.step.act
        needs = isinstance(act, Do) and act.task in TASKS and TASKS[act.task].at_bucket
        return scene.bucket is not None or not needs


@dataclass(frozen=True, slots=True)
class Run:
    """A routine that is under way."""

    routine: Routine
    buckets: tuple[str, ...]
    """The buckets that are gone through."""
    last: Entry
    """Its newest entry."""
    since_begun: tuple[Entry, ...]
    since_last: tuple[Entry, ...]

    @property
    def place(self) -> int:
        """The place of the present step; -1 before the first."""
        return int(cast(int, self.last.facts["step"]))

    @property
    def stops(self) -> tuple[Stop, ...]:
        """Every step in its place."""
        return tuple(_stops(self.routine, self.buckets))

    @property
    def stop(self) -> Stop:
        """The present step."""
        return self.stops[self.place]

    def counted(self) -> tuple[int, int]:
        """Return which of the steps that wait for the potter this is, and how many there are."""
        waits = [place for place, stop in enumerate(self.stops) if stop.waits]
        return sum(place <= self.place for place in waits), len(waits)


def _stops(routine: Routine, buckets: tuple[str, ...]) -> Iterator[Stop]:
    for step in routine.steps:
        if isinstance(step, ForEvery):
            if step.told is not None:
                yield Stop(Step(step.told))
            yield from (Stop(inner, bucket) for bucket in buckets for inner in step.each)
        else:
            yield Stop(step)


def running(scene: Scene) -> Run | None:
    """Return the routine that is under way, or None; one whose file has gone is no more."""
    entries = scene.bench.entries
    places = [place for place, entry in enumerate(entries) if entry.kind == "routine"]
    if not places or entries[places[-1]].facts["act"] in ("end", "left"):
        return None
    begun = max(place for place in places if entries[place].facts["act"] == "begin")
    routine = next((r for r in scene.routines if r.name == entries[begun].facts["name"]), None)
    if routine is None:
        return None
    buckets = tuple(str(name) for name in cast(list[object], entries[begun].facts["buckets"]))
    last = places[-1]
    run = Run(routine, buckets, entries[last], entries[begun + 1 :], entries[last + 1 :])
    return run if run.place < len(run.stops) else None


def also_heard(scene: Scene) -> tuple[str, ...]:
    """Return the kinds that are heard at every step while a routine leads."""
    leads = not scene.state.alone and scene.state.name not in HANDS_OFF and running(scene) is not None
    return HEARD_IN_ROUTINE if leads else ()


# ---- going on by itself ----------------------------------------------------------------------------


def follow(turn: Turn, carry_out: CarryOut) -> Turn:
    """Go on with the routine when its present step is over, as far as it goes without the potter."""
    run = running(turn.scene)
    if run is None or turn.scene.state.name in HANDS_OFF:
        return turn
    if turn.meaning.kind in GOES_BACK and run.last.facts["act"] == "step":
        return _waiting_again(turn, run)
    turn = _with_target(turn, run, carry_out)
    run = running(turn.scene)
    assert run is not None
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
    act = None if run.place < 0 else run.stop.step.act
    if not (turn.scene.state == ASK_TARGET and isinstance(act, Do) and act.target):
        return turn
    low, high = (Decimal(str(gravity)) for gravity in act.target)
    return _as_if_said(turn, Meaning("target_range", {"low": low, "high": high}), carry_out)


def _go_on(turn: Turn, run: Run, carry_out: CarryOut) -> Turn:
    turn = _without_timer(turn, run)
    for place in range(run.place + 1, len(run.stops)):
        stop = run.stops[place]
        if stop.can_be_done(turn.scene):
            turn = _begun(turn, run, place, carry_out)
            now = running(turn.scene)
            if now is not None and now.last.facts["act"] == "step" and not _over(turn, now):
                return replace(turn, meaning=Meaning("done"))
    turn = _written(turn, run, "end", len(run.stops)).say("routine_done", routine=run.routine.name)
    return replace(_home(turn), meaning=Meaning("done"))


def _begun(turn: Turn, run: Run, place: int, carry_out: CarryOut) -> Turn:
    """Begin one step: say what is to be said, and ask for its task; nothing where there is nothing to do."""
    stop = run.stops[place]
    asked = _asked(turn, stop)
    if asked is None and isinstance(stop.step.act, Do) and stop.step.act.task in TASKS:
        return turn
    turn = _told(turn, stop.step.told)
    match stop.step.act:
        case None:
            return turn
        case Ask(question):
            asking = {"question": question.full, "terse": question.terse}
            return _written(turn, run, "step", place).set(state=ROUTINE_STEP, asking=asking)
        case Wait() as wait:
            return _waiting(_written(turn, run, "step", place), run, wait)
        case Do(task) if task in SPOKEN:
            return SPOKEN[task](turn, run.since_begun, run.buckets)
        case Do():
            assert asked is not None
            return _asked_for(_written(turn, run, "step", place), run, place, asked, carry_out)


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
        return _written(there.say("refused", error=refusal, **facts), run, "done", place)


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
    act = None if run.place < 0 else run.stop.step.act
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


def _without_timer(turn: Turn, run: Run) -> Turn:
    """Stop the timer of a wait that is over; where it rang, say no more than that."""
    act = None if run.place < 0 else run.stop.step.act
    if not isinstance(act, Wait) or run.last.facts["act"] == "again" or not _timer(turn.scene, act):
        return turn
    others = tuple(r for r in turn.replies if not (r.key in RANG and r.facts["name"] == act.called))
    if any(timer.rings(turn.now) for timer in _timer(turn.scene, act)):
        turn = replace(turn, replies=others).say("routine_time_up", name=act.called)
    return turn.write("timer", {"name": act.called, "act": "stop", "seconds": 0.0}, about_bucket=False)


def _home(turn: Turn) -> Turn:
    """Return to the state in which the bench is without a routine, if the routine's own was the last."""
    scene = turn.scene
    if scene.state.name not in ("ROUTINE_STEP", "ROUTINE_RESUME"):
        return turn
    read = of_kind(scene.bench.since("opened", scene.bucket), "reading")
    right = bool(read) and readings.last_verdict(scene) == "right"
    state = READY if scene.bucket is None else RIGHT if right else WEIGH
    return turn.set(state=state, asking={})


def _written(turn: Turn, run: Run, act: str, place: int) -> Turn:
    """Write down where the routine stands; not about the bucket, whose entries tell of its glaze only."""
    facts = {"name": run.routine.name, "act": act, "step": place, "at": turn.scene.bucket}
    return turn.write("routine", facts, about_bucket=False)


# ---- guards ---------------------------------------------------------------------------------------


def routine_under_way(turn: Turn) -> bool:
    """Hold while a routine leads."""
    return turn.scene.state.name not in HANDS_OFF and running(turn.scene) is not None


def one_under_way(turn: Turn) -> bool:
    """Hold when another routine, or this one, is not finished."""
    return running(turn.scene) is not None


def only_routine_goes_back(turn: Turn) -> bool:
    """Hold when a routine has a step before this one, but this session has none."""
    run = running(turn.scene)
    return routine_under_way(turn) and run is not None and bool(_waits_before(run)) and not can_go_back(turn)


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
    steps = sum(stop.waits for stop in _stops(routine, buckets))
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
    run = running(turn.scene)
    assert run is not None
    return _written(_without_timer(turn, run), run, act, run.place)


def step_before(turn: Turn) -> Turn:
    """Begin the step before this one again: what came before the program began anew can not be undone."""
    run = running(turn.scene)
    assert run is not None
    turn = _written(_without_timer(turn, run), run, "again", _waits_before(run)[-1] - 1)
    return turn.say("routine_back")


def _waits_before(run: Run) -> list[int]:
    return [place for place in range(run.place) if run.stops[place].waits]


def say_it_waits(turn: Turn) -> Turn:
    """Say that there is time."""
    return turn.say("routine_waits")


def say_where_in_routine(turn: Turn) -> Turn:
    """Say which step of which routine this is, and at which bucket."""
    run = running(turn.scene)
    assert run is not None
    step, steps = run.counted()
    turn = turn.say("routine_where", routine=run.routine.name, step=step, steps=steps)
    turn = turn if turn.scene.bucket is None else say_where(turn)
    act = None if run.place < 0 else run.stop.step.act
    return say_left(turn) if isinstance(act, Wait) and live(turn.scene) else turn


def leave_routine(turn: Turn) -> Turn:
    """Leave the routine; the bucket stays open."""
    run = running(turn.scene)
    assert run is not None
    turn = _written(_without_timer(turn, run), run, "left", run.place)
    return _home(turn.say("routine_left", routine=run.routine.name))


def ask_resume(turn: Turn) -> Turn:
    """Say how far the routine is that is under way."""
    return turn.set(asking=_resume_facts(turn.scene))


def take_up(turn: Turn) -> Turn:
    """Ask, at the beginning of a session, about a routine that is not finished."""
    if running(turn.scene) is None:
        return turn
    return turn.set(state=ROUTINE_RESUME, asking=_resume_facts(turn.scene))


def _resume_facts(scene: Scene) -> dict[str, object]:
    run = running(scene)
    assert run is not None
    step, steps = run.counted()
    return {"routine": run.routine.name, "step": step, "steps": steps}


def resume_routine(turn: Turn) -> Turn:
    """Go back to the bucket and begin the step again."""
    run = running(turn.scene)
    assert run is not None
    at = run.last.facts["at"]
    turn = turn.set(bucket=None if at is None else str(at), state=ROUTINE_STEP, asking={})
    return _written(turn, run, "again", run.place - 1)


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
