"""What the tile shows, with gravity and flow: one next step and its reason, or one question."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator.diagnosis import Diagnosis, GravityState, Sign, diagnose, flow_state, gravity_state
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.flows import last_flow_verdict
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import RIGHT, WEIGH
from benchvoice.dialogue.table import Row, Then, always
from benchvoice.dialogue.target import target

TILE_SIGNS = State(
    "TILE_SIGNS", "ask_signs", ("it cracks", "it crawls", "thin coat", "looks right", "done"), names=()
)


@dataclass(frozen=True, slots=True)
class SignsWork:
    """The signs named so far."""

    signs: tuple[Sign, ...] = ()


def sign_said(turn: Turn) -> Sign:
    """Return the sign that was named, by a word that is waited for or by one that is only typed."""
    return Sign(turn.meaning.text("sign_is" if "sign_is" in turn.meaning.slots else "also_sign_is"))


def no_sign_yet(turn: Turn) -> bool:
    """Hold when no sign was named."""
    return not turn.scene.work(SignsWork).signs


def looks_right(turn: Turn) -> bool:
    """Hold when nothing is wrong with the tile."""
    return sign_said(turn) is Sign.NONE


def begin_signs(turn: Turn) -> Turn:
    """Forget signs named before."""
    return turn.keep(SignsWork())


def add_sign(turn: Turn) -> Turn:
    """Take one more sign."""
    sign = sign_said(turn)
    signs = tuple(dict.fromkeys((*turn.scene.work(SignsWork).signs, sign)))
    return turn.keep(SignsWork(signs)).say("sign_heard", sign=sign.value)


def judge(turn: Turn) -> Turn:
    """Write the signs down and say the next single step, with its reason."""
    signs = turn.scene.work(SignsWork).signs
    found = diagnosis(turn.scene, signs)
    turn = turn.write("signs", {"signs": [sign.value for sign in signs], "step": found.step.value})
    return turn.say("next_step", step=found.step.value, reason=found.reason)


def judge_right(turn: Turn) -> Turn:
    """Take a tile with nothing wrong."""
    return judge(turn.keep(SignsWork()))


def say_what_next(turn: Turn) -> Turn:
    """Say the next single step from gravity and flow alone."""
    found = diagnosis(turn.scene, ())
    return turn.say("next_step", step=found.step.value, reason=found.reason)


def diagnosis(scene: Scene, signs: tuple[Sign, ...]) -> Diagnosis:
    """Return the next step for the bucket as it was read since it was opened."""
    since = scene.bench.since("opened", scene.bucket)
    reading = next((e for e in reversed(since) if e.kind == "reading"), None)
    gravity = (
        GravityState.UNKNOWN if reading is None else gravity_state(number(reading, "shown"), *target(scene))
    )
    return diagnose(gravity, flow_state(last_flow_verdict(scene)), signs)


ROWS = (
    Row(RIGHT, "check_tile", always, TILE_SIGNS, begin_signs),
    Row(RIGHT, "what_next", always, Then.AGAIN, say_what_next),
    Row(WEIGH, "what_next", always, Then.AGAIN, say_what_next),
    Row(TILE_SIGNS, "sign", looks_right, RIGHT, judge_right),
    Row(TILE_SIGNS, "sign", always, Then.STAYS, add_sign),
    Row(TILE_SIGNS, "done", no_sign_yet, RIGHT, judge_right),
    Row(TILE_SIGNS, "done", always, RIGHT, judge),
    Row(TILE_SIGNS, "no", always, RIGHT, judge),
)
