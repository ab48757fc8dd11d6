"""A weight becomes a gravity, and a verdict on it."""

from __future__ import annotations

from benchvoice.dialogue import contents, readings
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.filling import advise_water
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import ADD_WATER, ASK_CONTENTS, RIGHT, THIN, WEIGH
from benchvoice.dialogue.table import Row, always, nothing
from benchvoice.dialogue.target import target


def doubtful_weight(turn: Turn) -> bool:
    """Hold when the gravity that follows is unlikely for this bucket, or was heard badly."""
    return not turn.scene.sure and readings.unlikely_reading(turn)


def in_range(turn: Turn) -> bool:
    """Hold when the gravity is within the bucket's target."""
    return readings.verdict(turn) == "right"


def too_close_to_tell(turn: Turn) -> bool:
    """Hold when a first reading is above the target, yet within what the cup can tell."""
    return readings.verdict(turn) == "unsure" and not readings.read_twice(turn.scene)


def as_near_as_can_be_told(turn: Turn) -> bool:
    """Hold when a second reading is no clearer."""
    return readings.verdict(turn) == "unsure"


def too_thick(turn: Turn) -> bool:
    """Hold when the gravity is above the target and the contents are known."""
    return readings.verdict(turn) == "thick" and contents.will_be_known(turn.scene)


def too_thick_unmeasured(turn: Turn) -> bool:
    """Hold when the gravity is above the target and nothing is known of the contents."""
    return readings.verdict(turn) == "thick"


def take_reading(turn: Turn) -> Turn:
    """Work out the gravity from the weight and write both down."""
    found = readings.reading(turn)
    turn = turn.write("reading", found.as_facts())
    key = "reading_as_gravity" if found.net_g is None else "reading"
    return turn.say(key, amount=turn.amount, **found.as_facts())


def take_right_reading(turn: Turn) -> Turn:
    """Take a reading that is in range."""
    turn = take_reading(turn)
    low, high = target(turn.scene)
    return turn.say("in_range", low=low, high=high)


def take_unsure_reading(turn: Turn) -> Turn:
    """Take a reading that may or may not be above the target."""
    return take_reading(turn).say("too_close_to_tell")


def take_near_reading(turn: Turn) -> Turn:
    """Take a second reading that is no clearer, and leave it at that."""
    return take_reading(turn).say("near_enough")


def take_thin_reading(turn: Turn) -> Turn:
    """Take a reading below the target."""
    turn = take_reading(turn)
    low, high = target(turn.scene)
    return turn.say("too_thin", low=low, high=high)


def take_thick_reading(turn: Turn) -> Turn:
    """Take a reading above the target and say how much water to add."""
    return advise_water(_say_thick(take_reading(turn)))


def take_unmeasured_thick_reading(turn: Turn) -> Turn:
    """Take a reading above the target, before the contents are known."""
    return _say_thick(take_reading(turn))


def _say_thick(turn: Turn) -> Turn:
    low, high = target(turn.scene)
    return turn.say("too_thick", low=low, high=high)


def _reading_rows(state: State, kind: str) -> tuple[Row, ...]:
    """Return what follows from a reading: the same wherever one is taken."""
    return (
        Row(state, kind, doubtful_weight, CONFIRM, hold),
        Row(state, kind, in_range, RIGHT, take_right_reading),
        Row(state, kind, too_close_to_tell, WEIGH, take_unsure_reading),
        Row(state, kind, as_near_as_can_be_told, RIGHT, take_near_reading),
        Row(state, kind, too_thick, ADD_WATER, take_thick_reading),
        Row(state, kind, too_thick_unmeasured, ASK_CONTENTS, take_unmeasured_thick_reading),
        Row(state, kind, always, THIN, take_thin_reading),
    )


ROWS = (
    *(
        row
        for state in (WEIGH, RIGHT)
        for kind in ("weight", "gravity")
        for row in _reading_rows(state, kind)
    ),
    Row(RIGHT, "weigh", always, WEIGH, nothing),
)
