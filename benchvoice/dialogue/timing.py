"""Timers by voice, at every step: begun, asked after, paused, stopped; ringing until somebody answers.

They are no part of the work at a bucket: an undo leaves them alone, and a ring changes no step.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from benchvoice.dialogue import clockwork
from benchvoice.dialogue.clockwork import LONGEST_S, is_time, live, meant, name_said, ringing, seconds_of
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.messages import Amount
from benchvoice.timers import Timer

LATE_S = 60.0
"""From so long after it was due [s] a timer says how long ago that was (our choice)."""
STARTED = ("timer_started", "timer_started_named", "timer_replaced")


# ---- guards ---------------------------------------------------------------------------


def no_length(turn: Turn) -> bool:
    """Hold when it was not said for how long."""
    return not turn.meaning.has_amount()


def length_without_unit(turn: Turn) -> bool:
    """Hold when a bare number was said, which may be seconds or minutes."""
    return turn.amount.unit is None


def length_of_nothing(turn: Turn) -> bool:
    """Hold when the time is nothing at all."""
    return seconds_of(turn.amount) <= 0


def too_long(turn: Turn) -> bool:
    """Hold when the timer would run for more than a day."""
    return seconds_of(turn.amount) > LONGEST_S


def name_runs(turn: Turn) -> bool:
    """Hold when a timer of the name that was said is not stopped yet."""
    return bool(_same(turn))


def no_timers(turn: Turn) -> bool:
    """Hold when there is no timer at all."""
    return not live(turn.scene)


def no_such_timer(turn: Turn) -> bool:
    """Hold when there is no timer of the name or length that was said."""
    return not meant(turn)


def named_rings(turn: Turn) -> bool:
    """Hold when the timer that was named is ringing."""
    return name_said(turn) is not None and any(timer.rings(turn.now) for timer in meant(turn))


def something_rings(turn: Turn) -> bool:
    """Hold when a timer is ringing."""
    return bool(ringing(turn))


def all_meant(turn: Turn) -> bool:
    """Hold when all timers were asked for."""
    return "every_timer" in turn.meaning.slots


def which_is_unclear(turn: Turn) -> bool:
    """Hold when several timers may be meant."""
    return len(meant(turn)) > 1


def rings_unnamed(turn: Turn) -> bool:
    """Hold when a timer rings and it was not said which one is meant."""
    return something_rings(turn) and name_said(turn) is None and no_length(turn)


def none_runs(turn: Turn) -> bool:
    """Hold when none of the timers that are meant runs."""
    return not _running(turn)


def several_run(turn: Turn) -> bool:
    """Hold when several timers may be meant to pause."""
    return len(_running(turn)) > 1


def none_stands(turn: Turn) -> bool:
    """Hold when none of the timers that are meant stands still."""
    return not _standing(turn)


def several_stand(turn: Turn) -> bool:
    """Hold when several timers may be meant to run on."""
    return len(_standing(turn)) > 1


def timer_just_started(turn: Turn) -> bool:
    """Hold when the last thing said was that a timer runs, and a time is being put right."""
    said = turn.scene.said
    return bool(said) and said[0].key in STARTED and is_time(turn.amount) and seconds_of(turn.amount) > 0


# ---- beginning -------------------------------------------------------------------------


def ask_for_length(turn: Turn) -> Turn:
    """Ask for how long."""
    return turn.say("timer_how_long")


def ask_for_unit(turn: Turn) -> Turn:
    """Ask whether seconds or minutes are meant."""
    return turn.say("timer_which_unit", amount=turn.amount)


def say_nothing_to_time(turn: Turn) -> Turn:
    """Say that a timer needs some time."""
    return turn.say("timer_of_nothing")


def say_too_long(turn: Turn) -> Turn:
    """Say that a day is the most."""
    return turn.say("timer_too_long", seconds=seconds_of(turn.amount))


def start_timer(turn: Turn) -> Turn:
    """Let a timer run."""
    seconds = seconds_of(turn.amount)
    name = clockwork.new_name(turn, seconds)
    key = "timer_started" if name_said(turn) is None else "timer_started_named"
    turn = _started(turn, name, seconds, given=name_said(turn) is not None)
    return turn.say(key, name=name, seconds=seconds, amount=turn.amount)


def replace_timer(turn: Turn) -> Turn:
    """Let a timer run in the place of the one of that name, and say what that one had left."""
    seconds, before = seconds_of(turn.amount), _same(turn)[0]
    turn = _started(turn, before.name, seconds, given=True)
    left = before.seconds_left(turn.now)
    return turn.say("timer_replaced", name=before.name, seconds=seconds, left=left, amount=turn.amount)


def correct_timer(turn: Turn) -> Turn:
    """Let the timer that was begun last run for the time that was meant."""
    facts = turn.scene.said[0].facts
    name, wrong, right = str(facts["name"]), facts["amount"], turn.amount
    assert isinstance(wrong, Amount)
    right = Amount(right.value, right.unit or wrong.unit, right.words)
    seconds, given = seconds_of(right), turn.scene.said[0].key != "timer_started"
    turn = _written(turn, name, "stop", 0.0)
    name = name if given else clockwork.new_name(turn, seconds)
    turn = _started(turn, name, seconds, given=given)
    return turn.say(
        "timer_started_named" if given else "timer_started", name=name, seconds=seconds, amount=right
    )


# ---- asking ------------------------------------------------------------------------------


def say_no_timers(turn: Turn) -> Turn:
    """Say that no timer runs, and how to begin one."""
    return turn.say("no_timers")


def say_no_such_timer(turn: Turn) -> Turn:
    """Name the timers that there are."""
    return turn.say("no_such_timer", names=tuple(timer.name for timer in live(turn.scene)))


def say_left(turn: Turn) -> Turn:
    """Say what is left of each timer that is meant, the next to be due first."""
    for timer in sorted(meant(turn), key=lambda timer: timer.seconds_left(turn.now)):
        turn = _say_one(turn, timer)
    return turn


def _say_one(turn: Turn, timer: Timer) -> Turn:
    if timer.rings(turn.now):
        return _say_rang(turn, timer)
    key = "timer_left" if timer.due is not None else "timer_stands"
    return turn.say(key, name=timer.name, seconds=timer.seconds_left(turn.now))


def ask_which(turn: Turn) -> Turn:
    """Ask which timer is meant."""
    return turn.say("which_timer", names=tuple(timer.name for timer in live(turn.scene)))


# ---- pausing, stopping ---------------------------------------------------------------------


def pause_timer(turn: Turn) -> Turn:
    """Let a timer stand still."""
    timer = _running(turn)[0]
    left = timer.seconds_left(turn.now)
    return _written(turn, timer.name, "pause", left).say("timer_paused", name=timer.name, seconds=left)


def resume_timer(turn: Turn) -> Turn:
    """Let a timer run on."""
    timer = _standing(turn)[0]
    turn = _written(turn, timer.name, "resume", timer.left)
    return turn.say("timer_resumed", name=timer.name, seconds=timer.left)


def stop_timers(turn: Turn) -> Turn:
    """Forget the timers that are meant."""
    return _stopped(turn, meant(turn))


def answer_ringing(turn: Turn) -> Turn:
    """Silence every timer that rings."""
    return _stopped(turn, ringing(turn))


def say_nothing_rings(turn: Turn) -> Turn:
    """Say that no timer is ringing."""
    return turn.say("nothing_rings")


def _stopped(turn: Turn, which: tuple[Timer, ...]) -> Turn:
    for timer in which:
        turn = _written(turn, timer.name, "stop", 0.0)
    return turn.say("timer_stopped", names=tuple(timer.name for timer in which))


# ---- what comes of itself ---------------------------------------------------------------------


def tell_timer(turn: Turn) -> Turn:
    """Say that a timer is due, or how long ago it was."""
    name = turn.meaning.text("timer")
    found = next((timer for timer in live(turn.scene) if timer.name == name), None)
    return turn if found is None else _say_rang(turn, found)


def _say_rang(turn: Turn, timer: Timer) -> Turn:
    late = timer.seconds_late(turn.now)
    # Stop is heard best, but where the step itself is ended by it, it must not be asked for.
    answer = "got it" if "stop" in turn.scene.state.examples else "stop"
    key = "timer_due" if late < LATE_S else "timer_was_due"
    return turn.say(key, name=timer.name, seconds=late, answer=answer)


def carry_timers_over(turn: Turn) -> Turn:
    """Let the timers run on with what they had left before the clock was set back, and say so."""
    back = turn.meaning.slots["seconds"]
    assert isinstance(back, Decimal)
    shown = turn.now + timedelta(seconds=float(back))
    turn = turn.say("clock_set_back", seconds=float(back))
    for timer in (timer for timer in live(turn.scene) if timer.due is not None):
        left = timer.seconds_left(shown)
        turn = _written(turn, timer.name, "resume", left).say("timer_left", name=timer.name, seconds=left)
    return turn


# ---- entries -----------------------------------------------------------------------------------


def _started(turn: Turn, name: str, seconds: float, *, given: bool) -> Turn:
    return _written(turn, name, "start", seconds, given=given)


def _written(turn: Turn, name: str, act: str, seconds: float, **more: object) -> Turn:
    facts = {"name": name, "act": act, "seconds": round(seconds, 3), **more}
    return turn.write("timer", facts, about_bucket=False)


def _same(turn: Turn) -> tuple[Timer, ...]:
    name = name_said(turn)
    return tuple(timer for timer in live(turn.scene) if timer.name == name)


def _running(turn: Turn) -> tuple[Timer, ...]:
    return tuple(timer for timer in meant(turn) if timer.due is not None and not timer.rings(turn.now))


def _standing(turn: Turn) -> tuple[Timer, ...]:
    return tuple(timer for timer in meant(turn) if timer.due is None)


ROWS = (
    Row(ANYWHERE, "timer_start", no_length, Then.STAYS, ask_for_length),
    Row(ANYWHERE, "timer_start", length_without_unit, Then.STAYS, ask_for_unit),
    Row(ANYWHERE, "timer_start", length_of_nothing, Then.STAYS, say_nothing_to_time),
    Row(ANYWHERE, "timer_start", too_long, Then.STAYS, say_too_long),
    Row(ANYWHERE, "timer_start", name_runs, Then.STAYS, replace_timer),
    Row(ANYWHERE, "timer_start", always, Then.STAYS, start_timer),
    Row(ANYWHERE, "correction", timer_just_started, Then.STAYS, correct_timer),
    *(
        row
        for kind in ("timer_left", "timer_pause", "timer_resume", "timer_stop", "timer_of_length")
        for row in (
            Row(ANYWHERE, kind, no_timers, Then.STAYS, say_no_timers),
            Row(ANYWHERE, kind, no_such_timer, Then.STAYS, say_no_such_timer),
        )
    ),
    Row(ANYWHERE, "timer_left", named_rings, Then.STAYS, stop_timers),
    Row(ANYWHERE, "timer_left", always, Then.STAYS, say_left),
    Row(ANYWHERE, "timer_pause", none_runs, Then.STAYS, say_left),
    Row(ANYWHERE, "timer_pause", several_run, Then.STAYS, ask_which),
    Row(ANYWHERE, "timer_pause", always, Then.STAYS, pause_timer),
    Row(ANYWHERE, "timer_resume", none_stands, Then.STAYS, say_left),
    Row(ANYWHERE, "timer_resume", several_stand, Then.STAYS, ask_which),
    Row(ANYWHERE, "timer_resume", always, Then.STAYS, resume_timer),
    Row(ANYWHERE, "timer_stop", all_meant, Then.STAYS, stop_timers),
    Row(ANYWHERE, "timer_stop", rings_unnamed, Then.STAYS, answer_ringing),
    Row(ANYWHERE, "timer_stop", which_is_unclear, Then.STAYS, ask_which),
    Row(ANYWHERE, "timer_stop", always, Then.STAYS, stop_timers),
    Row(ANYWHERE, "timer_of_length", always, Then.STAYS, stop_timers),
    Row(ANYWHERE, "stop", something_rings, Then.STAYS, answer_ringing),
    Row(ANYWHERE, "got_it", something_rings, Then.STAYS, answer_ringing),
    Row(ANYWHERE, "got_it", always, Then.STAYS, say_nothing_rings),
    Row(ANYWHERE, "rang", always, Then.STAYS, tell_timer),
    Row(ANYWHERE, "set_back", no_timers, Then.STAYS, nothing),
    Row(ANYWHERE, "set_back", always, Then.STAYS, carry_timers_over),
)
