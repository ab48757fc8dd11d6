"""The target of the open bucket: asked after, and set anew."""

from __future__ import annotations

from benchvoice.dialogue import readings, said
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.states import RIGHT, WEIGH
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.dialogue.target import target


def right_still(turn: Turn) -> bool:
    """Hold when the last reading is in the new target too."""
    return readings.last_verdict(set_anew(turn).scene) == "right"


def no_target_yet(turn: Turn) -> bool:
    """Hold when the bucket has no more than a name yet."""
    return turn.scene.bucket not in turn.scene.bench.names()


def say_target(turn: Turn) -> Turn:
    """Say the bucket's target, and how to set another."""
    low, high = target(turn.scene)
    here = turn.scene.state in (WEIGH, RIGHT)
    return turn.say("which_target", low=low, high=high, here=here)


def say_no_target(turn: Turn) -> Turn:
    """Say that a target belongs to a bucket."""
    return turn.say("target_needs_bucket")


def set_anew(turn: Turn) -> Turn:
    """Make what was said the bucket's target."""
    low, high = said.target_said(turn)
    turn = turn.write("target", {"target_low": low, "target_high": high, "learned": False})
    return turn.say("target_set", low=low, high=high)


ROWS = (
    *(
        row
        for state in (WEIGH, RIGHT)
        for row in (
            Row(state, "which_target", always, Then.AGAIN, say_target),
            Row(state, "target", doubtful_as_heard, CONFIRM, hold),
        )
    ),
    Row(WEIGH, "target", always, WEIGH, set_anew),
    Row(RIGHT, "target", right_still, RIGHT, set_anew),
    Row(RIGHT, "target", always, WEIGH, set_anew),
    Row(ANYWHERE, "which_target", no_bucket_open, Then.AGAIN, say_no_target),
    Row(ANYWHERE, "which_target", no_target_yet, Then.AGAIN, nothing),
    Row(ANYWHERE, "which_target", always, Then.AGAIN, say_target),
)
