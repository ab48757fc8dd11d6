"""A batch: which recipe, how much of it, and whether the scale is tared."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from benchvoice.calculator.materials import ASSUMED_GRAVITY
from benchvoice.calculator.quantities import above_zero, magnitude, within
from benchvoice.calculator.weighing import Mode
from benchvoice.dialogue import planning
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold
from benchvoice.dialogue.batch_steps import (
    BATCH_OVER,
    BATCH_SOAK,
    BATCH_WATER,
    BATCH_WEIGH,
    go_on,
)
from benchvoice.dialogue.batches import Stage, open_batch, the_batch
from benchvoice.dialogue.more import LINES_HELD
from benchvoice.dialogue.planning import BatchWork, plan
from benchvoice.dialogue.recipes import named, no_recipe_yet, say_no_recipes, say_recipes
from benchvoice.dialogue.said import (
    as_quantity,
    grams_said,
    gravity_value,
    heard_badly,
    target_said,
)
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.dialogue.target import USUAL_TARGET
from benchvoice.messages import Amount

BATCH_RESUME = State("BATCH_RESUME", "ask_batch_resume", ("yes", "no"))
BATCH_RECIPE = State("BATCH_RECIPE", "ask_batch_recipe", ("list the recipes", "cancel"), names=("recipe",))
BATCH_SIZE = State(
    "BATCH_SIZE",
    "ask_batch_size",
    (
        "two kilos dry",
        "fill a ten litre bucket",
        "two kilos dry in a three litre bucket",
        "my scale shows tenths of a gram",
    ),
)
BATCH_TARGET = State("BATCH_TARGET", "ask_batch_target", ("one point four five", "usual"))
BATCH_SCALE = State("BATCH_SCALE", "ask_batch_scale", ("yes", "no", "read the list", "my scale shows tenths"))

LARGEST_LIKELY_G, LARGEST_LIKELY_L = 50_000.0, 150.0
"""More than this is asked about: few studios weigh out so much at once (our choice)."""
MOST_G, MOST_L = 500_000.0, 1_000.0
"""More than this is refused: nobody weighs it out by hand (our choice)."""


# ---- guards ---------------------------------------------------------------------------------------


def batch_begun(turn: Turn) -> bool:
    """Hold when a batch is under way."""
    return open_batch(turn.scene.bench) is not None


def recipe_said(turn: Turn) -> bool:
    """Hold when the recipe was said with it."""
    return "recipe" in turn.meaning.slots


def recipe_is_asked(turn: Turn) -> bool:
    """Hold when it is asked which recipe is to be weighed out."""
    return turn.scene.state == BATCH_RECIPE


def only_one_recipe(turn: Turn) -> bool:
    """Hold when there is one recipe only."""
    return len(turn.scene.bench.names("recipe")) == 1


def _at_stage(turn: Turn, stage: Stage) -> bool:
    return the_batch(turn.scene.bench).stage() is stage


def too_much_is_in(turn: Turn) -> bool:
    """Hold when too much of something is in."""
    return _at_stage(turn, Stage.OVER)


def all_is_weighed(turn: Turn) -> bool:
    """Hold when every line is weighed."""
    return _at_stage(turn, Stage.WATER)


def water_is_in(turn: Turn) -> bool:
    """Hold when the water is in."""
    return _at_stage(turn, Stage.SOAK)


def without_unit(turn: Turn) -> bool:
    """Hold when a bare number was said where grams and kilos are a world apart."""
    return turn.amount.unit is None


def doubtful_size(turn: Turn) -> bool:
    """Hold when the batch is unlikely large, or was heard badly."""
    if turn.scene.sure:
        return False
    work = _sized(turn)
    too_much = (work.dry_g or 0) > LARGEST_LIKELY_G or (work.volume_l or 0) > LARGEST_LIKELY_L
    return heard_badly(turn) or too_much


def without_gravity(turn: Turn) -> bool:
    """Hold when no gravity was said with the size."""
    return "filled_to" not in turn.meaning.slots


def bucket_too_small(turn: Turn) -> bool:
    """Hold when the bucket that was named does not hold the batch."""
    return not planning.fits(_aimed(turn), turn.scene.bench)


# ---- which recipe, how much ------------------------------------------------------------------------


def ask_resume(turn: Turn) -> Turn:
    """Say how far the batch is that is under way."""
    batch = the_batch(turn.scene.bench)
    done = len(batch.wanted) - len(batch.missing())
    return turn.ask(recipe=batch.recipe, done=done, lines=len(batch.wanted))


def resume(turn: Turn) -> Turn:
    """Go on with the batch where it stopped."""
    return go_on(turn)


def drop_batch(turn: Turn) -> Turn:
    """Close the batch that is under way."""
    batch = the_batch(turn.scene.bench)
    turn = turn.write("batch_closed", {"recipe": batch.recipe, "how": "dropped"}, about_bucket=False)
    return turn.say("batch_dropped", recipe=batch.recipe)


def choose_recipe(turn: Turn) -> Turn:
    """Take the recipe that was named."""
    return turn.keep(BatchWork(turn.meaning.text("recipe")))


def choose_only_recipe(turn: Turn) -> Turn:
    """Take the one recipe there is."""
    name = turn.scene.bench.names("recipe")[0]
    return turn.keep(BatchWork(name)).say("batch_only_recipe", name=name)


def say_no_such_recipe(turn: Turn) -> Turn:
    """Say which recipes there are."""
    names = turn.scene.bench.names("recipe")
    return turn.say("batch_no_such_recipe", name=turn.meaning.text("name"), names=names)


def _sized(turn: Turn) -> BatchWork:
    """Return the plan with the size that was said; a size that is nothing is refused."""
    work = turn.scene.work(BatchWork)
    if turn.meaning.kind in ("fill_to", "volume"):
        volume = magnitude(as_quantity(turn.amount, "litre"), "litre", of="the bucket")
        volume = _possible(turn, volume, MOST_L, "litres")
        return replace(work, volume_l=volume, dry_g=None, holds_l=None)
    holds = turn.meaning.slots.get("batch_holds")
    holds_l = magnitude(as_quantity(holds, "litre"), "litre") if isinstance(holds, Amount) else None
    dry_g = _possible(turn, grams_said(turn), MOST_G, "grams")
    return replace(work, dry_g=dry_g, in_all="in_all" in turn.meaning.slots, volume_l=None, holds_l=holds_l)


def _possible(turn: Turn, size: float, most: float, unit: str) -> float:
    """Return a size that is more than nothing, and no more than anybody mixes by hand."""
    above_zero(as_quantity(turn.amount, "gram"), str(as_quantity(turn.amount, "gram").units), of="the batch")
    return within(size, 0.0, most, of="the batch", unit=unit)


def _aimed(turn: Turn) -> BatchWork:
    """Return the plan with the gravity that was said, or the usual one."""
    work = _sized(turn) if turn.meaning.kind == "fill_to" else turn.scene.work(BatchWork)
    if turn.meaning.kind in ("usual", "unknown"):
        return replace(work, low=USUAL_TARGET[0], high=USUAL_TARGET[1], gravity=USUAL_TARGET[1])
    if turn.meaning.kind == "fill_to":
        aim = turn.meaning.slots["filled_to"]
        assert not isinstance(aim, str)
        turn = replace(turn, meaning=turn.meaning.with_amount(Amount(_value(aim)), turn.meaning.words))
    low, high = target_said(turn)
    single = "low" not in turn.meaning.slots
    return replace(work, low=low, high=high, gravity=gravity_value(turn.amount) if single else high)


def take_size(turn: Turn) -> Turn:
    """Take the size; the gravity is asked next."""
    return turn.keep(_sized(turn))


def take_scale_step(turn: Turn) -> Turn:
    """Take what the scale can show."""
    step = float(turn.meaning.text("scale_step_is"))
    turn = turn.write("setting", {"name": "scale_step_g", "value": step}, about_bucket=False)
    return turn.say("batch_scale_step", step_g=step)


def plan_anew(turn: Turn) -> Turn:
    """Take what the scale can show, and round the plan to it."""
    return say_planned_list(take_scale_step(turn))


def say_unit_is_needed(turn: Turn) -> Turn:
    """Ask for the unit."""
    return turn.say("batch_which_unit", amount=turn.amount)


def say_bucket_too_small(turn: Turn) -> Turn:
    """Say how much it makes, and that the bucket does not hold it."""
    work = _aimed(turn)
    found = plan(work, turn.scene.bench)
    return turn.say(
        "batch_bucket_too_small", total_g=found.total_g, volume_l=found.volume_l, holds_l=work.holds_l
    )


def say_plan(turn: Turn) -> Turn:
    """Say what is to be weighed, what it makes, and what had to be assumed."""
    work = _aimed(turn)
    found = plan(work, turn.scene.bench)
    count = len(found.wanted)
    facts = {"lines": found.wanted, "count": count, "long": count > LINES_HELD}
    turn = turn.keep(work).say("batch_plan", recipe=work.recipe, total_g=found.total_g, **facts)
    turn = turn.say("batch_makes", volume_l=found.volume_l, gravity=work.gravity, water_g=found.water_g)
    if found.solids.assumed:
        turn = turn.say("material_assumed", names=found.solids.assumed, gravity=ASSUMED_GRAVITY)
    if found.coarse:
        step_g = planning.scale_step(turn.scene.bench)
        turn = turn.say("batch_coarse", names=found.coarse, step_g=step_g)
    return turn


def say_planned_list(turn: Turn) -> Turn:
    """Read the list of a batch that is not begun."""
    work = turn.scene.work(BatchWork)
    found = plan(work, turn.scene.bench)
    return turn.say("batch_plan", recipe=work.recipe, total_g=found.total_g, lines=found.wanted)


def begin_tared(turn: Turn) -> Turn:
    """Begin to weigh out, each material by itself."""
    return _begun(turn, Mode.TARED)


def begin_adding_up(turn: Turn) -> Turn:
    """Begin to weigh out on a scale that is left to add up."""
    return _begun(turn, Mode.CUMULATIVE)


def _begun(turn: Turn, mode: Mode) -> Turn:
    work, bench = turn.scene.work(BatchWork), turn.scene.bench
    facts = {
        "recipe": work.recipe,
        "wanted": dict(plan(work, bench).wanted),
        "mode": mode.value,
        "step_g": planning.scale_step(bench),
        "gravity": work.gravity,
        "target_low": work.low,
        "target_high": work.high,
    }
    return go_on(turn.write("batch", facts, about_bucket=False))


def _value(said: object) -> Decimal:
    return said.value if isinstance(said, Amount) else Decimal(str(said))


# ---- rows ---------------------------------------------------------------------------------------------


def _plan_rows(state: State, kind: str) -> tuple[Row, ...]:
    """Return what follows once size and gravity are known."""
    return (
        Row(state, kind, bucket_too_small, BATCH_SIZE, say_bucket_too_small),
        Row(state, kind, always, BATCH_SCALE, say_plan),
    )


ROWS = (
    Row(READY, "make_batch", batch_begun, BATCH_RESUME, ask_resume),
    Row(READY, "make_batch", no_recipe_yet, Then.AGAIN, say_no_recipes),
    Row(READY, "make_batch", recipe_said, BATCH_SIZE, choose_recipe),
    Row(READY, "make_batch", named, BATCH_RECIPE, say_no_such_recipe),
    Row(READY, "make_batch", only_one_recipe, BATCH_SIZE, choose_only_recipe),
    Row(READY, "make_batch", always, BATCH_RECIPE, nothing),
    Row(BATCH_RESUME, "yes", too_much_is_in, BATCH_OVER, resume),
    Row(BATCH_RESUME, "yes", all_is_weighed, BATCH_WATER, resume),
    Row(BATCH_RESUME, "yes", water_is_in, BATCH_SOAK, resume),
    Row(BATCH_RESUME, "yes", always, BATCH_WEIGH, resume),
    Row(BATCH_RESUME, "no", always, BATCH_RECIPE, drop_batch),
    Row(BATCH_RECIPE, "choose_recipe", always, BATCH_SIZE, choose_recipe),
    Row(BATCH_RECIPE, "list_recipes", always, Then.AGAIN, say_recipes),
    Row(BATCH_RECIPE, "name_given", always, Then.AGAIN, say_no_such_recipe),
    Row(ANYWHERE, "no_name", recipe_is_asked, Then.AGAIN, say_no_such_recipe),
    Row(BATCH_SIZE, "fill_to", without_unit, Then.AGAIN, say_unit_is_needed),
    Row(BATCH_SIZE, "fill_to", doubtful_size, CONFIRM, hold),
    Row(BATCH_SIZE, "fill_to", without_gravity, BATCH_TARGET, take_size),
    *_plan_rows(BATCH_SIZE, "fill_to"),
    *(
        row
        for kind in ("dry_size", "weight", "volume")
        for row in (
            Row(BATCH_SIZE, kind, without_unit, Then.AGAIN, say_unit_is_needed),
            Row(BATCH_SIZE, kind, doubtful_size, CONFIRM, hold),
            Row(BATCH_SIZE, kind, always, BATCH_TARGET, take_size),
        )
    ),
    Row(BATCH_SIZE, "scale_step", always, Then.AGAIN, take_scale_step),
    *(
        row
        for kind in ("target", "target_range", "gravity")
        for row in (
            Row(BATCH_TARGET, kind, doubtful_as_heard, CONFIRM, hold),
            *_plan_rows(BATCH_TARGET, kind),
        )
    ),
    *(row for kind in ("usual", "unknown") for row in _plan_rows(BATCH_TARGET, kind)),
    Row(BATCH_TARGET, "scale_step", always, Then.AGAIN, take_scale_step),
    *(Row(BATCH_SCALE, kind, always, BATCH_WEIGH, begin_tared) for kind in ("yes", "tare_each", "tared")),
    *(
        Row(BATCH_SCALE, kind, always, BATCH_WEIGH, begin_adding_up)
        for kind in ("no", "adds_up", "not_tared")
    ),
    Row(BATCH_SCALE, "scale_step", always, Then.AGAIN, plan_anew),
    Row(BATCH_SCALE, "read_list", always, Then.AGAIN, say_planned_list),
)
