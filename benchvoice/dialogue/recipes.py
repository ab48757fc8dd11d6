"""A recipe in the potter's own words: a name, a line for each material, and additions on top."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchvoice.calculator.materials import (
    ASSUMED_GRAVITY,
    HEAVIEST,
    LIGHTEST,
    is_usually_on_top,
    near_names,
)
from benchvoice.calculator.quantities import within
from benchvoice.calculator.recipe import HUNDRED_TOLERANCE, Recipe, normalised, sum_of_base
from benchvoice.dialogue.always import CONFIRM, hold, say_no_name
from benchvoice.dialogue.more import LINES_HELD, keep_more
from benchvoice.dialogue.recipe_book import Dictated, dictated, is_known, recipe_facts
from benchvoice.dialogue.said import gravity_value, heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.messages import Amount

RECIPE_NAME = State("RECIPE_NAME", "ask_recipe_name", ("winter ash", "cancel"))
RECIPE_LINES = State(
    "RECIPE_LINES",
    "ask_recipe_line",
    ("feldspar forty", "red iron oxide eight on top", "new material", "undo", "done"),
    names=("material",),
)
RECIPE_ON_TOP = State("RECIPE_ON_TOP", "ask_on_top", ("yes", "no"))
RECIPE_NEW_NAME = State("RECIPE_NEW_NAME", "ask_material_name", ("olive ash", "go back"))
RECIPE_NEAR = State("RECIPE_NEAR", "ask_material_near", ("yes", "no"))
RECIPE_DENSITY = State("RECIPE_DENSITY", "ask_material_density", ("two point seven", "I don't know"))
RECIPE_AMOUNT = State("RECIPE_AMOUNT", "ask_material_amount", ("forty", "go back"))
RECIPE_SUM = State("RECIPE_SUM", "ask_recipe_sum", ("yes", "no", "quartz three"), names=("material",))


@dataclass(frozen=True, slots=True)
class RecipeWork:
    """A recipe that is being dictated: its name, and the line that is being made out."""

    name: str = ""
    material: str = ""
    near: str = ""
    """The known name that an unknown one sounds like."""
    amount: Amount | None = None
    on_top: bool = False


def lines_so_far(turn: Turn) -> Dictated:
    """Return what was dictated so far."""
    return dictated(turn.scene.bench, turn.scene.work(RecipeWork).name)


# ---- guards ---------------------------------------------------------------------------------


def recipe_named_already(turn: Turn) -> bool:
    """Hold when there is a recipe of that name."""
    return turn.meaning.slots.get("name") in turn.scene.bench.names("recipe")


def recipe_misnamed(turn: Turn) -> bool:
    """Hold when it was a new recipe that was to get a name that is none."""
    return turn.meaning.text("wanted") == "new_recipe"


def line_unnamed(turn: Turn) -> bool:
    """Hold when a line of a recipe is waited for, and an amount was said of no material."""
    return turn.scene.state in (RECIPE_LINES, RECIPE_SUM) and turn.meaning.has_amount()


def named(turn: Turn) -> bool:
    """Hold when a name was said with it."""
    return "name" in turn.meaning.slots


def unnamed(turn: Turn) -> bool:
    """Hold when no name was said with it."""
    return not named(turn)


def no_recipe_yet(turn: Turn) -> bool:
    """Hold when there is no recipe."""
    return not turn.scene.bench.names("recipe")


def doubtful_line(turn: Turn) -> bool:
    """Hold when a line was heard badly."""
    return not turn.scene.sure and heard_badly(turn)


def nothing_or_less(turn: Turn) -> bool:
    """Hold when the amount is not above nothing."""
    return turn.meaning.has_amount() and turn.amount.value <= 0


def may_be_on_top(turn: Turn) -> bool:
    """Hold when a line may be an addition: a colour, one that was, a base full without it, or per cent."""
    lines, material = lines_so_far(turn), turn.meaning.text("material")
    if lines.name_of(material) in lines.base:
        return False
    if lines.name_of(material) in lines.additions:
        return True
    heard_percent = turn.amount.unit == "percent" and not turn.meaning.words.typed
    return heard_percent or is_usually_on_top(material) or lines.total >= 100 - HUNDRED_TOLERANCE


def may_be_of_the_base(turn: Turn) -> bool:
    """Hold when "add" was said of a material of the base, while the base is not full yet."""
    lines, material = lines_so_far(turn), turn.meaning.text("material")
    open_still = lines.total < 100 - HUNDRED_TOLERANCE and not is_usually_on_top(material)
    return "over" not in turn.meaning.slots and open_still and material not in lines.additions


def base_is_empty(turn: Turn) -> bool:
    """Hold when no line of the base was said."""
    return not lines_so_far(turn).base


def not_a_hundred(turn: Turn) -> bool:
    """Hold when the base does not make a hundred."""
    return not sum_of_base(lines_so_far(turn).recipe("")).is_hundred


def line_is_whole(turn: Turn) -> bool:
    """Hold when the amount of the line was said before."""
    return turn.scene.work(RecipeWork).amount is not None


def known_and_whole(turn: Turn) -> bool:
    """Hold when the material is known and its amount was said with it."""
    return known_material(turn) and turn.meaning.has_amount()


def known_material(turn: Turn) -> bool:
    """Hold when the material that was named is known."""
    return is_known(turn.scene.bench, turn.meaning.text("name"))


def sounds_known(turn: Turn) -> bool:
    """Hold when the unknown name is nearly that of a known material."""
    return bool(near_names(turn.meaning.text("name")))


# ---- actions ------------------------------------------------------------------------------------


def say_recipe_named_already(turn: Turn) -> Turn:
    """Say that the name is taken."""
    return turn.say("recipe_named_already", name=turn.meaning.text("name"))


def say_no_recipes(turn: Turn) -> Turn:
    """Say how to begin the first recipe."""
    return turn.say("no_recipes")


def say_recipes(turn: Turn) -> Turn:
    """Name the recipes."""
    return turn.say("recipes", names=turn.scene.bench.names("recipe"))


def begin_recipe(turn: Turn) -> Turn:
    """Begin a recipe, or go on with one that was left half said."""
    turn = turn.keep(RecipeWork(turn.meaning.text("name")))
    said = tuple(lines_so_far(turn).base.items())
    key = "recipe_gone_on" if said else "recipe_begun"
    return turn.say(key, name=turn.meaning.text("name"), lines=said)


def say_material_first(turn: Turn) -> Turn:
    """Say how a line goes."""
    return turn.say("recipe_material_first")


def say_more_than_nothing(turn: Turn) -> Turn:
    """Say that an amount is above nothing."""
    return turn.say("recipe_above_nothing", amount=turn.amount)


def take_line(turn: Turn) -> Turn:
    """Write a line of the base down."""
    return _written(turn, turn.meaning.text("material"), turn.amount, on_top=False)


def take_addition(turn: Turn) -> Turn:
    """Write an addition on top of the base down."""
    return _written(turn, turn.meaning.text("material"), turn.amount, on_top=True)


def ask_on_top(turn: Turn) -> Turn:
    """Keep the line while asking where it belongs."""
    work = replace(turn.scene.work(RecipeWork), material=turn.meaning.text("material"), amount=turn.amount)
    total = lines_so_far(turn).total
    usual = is_usually_on_top(work.material) and total < 100 - HUNDRED_TOLERANCE
    return turn.keep(work).ask(material=work.material, total=round(total, 3), usual=usual)


def take_kept_line(turn: Turn) -> Turn:
    """Write the line that was kept down."""
    work = turn.scene.work(RecipeWork)
    assert work.amount is not None
    return _written(turn, work.material, work.amount, on_top=work.on_top)


def take_kept_on_top(turn: Turn) -> Turn:
    """Write the line that was kept down as an addition."""
    return take_kept_line(turn.keep(replace(turn.scene.work(RecipeWork), on_top=True)))


def _written(turn: Turn, material: str, amount: Amount, *, on_top: bool) -> Turn:
    """Write a line down and say the sum; a line said again replaces the one before, and that is said."""
    before = lines_so_far(turn)
    material = before.name_of(material)
    part = "additions" if on_top else "base"
    was = (before.additions if on_top else before.base).get(material)
    facts = {"recipe": turn.scene.work(RecipeWork).name, "part": part, "material": material}
    turn = turn.write("recipe_line", {**facts, "amount": float(amount.value)}, about_bucket=False)
    turn = turn.keep(RecipeWork(turn.scene.work(RecipeWork).name))
    again = was not in (None, float(amount.value))
    key = "recipe_line_again" if again else "recipe_addition" if on_top else "recipe_line"
    return turn.say(key, material=material, amount=amount, was=was, total=round(lines_so_far(turn).total, 3))


def take_name(turn: Turn) -> Turn:
    """Keep the name of a material, and the amount if one was said."""
    name = turn.meaning.text("name")
    near = next(iter(near_names(name)), "")
    amount = turn.amount if turn.meaning.has_amount() else None
    work = RecipeWork(turn.scene.work(RecipeWork).name, name, near, amount, "on_top" in turn.meaning.slots)
    return turn.keep(work).ask(material=name, near=near)


def take_material(turn: Turn) -> Turn:
    """Keep a known material that was said without its amount."""
    work = RecipeWork(turn.scene.work(RecipeWork).name, turn.meaning.text("material"))
    return turn.keep(work).ask(material=work.material)


def take_named_line(turn: Turn) -> Turn:
    """Write the line of a material that is known by its name down."""
    return take_kept_line(take_name(turn))


def take_near(turn: Turn) -> Turn:
    """Take the known material that the unknown name sounds like."""
    work = turn.scene.work(RecipeWork)
    return turn.keep(replace(work, material=work.near)).ask(material=work.near)


def take_near_line(turn: Turn) -> Turn:
    """Take the known material and write its line down."""
    return take_kept_line(take_near(turn))


def take_as_new(turn: Turn) -> Turn:
    """Take the name as one that no table has."""
    return turn.ask(material=turn.scene.work(RecipeWork).material)


def take_density(turn: Turn) -> Turn:
    """Write the density of a new material down."""
    material = turn.scene.work(RecipeWork).material
    gravity = within(gravity_value(turn.amount), LIGHTEST, HEAVIEST, of=f"the density of {material}")
    turn = turn.write("material", {"name": material, "gravity": gravity}, about_bucket=False)
    return turn.say("material_density", material=material, gravity=gravity).ask(material=material)


def assume_density(turn: Turn) -> Turn:
    """Say what is taken for a new material."""
    material = turn.scene.work(RecipeWork).material
    return turn.say("material_assumed", names=(material,), gravity=ASSUMED_GRAVITY).ask(material=material)


def take_density_then_line(turn: Turn) -> Turn:
    """Write the density down, and the line with it."""
    return take_kept_line(take_density(turn))


def assume_density_then_line(turn: Turn) -> Turn:
    """Say what is taken for a new material, and write its line down."""
    return take_kept_line(assume_density(turn))


def take_amount(turn: Turn) -> Turn:
    """Take the amount of the material that was named."""
    return take_kept_line(turn.keep(replace(turn.scene.work(RecipeWork), amount=turn.amount)))


def say_base_is_empty(turn: Turn) -> Turn:
    """Say that a recipe needs a base."""
    return turn.say("recipe_empty")


def ask_sum(turn: Turn) -> Turn:
    """Say what the base makes."""
    total = lines_so_far(turn).total
    return turn.ask(total=round(total, 3))


def keep_recipe(turn: Turn) -> Turn:
    """Write the recipe down as it was said."""
    return _kept(turn, lines_so_far(turn).recipe(turn.scene.work(RecipeWork).name))


def keep_normalised(turn: Turn) -> Turn:
    """Write the recipe down with its base made up to a hundred."""
    return _kept(turn, normalised(lines_so_far(turn).recipe(turn.scene.work(RecipeWork).name)))


def _kept(turn: Turn, recipe: Recipe) -> Turn:
    turn = turn.write("recipe", recipe_facts(recipe), about_bucket=False)
    base, additions = (
        tuple((line.material, round(line.amount, 2)) for line in lines)
        for lines in (recipe.base, recipe.additions)
    )
    count = len(base) + len(additions)
    if long := count > LINES_HELD:
        turn = keep_more(turn, "recipe_lines", base=base, additions=additions)
    facts = {"base": base, "additions": additions, "count": count, "long": long}
    return turn.say("recipe_kept", name=recipe.name, **facts).keep(RecipeWork())


# ---- rows ---------------------------------------------------------------------------------------------


def _line_rows(state: State) -> tuple[Row, ...]:
    """Return what follows from a line: the same while dictating and when the sum is not right."""
    return (
        Row(state, "recipe_line", doubtful_line, CONFIRM, hold),
        Row(state, "recipe_line", nothing_or_less, RECIPE_LINES, say_more_than_nothing),
        Row(state, "recipe_line", may_be_on_top, RECIPE_ON_TOP, ask_on_top),
        Row(state, "recipe_line", always, RECIPE_LINES, take_line),
        Row(state, "add_line", doubtful_line, CONFIRM, hold),
        Row(state, "add_line", nothing_or_less, RECIPE_LINES, say_more_than_nothing),
        Row(state, "add_line", may_be_of_the_base, RECIPE_ON_TOP, ask_on_top),
        Row(state, "add_line", always, RECIPE_LINES, take_addition),
    )


def _name_rows(state: State, kind: str) -> tuple[Row, ...]:
    """Return what follows from a material's name."""
    return (
        Row(state, kind, nothing_or_less, RECIPE_LINES, say_more_than_nothing),
        Row(state, kind, known_and_whole, RECIPE_LINES, take_named_line),
        Row(state, kind, known_material, RECIPE_AMOUNT, take_name),
        Row(state, kind, sounds_known, RECIPE_NEAR, take_name),
        Row(state, kind, always, RECIPE_DENSITY, take_name),
    )


ROWS = (
    Row(READY, "new_recipe", recipe_named_already, Then.AGAIN, say_recipe_named_already),
    Row(READY, "new_recipe", named, RECIPE_LINES, begin_recipe),
    Row(READY, "new_recipe", always, RECIPE_NAME, nothing),
    *(Row(ANYWHERE, kind, line_unnamed, Then.AGAIN, say_material_first) for kind in ("no_name", "weight")),
    Row(ANYWHERE, "no_name", recipe_misnamed, RECIPE_NAME, say_no_name),
    Row(READY, "list_recipes", no_recipe_yet, Then.AGAIN, say_no_recipes),
    Row(READY, "list_recipes", always, Then.AGAIN, say_recipes),
    *(
        row
        for kind in ("called", "name_given")
        for row in (
            Row(RECIPE_NAME, kind, recipe_named_already, Then.AGAIN, say_recipe_named_already),
            Row(RECIPE_NAME, kind, always, RECIPE_LINES, begin_recipe),
        )
    ),
    *_line_rows(RECIPE_LINES),
    Row(RECIPE_LINES, "material_alone", always, RECIPE_AMOUNT, take_material),
    Row(RECIPE_LINES, "new_material", unnamed, RECIPE_NEW_NAME, nothing),
    *_name_rows(RECIPE_LINES, "new_material"),
    Row(RECIPE_LINES, "done", base_is_empty, Then.AGAIN, say_base_is_empty),
    Row(RECIPE_LINES, "done", not_a_hundred, RECIPE_SUM, ask_sum),
    Row(RECIPE_LINES, "done", always, READY, keep_recipe),
    *(row for kind in ("called", "name_given") for row in _name_rows(RECIPE_NEW_NAME, kind)),
    Row(RECIPE_ON_TOP, "yes", always, RECIPE_LINES, take_kept_on_top),
    Row(RECIPE_ON_TOP, "no", always, RECIPE_LINES, take_kept_line),
    Row(RECIPE_NEAR, "yes", line_is_whole, RECIPE_LINES, take_near_line),
    Row(RECIPE_NEAR, "yes", always, RECIPE_AMOUNT, take_near),
    Row(RECIPE_NEAR, "no", always, RECIPE_DENSITY, take_as_new),
    Row(RECIPE_DENSITY, "gravity", doubtful_line, CONFIRM, hold),
    Row(RECIPE_DENSITY, "gravity", line_is_whole, RECIPE_LINES, take_density_then_line),
    Row(RECIPE_DENSITY, "gravity", always, RECIPE_AMOUNT, take_density),
    Row(RECIPE_DENSITY, "unknown", line_is_whole, RECIPE_LINES, assume_density_then_line),
    Row(RECIPE_DENSITY, "unknown", always, RECIPE_AMOUNT, assume_density),
    Row(RECIPE_AMOUNT, "percent", doubtful_line, CONFIRM, hold),
    Row(RECIPE_AMOUNT, "percent", nothing_or_less, RECIPE_LINES, say_more_than_nothing),
    Row(RECIPE_AMOUNT, "percent", always, RECIPE_LINES, take_amount),
    Row(RECIPE_SUM, "yes", always, READY, keep_normalised),
    *(Row(RECIPE_SUM, kind, always, READY, keep_recipe) for kind in ("no", "leave_it")),
    *_line_rows(RECIPE_SUM),
)
