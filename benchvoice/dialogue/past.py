"""Going back: undo, go back, and a correction in one turn. Nothing is erased, everything is re-entered."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from benchvoice.dialogue.scene import Held, Scene, Step, Turn
from benchvoice.messages import Amount, Meaning

REMEMBERED_STEPS = 400
KEPT_BY_UNDO = frozenset({"setting", "timer", "undo", "opened"})
"""Kinds that an undo of the work at the bench leaves alone."""

ADVISED = {"ADD_WATER": "mass_g", "TAKE_OFF": "mass_g", "ADD_DRY": "mass_g", "BATCH_WATER": "water_g"}
"""States in which "done" stands for the amount that was advised, and the fact that holds it."""
AT_REST = frozenset({"READY", "WEIGH", "RIGHT"})
"""States in which no step is half done: a number said before is written down by now, or dropped."""


def with_step(later: Scene, earlier: Scene, meaning: Meaning) -> Scene:
    """Return the later scene, able to go back to the earlier one; a yes to one amount is none to the next."""
    step = Step(replace(earlier, past=(), sure=False), meaning)
    return replace(later, past=(*earlier.past, step)[-REMEMBERED_STEPS:])


def _work_since(scene: Scene, step: Step) -> tuple[str, ...]:
    """Return keys of the entries that going back to a step would take back, newest first."""
    kinds = {entry.key: entry.kind for entry in scene.bench.entries}
    return tuple(k for k in scene.keys_since(step.scene) if kinds[k] not in KEPT_BY_UNDO)


def _last_deed(scene: Scene) -> int | None:
    """Return the place in the past of the newest step that an undo takes back.

    What was written counts, and first a number of the step under way that is not written yet: a fill of the
    cup, a bare tile, a weight that was not enough.
    """
    later, under_way = scene, True
    for place in range(len(scene.past) - 1, -1, -1):
        step = scene.past[place]
        under_way = under_way and later.state.name not in AT_REST
        if _work_since(scene, step) or (under_way and _has_number(step.meaning)):
            return place
        later = step.scene
    return None


def _has_number(meaning: Meaning) -> bool:
    """Tell whether an amount, a bare number or a range was said."""
    return meaning.has_amount() or "low" in meaning.slots


def unwritten(scene: Scene) -> bool:
    """Tell whether an undo would take back a number that is not written yet, and no more."""
    place = _last_deed(scene)
    return place is not None and not _work_since(scene, scene.past[place])


def can_undo(turn: Turn) -> bool:
    """Tell whether this session has written anything that can be taken back."""
    return _last_deed(turn.scene) is not None


def can_go_back(turn: Turn) -> bool:
    """Tell whether there is an earlier step."""
    return bool(turn.scene.past)


def can_correct(turn: Turn) -> bool:
    """Tell whether an amount was taken earlier in this session."""
    return _last_amount(turn.scene) is not None


def undo(turn: Turn) -> Turn:
    """Take back what was said or written last and return to the step before it."""
    place = _last_deed(turn.scene)
    assert place is not None
    return _return_to(turn, place, "undone")


def go_back(turn: Turn) -> Turn:
    """Return to the step before this one; what was written since is taken back, and said."""
    return _return_to(turn, len(turn.scene.past) - 1, "gone_back")


def correct(turn: Turn) -> Turn:
    """Return to where the last amount was taken and carry the right one out in its place."""
    place = _last_amount(turn.scene)
    assert place is not None
    step = turn.scene.past[place]
    wrong = _advised(step) or step.meaning.amount()
    back = _rewound(turn, place)
    right = in_unit_of(wrong, turn.amount)
    meaning = Meaning("weight") if _advised(step) else step.meaning
    meaning = meaning.with_amount(right, turn.meaning.words)
    held = Held(step.scene.state, meaning, step.scene.asking, back.scene.past)
    back = back.set(held=held, sure=turn.scene.sure)
    return back.say("corrected", wrong=wrong, right=right)


def in_unit_of(wrong: Amount, right: Amount) -> Amount:
    """Return the right amount in the unit that was first said, when the correction names none."""
    return replace(right, unit=wrong.unit) if right.unit is None else right


def _last_amount(scene: Scene) -> int | None:
    for place in range(len(scene.past) - 1, -1, -1):
        if scene.past[place].meaning.has_amount() or _advised(scene.past[place]):
            return place
    return None


def _advised(step: Step) -> Amount | None:
    """Return the amount that was advised at a step and taken as it was, with a mere "done"."""
    fact = ADVISED.get(step.scene.state.name)
    if fact is None or step.meaning.kind != "done":
        return None
    return Amount(Decimal(str(step.scene.asking[fact])), "gram")


def _return_to(turn: Turn, place: int, key: str) -> Turn:
    kinds = {entry.key: entry.kind for entry in turn.scene.bench.entries}
    step = turn.scene.past[place]
    taken = tuple(kinds[k] for k in _work_since(turn.scene, step))
    forgotten = step.meaning.amount() if step.meaning.has_amount() else None
    back = _rewound(turn, place).say(key, taken=taken, forgotten=forgotten)
    here = back.scene.bucket
    return back if here in (None, turn.scene.bucket) else back.say("back_at", bucket=here)


def _rewound(turn: Turn, place: int) -> Turn:
    """Return to an earlier scene, writing down that what came since no longer stands."""
    step = turn.scene.past[place]
    for key in _work_since(turn.scene, step):
        turn = turn.take_back(key)
    scene = turn.scene
    return replace(
        turn,
        scene=replace(step.scene, bench=scene.bench, written=scene.written, past=scene.past[:place]),
    )
