"""Whatever step takes a number: one that was heard badly can be held there until somebody says yes."""

from __future__ import annotations

import random

import pytest

from benchvoice.dialogue.advance import TABLE
from benchvoice.dialogue.always import hold
from benchvoice.dialogue.scene import State
from benchvoice.meaning import phrases
from benchvoice.messages import Expectation, Words

NAMES = dict.fromkeys(("bucket", "recipe", "material", "timer", "routine"), ("sea mist",))
NEVER_HELD = {"CONFIRM": "its numbers stand for the one held", "DRYING correction": "said twice already"}
"""Where a number is not held, and why."""


def holds_a_number(kind: str) -> bool:
    """Tell whether a number is said in sentences of a kind."""
    dice, expected = random.Random(1), Expectation((kind,), NAMES)
    said = {phrases.sample(kind, dice, expected) for _ in range(30)}
    meant = (phrases.understand(Words(text), expected) for text in said)
    return any(not isinstance(slot, str) for meaning in meant for slot in meaning.slots.values())


NUMERIC = tuple(kind for kind in phrases.kinds() if holds_a_number(kind))


@pytest.mark.parametrize("state", TABLE.states(), ids=str)
def test_every_number_can_be_held(state: State) -> None:
    """Each kind with a number in it, in each step that takes it, has a row that holds it for a yes."""
    for kind in (kind for kind in TABLE.kinds_taken(state) if kind in NUMERIC):
        rows = [row for row in TABLE.rows if (row.state, row.kind) == (state, kind)]
        known = NEVER_HELD.keys() & {state.name, f"{state.name} {kind}"}
        assert known or any(row.action is hold for row in rows), (state.name, kind)
