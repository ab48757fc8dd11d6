"""Choosing a bucket, beginning a new one, and leaving it."""

from __future__ import annotations

from benchvoice.calculator.safety import Action
from benchvoice.dialogue import advice as advising
from benchvoice.dialogue import said, telling
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold, say_no_name
from benchvoice.dialogue.hazards import caution
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.states import ADD_WATER, ASK_NAME, ASK_TARGET, CUP_EMPTY, READY, RIGHT, THIN, WEIGH
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing
from benchvoice.dialogue.target import USUAL_TARGET


def named(turn: Turn) -> bool:
    """Hold when a name was said with it."""
    return "name" in turn.meaning.slots


def known_already(turn: Turn) -> bool:
    """Hold when a bucket of that name exists."""
    return named(turn) and turn.meaning.text("name") in turn.scene.bench.names()


def bucket_misnamed(turn: Turn) -> bool:
    """Hold when it was a new bucket that was to get such a name."""
    return turn.meaning.text("wanted") == "new_bucket"


def no_bucket_yet(turn: Turn) -> bool:
    """Hold when the bench knows no bucket."""
    return not turn.scene.bench.names()


def no_cup_yet(turn: Turn) -> bool:
    """Hold when no cup is calibrated."""
    return turn.scene.bench.last("cup") is None


def no_bucket_open(turn: Turn) -> bool:
    """Hold when no bucket is being worked on."""
    return turn.scene.bucket is None


def say_no_buckets(turn: Turn) -> Turn:
    """Say how to begin the first bucket."""
    return turn.say("no_buckets")


def say_buckets(turn: Turn) -> Turn:
    """Name the buckets."""
    return turn.say("buckets", names=turn.scene.bench.names())


def say_known_already(turn: Turn) -> Turn:
    """Say that the name is taken."""
    return turn.say("known_already", name=turn.meaning.text("name"))


def name_bucket(turn: Turn) -> Turn:
    """Take the name of the new bucket."""
    return turn.set(bucket=turn.meaning.text("name")).say("bucket_named", name=turn.meaning.text("name"))


def set_target(turn: Turn) -> Turn:
    """Take the target and begin the bucket."""
    low, high = said.target_said(turn)
    turn = turn.write("bucket", {"target_low": low, "target_high": high})
    return open_bucket(turn.say("target_set", low=low, high=high))


def set_usual_target(turn: Turn) -> Turn:
    """Take the range in which most dipping glazes work and begin the bucket."""
    low, high = USUAL_TARGET
    turn = turn.write("bucket", {"target_low": low, "target_high": high, "usual": True})
    return open_bucket(turn.say("target_usual", low=low, high=high))


def choose_bucket(turn: Turn) -> Turn:
    """Work on a bucket that is known."""
    name = turn.meaning.text("bucket")
    return open_bucket(turn.set(bucket=name))


def open_bucket(turn: Turn) -> Turn:
    """Begin work on the bucket and say when it was last opened."""
    name = turn.scene.bucket
    before = turn.scene.bench.last("reading", name)
    standing = telling.on_opening(turn.scene, turn.now)
    turn = caution(turn.write("opened"), Action.MIX_BY_MACHINE).say(
        "bucket_opened", name=name, **advising.since_last_reading(before, turn.now)
    )
    for reply in standing:
        turn = turn.say(reply.key, **reply.facts)
    return turn.keep(advising.Advice())


def finish(turn: Turn) -> Turn:
    """Sum up the bucket and leave it."""
    facts = advising.summary(turn.scene)
    turn = turn.write("closed", facts).say("summary", bucket=turn.scene.bucket, **facts)
    return turn.set(bucket=None)


def leave_bucket(turn: Turn) -> Turn:
    """Leave the bucket as it is."""
    return turn.set(bucket=None, held=None).say("cancelled")


ROWS = (
    Row(READY, "choose_bucket", no_cup_yet, CUP_EMPTY, choose_bucket),
    Row(READY, "choose_bucket", always, WEIGH, choose_bucket),
    Row(ANYWHERE, "no_name", bucket_misnamed, ASK_NAME, say_no_name),
    Row(READY, "new_bucket", known_already, Then.AGAIN, say_known_already),
    Row(READY, "new_bucket", named, ASK_TARGET, name_bucket),
    Row(READY, "new_bucket", always, ASK_NAME, nothing),
    Row(READY, "list_buckets", no_bucket_yet, Then.AGAIN, say_no_buckets),
    Row(READY, "list_buckets", always, Then.AGAIN, say_buckets),
    Row(READY, "start", no_bucket_yet, Then.AGAIN, say_no_buckets),
    Row(READY, "start", always, Then.AGAIN, say_buckets),
    *(
        row
        for kind in ("called", "name_given")
        for row in (
            Row(ASK_NAME, kind, known_already, Then.AGAIN, say_known_already),
            Row(ASK_NAME, kind, always, ASK_TARGET, name_bucket),
        )
    ),
    *(
        row
        for kind in ("target", "target_range", "gravity")
        for row in (
            Row(ASK_TARGET, kind, doubtful_as_heard, CONFIRM, hold),
            Row(ASK_TARGET, kind, no_cup_yet, CUP_EMPTY, set_target),
            Row(ASK_TARGET, kind, always, WEIGH, set_target),
        )
    ),
    *(
        row
        for kind in ("usual", "unknown")
        for row in (
            Row(ASK_TARGET, kind, no_cup_yet, CUP_EMPTY, set_usual_target),
            Row(ASK_TARGET, kind, always, WEIGH, set_usual_target),
        )
    ),
    Row(WEIGH, "finish", always, READY, finish),
    Row(RIGHT, "finish", always, READY, finish),
    Row(RIGHT, "done", always, READY, finish),
    Row(ADD_WATER, "finish", always, READY, finish),
    Row(THIN, "leave_it", always, READY, finish),
    Row(THIN, "finish", always, READY, finish),
    Row(ANYWHERE, "cancel", always, READY, leave_bucket),
)
