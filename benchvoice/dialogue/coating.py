"""A test tile: counted into the bucket and out, dried by the clock, its coat by gauge or by weight.

What the tile shows to the eye is in ``judging``; here is what is measured on it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.dip_law import LONGEST_DIP
from benchvoice.calculator.quantities import magnitude
from benchvoice.dialogue import coats, countdown
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.clockwork import is_time, live
from benchvoice.dialogue.coats import CoatWork
from benchvoice.dialogue.countdown import IN, OUT, Countdown
from benchvoice.dialogue.said import (
    as_quantity,
    centimetres_said,
    grams_said,
    heard_badly,
    seconds_said,
    step_said,
)
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT, WEIGH
from benchvoice.dialogue.table import ANYWHERE, Action, Guard, Row, Then, always, nothing
from benchvoice.dialogue.timing import carry_timers_over

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

SHORTEST_DIP = 1.0
"""A shorter dip cannot be counted out [s] (our choice)."""
LONG_DIP = 20.0
"""A longer dip is asked about [s] (our choice)."""
LIKELY_TILE_G = (5.0, 3000.0)
"""A tile outside this is asked about [g] (our choice)."""
LIKELY_COAT_MM = (0.05, 3.0)
"""A coat outside this is asked about [mm] (our choice)."""
TILE_SIZE = "tile_size"
"""Setting in which the size of the last tile is kept: depth, width, thickness [cm]; None for one face."""


# ---- what was said ------------------------------------------------------------------------


def _work(turn: Turn) -> CoatWork:
    return turn.scene.work(CoatWork)


def millimetres_said(turn: Turn) -> float:
    """Return the length that was said [mm]; a bare number is millimetres."""
    return magnitude(as_quantity(turn.amount, "millimetre"), "millimetre", of="the length")


# ---- guards -------------------------------------------------------------------------------


def doubtful(turn: Turn) -> bool:
    """Hold when the amount was heard badly and nobody has said yes to it."""
    return not turn.scene.sure and heard_badly(turn)


def dip_too_short(turn: Turn) -> bool:
    """Hold when there is no time to count."""
    return seconds_said(turn) < SHORTEST_DIP


def dip_too_long(turn: Turn) -> bool:
    """Hold when no dip lasts so long."""
    return seconds_said(turn) > LONGEST_DIP


def doubtful_dip(turn: Turn) -> bool:
    """Hold when the dip is unusually long, or was heard badly."""
    return not turn.scene.sure and (heard_badly(turn) or seconds_said(turn) > LONG_DIP)


def grams_or_seconds(turn: Turn) -> bool:
    """Hold when a bare number may be the seconds of a dip as well as the grams of a tile."""
    amount = turn.amount
    return amount.unit is None and amount.value <= LONGEST_DIP and amount.value == int(amount.value)


def doubtful_tile(turn: Turn) -> bool:
    """Hold when no tile weighs that, or it was heard badly."""
    low, high = LIKELY_TILE_G
    return not turn.scene.sure and (heard_badly(turn) or not low <= grams_said(turn) <= high)


def doubtful_coat(turn: Turn) -> bool:
    """Hold when no coat is like that, or it was heard badly."""
    low, high = LIKELY_COAT_MM
    return not turn.scene.sure and (heard_badly(turn) or not low <= millimetres_said(turn) <= high)


def seconds_it_was_in(turn: Turn) -> bool:
    """Hold when a bare number was said of a tile that is not weighed: then it is the time it was in."""
    return _work(turn).bare_g is None and turn.amount.unit is None


def puts_dip_right(turn: Turn) -> bool:
    """Hold when the amount said last was the time of the dip, and a time is being put right."""
    past = turn.scene.past
    return bool(past) and past[-1].meaning.kind == "dip_for" and is_time(turn.amount)


def bare_not_weighed(turn: Turn) -> bool:
    """Hold when the tile was not weighed before the dip."""
    return _work(turn).bare_g is None


def not_above_bare(turn: Turn) -> bool:
    """Hold when the tile would weigh no more than before the dip."""
    bare = _work(turn).bare_g
    return bare is not None and grams_said(turn) <= bare


def not_below_wet(turn: Turn) -> bool:
    """Hold when the dry tile would weigh no less than the wet one."""
    wet = _work(turn).wet_g
    return wet is not None and grams_said(turn) >= wet


def tile_is_known(turn: Turn) -> bool:
    """Hold when the size of an earlier tile is known."""
    return turn.scene.bench.setting(TILE_SIZE, None) is not None


def coat_not_wished(turn: Turn) -> bool:
    """Hold when it was never said how thick the coat of this bucket is to be."""
    return coats.wanted_mm(turn.scene) is None


def no_tiles(turn: Turn) -> bool:
    """Hold when this bucket has no tile with a dip and a coat."""
    return coats.law(turn.scene) is None


def not_dipping(turn: Turn) -> bool:
    """Hold when no dip is under way."""
    return turn.scene.state != DIPPING


def dipping(turn: Turn) -> bool:
    """Hold when a dip is under way."""
    return turn.scene.state == DIPPING


def missed(turn: Turn) -> bool:
    """Hold when the moment went by unsaid."""
    return turn.scene.work(Countdown).missed(turn.now)


def time_is_up(turn: Turn) -> bool:
    """Hold when the tile is to come out."""
    return turn.scene.work(Countdown).says == OUT


# ---- before the dip -----------------------------------------------------------------------------


def begin_tile(turn: Turn) -> Turn:
    """Begin a tile, and say how long to dip it when the bucket's tiles tell."""
    return _say_next_dip(turn.keep(CoatWork()))


def take_bare(turn: Turn) -> Turn:
    """Take the weight of the bare tile."""
    grams, step = grams_said(turn), min(step_said(turn), turn.scene.bench.setting("scale_step_g", 1.0))
    turn = turn.keep(replace(_work(turn), bare_g=grams, step_g=step))
    return turn.say("tile_bare", amount=turn.amount, weight_g=grams).ask(begun=True)


def ask_grams_or_seconds(turn: Turn) -> Turn:
    """Ask for the unit."""
    return turn.say("grams_or_seconds", amount=turn.amount)


def say_dip_too_short(turn: Turn) -> Turn:
    """Say the shortest dip that can be counted."""
    return turn.say("dip_too_short")


def say_dip_too_long(turn: Turn) -> Turn:
    """Say the longest dip."""
    return turn.say("dip_too_long")


# ---- the dip ---------------------------------------------------------------------------------------


def count_in(turn: Turn) -> Turn:
    """Begin to count."""
    dip_s = seconds_said(turn)
    turn = turn.keep(replace(_work(turn), dip_s=dip_s)).keep(countdown.begun(dip_s, turn.now))
    return turn.ask(dip_s=dip_s)


def count_new_tile_in(turn: Turn) -> Turn:
    """Begin a tile with its dip."""
    return count_in(turn.keep(CoatWork()))


def say_count(turn: Turn) -> Turn:
    """Say the moment that has come."""
    counting = turn.scene.work(Countdown)
    turn = turn.keep(countdown.after(counting, turn.now))
    return turn.say("count_in" if counting.says == IN else f"count_{counting.says}")


def say_out(turn: Turn) -> Turn:
    """Say that the tile comes out; from now on it dries."""
    turn = turn.keep(Countdown()).keep(replace(_work(turn), out_at=turn.now))
    return _ask_drying(turn.say("count_out").set(state=DRYING))


def _ask_drying(turn: Turn) -> Turn:
    work = _work(turn)
    wet_wanted = work.bare_g is not None and work.wet_g is None
    return turn.ask(wet_wanted=wet_wanted, dip_s=work.dip_s)


def stop_counting(turn: Turn) -> Turn:
    """Leave the dip, and ask again for how long."""
    return turn.keep(Countdown()).set(state=ASK_DIP, asking={}).say("counting_stopped")


def say_missed(turn: Turn) -> Turn:
    """Say that the count was broken off."""
    return turn.keep(Countdown()).set(state=ASK_DIP, asking={}).say("counting_missed")


def break_off(turn: Turn) -> Turn:
    """Break the count off, since nobody knows any more when the tile went in."""
    return say_missed(carry_timers_over(turn) if live(turn.scene) else turn)


def forget_count(turn: Turn) -> Turn:
    """Forget a dip that was left."""
    return turn.keep(Countdown())


def take_dipped(turn: Turn) -> Turn:
    """Take the tile as dipped just now, by the potter's own count."""
    return _ask_drying(turn.keep(replace(_work(turn), dip_s=None, out_at=turn.now)))


# ---- while it dries ----------------------------------------------------------------------------------


def take_dip_time(turn: Turn) -> Turn:
    """Take how long the tile really was in."""
    turn = turn.keep(replace(_work(turn), dip_s=seconds_said(turn)))
    return _ask_drying(turn.say("dip_was", dip_s=seconds_said(turn)))


def take_wet(turn: Turn) -> Turn:
    """Take the weight of the wet tile."""
    work = _work(turn)
    step = min(work.step_g, step_said(turn))
    turn = turn.keep(replace(work, wet_g=grams_said(turn), step_g=step))
    return _ask_drying(turn.say("tile_wet", amount=turn.amount))


def say_bare_is_missing(turn: Turn) -> Turn:
    """Say that a weight says nothing without the bare one."""
    return turn.say("tile_bare_missing")


def say_not_above_bare(turn: Turn) -> Turn:
    """Say that the tile cannot weigh less than before."""
    return turn.say("tile_not_above_bare", amount=turn.amount, bare_g=_work(turn).bare_g)


def say_not_below_wet(turn: Turn) -> Turn:
    """Say that a dry tile weighs less than a wet one."""
    return turn.say("tile_not_below_wet", amount=turn.amount, wet_g=_work(turn).wet_g)


def take_dry_time(turn: Turn) -> Turn:
    """Take the time since the dip as the drying."""
    work = _work(turn)
    assert work.out_at is not None
    drying_s = (turn.now - work.out_at).total_seconds()
    if drying_s < 0:
        return turn.say("drying_unknown")
    return turn.keep(replace(work, drying_s=drying_s)).say("dried_in", seconds=drying_s)


# ---- the coat ---------------------------------------------------------------------------------------


def take_dry_weight(turn: Turn) -> Turn:
    """Take the weight of the dry tile."""
    work = _work(turn)
    work = replace(work, dry_g=grams_said(turn), step_g=min(work.step_g, step_said(turn)))
    return turn.keep(work).say("tile_dry", amount=turn.amount).ask(**_size_facts(turn))


def _size_facts(turn: Turn) -> dict[str, object]:
    size = turn.scene.bench.setting(TILE_SIZE, None)
    if size is None:
        return {}
    depth, width, thickness = size
    return {"depth_cm": depth, "width_cm": width, "thickness_cm": thickness}


def take_depth(turn: Turn) -> Turn:
    """Take how deep the tile was dipped."""
    return turn.keep(replace(_work(turn), depth_cm=centimetres_said(turn))).say(
        "tile_size_heard", amount=turn.amount
    )


def take_width(turn: Turn) -> Turn:
    """Take how wide it is."""
    return turn.keep(replace(_work(turn), width_cm=centimetres_said(turn))).say(
        "tile_size_heard", amount=turn.amount
    )


def take_gauge(turn: Turn) -> Turn:
    """Take the thickness that the gauge shows, and sum the tile up."""
    turn = turn.say("coat_by_gauge", amount=turn.amount, coat_mm=millimetres_said(turn))
    return _sum_up(turn, {"coat_mm": round(millimetres_said(turn), 4), "how": coats.GAUGE})


def take_thickness(turn: Turn) -> Turn:
    """Take how thick the tile is, and sum it up."""
    return _sum_up_weighed(turn, millimetres_said(turn) / 10)


def take_one_face(turn: Turn) -> Turn:
    """Take one face as glazed, and sum the tile up."""
    return _sum_up_weighed(turn, None)


def take_same_tile(turn: Turn) -> Turn:
    """Take the size of the tile before, and sum this one up."""
    depth, width, thickness = turn.scene.bench.setting(TILE_SIZE, (0.0, 0.0, None))
    turn = turn.keep(replace(_work(turn), depth_cm=depth, width_cm=width))
    return _sum_up_weighed(turn, thickness)


def take_no_coat(turn: Turn) -> Turn:
    """Leave the coat unmeasured, and sum the tile up."""
    return _sum_up(turn, {})


def _sum_up_weighed(turn: Turn, thickness_cm: float | None) -> Turn:
    work = _work(turn)
    area = coats.tile_area(work, thickness_cm)
    coat = coats.weighed_facts(work, area, coats.solids_of(turn.scene))
    size = [work.depth_cm, work.width_cm, thickness_cm]
    turn = turn.write("setting", {"name": TILE_SIZE, "value": size}, about_bucket=False)
    loads = {"dry_load": coat["dry_g_dm2"], "wet_load": coat.get("wet_g_dm2")}
    bounds = {name: f"{coat[name]:.2f}" for name in ("thin_mm", "thick_mm")}
    turn = turn.say("coat_by_weight", **bounds, **loads)
    if coat["coarse"]:
        turn = turn.say("coat_coarse")
    return _sum_up(_say_water(turn), coat)


def _say_water(turn: Turn) -> Turn:
    drawn, least = coats.drawn_g(turn.scene, _work(turn)), 2 * _work(turn).step_g
    return turn if drawn is None or drawn <= least else turn.say("tile_drew", water_g=drawn)


def _sum_up(turn: Turn, coat: dict[str, object]) -> Turn:
    """Write the tile down, say what its figures show, and how long to dip the next."""
    facts = coats.tile_facts(turn.scene, _work(turn), coat)
    sign = coats.verdict(turn.scene, facts)
    turn = turn.write("tile", {**facts, "verdict": sign.value}).keep(CoatWork())
    wanted = coats.wanted_mm(turn.scene)
    if sign is not Sign.NONE or (coat and wanted is not None):
        turn = turn.say("coat_verdict", sign=sign.value, wanted_mm=wanted, coat_mm=facts.get("coat_mm"))
    return _say_next_dip(turn)


def _say_next_dip(turn: Turn) -> Turn:
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


# ---- the coat wanted -------------------------------------------------------------------------------


def take_wanted(turn: Turn) -> Turn:
    """Take how thick the coat of this bucket is to be, and say how long to dip for it."""
    turn = turn.write("wanted_coat", {"mm": round(millimetres_said(turn), 4)})
    return _say_next_dip(turn.say("coat_wanted", wanted_mm=millimetres_said(turn))).ask(begun=True)


def say_wish_needs_bucket(turn: Turn) -> Turn:
    """Say that a wish belongs to a bucket."""
    return turn.say("wish_needs_bucket")


def say_no_tiles(turn: Turn) -> Turn:
    """Say how to learn the dip time."""
    return turn.say("no_tiles")


def say_next_dip(turn: Turn) -> Turn:
    """Say how long to dip."""
    return _say_next_dip(turn)


def leave_tile(turn: Turn) -> Turn:
    """Leave the tile; nothing of it is written down."""
    return turn.keep(Countdown()).keep(CoatWork()).say("tile_left")


# ---- rows --------------------------------------------------------------------------------------------


def _dip_rows(state: State, action: Action) -> tuple[Row, ...]:
    """Return what follows when a time to dip is said."""
    return (
        Row(state, "dip_for", dip_too_short, Then.AGAIN, say_dip_too_short),
        Row(state, "dip_for", dip_too_long, Then.AGAIN, say_dip_too_long),
        Row(state, "dip_for", doubtful_dip, CONFIRM, hold),
        Row(state, "dip_for", always, DIPPING, action),
    )


def _home(state: State, kind: str, action: Callable[[Turn], Turn], *, ask: bool = True) -> tuple[Row, ...]:
    """Return the ways home: no bucket, or back to the open one, by way of the wish when there is none."""
    wish = (Row(state, kind, coat_not_wished, ASK_WANTED, action),) if ask else ()
    return (Row(state, kind, no_bucket_open, READY, action), *wish, Row(state, kind, always, RIGHT, action))


def _held(state: State, kind: str, guard: Guard) -> Row:
    return Row(state, kind, guard, CONFIRM, hold)


ROWS = (
    *(Row(state, "dip_tile", always, ASK_DIP, begin_tile) for state in (READY, RIGHT, WEIGH)),
    *(row for state in (READY, RIGHT, WEIGH) for row in _dip_rows(state, count_new_tile_in)),
    Row(RIGHT, "how_long_to_dip", no_tiles, Then.AGAIN, say_no_tiles),
    Row(RIGHT, "how_long_to_dip", coat_not_wished, ASK_WANTED, nothing),
    Row(RIGHT, "how_long_to_dip", always, Then.AGAIN, say_next_dip),
    *_dip_rows(ASK_DIP, count_in),
    Row(ASK_DIP, "weight", grams_or_seconds, Then.AGAIN, ask_grams_or_seconds),
    _held(ASK_DIP, "weight", doubtful_tile),
    Row(ASK_DIP, "weight", always, ASK_DIP, take_bare),
    Row(ASK_DIP, "dipped", always, DRYING, take_dipped),
    Row(ASK_DIP, "length", no_bucket_open, Then.AGAIN, say_wish_needs_bucket),
    _held(ASK_DIP, "length", doubtful_coat),
    Row(ASK_DIP, "length", always, ASK_DIP, take_wanted),
    *(Row(DIPPING, kind, always, Then.RETURNS, stop_counting) for kind in ("stop", "pause")),
    Row(ANYWHERE, "set_back", dipping, Then.RETURNS, break_off),
    Row(ANYWHERE, "counted", not_dipping, Then.STAYS, forget_count),
    Row(ANYWHERE, "counted", missed, Then.RETURNS, say_missed),
    Row(ANYWHERE, "counted", time_is_up, Then.RETURNS, say_out),
    Row(ANYWHERE, "counted", always, Then.STAYS, say_count),
    Row(DRYING, "coat_dry", bare_not_weighed, ASK_COAT, take_dry_time),
    Row(DRYING, "coat_dry", always, ASK_DRY_WEIGHT, take_dry_time),
    Row(DRYING, "weight", seconds_it_was_in, DRYING, take_dip_time),
    Row(DRYING, "weight", bare_not_weighed, Then.AGAIN, say_bare_is_missing),
    Row(DRYING, "weight", not_above_bare, Then.AGAIN, say_not_above_bare),
    _held(DRYING, "weight", doubtful_tile),
    Row(DRYING, "weight", always, DRYING, take_wet),
    *(Row(DRYING, kind, always, DRYING, take_dip_time) for kind in ("duration", "dip_for")),
    Row(DRYING, "correction", puts_dip_right, DRYING, take_dip_time),
    _held(ASK_COAT, "length", doubtful_coat),
    *_home(ASK_COAT, "length", take_gauge),
    *(row for kind in ("skip", "unknown") for row in _home(ASK_COAT, kind, take_no_coat, ask=False)),
    Row(ASK_DRY_WEIGHT, "weight", not_above_bare, Then.AGAIN, say_not_above_bare),
    Row(ASK_DRY_WEIGHT, "weight", not_below_wet, Then.AGAIN, say_not_below_wet),
    _held(ASK_DRY_WEIGHT, "weight", doubtful_tile),
    Row(ASK_DRY_WEIGHT, "weight", tile_is_known, SAME_TILE, take_dry_weight),
    Row(ASK_DRY_WEIGHT, "weight", always, TILE_DEEP, take_dry_weight),
    *(Row(ASK_DRY_WEIGHT, kind, always, ASK_COAT, nothing) for kind in ("skip", "unknown")),
    *_home(SAME_TILE, "yes", take_same_tile),
    Row(SAME_TILE, "no", always, TILE_DEEP, nothing),
    _held(TILE_DEEP, "length", doubtful),
    Row(TILE_DEEP, "length", always, TILE_WIDE, take_depth),
    _held(TILE_WIDE, "length", doubtful),
    Row(TILE_WIDE, "length", always, TILE_THICK, take_width),
    _held(TILE_THICK, "length", doubtful),
    *_home(TILE_THICK, "length", take_thickness),
    *_home(TILE_THICK, "one_face", take_one_face),
    _held(ASK_WANTED, "length", doubtful_coat),
    Row(ASK_WANTED, "length", always, RIGHT, take_wanted),
    *(Row(ASK_WANTED, kind, always, RIGHT, nothing) for kind in ("skip", "unknown", "leave_it", "cancel")),
    *(
        row
        for state in (
            ASK_DIP,
            DIPPING,
            DRYING,
            ASK_COAT,
            ASK_DRY_WEIGHT,
            TILE_DEEP,
            TILE_WIDE,
            TILE_THICK,
            SAME_TILE,
        )
        for row in _home(state, "cancel", leave_tile, ask=False)
    ),
)
