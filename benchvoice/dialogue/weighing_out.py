"""Weighing out, one material at a time: what the scale shows is checked before the next line is asked for."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.calculator.safety import Action
from benchvoice.calculator.weighing import (
    Slip,
    Weighed,
    Weight,
    check_weighing,
    expected_reading,
)
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.batches import Stage, the_batch, weighings
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.hazards import caution
from benchvoice.dialogue.past import KEPT_BY_UNDO, can_undo, undo
from benchvoice.dialogue.said import grams_said, heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.table import Action as Deed
from benchvoice.dialogue.table import Guard, Row, Then, always
from benchvoice.messages import Entry

BATCH_WEIGH = State(
    "BATCH_WEIGH",
    "ask_batch_weigh",
    ("four hundred grams", "exactly", "that was quartz", "quartz first", "how much so far"),
    names=("material",),
)
BATCH_ODD = State("BATCH_ODD", "ask_batch_odd", ("yes", "no", "four hundred grams"), names=("material",))
BATCH_OVER = State(
    "BATCH_OVER",
    "ask_batch_over",
    ("done", "four hundred grams", "make it bigger", "leave it"),
    names=("material",),
)
BATCH_WATER = State("BATCH_WATER", "ask_batch_water", ("done", "two litres", "read the list"))
BATCH_SOAK = State("BATCH_SOAK", "ask_batch_soaked", ("done", "pause", "read the list"))


LEFT_AT_MOST = 0.1
"""What may be too much of a line and stay in, as a part of it (our choice)."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """The material that the potter wants to weigh first."""

    material: str = ""


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
    return _corrected(turn, last).keep(Chosen(str(last.facts["material"])))


def _corrected(turn: Turn, entry: Entry) -> Turn:
    """Write down that a weighing does not count; an entry of its own, so that an undo brings it back."""
    return _weighed(turn, str(entry.facts["material"]), -number(entry, "mass_g"), corrects=entry.key)


def _checked(turn: Turn) -> Weighed:
    """Return how the line came out by the weight that was said."""
    sheet = the_batch(turn.scene.bench).sheet(turn.scene.work(Chosen).material)
    return check_weighing(sheet, grams(grams_said(turn)))


def _line(turn: Turn) -> tuple[str, float]:
    return the_batch(turn.scene.bench).next_line(turn.scene.work(Chosen).material)


def doubtful_weighing(turn: Turn) -> bool:
    """Hold when the weight was heard badly."""
    return not turn.scene.sure and heard_badly(turn)


def looks_like_a_slip(turn: Turn) -> bool:
    """Hold when the weight is wrong and looks like another line's, or like the scale's other way."""
    turn = retaken(turn)
    found = _checked(turn)
    other = found.slip is Slip.OTHER_LINE and found.other != _line(turn)[0]
    return other or found.slip in (Slip.NOT_TARED, Slip.WAS_TARED)


def tenfold(turn: Turn) -> bool:
    """Hold when the weight is ten times too much or too little."""
    return _checked(retaken(turn)).slip is Slip.TENFOLD


def short(turn: Turn) -> bool:
    """Hold when too little is on the scale."""
    return _checked(retaken(turn)).weight is Weight.SHORT


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
    total_g = _tidy(the_batch(turn.scene.bench).total_in)
    return go_on(turn.say("batch_less_than_is_in", amount=turn.amount, total_g=total_g))


def say_tenfold(turn: Turn) -> Turn:
    """Say that a figure was lost or is one too many."""
    turn = retaken(turn)
    return go_on(turn.say("batch_tenfold", amount=turn.amount, wanted_g=_line(turn)[1]))


def say_short(turn: Turn) -> Turn:
    """Say how much more, and what the scale should show then."""
    turn = retaken(turn)
    found = _checked(turn)
    missing = -magnitude(found.difference, "gram")
    return go_on(turn.say("batch_short", amount=turn.amount, missing_g=_tidy(missing)))


def ask_about_slip(turn: Turn) -> Turn:
    """Say what the weight looks like, and ask."""
    turn = retaken(turn)
    found, (material, wanted) = _checked(turn), _line(turn)
    got = magnitude(found.got, "gram")
    other = found.other or material
    as_slip = got if found.slip is Slip.OTHER_LINE else wanted
    turn = turn.keep(Odd(as_slip, other, got))
    return turn.ask(slip=str(found.slip), amount=turn.amount, material=material, other=other)


def take_slip(turn: Turn) -> Turn:
    """Take the weight for what it looks like."""
    odd = turn.scene.work(Odd)
    turn = _weighed(turn, odd.material, odd.got_g)
    return go_on(turn.say("batch_as_asked", material=odd.material, mass_g=_tidy(odd.got_g)))


def take_plain(turn: Turn) -> Turn:
    """Take the weight as it was said, though it is not what was asked for."""
    return go_on(_weighed(turn, _line(turn)[0], turn.scene.work(Odd).plain_g))


def plain_is_short(turn: Turn) -> bool:
    """Hold when the weight, taken as it was said, is too little."""
    return turn.scene.work(Odd).plain_g < _line(turn)[1]


def say_plain_short(turn: Turn) -> Turn:
    """Say how much more is wanted."""
    missing = _line(turn)[1] - turn.scene.work(Odd).plain_g
    return go_on(turn.say("batch_still_short", missing_g=_tidy(missing)))


def take_weighing(turn: Turn) -> Turn:
    """Write the line down as it was weighed."""
    turn = retaken(turn)
    got = magnitude(_checked(turn).got, "gram")
    material = _line(turn)[0]
    turn = _weighed(turn, material, got, again=turn.scene.state == BATCH_OVER)
    return go_on(turn.say("batch_weighed", amount=turn.amount, material=material))


def take_as_asked(turn: Turn) -> Turn:
    """Write the line down as it was asked for."""
    material, wanted = _line(turn)
    return go_on(_weighed(turn, material, wanted).say("batch_as_asked", material=material, mass_g=wanted))


def _weighed(
    turn: Turn, material: str, got_g: float, *, corrects: str | None = None, again: bool = False
) -> Turn:
    """Write a weighing down; ``again`` when it stands in the place of one that is corrected."""
    facts = {"material": material, "mass_g": _tidy(got_g), "corrects": corrects, "again": again}
    return turn.keep(Chosen()).write("weighed", facts, about_bucket=False)


def say_weight_is_needed(turn: Turn) -> Turn:
    """Ask what the scale shows: nothing is written down on a bare next."""
    return turn.say("batch_tell_weight")


# ---- too much ---------------------------------------------------------------------------------------------


def take_scooped_out(turn: Turn) -> Turn:
    """Write down that what was too much is out again."""
    over = the_batch(turn.scene.bench).too_much()
    assert over is not None
    material, mass_g = over
    return go_on(_weighed(turn, material, -mass_g).say("batch_scooped", material=material, mass_g=mass_g))


def take_bigger(turn: Turn) -> Turn:
    """Make the whole batch bigger until nothing is too much."""
    wanted, factor = the_batch(turn.scene.bench).bigger()
    facts = {"wanted": wanted, "how": "bigger", "factor": round(factor, 5)}
    turn = turn.write("batch_change", facts, about_bucket=False)
    total, makes = _tidy(sum(wanted.values())), the_batch(turn.scene.bench).makes_l()
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
    wanted = {**batch.wanted, over[0]: _tidy(batch.is_in(over[0]))}
    turn = turn.write("batch_change", {"wanted": wanted, "how": "left"}, about_bucket=False)
    return go_on(turn.say("batch_left", material=over[0], mass_g=over[1]))


def say_scoop_first(turn: Turn) -> Turn:
    """Say that done is waited for."""
    return turn.say("batch_scoop_first")


# ---- the wrong material -----------------------------------------------------------------------------------


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
    """Hold when one of the two that were said was not weighed yet."""
    weighed = {e.facts["material"] for e in weighings(turn.scene.bench)}
    return not {_named(turn), _named(turn, "mixed_with")} <= weighed


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
    said = {"was": last.facts["material"], "mass_g": number(last, "mass_g")}
    return go_on(_corrected(turn, last).say("batch_stranger", material=turn.meaning.text("material"), **said))


def take_as_other(turn: Turn) -> Turn:
    """Count what was weighed last as the other material."""
    last, other = weighings(turn.scene.bench)[-1], _named(turn) or ""
    mass_g, was = number(last, "mass_g"), last.facts["material"]
    turn = _weighed(_corrected(turn, last), other, mass_g, again=True)
    return go_on(turn.say("batch_was_other", material=other, was=was, mass_g=mass_g))


def take_swapped(turn: Turn) -> Turn:
    """Count the last weighings of two materials as each other's."""
    pair = [_last_of(turn, name) for name in (_named(turn), _named(turn, "mixed_with"))]
    for entry in pair:
        turn = _corrected(turn, entry)
    for entry, other in zip(pair, reversed(pair), strict=True):
        turn = _weighed(turn, str(entry.facts["material"]), number(other, "mass_g"), again=True)
    first, second = (str(entry.facts["material"]) for entry in pair)
    return go_on(turn.say("batch_swapped", first=first, second=second))


def _last_of(turn: Turn, material: str | None) -> Entry:
    return next(e for e in reversed(weighings(turn.scene.bench)) if e.facts["material"] == material)


# ---- where we are -----------------------------------------------------------------------------------------


def go_on(turn: Turn) -> Turn:
    """Set the facts of the next question, and say the cautions that come before it."""
    batch = the_batch(turn.scene.bench)
    stage = batch.stage()
    if stage is Stage.OVER:
        material, over_g = batch.too_much() or ("", 0.0)
        return turn.ask(material=material, over_g=over_g)
    if stage is Stage.WEIGH:
        return _ask_line(turn)
    if stage is Stage.WATER:
        turn = turn.say("batch_all_weighed", total_g=_tidy(batch.total_in))
    return turn.ask(water_g=batch.water_wanted())


def _ask_line(turn: Turn) -> Turn:
    """Ask for the next line, after the cautions that belong to its material."""
    batch, first = the_batch(turn.scene.bench), turn.scene.work(Chosen).material
    material, mass_g = batch.next_line(first)
    shows_g = _tidy(magnitude(expected_reading(batch.sheet(first)), "gram"))
    turn = caution(turn, Action.WEIGH_POWDER, material)
    more = batch.is_in(material) > batch.step_g
    return turn.ask(material=material, mass_g=mass_g, shows_g=shows_g, more=more)


def say_where_in_batch(turn: Turn) -> Turn:
    """Say how many lines are in."""
    batch = the_batch(turn.scene.bench)
    lines, missing = len(batch.wanted), len(batch.missing())
    return turn.say("batch_where", recipe=batch.recipe, done=lines - missing, lines=lines)


def say_weighed_so_far(turn: Turn) -> Turn:
    """Say what is in, and how much together."""
    batch = the_batch(turn.scene.bench)
    lines = tuple((name, _tidy(mass)) for name, mass in batch.got().items() if mass > 0)
    return turn.say("batch_so_far", lines=lines, total_g=_tidy(batch.total_in))


def say_list(turn: Turn) -> Turn:
    """Read the list of what goes in."""
    batch = the_batch(turn.scene.bench)
    total = _tidy(sum(batch.wanted.values()))
    return turn.say("batch_plan", recipe=batch.recipe, total_g=total, lines=tuple(batch.wanted.items()))


def weighed_last(turn: Turn) -> bool:
    """Hold when what was written last in this session is a weighing of something that went in."""
    entries = [e for e in turn.scene.bench.entries if e.kind not in KEPT_BY_UNDO]
    if not can_undo(turn) or entries[-1].kind != "weighed":
        return False
    return number(entries[-1], "mass_g") > 0 and not entries[-1].facts["again"]


def undo_weighing(turn: Turn) -> Turn:
    """Take the last weighing back, and say what to scoop out."""
    last = turn.scene.bench.last("weighed")
    assert last is not None
    facts = {"material": last.facts["material"], "mass_g": number(last, "mass_g")}
    return undo(turn).say("batch_scoop_undone", **facts)


def _tidy(mass: float) -> float:
    return round(mass, 4)


# ---- rows -------------------------------------------------------------------------------------------------


def _then_rows(state: State, kind: str, act: Deed) -> tuple[Row, ...]:
    """Return where an action leads: to what is too much, to the water, or to the next line."""

    def too_much_is_in(turn: Turn) -> bool:
        return _stage_after(act(turn)) is Stage.OVER

    def all_is_weighed(turn: Turn) -> bool:
        return _stage_after(act(turn)) is Stage.WATER

    return (
        Row(state, kind, too_much_is_in, BATCH_OVER, act),
        Row(state, kind, all_is_weighed, BATCH_WATER, act),
        Row(state, kind, always, BATCH_WEIGH, act),
    )


def _short_rows(state: State, kind: str, when: Guard, act: Deed) -> tuple[Row, ...]:
    """Return where it leads when a line is still missing: to it, unless too much of another is in."""

    def and_too_much_is_in(turn: Turn) -> bool:
        return when(turn) and _stage_after(act(turn)) is Stage.OVER

    and_too_much_is_in.__name__ = f"{when.__name__} and too much is in"
    return Row(state, kind, and_too_much_is_in, BATCH_OVER, act), Row(state, kind, when, BATCH_WEIGH, act)


def _stage_after(turn: Turn) -> Stage:
    return the_batch(turn.scene.bench).stage()


def _weight_rows(state: State) -> tuple[Row, ...]:
    """Return what follows from what the scale shows."""
    return (
        Row(state, "weight", doubtful_weighing, CONFIRM, hold),
        Row(state, "weight", looks_like_a_slip, BATCH_ODD, ask_about_slip),
        *_short_rows(state, "weight", tenfold, say_tenfold),
        *_short_rows(state, "weight", less_than_is_in, say_less_than_is_in),
        *_short_rows(state, "weight", short, say_short),
        *_then_rows(state, "weight", take_weighing),
    )


def _other_rows(state: State) -> tuple[Row, ...]:
    """Return what follows when the material was another one."""
    return (
        Row(state, "that_was", nothing_weighed, Then.AGAIN, say_nothing_weighed),
        *_short_rows(state, "that_was", not_in_this_batch, take_stranger_out),
        *_then_rows(state, "that_was", take_as_other),
        Row(state, "mixed_up", not_both_weighed, Then.AGAIN, say_not_both_weighed),
        *_then_rows(state, "mixed_up", take_swapped),
    )


def _asking_rows(state: State) -> tuple[Row, ...]:
    """Return the rows by which the potter finds the way in a batch."""
    return (
        Row(state, "read_list", always, Then.AGAIN, say_list),
        Row(state, "where", always, Then.AGAIN, say_where_in_batch),
        *(Row(state, kind, always, Then.AGAIN, say_weighed_so_far) for kind in ("batch_so_far", "so_far")),
        Row(state, "undo", weighed_last, Then.RETURNS, undo_weighing),
    )


ROWS = (
    *_weight_rows(BATCH_WEIGH),
    *_then_rows(BATCH_WEIGH, "exactly", take_as_asked),
    Row(BATCH_WEIGH, "done", always, Then.AGAIN, say_weight_is_needed),
    Row(BATCH_WEIGH, "this_is", not_in_this_batch, Then.AGAIN, say_not_in_recipe),
    Row(BATCH_WEIGH, "this_is", in_already, Then.AGAIN, say_in_already),
    Row(BATCH_WEIGH, "this_is", always, BATCH_WEIGH, weigh_it_first),
    *_other_rows(BATCH_WEIGH),
    *_then_rows(BATCH_ODD, "yes", take_slip),
    *_short_rows(BATCH_ODD, "no", plain_is_short, say_plain_short),
    *_then_rows(BATCH_ODD, "no", take_plain),
    *_weight_rows(BATCH_ODD),
    Row(BATCH_OVER, "weight", not_on_top, Then.AGAIN, say_scoop_first),
    *_weight_rows(BATCH_OVER),
    *_then_rows(BATCH_OVER, "done", take_scooped_out),
    *_then_rows(BATCH_OVER, "bigger", take_bigger),
    Row(BATCH_OVER, "leave_it", too_far_off, Then.AGAIN, say_too_far_off),
    *_then_rows(BATCH_OVER, "leave_it", leave_too_much),
    *_other_rows(BATCH_OVER),
    *(row for state in (BATCH_WEIGH, BATCH_ODD, BATCH_OVER) for row in _asking_rows(state)),
)
