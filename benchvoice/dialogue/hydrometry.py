"""The heavy-liquid hydrometer: its degrees told as a gravity, never trusted like a weighed cup."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator import hydrometer
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT, WEIGH
from benchvoice.dialogue.table import Row, Then, always

ASK_MODULUS = State("ASK_MODULUS", "ask_modulus", ("one hundred and forty five", "one four four point three"))
TWADDELL, BAUME = "degree_Twaddell", "degree_Baume"


@dataclass(frozen=True, slots=True)
class HydrometerWork:
    """A reading in degrees Baumé that waits for its modulus."""

    degrees: float = 0.0


def in_twaddell(turn: Turn) -> bool:
    """Hold when the scale is Twaddell, which has no modulus."""
    return turn.amount.unit == TWADDELL


def in_another_unit(turn: Turn) -> bool:
    """Hold when what was said is no degree of a hydrometer."""
    return turn.amount.unit not in (TWADDELL, BAUME, None)


def modulus_known(turn: Turn) -> bool:
    """Hold when the hydrometer's modulus was told before."""
    return turn.scene.bench.last("modulus") is not None


def say_which_degrees(turn: Turn) -> Turn:
    """Ask for degrees."""
    return turn.say("which_degrees")


def say_twaddell(turn: Turn) -> Turn:
    """Say the gravity of degrees Twaddell."""
    gravity = hydrometer.twaddell_to_gravity(float(turn.amount.value))
    return turn.say("hydrometer", gravity=gravity, degrees=turn.amount.value, scale="Twaddell")


def say_baume(turn: Turn) -> Turn:
    """Say the gravity of degrees Baumé, by the modulus that was told before."""
    modulus = number(turn.scene.bench.last("modulus"), "modulus")
    return _say_baume(turn, float(turn.amount.value), modulus)


def keep_degrees(turn: Turn) -> Turn:
    """Keep the degrees until the modulus is known."""
    return turn.keep(HydrometerWork(float(turn.amount.value)))


def take_modulus(turn: Turn) -> Turn:
    """Take the modulus for good, and say the gravity."""
    modulus, degrees = float(turn.amount.value), turn.scene.work(HydrometerWork).degrees
    hydrometer.baume_to_gravity(degrees, modulus)
    turn = turn.write("modulus", {"modulus": modulus}, about_bucket=False)
    return _say_baume(turn, degrees, modulus)


def say_modulus_unknown(turn: Turn) -> Turn:
    """Say that degrees mean nothing without it."""
    return turn.say("modulus_unknown")


def _say_baume(turn: Turn, degrees: float, modulus: float) -> Turn:
    gravity = hydrometer.baume_to_gravity(degrees, modulus)
    return turn.say("hydrometer", gravity=gravity, degrees=degrees, scale="Baumé")


def _rows(state: State) -> tuple[Row, ...]:
    return (
        Row(state, "hydrometer", in_another_unit, Then.AGAIN, say_which_degrees),
        Row(state, "hydrometer", doubtful_as_heard, CONFIRM, hold),
        Row(state, "hydrometer", in_twaddell, Then.AGAIN, say_twaddell),
        Row(state, "hydrometer", modulus_known, Then.AGAIN, say_baume),
        Row(state, "hydrometer", always, ASK_MODULUS, keep_degrees),
    )


ROWS = (
    *(row for state in (READY, WEIGH, RIGHT) for row in _rows(state)),
    Row(ASK_MODULUS, "modulus", doubtful_as_heard, CONFIRM, hold),
    Row(ASK_MODULUS, "modulus", no_bucket_open, READY, take_modulus),
    Row(ASK_MODULUS, "modulus", always, WEIGH, take_modulus),
    Row(ASK_MODULUS, "unknown", no_bucket_open, READY, say_modulus_unknown),
    Row(ASK_MODULUS, "unknown", always, WEIGH, say_modulus_unknown),
)
