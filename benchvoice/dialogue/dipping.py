"""Dipping a test tile: how long, counted in and out, and dried by the clock."""

from __future__ import annotations

from dataclasses import replace

from benchvoice.calculator.dip_law import LONGEST_DIP
from benchvoice.dialogue import countdown
from benchvoice.dialogue.always import CONFIRM, Pause, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.clockwork import is_time, live
from benchvoice.dialogue.coats import CoatWork
from benchvoice.dialogue.countdown import IN, OUT, Countdown
from benchvoice.dialogue.leaving import LEAVING
from benchvoice.dialogue.said import grams_said, heard_badly, seconds_said, step_said
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT, WEIGH
from benchvoice.dialogue.table import ANYWHERE, Action, Row, Then, always
from benchvoice.dialogue.tiles import (
    ASK_COAT,
    ASK_DIP,
    ASK_DRY_WEIGHT,
    DIPPING,
    DRYING,
    bare_not_weighed,
    doubtful_coat,
    doubtful_tile,
    home,
    leave_tile,
    not_above_bare,
    say_next_dip,
    say_not_above_bare,
    take_wanted,
    work_of,
)
from benchvoice.dialogue.timing import carry_timers_over

SHORTEST_DIP = 1.0
"""A shorter dip cannot be counted out [s] (our choice)."""
LONG_DIP = 20.0
"""A longer dip is asked about [s] (our choice)."""
STAYING = ("no", "cancel", "continue_")
"""Answers to whether to leave that mean to stay."""


def dip_too_short(turn: Turn) -> bool:
    """Hold when there is no time to count."""
    return seconds_said(turn) < SHORTEST_DIP


def dip_too_long(turn: Turn) -> bool:
    """Hold when no dip lasts so long."""
    return seconds_said(turn) > LONGEST_DIP


def doubtful_dip(turn: Turn) -> bool:
    """Hold when the dip is unusually long, or was heard badly."""
    return not turn.scene.sure and (heard_badly(turn) or seconds_said(turn) > LONG_DIP)


def grams_or_seconds(turn: Turn) -> bool:
    """Hold when a bare number may be the seconds of a dip as well as the grams of a tile."""
    amount = turn.amount
    return amount.unit is None and amount.value <= LONGEST_DIP and amount.value == int(amount.value)


def seconds_it_was_in(turn: Turn) -> bool:
    """Hold when a bare number was said of a tile that is not weighed: then it is the time it was in."""
    return work_of(turn).bare_g is None and turn.amount.unit is None


def doubtful_seconds_it_was_in(turn: Turn) -> bool:
    """Hold when such a number was heard badly, or is a long time for a dip."""
    return seconds_it_was_in(turn) and doubtful_dip(turn)


def puts_dip_right(turn: Turn) -> bool:
    """Hold when the amount said last was the time of the dip, and a time is being put right."""
    past = turn.scene.past
    return bool(past) and past[-1].meaning.kind == "dip_for" and is_time(turn.amount)


def not_dipping(turn: Turn) -> bool:
    """Hold when no dip is under way."""
    return turn.scene.state != DIPPING


def dipping(turn: Turn) -> bool:
    """Hold when a dip is under way."""
    return turn.scene.state == DIPPING


def dip_was_left(turn: Turn) -> bool:
    """Hold when a dip was being counted before it was asked whether to leave."""
    return turn.scene.work(Pause).state == DIPPING


def missed(turn: Turn) -> bool:
    """Hold when the moment went by unsaid."""
    return turn.scene.work(Countdown).missed(turn.now)


def time_is_up(turn: Turn) -> bool:
    """Hold when the tile is to come out."""
    return turn.scene.work(Countdown).says == OUT


def begin_tile(turn: Turn) -> Turn:
    """Begin a tile, and say how long to dip it when the bucket's tiles tell."""
    return say_next_dip(turn.keep(CoatWork()))


def take_bare(turn: Turn) -> Turn:
    """Take the weight of the bare tile."""
    grams, step = grams_said(turn), min(step_said(turn), turn.scene.bench.setting("scale_step_g", 1.0))
    turn = turn.keep(replace(work_of(turn), bare_g=grams, step_g=step))
    return turn.say("tile_bare", amount=turn.amount, weight_g=grams).ask(begun=True)


def ask_grams_or_seconds(turn: Turn) -> Turn:
    """Ask for the unit."""
    return turn.say("grams_or_seconds", amount=turn.amount)


def say_dip_too_short(turn: Turn) -> Turn:
    """Say the shortest dip that can be counted."""
    return turn.say("dip_too_short")


def say_dip_too_long(turn: Turn) -> Turn:
    """Say the longest dip."""
    return turn.say("dip_too_long")


def count_in(turn: Turn) -> Turn:
    """Begin to count."""
    dip_s = seconds_said(turn)
    turn = turn.keep(replace(work_of(turn), dip_s=dip_s)).keep(countdown.begun(dip_s, turn.now))
    return turn.ask(dip_s=dip_s)


def count_new_tile_in(turn: Turn) -> Turn:
    """Begin a tile with its dip."""
    return count_in(turn.keep(CoatWork()))


def say_count(turn: Turn) -> Turn:
    """Say the moment that has come."""
    counting = turn.scene.work(Countdown)
    turn = turn.keep(countdown.after(counting, turn.now))
    return turn.say("count_in" if counting.says == IN else f"count_{counting.says}")


def say_out(turn: Turn) -> Turn:
    """Say that the tile comes out; from now on it dries."""
    turn = turn.keep(Countdown()).keep(replace(work_of(turn), out_at=turn.now))
    return _ask_drying(turn.say("count_out").set(state=DRYING))


def _ask_drying(turn: Turn) -> Turn:
    work = work_of(turn)
    wet_wanted = work.bare_g is not None and work.wet_g is None
    return turn.ask(wet_wanted=wet_wanted, dip_s=work.dip_s)


def stop_counting(turn: Turn) -> Turn:
    """Leave the dip, and ask again for how long."""
    return turn.keep(Countdown()).set(state=ASK_DIP, asking={}).say("counting_stopped")


def say_missed(turn: Turn) -> Turn:
    """Say that the count was broken off."""
    return turn.keep(Countdown()).set(state=ASK_DIP, asking={}).say("counting_missed")


def break_off(turn: Turn) -> Turn:
    """Break the count off, since nobody knows any more when the tile went in."""
    return say_missed(carry_timers_over(turn) if live(turn.scene) else turn)


def forget_count(turn: Turn) -> Turn:
    """Forget a dip that was left."""
    return turn.keep(Countdown())


def take_dipped(turn: Turn) -> Turn:
    """Take the tile as dipped just now, by the potter's own count."""
    return _ask_drying(turn.keep(replace(work_of(turn), dip_s=None, out_at=turn.now)))


def take_dip_time(turn: Turn) -> Turn:
    """Take how long the tile really was in."""
    turn = turn.keep(replace(work_of(turn), dip_s=seconds_said(turn)))
    return _ask_drying(turn.say("dip_was", dip_s=seconds_said(turn)))


def take_wet(turn: Turn) -> Turn:
    """Take the weight of the wet tile."""
    work = work_of(turn)
    step = min(work.step_g, step_said(turn))
    turn = turn.keep(replace(work, wet_g=grams_said(turn), step_g=step))
    return _ask_drying(turn.say("tile_wet", amount=turn.amount))


def say_bare_is_missing(turn: Turn) -> Turn:
    """Say that a weight says nothing without the bare one."""
    return turn.say("tile_bare_missing")


def take_dry_time(turn: Turn) -> Turn:
    """Take the time since the dip as the drying."""
    work = work_of(turn)
    assert work.out_at is not None
    drying_s = (turn.now - work.out_at).total_seconds()
    if drying_s < 0:
        return turn.say("drying_unknown")
    return turn.keep(replace(work, drying_s=drying_s)).say("dried_in", seconds=drying_s)


def say_wish_needs_bucket(turn: Turn) -> Turn:
    """Say that a wish belongs to a bucket."""
    return turn.say("wish_needs_bucket")


def _dip_rows(state: State, action: Action) -> tuple[Row, ...]:
    """Return what follows when a time to dip is said."""
    return (
        Row(state, "dip_for", dip_too_short, Then.AGAIN, say_dip_too_short),
        Row(state, "dip_for", dip_too_long, Then.AGAIN, say_dip_too_long),
        Row(state, "dip_for", doubtful_dip, CONFIRM, hold),
        Row(state, "dip_for", always, DIPPING, action),
    )


ROWS = (
    *(Row(state, "dip_tile", always, ASK_DIP, begin_tile) for state in (READY, RIGHT, WEIGH)),
    *(row for state in (READY, RIGHT, WEIGH) for row in _dip_rows(state, count_new_tile_in)),
    *_dip_rows(ASK_DIP, count_in),
    Row(ASK_DIP, "weight", grams_or_seconds, Then.AGAIN, ask_grams_or_seconds),
    Row(ASK_DIP, "weight", doubtful_tile, CONFIRM, hold),
    Row(ASK_DIP, "weight", always, ASK_DIP, take_bare),
    Row(ASK_DIP, "dipped", always, DRYING, take_dipped),
    Row(ASK_DIP, "length", no_bucket_open, Then.AGAIN, say_wish_needs_bucket),
    Row(ASK_DIP, "length", doubtful_coat, CONFIRM, hold),
    Row(ASK_DIP, "length", always, ASK_DIP, take_wanted),
    *(Row(DIPPING, kind, always, Then.RETURNS, stop_counting) for kind in ("stop", "pause", "standby")),
    *(Row(LEAVING, kind, dip_was_left, Then.RETURNS, stop_counting) for kind in STAYING),
    Row(ANYWHERE, "set_back", dipping, Then.RETURNS, break_off),
    Row(ANYWHERE, "counted", not_dipping, Then.STAYS, forget_count),
    Row(ANYWHERE, "counted", missed, Then.RETURNS, say_missed),
    Row(ANYWHERE, "counted", time_is_up, Then.RETURNS, say_out),
    Row(ANYWHERE, "counted", always, Then.STAYS, say_count),
    Row(DRYING, "coat_dry", bare_not_weighed, ASK_COAT, take_dry_time),
    Row(DRYING, "coat_dry", always, ASK_DRY_WEIGHT, take_dry_time),
    Row(DRYING, "weight", doubtful_seconds_it_was_in, CONFIRM, hold),
    Row(DRYING, "weight", seconds_it_was_in, DRYING, take_dip_time),
    Row(DRYING, "weight", bare_not_weighed, Then.AGAIN, say_bare_is_missing),
    Row(DRYING, "weight", not_above_bare, Then.AGAIN, say_not_above_bare),
    Row(DRYING, "weight", doubtful_tile, CONFIRM, hold),
    Row(DRYING, "weight", always, DRYING, take_wet),
    *(Row(DRYING, kind, doubtful_dip, CONFIRM, hold) for kind in ("duration", "dip_for")),
    *(Row(DRYING, kind, always, DRYING, take_dip_time) for kind in ("duration", "dip_for")),
    Row(DRYING, "correction", puts_dip_right, DRYING, take_dip_time),
    *(row for state in (ASK_DIP, DIPPING, DRYING) for row in home(state, "cancel", leave_tile, ask=False)),
)
