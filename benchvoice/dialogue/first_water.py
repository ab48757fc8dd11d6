"""Once a batch is weighed out: its first water, its soaking, and the bucket that it becomes."""

from __future__ import annotations

from benchvoice.calculator import bucket as bucket_sums
from benchvoice.calculator.safety import Action
from benchvoice.dialogue import advice as advising
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.batch_steps import BATCH_SOAK, BATCH_WATER, asking_rows
from benchvoice.dialogue.batches import the_batch, volume_l
from benchvoice.dialogue.buckets import known_already, no_cup_yet, open_bucket, say_known_already
from benchvoice.dialogue.contents import Contents
from benchvoice.dialogue.filling import say_which_unit
from benchvoice.dialogue.hazards import caution
from benchvoice.dialogue.said import heard_badly, water_said
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import CUP_EMPTY, WEIGH
from benchvoice.dialogue.table import Row, Then, always

BATCH_NAME = State("BATCH_NAME", "ask_batch_bucket", ("yes", "sea mist"))

LIKELY_WATER = 1.5
"""Water that differs from what was said by more than this factor is asked about (our choice)."""


def doubtful_water(turn: Turn) -> bool:
    """Hold when the water is far from what was said, or was heard badly."""
    said, wanted = water_said(turn), the_batch(turn.scene.bench).water_wanted()
    far = said > LIKELY_WATER * wanted or said < wanted / LIKELY_WATER
    return not turn.scene.sure and (heard_badly(turn) or far)


def may_be_litres(turn: Turn) -> bool:
    """Hold when a bare number is so small beside what was said that it may be of another unit."""
    wanted = the_batch(turn.scene.bench).water_wanted()
    return turn.amount.unit is None and advising.far_too_little(turn, wanted)


def name_is_taken(turn: Turn) -> bool:
    """Hold when there is a bucket with the recipe's name."""
    return the_batch(turn.scene.bench).recipe in turn.scene.bench.names()


def water_as_said_by_us(turn: Turn) -> Turn:
    """Write down that the water that was wanted is in."""
    return _watered(turn, the_batch(turn.scene.bench).water_wanted())


def water_as_said(turn: Turn) -> Turn:
    """Write down how much water is really in."""
    return _watered(turn, water_said(turn))


def _watered(turn: Turn, water_g: float) -> Turn:
    batch = the_batch(turn.scene.bench)
    turn = turn.write(
        "batch_water", {"recipe": batch.recipe, "water_g": round(water_g, 3)}, about_bucket=False
    )
    return caution(turn.say("batch_watered", water_g=water_g), Action.MIX_BY_MACHINE)


def ask_bucket_name(turn: Turn) -> Turn:
    """Offer the recipe's name for the bucket."""
    return turn.ask(recipe=the_batch(turn.scene.bench).recipe)


def say_name_is_taken(turn: Turn) -> Turn:
    """Say that a bucket has the recipe's name already."""
    return turn.say("known_already", name=the_batch(turn.scene.bench).recipe)


def bucket_as_recipe(turn: Turn) -> Turn:
    """Call the bucket by the recipe's name."""
    return _bucket_made(turn, the_batch(turn.scene.bench).recipe)


def bucket_as_said(turn: Turn) -> Turn:
    """Call the bucket as the potter says."""
    return _bucket_made(turn, turn.meaning.text("name"))


def _bucket_made(turn: Turn, name: str) -> Turn:
    """Write the new bucket and what is in it down, and hand over to the weighing of the cup."""
    batch = the_batch(turn.scene.bench)
    dry_g, water_g, solids = batch.total_in, batch.water_g or 0.0, batch.solids().gravity
    facts = {"target_low": batch.low, "target_high": batch.high, "solids_gravity": round(solids, 4)}
    made = {"recipe": batch.recipe, "dry_g": round(dry_g, 3), "water_g": water_g}
    turn = turn.set(bucket=name).write("bucket", {**facts, **made}).say("bucket_named", name=name)
    turn = turn.write("batch_closed", {"recipe": batch.recipe, "how": "made"}, about_bucket=False)
    turn = open_bucket(caution(turn, Action.FOOD_USE))
    volume = volume_l(dry_g, water_g, solids)
    held = Contents(round(dry_g + water_g, 3), volume, bucket_sums.MEASURED, "batch")
    return turn.write("contents", held.as_facts())


ROWS = (
    Row(BATCH_WATER, "done", always, BATCH_SOAK, water_as_said_by_us),
    *(
        row
        for kind in ("weight", "volume", "added")
        for row in (
            Row(BATCH_WATER, kind, may_be_litres, Then.AGAIN, say_which_unit),
            Row(BATCH_WATER, kind, doubtful_water, CONFIRM, hold),
            Row(BATCH_WATER, kind, always, BATCH_SOAK, water_as_said),
        )
    ),
    Row(BATCH_SOAK, "done", always, BATCH_NAME, ask_bucket_name),
    *asking_rows(BATCH_WATER),
    *asking_rows(BATCH_SOAK),
    Row(BATCH_NAME, "yes", name_is_taken, Then.AGAIN, say_name_is_taken),
    Row(BATCH_NAME, "yes", no_cup_yet, CUP_EMPTY, bucket_as_recipe),
    Row(BATCH_NAME, "yes", always, WEIGH, bucket_as_recipe),
    *(
        row
        for kind in ("called", "name_given")
        for row in (
            Row(BATCH_NAME, kind, known_already, Then.AGAIN, say_known_already),
            Row(BATCH_NAME, kind, no_cup_yet, CUP_EMPTY, bucket_as_said),
            Row(BATCH_NAME, kind, always, WEIGH, bucket_as_said),
        )
    ),
)
