"""How a bucket has been, and the range in which the potter called it good."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchvoice.dialogue import flowing, telling
from benchvoice.dialogue.bench import Bench, number
from benchvoice.dialogue.more import keep_more
from benchvoice.dialogue.said import SINGLE_TARGET_BAND
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import READY, RIGHT, THIN, WEIGH
from benchvoice.dialogue.table import Row, Then, always
from benchvoice.dialogue.target import target

GOOD_RANGE = State("GOOD_RANGE", "ask_good_range", ("yes", "no"))

ENOUGH_MARKS = 3
"""Good marks from which a range is offered (our choice)."""


@dataclass(frozen=True, slots=True)
class RangeWork:
    """Where the range was offered."""

    state: State | None = None


# ---- the range that was good ------------------------------------------------------------------


def good_marks(bench: Bench, bucket: str | None) -> list[float]:
    """Return the gravities at which the bucket was called good, oldest first."""
    found = (
        number(e, "gravity") for e in bench.newest_first("good", bucket) if e.facts["gravity"] is not None
    )
    return list(found)[::-1]


def good_range(bench: Bench, bucket: str | None) -> tuple[float, float] | None:
    """Return between which gravities the bucket was good, or None before there are enough marks.

    Marks that all lie on one gravity are widened as a single target is.
    """
    marks = good_marks(bench, bucket)
    if len(marks) < ENOUGH_MARKS:
        return None
    low, high = min(marks), max(marks)
    wider = SINGLE_TARGET_BAND if high - low < SINGLE_TARGET_BAND else 0.0
    return round(low - wider, 4), round(high + wider, 4)


def _newest_range(scene: Scene, kind: str) -> tuple[float, float] | None:
    entry = scene.bench.last(kind, scene.bucket)
    return None if entry is None else (number(entry, "target_low"), number(entry, "target_high"))


# ---- guards -------------------------------------------------------------------------------------


def one_bucket_known(turn: Turn) -> bool:
    """Hold when there is but one bucket that can be meant."""
    return len(turn.scene.bench.names()) == 1


def no_bucket_is_open(turn: Turn) -> bool:
    """Hold when no bucket is being worked on."""
    return turn.scene.bucket is None


def too_few_good_marks(turn: Turn) -> bool:
    """Hold when the bucket was not called good often enough."""
    return good_range(turn.scene.bench, turn.scene.bucket) is None


def target_already(turn: Turn) -> bool:
    """Hold when the good range is the target as it is."""
    return good_range(turn.scene.bench, turn.scene.bucket) == target(turn.scene)


def good_makes_a_range(turn: Turn) -> bool:
    """Hold when this good mark gives a range that is neither the target nor declined before."""
    if flowing.nothing_to_remember(turn):
        return False
    marked = flowing.call_it_good(turn).scene
    found = good_range(marked.bench, marked.bucket)
    return found not in (None, target(marked), _newest_range(marked, "declined"))


# ---- the history, spoken -------------------------------------------------------------------------


def tell(turn: Turn) -> Turn:
    """Tell how the open bucket has been."""
    return _told(turn, turn.scene.bucket, at_work=True)


def tell_named(turn: Turn) -> Turn:
    """Tell how the bucket that was named has been."""
    name = turn.meaning.text("bucket")
    return _told(turn, name, at_work=name == turn.scene.bucket)


def tell_only(turn: Turn) -> Turn:
    """Tell how the only bucket has been."""
    return _told(turn, turn.scene.bench.names()[0], at_work=False)


def _told(turn: Turn, bucket: str | None, *, at_work: bool) -> Turn:
    first, rest = telling.history_in_two(replace(turn.scene, bucket=bucket), turn.now, at_work=at_work)
    turn = keep_more(turn, rest.key, **rest.facts) if rest else turn
    return turn.say(first.key, **first.facts)


def say_history_of_which(turn: Turn) -> Turn:
    """Say how to ask for the history of a bucket."""
    names = turn.scene.bench.names()
    return turn.say("history_of_which", example=names[-1]) if names else turn.say("no_buckets")


# ---- the good range, offered and taken ---------------------------------------------------------------


def offer_range(turn: Turn) -> Turn:
    """Offer the range in which the bucket was called good."""
    found = good_range(turn.scene.bench, turn.scene.bucket)
    assert found is not None
    turn = turn.keep(RangeWork(turn.scene.state))
    return turn.ask(low=found[0], high=found[1])


def call_it_good_then_offer(turn: Turn) -> Turn:
    """Write down that the bucket is good, and offer the range that its good marks make."""
    return offer_range(flowing.call_it_good(turn))


def say_too_few_good_marks(turn: Turn) -> Turn:
    """Say how many good marks are still wanted."""
    marks = len(good_marks(turn.scene.bench, turn.scene.bucket))
    return turn.say("good_marks_too_few", wanted=ENOUGH_MARKS - marks)


def say_target_already(turn: Turn) -> Turn:
    """Say that the good range is the target as it is."""
    low, high = target(turn.scene)
    return turn.say("good_range_already", low=low, high=high)


def take_range(turn: Turn) -> Turn:
    """Make the good range the bucket's target."""
    low, high = _offered(turn)
    turn = turn.write("target", {"target_low": low, "target_high": high, "learned": True})
    return _back(turn.say("target_set", low=low, high=high))


def decline_range(turn: Turn) -> Turn:
    """Keep the target, and do not offer this range again by oneself."""
    low, high = _offered(turn)
    turn = turn.write("declined", {"target_low": low, "target_high": high})
    low, high = target(turn.scene)
    return _back(turn.say("target_kept", low=low, high=high))


def _offered(turn: Turn) -> tuple[float, float]:
    found = good_range(turn.scene.bench, turn.scene.bucket)
    assert found is not None
    return found


def _back(turn: Turn) -> Turn:
    """Return to where the range was offered."""
    return turn.set(state=turn.scene.work(RangeWork).state, asking={})


ROWS = (
    Row(READY, "history", one_bucket_known, Then.AGAIN, tell_only),
    Row(READY, "history", always, Then.AGAIN, say_history_of_which),
    Row(READY, "history_of", always, Then.AGAIN, tell_named),
    Row(WEIGH, "history", no_bucket_is_open, Then.AGAIN, say_history_of_which),
    *(Row(state, "history", always, Then.AGAIN, tell) for state in (WEIGH, RIGHT, THIN)),
    *(
        row
        for state in (WEIGH, RIGHT)
        for row in (
            Row(state, "use_good_range", too_few_good_marks, Then.AGAIN, say_too_few_good_marks),
            Row(state, "use_good_range", target_already, Then.AGAIN, say_target_already),
            Row(state, "use_good_range", always, GOOD_RANGE, offer_range),
        )
    ),
    Row(RIGHT, "call_it_good", good_makes_a_range, GOOD_RANGE, call_it_good_then_offer),
    Row(GOOD_RANGE, "yes", always, Then.RETURNS, take_range),
    Row(GOOD_RANGE, "no", always, Then.RETURNS, decline_range),
)
