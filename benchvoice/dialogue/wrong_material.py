"""The wrong material in the bowl: named before it goes in, or counted as what it was and put right."""

from __future__ import annotations

from benchvoice.dialogue.batch_steps import (
    BATCH_OVER,
    BATCH_WEIGH,
    Chosen,
    correct_out,
    go_on,
    missing_rows,
    then_rows,
    weigh_in,
)
from benchvoice.dialogue.batches import the_batch, weighings
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.table import Row, Then, always
from benchvoice.messages import Entry


def _named(turn: Turn, slot: str = "material") -> str | None:
    """Return the batch's own name of the material that was said, None when it is not in the batch."""
    return the_batch(turn.scene.bench).named(turn.meaning.text(slot))


def not_in_this_batch(turn: Turn) -> bool:
    """Hold when the material that was said is not in the recipe."""
    return _named(turn) is None


def in_already(turn: Turn) -> bool:
    """Hold when nothing is missing of the material that was said."""
    return _named(turn) not in dict(the_batch(turn.scene.bench).missing())


def nothing_weighed(turn: Turn) -> bool:
    """Hold when nothing was weighed yet."""
    return not weighings(turn.scene.bench)


def not_both_weighed(turn: Turn) -> bool:
    """Hold when one of the two that were said was not weighed yet, or they are one: silica is quartz."""
    weighed = {e.facts["material"] for e in weighings(turn.scene.bench)}
    pair = {_named(turn), _named(turn, "mixed_with")}
    return len(pair) < 2 or not pair <= weighed


def say_not_in_recipe(turn: Turn) -> Turn:
    """Say that it must not go in."""
    return turn.say("batch_not_in_recipe", material=turn.meaning.text("material"))


def say_in_already(turn: Turn) -> Turn:
    """Say that there is enough of it."""
    return turn.say("batch_in_already", material=turn.meaning.text("material"))


def weigh_it_first(turn: Turn) -> Turn:
    """Weigh the material that was said first."""
    return go_on(turn.keep(Chosen(_named(turn) or "")))


def say_nothing_weighed(turn: Turn) -> Turn:
    """Say that nothing is in."""
    return turn.say("batch_nothing_weighed")


def say_not_both_weighed(turn: Turn) -> Turn:
    """Say that both must be in to be mixed up."""
    return turn.say("batch_not_both_weighed")


def take_stranger_out(turn: Turn) -> Turn:
    """Count what was weighed last as not in: it is not of this recipe."""
    last = weighings(turn.scene.bench)[-1]
    facts = {"was": last.facts["material"], "mass_g": number(last, "mass_g")}
    turn = correct_out(turn, last)
    return go_on(turn.say("batch_stranger", material=turn.meaning.text("material"), **facts))


def take_as_other(turn: Turn) -> Turn:
    """Count what was weighed last as the other material."""
    last, other = weighings(turn.scene.bench)[-1], _named(turn) or ""
    mass_g, was = number(last, "mass_g"), last.facts["material"]
    turn = weigh_in(correct_out(turn, last), other, mass_g, again=True)
    return go_on(turn.say("batch_was_other", material=other, was=was, mass_g=mass_g))


def take_swapped(turn: Turn) -> Turn:
    """Count the last weighings of two materials as each other's."""
    pair = [_last_of(turn, name) for name in (_named(turn), _named(turn, "mixed_with"))]
    for entry in pair:
        turn = correct_out(turn, entry)
    for entry, other in zip(pair, reversed(pair), strict=True):
        turn = weigh_in(turn, str(entry.facts["material"]), number(other, "mass_g"), again=True)
    first, second = (str(entry.facts["material"]) for entry in pair)
    return go_on(turn.say("batch_swapped", first=first, second=second))


def _last_of(turn: Turn, material: str | None) -> Entry:
    return next(e for e in reversed(weighings(turn.scene.bench)) if e.facts["material"] == material)


# ---- rows --------------------------------------------------------------------------------------


def _other_rows(state: State) -> tuple[Row, ...]:
    """Return what follows when the material was another one."""
    return (
        Row(state, "that_was", nothing_weighed, Then.AGAIN, say_nothing_weighed),
        *missing_rows(state, "that_was", not_in_this_batch, take_stranger_out),
        *then_rows(state, "that_was", take_as_other),
        Row(state, "mixed_up", not_both_weighed, Then.AGAIN, say_not_both_weighed),
        *then_rows(state, "mixed_up", take_swapped),
    )


ROWS = (
    Row(BATCH_WEIGH, "this_is", not_in_this_batch, Then.AGAIN, say_not_in_recipe),
    Row(BATCH_WEIGH, "this_is", in_already, Then.AGAIN, say_in_already),
    Row(BATCH_WEIGH, "this_is", always, BATCH_WEIGH, weigh_it_first),
    *_other_rows(BATCH_WEIGH),
    *_other_rows(BATCH_OVER),
)
