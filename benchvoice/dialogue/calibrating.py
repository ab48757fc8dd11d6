"""The cup: filled with water to its mark, twice, so that its weight tells a gravity."""

from __future__ import annotations

from benchvoice.calculator.cup import LEAST_CUP
from benchvoice.dialogue import cup as cups
from benchvoice.dialogue import said
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.cup import CupWork, with_fill
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.states import CUP_AGAIN, CUP_EMPTY, CUP_FILL, READY, WEIGH
from benchvoice.dialogue.table import Row, Then, always


def doubtful(turn: Turn) -> bool:
    """Hold when the amount is unlikely here and nobody has said yes to it."""
    return not turn.scene.sure and said.heard_badly(turn)


def no_more_than_empty(turn: Turn) -> bool:
    """Hold when the cup with its water would weigh hardly more than empty: the empty one was full then."""
    empty_g = turn.scene.work(CupWork).empty_g
    return empty_g is not None and said.grams_said(turn) < empty_g + LEAST_CUP


def fills_agree(turn: Turn) -> bool:
    """Hold when the fills of the cup, with this one, agree well enough."""
    return cups.checked_fills(with_fill(turn)).agree


def fills_agree_idle(turn: Turn) -> bool:
    """Hold when the fills agree and no bucket waits for the cup."""
    return no_bucket_open(turn) and fills_agree(turn)


def fills_differ(turn: Turn) -> bool:
    """Hold when there are several fills, none like another: there is no telling which is right."""
    return len(turn.scene.work(CupWork).fills_g) > 1


def start_cup(turn: Turn) -> Turn:
    """Forget a calibration begun before."""
    return turn.keep(CupWork())


def tare_cup(turn: Turn) -> Turn:
    """Take the scale as tared with the empty cup on it."""
    return turn.keep(CupWork())


def weigh_empty_cup(turn: Turn) -> Turn:
    """Take the weight of the empty cup."""
    grams = said.grams_said(turn)
    return turn.keep(CupWork(empty_g=grams)).say("cup_empty_heard", weight_g=grams, amount=turn.amount)


def say_no_more_than_empty(turn: Turn) -> Turn:
    """Say what the empty cup was said to weigh."""
    return turn.say("cup_no_more_than_empty", amount=turn.amount, empty_g=turn.scene.work(CupWork).empty_g)


def take_fill(turn: Turn) -> Turn:
    """Take one fill of water to the mark."""
    work = with_fill(turn)
    cups.checked_fills(work)
    return turn.keep(work).say(
        "cup_fill_heard", net_g=work.fills_g[-1], amount=turn.amount, fills=len(work.fills_g)
    )


def take_last_fill(turn: Turn) -> Turn:
    """Take a fill that agrees, and calibrate the cup."""
    return finish_cup(take_fill(turn))


def say_fills_differ(turn: Turn) -> Turn:
    """Take a fill that does not agree, and ask for another."""
    return say_still_differ(take_fill(turn))


def say_still_differ(turn: Turn) -> Turn:
    """Say how far apart the fills are, and ask for another."""
    return turn.say("cup_fills_differ", apart_g=cups.difference(turn.scene.work(CupWork))).ask(differ=True)


def finish_cup(turn: Turn) -> Turn:
    """Calibrate the cup from the fills that were taken."""
    facts = cups.calibrated(turn.scene.work(CupWork))
    return turn.write("cup", facts, about_bucket=False).say("cup_calibrated", **facts)


ROWS = (
    Row(READY, "calibrate", always, CUP_EMPTY, start_cup),
    Row(WEIGH, "calibrate", always, CUP_EMPTY, start_cup),
    *(Row(state, "start_over", always, CUP_EMPTY, start_cup) for state in (CUP_FILL, CUP_AGAIN)),
    Row(CUP_EMPTY, "tared", always, CUP_FILL, tare_cup),
    Row(CUP_EMPTY, "done", always, CUP_FILL, tare_cup),
    Row(CUP_EMPTY, "weight", doubtful, CONFIRM, hold),
    Row(CUP_EMPTY, "weight", always, CUP_FILL, weigh_empty_cup),
    Row(CUP_FILL, "weight", no_more_than_empty, Then.AGAIN, say_no_more_than_empty),
    Row(CUP_FILL, "weight", doubtful, CONFIRM, hold),
    Row(CUP_FILL, "weight", always, CUP_AGAIN, take_fill),
    Row(CUP_AGAIN, "weight", no_more_than_empty, Then.AGAIN, say_no_more_than_empty),
    Row(CUP_AGAIN, "weight", doubtful, CONFIRM, hold),
    Row(CUP_AGAIN, "weight", fills_agree_idle, READY, take_last_fill),
    Row(CUP_AGAIN, "weight", fills_agree, WEIGH, take_last_fill),
    Row(CUP_AGAIN, "weight", always, CUP_AGAIN, say_fills_differ),
    Row(CUP_AGAIN, "done", fills_differ, Then.AGAIN, say_still_differ),
    Row(CUP_AGAIN, "done", no_bucket_open, READY, finish_cup),
    Row(CUP_AGAIN, "done", always, WEIGH, finish_cup),
)
