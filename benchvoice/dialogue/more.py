"""What is too long to be heard in one go: the first part is said, the rest waits for "tell me more"."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always
from benchvoice.messages import Reply

LINES_HELD = 3
"""So many materials with their amounts are held in mind with wet hands (our choice)."""
NOTHING_ELSE = frozenset({"repeat", "slower", "louder", "rang", "counted", "unclear", "ambiguous", "silence"})
"""Kinds after which what was not said can still be asked for."""


@dataclass(frozen=True, slots=True)
class More:
    """What was not said yet."""

    replies: tuple[Reply, ...] = ()


def keep_more(turn: Turn, key: str, **facts: object) -> Turn:
    """Keep the rest of what was said for the potter who wants it at once."""
    return turn.keep(More((Reply(key, facts),)))


def forget_more(turn: Turn, before: Scene) -> Turn:
    """Forget the rest of what was said before this turn, when something else was meant in it."""
    old = before.work(More)
    if not old.replies or turn.scene.work(More) is not old or turn.meaning.kind in NOTHING_ELSE:
        return turn
    return turn.keep(More())


def nothing_more(turn: Turn) -> bool:
    """Hold when all was said."""
    return not turn.scene.work(More).replies


def say_nothing_more(turn: Turn) -> Turn:
    """Say that there is no more to tell."""
    return turn.say("no_more")


def tell_more(turn: Turn) -> Turn:
    """Say the rest."""
    for reply in turn.scene.work(More).replies:
        turn = turn.say(reply.key, **reply.facts)
    return turn.keep(More())


ROWS = (
    Row(ANYWHERE, "tell_more", nothing_more, Then.AGAIN, say_nothing_more),
    Row(ANYWHERE, "tell_more", always, Then.AGAIN, tell_more),
)
