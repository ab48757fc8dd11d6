"""What dipping a test tile and measuring its coat share: the steps, what was said, the ways home."""

from __future__ import annotations

from benchvoice.calculator.quantities import magnitude
from benchvoice.dialogue import coats
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.coats import CoatWork
from benchvoice.dialogue.countdown import Countdown
from benchvoice.dialogue.said import as_quantity, grams_said, heard_badly
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT
from benchvoice.dialogue.table import Action, Row, always

ASK_DIP = State("ASK_DIP", "ask_dip", ("dip five seconds", "fifty two grams", "half a millimetre", "cancel"))
DIPPING = State("DIPPING", "ask_dipping", ("stop", "cancel"))
DRYING = State("DRYING", "ask_drying", ("dry now", "five seconds", "cancel"))
ASK_COAT = State("ASK_COAT", "ask_coat", ("point six millimetres", "skip it"))
ASK_DRY_WEIGHT = State("ASK_DRY_WEIGHT", "ask_dry_weight", ("fifty four grams", "skip it"))
TILE_DEEP = State("TILE_DEEP", "ask_tile_deep", ("eight centimetres", "go back"))
TILE_WIDE = State("TILE_WIDE", "ask_tile_wide", ("five centimetres", "go back"))
TILE_THICK = State("TILE_THICK", "ask_tile_thick", ("six millimetres", "one face"))
SAME_TILE = State("SAME_TILE", "ask_same_tile", ("yes", "no"))
ASK_WANTED = State("ASK_WANTED", "ask_wanted", ("half a millimetre", "skip it"))

LIKELY_TILE_G = (5.0, 3000.0)
"""A tile outside this is asked about [g] (our choice)."""
LIKELY_COAT_MM = (0.05, 3.0)
"""A coat outside this is asked about [mm] (our choice)."""


def work_of(turn: Turn) -> CoatWork:
    """Return what is known of the tile under way."""
    return turn.scene.work(CoatWork)


def millimetres_said(turn: Turn) -> float:
    """Return the length that was said [mm]; a bare number is millimetres."""
    return magnitude(as_quantity(turn.amount, "millimetre"), "millimetre", of="the length")


def doubtful_tile(turn: Turn) -> bool:
    """Hold when no tile weighs that, or it was heard badly."""
    low, high = LIKELY_TILE_G
    return not turn.scene.sure and (heard_badly(turn) or not low <= grams_said(turn) <= high)


def doubtful_coat(turn: Turn) -> bool:
    """Hold when no coat is like that, or it was heard badly."""
    low, high = LIKELY_COAT_MM
    return not turn.scene.sure and (heard_badly(turn) or not low <= millimetres_said(turn) <= high)


def bare_not_weighed(turn: Turn) -> bool:
    """Hold when the tile was not weighed before the dip."""
    return work_of(turn).bare_g is None


def not_above_bare(turn: Turn) -> bool:
    """Hold when the tile would weigh no more than before the dip."""
    bare = work_of(turn).bare_g
    return bare is not None and grams_said(turn) <= bare


def coat_not_wished(turn: Turn) -> bool:
    """Hold when it was never said how thick the coat of this bucket is to be."""
    return coats.wanted_mm(turn.scene) is None


def say_not_above_bare(turn: Turn) -> Turn:
    """Say that the tile cannot weigh less than before."""
    return turn.say("tile_not_above_bare", amount=turn.amount, bare_g=work_of(turn).bare_g)


def say_next_dip(turn: Turn) -> Turn:
    """Say how long to dip for the coat wanted, when the tiles of this bucket tell."""
    advice = coats.next_dip(turn.scene)
    if advice is None:
        return turn
    turn = turn.say(
        advice.key,
        wanted_mm=advice.wanted_mm,
        time_s=advice.time_s,
        least_s=advice.least_s,
        most_s=advice.most_s,
        tiles=advice.tiles,
    )
    return turn.say("next_dip_far") if advice.far else turn


def take_wanted(turn: Turn) -> Turn:
    """Take how thick the coat of this bucket is to be, and say how long to dip for it."""
    turn = turn.write("wanted_coat", {"mm": round(millimetres_said(turn), 4)})
    return say_next_dip(turn.say("coat_wanted", wanted_mm=millimetres_said(turn))).ask(begun=True)


def leave_tile(turn: Turn) -> Turn:
    """Leave the tile; nothing of it is written down."""
    return turn.keep(Countdown()).keep(CoatWork()).say("tile_left")


def home(state: State, kind: str, action: Action, *, ask: bool = True) -> tuple[Row, ...]:
    """Return the ways home: no bucket, or back to the open one, by way of the wish when there is none."""
    wish = (Row(state, kind, coat_not_wished, ASK_WANTED, action),) if ask else ()
    return (Row(state, kind, no_bucket_open, READY, action), *wish, Row(state, kind, always, RIGHT, action))
