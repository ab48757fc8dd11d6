"""What every step of weighing out shares: its states, what is written down, where it leads, where we are."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator.quantities import magnitude
from benchvoice.calculator.safety import Action
from benchvoice.calculator.weighing import expected_reading
from benchvoice.dialogue.batches import Stage, the_batch
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.hazards import caution
from benchvoice.dialogue.more import LINES_HELD, keep_more
from benchvoice.dialogue.past import KEPT_BY_UNDO, can_undo, undo, unwritten
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


@dataclass(frozen=True, slots=True)
class Chosen:
    """The material that the potter wants to weigh first."""

    material: str = ""


# ---- what is written down ----------------------------------------------------------------------


def line_now(turn: Turn) -> tuple[str, float]:
    """Return the material to weigh now, and how much [g]."""
    return the_batch(turn.scene.bench).next_line(turn.scene.work(Chosen).material)


def weigh_in(
    turn: Turn, material: str, got_g: float, *, corrects: str | None = None, again: bool = False
) -> Turn:
    """Write a weighing down; ``again`` when it stands in the place of one that is corrected."""
    facts = {"material": material, "mass_g": tidy(got_g), "corrects": corrects, "again": again}
    return turn.keep(Chosen()).write("weighed", facts, about_bucket=False)


def correct_out(turn: Turn, entry: Entry) -> Turn:
    """Write down that a weighing does not count; an entry of its own, so that an undo brings it back."""
    return weigh_in(turn, str(entry.facts["material"]), -number(entry, "mass_g"), corrects=entry.key)


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
        turn = turn.say("batch_all_weighed", total_g=tidy(batch.total_in))
    return turn.ask(water_g=batch.water_wanted())


def _ask_line(turn: Turn) -> Turn:
    """Ask for the next line, after the cautions that belong to its material."""
    batch, first = the_batch(turn.scene.bench), turn.scene.work(Chosen).material
    material, mass_g = batch.next_line(first)
    shows_g = tidy(magnitude(expected_reading(batch.sheet(first)), "gram"))
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
    lines = tuple((name, tidy(mass)) for name, mass in batch.got().items() if mass > 0)
    if long := len(lines) > LINES_HELD:
        turn = keep_more(turn, "batch_weights", lines=lines)
    names = tuple(name for name, _ in lines)
    return turn.say("batch_so_far", lines=lines, names=names, long=long, total_g=tidy(batch.total_in))


def say_list(turn: Turn) -> Turn:
    """Read the list of what goes in."""
    batch = the_batch(turn.scene.bench)
    total = tidy(sum(batch.wanted.values()))
    return turn.say("batch_plan", recipe=batch.recipe, total_g=total, lines=tuple(batch.wanted.items()))


def say_spilled_powder(turn: Turn) -> Turn:
    """Say what spilt powder means for the batch."""
    return turn.say("batch_spilled")


def weighed_last(turn: Turn) -> bool:
    """Hold when what was written last in this session is a weighing of something that went in."""
    entries = [e for e in turn.scene.bench.entries if e.kind not in KEPT_BY_UNDO]
    if not can_undo(turn) or unwritten(turn.scene) or entries[-1].kind != "weighed":
        return False
    return number(entries[-1], "mass_g") > 0 and not entries[-1].facts["again"]


def undo_weighing(turn: Turn) -> Turn:
    """Take the last weighing back, and say what to scoop out."""
    last = turn.scene.bench.last("weighed")
    assert last is not None
    facts = {"material": last.facts["material"], "mass_g": number(last, "mass_g")}
    return undo(turn).say("batch_scoop_undone", **facts)


def tidy(mass: float) -> float:
    """Return a mass without what sums of decimal fractions leave over [g]."""
    return round(mass, 4)


# ---- rows --------------------------------------------------------------------------------------


def then_rows(state: State, kind: str, act: Deed) -> tuple[Row, ...]:
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


def missing_rows(state: State, kind: str, when: Guard, act: Deed) -> tuple[Row, ...]:
    """Return where it leads when a line is still missing: to it, unless too much of another is in."""

    def and_too_much_is_in(turn: Turn) -> bool:
        return when(turn) and _stage_after(act(turn)) is Stage.OVER

    and_too_much_is_in.__name__ = f"{when.__name__} and too much is in"
    return Row(state, kind, and_too_much_is_in, BATCH_OVER, act), Row(state, kind, when, BATCH_WEIGH, act)


def _stage_after(turn: Turn) -> Stage:
    return the_batch(turn.scene.bench).stage()


def asking_rows(state: State) -> tuple[Row, ...]:
    """Return the rows by which the potter finds the way in a batch."""
    return (
        Row(state, "read_list", always, Then.AGAIN, say_list),
        Row(state, "spilled", always, Then.AGAIN, say_spilled_powder),
        Row(state, "where", always, Then.AGAIN, say_where_in_batch),
        *(Row(state, kind, always, Then.AGAIN, say_weighed_so_far) for kind in ("batch_so_far", "so_far")),
        Row(state, "undo", weighed_last, Then.RETURNS, undo_weighing),
    )
