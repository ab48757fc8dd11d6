"""How much is in the bucket, and what goes into it or comes out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from benchvoice.calculator.safety import Action as Doing
from benchvoice.dialogue import advice as advising
from benchvoice.dialogue import contents, readings, said
from benchvoice.dialogue.advice import Advice
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.hazards import caution
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import (
    ADD_DRY,
    ADD_WATER,
    ASK_CONTENTS,
    ASK_WIDTH,
    RIGHT,
    TAKE_OFF,
    THIN,
    WEIGH,
)
from benchvoice.dialogue.table import Action, Row, Then, always, nothing

LARGEST_LIKELY_L = 150.0
"""More than this is asked about: few studios have a bin so large (our choice)."""
SMALLEST_LIKELY_L = 0.5
"""Less than this is asked about: nothing can be dipped in it (our choice)."""
NEAR_ADVISED = (0.5, 1.5)
"""Between these parts of what was advised a bare number is grams, whatever the cup weighs (our choice)."""
MOST_UNASKED_G = 5_000.0
"""More than this, added without being asked, is asked about (our choice)."""
DEEPEST_LIKELY_CM = 100.0
"""More than this is asked about: nobody reaches the bottom of it (our choice)."""


def doubtful_addition(turn: Turn) -> bool:
    """Hold when far more was added than was advised, or it was heard badly."""
    return not turn.scene.sure and advising.unlikely_addition(turn, turn.scene.work(Advice).mass_g)


def may_be_litres(turn: Turn) -> bool:
    """Hold when a bare number is so small beside what was advised that it may be of another unit."""
    return turn.amount.unit is None and advising.far_too_little(turn, turn.scene.work(Advice).mass_g)


def may_be_the_cup(turn: Turn) -> bool:
    """Hold when a bare number is a likely weight of the cup and far from what was advised."""
    advised_g, amount = turn.scene.work(Advice).mass_g, turn.amount
    near = NEAR_ADVISED[0] * advised_g <= amount.value <= NEAR_ADVISED[1] * advised_g
    return amount.unit is None and not near and readings.looks_like_a_cup(turn)


def slurry_was_added(turn: Turn) -> bool:
    """Hold when glaze went in, of which nobody knows what is in it."""
    return turn.meaning.slots.get("added_what") == "slurry"


def dry_was_added(turn: Turn) -> bool:
    """Hold when dry batch went in."""
    return turn.meaning.slots.get("added_what") == "dry"


def doubtful_of_itself(turn: Turn) -> bool:
    """Hold when something went in that nobody advised, and it is very much or was heard badly."""
    unasked = turn.scene.state != ADD_WATER or dry_was_added(turn)
    too_much = said.water_said(turn) > MOST_UNASKED_G or turn.amount.unit is None
    return unasked and not turn.scene.sure and (said.heard_badly(turn) or too_much)


def doubtful_depth(turn: Turn) -> bool:
    """Hold when no bucket is so deep, or it was heard badly."""
    return not turn.scene.sure and (said.heard_badly(turn) or said.centimetres_said(turn) > DEEPEST_LIKELY_CM)


def doubtful_width(turn: Turn) -> bool:
    """Hold when the depth and this width make no likely bucket, or it was heard badly."""
    found = contents.contents_from_depth(turn, _depth(turn)).volume_l
    likely = SMALLEST_LIKELY_L <= found <= LARGEST_LIKELY_L
    return not turn.scene.sure and (said.heard_badly(turn) or not likely)


def thick_as_last_read(turn: Turn) -> bool:
    """Hold when the last reading was above the target."""
    return readings.last_verdict(turn.scene) == "thick"


def thin_unmeasured(turn: Turn) -> bool:
    """Hold when nothing is known of the contents."""
    return contents.contents(turn.scene) is None


def without_unit(turn: Turn) -> bool:
    """Hold when a bare number was said where litres and kilos are a world apart."""
    return turn.amount.unit is None


def doubtful_contents(turn: Turn) -> bool:
    """Hold when no bucket holds so much or so little, or it was heard badly."""
    likely = SMALLEST_LIKELY_L <= contents.contents_said(turn).volume_l <= LARGEST_LIKELY_L
    return not turn.scene.sure and (said.heard_badly(turn) or not likely)


def say_unit_is_needed(turn: Turn) -> Turn:
    """Ask for the unit."""
    return turn.say("which_unit", amount=turn.amount)


def say_which_unit(turn: Turn) -> Turn:
    """Ask for the unit of what went in or came off."""
    return turn.say("batch_which_unit", amount=turn.amount)


def say_slurry_added(turn: Turn) -> Turn:
    """Say that the bucket is another one with glaze of another gravity in it."""
    return turn.say("slurry_added")


def say_cup_or_grams(turn: Turn) -> Turn:
    """Ask for the unit, or first for what was added."""
    return turn.say("cup_or_grams", amount=turn.amount)


def take_contents(turn: Turn) -> Turn:
    """Take the contents from litres or kilos."""
    return _contents_taken(turn, contents.contents_said(turn))


def take_depth(turn: Turn) -> Turn:
    """Take the depth of the slurry; the width is asked next."""
    depth = said.centimetres_said(turn)
    return turn.keep(replace(turn.scene.work(Advice), depth_cm=depth)).ask(depth_cm=depth)


def take_width(turn: Turn) -> Turn:
    """Take the inner width and work out the contents."""
    return _contents_taken(turn, contents.contents_from_depth(turn, _depth(turn)))


def _depth(turn: Turn) -> float:
    depth = turn.scene.work(Advice).depth_cm
    assert depth is not None
    return depth


def _contents_taken(turn: Turn, found: contents.Contents) -> Turn:
    turn = turn.write("contents", found.as_facts())
    return turn.say("contents_heard", amount=turn.amount, **found.as_facts())


def wish_water_off(turn: Turn) -> Turn:
    """Keep in mind that clear water is to come off, once the contents are known."""
    return turn.keep(Advice(wish="settle"))


def wish_dry(turn: Turn) -> Turn:
    """Keep in mind that dry batch is to go in, once the contents are known."""
    return turn.keep(Advice(wish="add_dry"))


def water_off_is_wished(turn: Turn) -> bool:
    """Hold when clear water is to come off."""
    return turn.scene.work(Advice).wish == "settle"


def dry_is_wished(turn: Turn) -> bool:
    """Hold when dry batch is to go in."""
    return turn.scene.work(Advice).wish == "add_dry"


def take_contents_then_water(turn: Turn) -> Turn:
    """Take the contents and say how much water to add."""
    return advise_water(take_contents(turn))


def take_width_then_water(turn: Turn) -> Turn:
    """Take the width and say how much water to add."""
    return advise_water(take_width(turn))


def take_contents_then_off(turn: Turn) -> Turn:
    """Take the contents and say how much clear water to take off."""
    return advise_taking_off(take_contents(turn))


def take_width_then_off(turn: Turn) -> Turn:
    """Take the width and say how much clear water to take off."""
    return advise_taking_off(take_width(turn))


def take_contents_then_dry(turn: Turn) -> Turn:
    """Take the contents and say how much dry batch to add."""
    return advise_dry(take_contents(turn))


def take_width_then_dry(turn: Turn) -> Turn:
    """Take the width and say how much dry batch to add."""
    return advise_dry(take_width(turn))


def advise_trial_water(turn: Turn) -> Turn:
    """Say how much water to add first when nobody knows the contents."""
    mass_g = advising.trial_g(turn.scene)
    return turn.keep(Advice(mass_g)).say("trial_water", mass_g=mass_g).ask(mass_g=mass_g)


def advise_water(turn: Turn) -> Turn:
    """Say how much water to add now, and how much it will take in all."""
    advice = advising.water_advice(turn.scene)
    turn = turn.keep(Advice(advice.stage_g))
    if not advice.fits:
        turn = turn.say("does_not_fit")
    return turn.say(advice.key, **advice.as_facts()).ask(mass_g=advice.stage_g)


def _take_addition(turn: Turn, what: str, mass_g: float) -> Turn:
    turn = turn.write("addition", {"what": what, "mass_g": round(mass_g, 3)})
    return turn.say("water_added" if what == "water" else "dry_added", mass_g=mass_g)


def add_water_as_advised(turn: Turn) -> Turn:
    """Write down that what was advised was added."""
    return _take_addition(turn, "water", turn.scene.work(Advice).mass_g)


def add_water_as_said(turn: Turn) -> Turn:
    """Write down how much water was really added."""
    return _take_addition(turn, "water", said.water_said(turn))


def add_nothing(turn: Turn) -> Turn:
    """Write nothing down."""
    return turn.say("nothing_added")


def advise_taking_off(turn: Turn) -> Turn:
    """Say how much clear water to take off after settling."""
    mass_g = advising.water_to_take_off(turn.scene)
    return turn.keep(Advice(mass_g)).say("take_off", mass_g=mass_g).ask(mass_g=mass_g)


def advise_trial_taking_off(turn: Turn) -> Turn:
    """Say how much clear water to take off first when nobody knows the contents."""
    mass_g = advising.trial_g(turn.scene)
    return turn.keep(Advice(mass_g)).say("trial_taking_off", mass_g=mass_g).ask(mass_g=mass_g)


def take_off_as_advised(turn: Turn) -> Turn:
    """Write down that what was advised was taken off."""
    mass_g = turn.scene.work(Advice).mass_g
    return turn.write("addition", {"what": "water", "mass_g": -round(mass_g, 3)}).say(
        "taken_off", mass_g=mass_g
    )


def take_off_as_said(turn: Turn) -> Turn:
    """Write down how much water was really taken off."""
    mass_g = said.water_said(turn)
    return turn.write("addition", {"what": "water", "mass_g": -round(mass_g, 3)}).say(
        "taken_off", mass_g=mass_g
    )


def advise_dry(turn: Turn) -> Turn:
    """Say how much dry batch to add, with the caution about dust first."""
    advice = advising.dry_advice(turn.scene)
    turn = turn.keep(Advice(advice.stage_g)).say("safety_dust")
    return turn.say("add_dry", **advice.as_facts()).ask(mass_g=advice.stage_g)


def add_dry_as_advised(turn: Turn) -> Turn:
    """Write down that the dry batch that was advised was added."""
    return _take_dry(turn, turn.scene.work(Advice).mass_g)


def add_dry_as_said(turn: Turn) -> Turn:
    """Write down how much dry batch was really added."""
    return _take_dry(turn, said.grams_said(turn))


def add_dry_unasked(turn: Turn) -> Turn:
    """Write down dry batch that nobody advised, after the caution about dust."""
    return add_dry_as_said(caution(turn, Doing.WEIGH_POWDER))


def _take_dry(turn: Turn, mass_g: float) -> Turn:
    """Write down the dry batch, and the contents that it leads to: readings before it count no more."""
    after = advising.contents_with_dry(turn.scene, mass_g)
    turn = _take_addition(turn, "dry", mass_g)
    return turn if after is None else turn.write("contents", after.as_facts())


def _amount_rows(state: State, kinds: Sequence[str], act: Action) -> tuple[Row, ...]:
    """Return the rows for what really went in or came out: a doubtful amount waits for a yes."""
    return tuple(
        row
        for kind in kinds
        for row in (
            Row(state, kind, may_be_the_cup, Then.AGAIN, say_cup_or_grams),
            Row(state, kind, may_be_litres, Then.AGAIN, say_which_unit),
            Row(state, kind, doubtful_addition, CONFIRM, hold),
            Row(state, kind, always, WEIGH, act),
        )
    )


ROWS = (
    *(
        row
        for kind in ("volume", "weight")
        for row in (
            Row(ASK_CONTENTS, kind, without_unit, Then.AGAIN, say_unit_is_needed),
            Row(ASK_CONTENTS, kind, doubtful_contents, CONFIRM, hold),
            Row(ASK_CONTENTS, kind, thick_as_last_read, ADD_WATER, take_contents_then_water),
            Row(ASK_CONTENTS, kind, water_off_is_wished, TAKE_OFF, take_contents_then_off),
            Row(ASK_CONTENTS, kind, dry_is_wished, ADD_DRY, take_contents_then_dry),
            Row(ASK_CONTENTS, kind, always, THIN, take_contents),
        )
    ),
    Row(ASK_CONTENTS, "length", doubtful_depth, CONFIRM, hold),
    Row(ASK_CONTENTS, "length", always, ASK_WIDTH, take_depth),
    Row(ASK_CONTENTS, "unknown", thick_as_last_read, ADD_WATER, advise_trial_water),
    Row(ASK_CONTENTS, "unknown", always, TAKE_OFF, advise_trial_taking_off),
    Row(ASK_WIDTH, "length", doubtful_width, CONFIRM, hold),
    Row(ASK_WIDTH, "length", thick_as_last_read, ADD_WATER, take_width_then_water),
    Row(ASK_WIDTH, "length", water_off_is_wished, TAKE_OFF, take_width_then_off),
    Row(ASK_WIDTH, "length", dry_is_wished, ADD_DRY, take_width_then_dry),
    Row(ASK_WIDTH, "length", always, THIN, take_width),
    *(
        row
        for state in (WEIGH, RIGHT, ADD_WATER)
        for row in (
            Row(state, "added", slurry_was_added, Then.AGAIN, say_slurry_added),
            Row(state, "added", doubtful_of_itself, CONFIRM, hold),
            Row(state, "added", dry_was_added, WEIGH, add_dry_unasked),
        )
    ),
    *(Row(state, "added", always, WEIGH, add_water_as_said) for state in (WEIGH, RIGHT)),
    Row(ADD_WATER, "done", always, WEIGH, add_water_as_advised),
    *_amount_rows(ADD_WATER, ("added", "weight", "volume"), add_water_as_said),
    Row(ADD_WATER, "none_added", always, WEIGH, add_nothing),
    Row(THIN, "settle", thin_unmeasured, ASK_CONTENTS, wish_water_off),
    Row(THIN, "settle", always, TAKE_OFF, advise_taking_off),
    Row(THIN, "add_dry", thin_unmeasured, ASK_CONTENTS, wish_dry),
    Row(THIN, "add_dry", always, ADD_DRY, advise_dry),
    Row(THIN, "weigh", always, WEIGH, nothing),
    Row(TAKE_OFF, "done", always, WEIGH, take_off_as_advised),
    *_amount_rows(TAKE_OFF, ("took_off", "weight", "volume"), take_off_as_said),
    Row(TAKE_OFF, "none_added", always, WEIGH, add_nothing),
    Row(ADD_DRY, "done", always, WEIGH, add_dry_as_advised),
    *_amount_rows(ADD_DRY, ("added", "weight"), add_dry_as_said),
    Row(ADD_DRY, "none_added", always, WEIGH, add_nothing),
)
