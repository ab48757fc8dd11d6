"""What the scale shows is checked before the next line is asked for; what is too much is put right."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.calculator.weighing import Slip, Weighed, Weight, check_weighing
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.batch_steps import (
    BATCH_ODD,
    BATCH_OVER,
    BATCH_WEIGH,
    Chosen,
    asking_rows,
    correct_out,
    go_on,
    line_now,
    missing_rows,
    then_rows,
    tidy,
    weigh_in,
)
from benchvoice.dialogue.batches import the_batch, weighings
from benchvoice.dialogue.said import grams_said, heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.table import Row, Then, always

LEFT_AT_MOST = 0.1
"""What may be too much of a line and stay in, as a part of it (our choice)."""


@dataclass(frozen=True, slots=True)
class Odd:
    """A weight that looks like a slip, while it is being asked about."""

    got_g: float = 0.0
    """What went in, if it is the slip that it looks like [g]."""
    material: str = ""
    """What it is of, if it is that slip."""
    plain_g: float = 0.0
    """What went in, if it is no slip [g]."""


# ---- what the scale shows ------------------------------------------------------------------------------


def retaken(turn: Turn) -> Turn:
    """Return the turn with the last weighing taken out of the sum, when a new weight is said for it."""
    if turn.scene.state != BATCH_OVER:
        return turn
    last = weighings(turn.scene.bench)[-1]
    return correct_out(turn, last).keep(Chosen(str(last.facts["material"])))


def _checked(turn: Turn) -> Weighed:
    """Return how the line came out by the weight that was said."""
    sheet = the_batch(turn.scene.bench).sheet(turn.scene.work(Chosen).material)
    return check_weighing(sheet, grams(grams_said(turn)))


def doubtful_weighing(turn: Turn) -> bool:
    """Hold when the weight was heard badly."""
    return not turn.scene.sure and heard_badly(turn)


def looks_like_a_slip(turn: Turn) -> bool:
    """Hold when the weight is wrong and looks like another line's, or like the scale's other way."""
    turn = retaken(turn)
    found = _checked(turn)
    other = found.slip is Slip.OTHER_LINE and found.other != line_now(turn)[0]
    return other or found.slip in (Slip.NOT_TARED, Slip.WAS_TARED)


def tenfold(turn: Turn) -> bool:
    """Hold when the weight is ten times too much or too little."""
    return _checked(retaken(turn)).slip is Slip.TENFOLD


def short(turn: Turn) -> bool:
    """Hold when too little is on the scale."""
    return _checked(retaken(turn)).weight is Weight.SHORT


def all_is_in(turn: Turn) -> bool:
    """Hold when no line is missing, also with the last weighing taken out of the sum."""
    return not the_batch(retaken(turn).scene.bench).missing()


def not_on_top(turn: Turn) -> bool:
    """Hold when what is too much is not what was weighed last."""
    last, over = weighings(turn.scene.bench), the_batch(turn.scene.bench).too_much()
    return over is None or not last or last[-1].facts["material"] != over[0]


def less_than_is_in(turn: Turn) -> bool:
    """Hold when a scale that adds up shows less than what is in already."""
    return magnitude(_checked(retaken(turn)).got, "gram") < 0


def say_less_than_is_in(turn: Turn) -> Turn:
    """Say what is in already."""
    turn = retaken(turn)
    total_g = tidy(the_batch(turn.scene.bench).total_in)
    return go_on(turn.say("batch_less_than_is_in", amount=turn.amount, total_g=total_g))


def say_tenfold(turn: Turn) -> Turn:
    """Say that a figure was lost or is one too many."""
    turn = retaken(turn)
    return go_on(turn.say("batch_tenfold", amount=turn.amount, wanted_g=line_now(turn)[1]))


def say_short(turn: Turn) -> Turn:
    """Say how much more, and what the scale should show then."""
    turn = retaken(turn)
    found = _checked(turn)
    missing = -magnitude(found.difference, "gram")
    return go_on(turn.say("batch_short", amount=turn.amount, missing_g=tidy(missing)))


def ask_about_slip(turn: Turn) -> Turn:
    """Say what the weight looks like, and ask."""
    turn = retaken(turn)
    found, (material, wanted) = _checked(turn), line_now(turn)
    got = magnitude(found.got, "gram")
    other = found.other or material
    as_slip = got if found.slip is Slip.OTHER_LINE else wanted
    turn = turn.keep(Odd(as_slip, other, got))
    return turn.ask(slip=str(found.slip), amount=turn.amount, material=material, other=other)


def take_slip(turn: Turn) -> Turn:
    """Take the weight for what it looks like."""
    odd = turn.scene.work(Odd)
    turn = weigh_in(turn, odd.material, odd.got_g)
    return go_on(turn.say("batch_as_asked", material=odd.material, mass_g=tidy(odd.got_g)))


def take_plain(turn: Turn) -> Turn:
    """Take the weight as it was said, though it is not what was asked for."""
    return go_on(weigh_in(turn, line_now(turn)[0], turn.scene.work(Odd).plain_g))


def plain_is_short(turn: Turn) -> bool:
    """Hold when the weight, taken as it was said, is too little."""
    return turn.scene.work(Odd).plain_g < line_now(turn)[1]


def say_plain_short(turn: Turn) -> Turn:
    """Say how much more is wanted."""
    missing = line_now(turn)[1] - turn.scene.work(Odd).plain_g
    return go_on(turn.say("batch_still_short", missing_g=tidy(missing)))


def take_weighing(turn: Turn) -> Turn:
    """Write the line down as it was weighed."""
    turn = retaken(turn)
    got = magnitude(_checked(turn).got, "gram")
    material = line_now(turn)[0]
    turn = weigh_in(turn, material, got, again=turn.scene.state == BATCH_OVER)
    return go_on(turn.say("batch_weighed", amount=turn.amount, material=material))


def take_as_asked(turn: Turn) -> Turn:
    """Write the line down as it was asked for."""
    material, wanted = line_now(turn)
    return go_on(weigh_in(turn, material, wanted).say("batch_as_asked", material=material, mass_g=wanted))


def say_weight_is_needed(turn: Turn) -> Turn:
    """Ask what the scale shows: nothing is written down on a bare next."""
    return turn.say("batch_tell_weight")


# ---- too much ---------------------------------------------------------------------------------------------


def take_scooped_out(turn: Turn) -> Turn:
    """Write down that what was too much is out again."""
    over = the_batch(turn.scene.bench).too_much()
    assert over is not None
    material, mass_g = over
    return go_on(weigh_in(turn, material, -mass_g).say("batch_scooped", material=material, mass_g=mass_g))


def take_bigger(turn: Turn) -> Turn:
    """Make the whole batch bigger until nothing is too much."""
    wanted, factor = the_batch(turn.scene.bench).bigger()
    facts = {"wanted": wanted, "how": "bigger", "factor": round(factor, 5)}
    turn = turn.write("batch_change", facts, about_bucket=False)
    total, makes = tidy(sum(wanted.values())), the_batch(turn.scene.bench).makes_l()
    return go_on(turn.say("batch_bigger", total_g=total, percent=round(100 * (factor - 1)), volume_l=makes))


def too_far_off(turn: Turn) -> bool:
    """Hold when so much is too much that the glaze would be another one."""
    batch = the_batch(turn.scene.bench)
    material, over_g = batch.too_much() or ("", 0.0)
    return over_g > LEFT_AT_MOST * batch.wanted[material]


def say_too_far_off(turn: Turn) -> Turn:
    """Say that it cannot be left in."""
    material, _ = the_batch(turn.scene.bench).too_much() or ("", 0.0)
    return turn.say("batch_too_far_off", material=material)


def leave_too_much(turn: Turn) -> Turn:
    """Let what is too much stay in, and count it as wanted."""
    batch = the_batch(turn.scene.bench)
    over = batch.too_much()
    assert over is not None
    wanted = {**batch.wanted, over[0]: tidy(batch.is_in(over[0]))}
    turn = turn.write("batch_change", {"wanted": wanted, "how": "left"}, about_bucket=False)
    return go_on(turn.say("batch_left", material=over[0], mass_g=over[1]))


def say_scoop_first(turn: Turn) -> Turn:
    """Say that done is waited for."""
    return turn.say("batch_scoop_first")


# ---- rows -------------------------------------------------------------------------------------------------


def _weight_rows(state: State) -> tuple[Row, ...]:
    """Return what follows from what the scale shows."""
    return (
        Row(state, "weight", all_is_in, Then.AGAIN, say_scoop_first),
        Row(state, "weight", doubtful_weighing, CONFIRM, hold),
        Row(state, "weight", looks_like_a_slip, BATCH_ODD, ask_about_slip),
        *missing_rows(state, "weight", tenfold, say_tenfold),
        *missing_rows(state, "weight", less_than_is_in, say_less_than_is_in),
        *missing_rows(state, "weight", short, say_short),
        *then_rows(state, "weight", take_weighing),
    )


ROWS = (
    *_weight_rows(BATCH_WEIGH),
    *then_rows(BATCH_WEIGH, "exactly", take_as_asked),
    Row(BATCH_WEIGH, "done", always, Then.AGAIN, say_weight_is_needed),
    *then_rows(BATCH_ODD, "yes", take_slip),
    *missing_rows(BATCH_ODD, "no", plain_is_short, say_plain_short),
    *then_rows(BATCH_ODD, "no", take_plain),
    *_weight_rows(BATCH_ODD),
    Row(BATCH_OVER, "weight", not_on_top, Then.AGAIN, say_scoop_first),
    *_weight_rows(BATCH_OVER),
    *then_rows(BATCH_OVER, "done", take_scooped_out),
    *then_rows(BATCH_OVER, "bigger", take_bigger),
    Row(BATCH_OVER, "leave_it", too_far_off, Then.AGAIN, say_too_far_off),
    *then_rows(BATCH_OVER, "leave_it", leave_too_much),
    *(row for state in (BATCH_WEIGH, BATCH_ODD, BATCH_OVER) for row in asking_rows(state)),
)
