"""The coat of a test tile: by gauge or by weight, against what is wanted, and how long to dip the next.

What the tile shows to the eye is in ``judging``; here is what is measured on it.
"""

from __future__ import annotations

from dataclasses import replace

from benchvoice.calculator.diagnosis import Sign
from benchvoice.dialogue import coats
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.coats import CoatWork
from benchvoice.dialogue.said import centimetres_said, grams_said, heard_badly, step_said
from benchvoice.dialogue.scene import Turn
from benchvoice.dialogue.states import RIGHT
from benchvoice.dialogue.table import Row, Then, always, nothing
from benchvoice.dialogue.tiles import (
    ASK_COAT,
    ASK_DRY_WEIGHT,
    ASK_WANTED,
    SAME_TILE,
    TILE_DEEP,
    TILE_THICK,
    TILE_WIDE,
    coat_not_wished,
    doubtful_coat,
    doubtful_tile,
    home,
    leave_tile,
    millimetres_said,
    not_above_bare,
    say_next_dip,
    say_not_above_bare,
    take_wanted,
    work_of,
)

TILE_SIZE = "tile_size"
"""Setting in which the size of the last tile is kept: depth, width, thickness [cm]; None for one face."""


def doubtful(turn: Turn) -> bool:
    """Hold when the amount was heard badly and nobody has said yes to it."""
    return not turn.scene.sure and heard_badly(turn)


def not_below_wet(turn: Turn) -> bool:
    """Hold when the dry tile would weigh no less than the wet one."""
    wet = work_of(turn).wet_g
    return wet is not None and grams_said(turn) >= wet


def tile_is_known(turn: Turn) -> bool:
    """Hold when the size of an earlier tile is known."""
    return turn.scene.bench.setting(TILE_SIZE, None) is not None


def no_tiles(turn: Turn) -> bool:
    """Hold when this bucket has no tile with a dip and a coat."""
    return coats.law(turn.scene) is None


def say_not_below_wet(turn: Turn) -> Turn:
    """Say that a dry tile weighs less than a wet one."""
    return turn.say("tile_not_below_wet", amount=turn.amount, wet_g=work_of(turn).wet_g)


def take_dry_weight(turn: Turn) -> Turn:
    """Take the weight of the dry tile."""
    work = work_of(turn)
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
    return turn.keep(replace(work_of(turn), depth_cm=centimetres_said(turn))).say(
        "tile_size_heard", amount=turn.amount
    )


def take_width(turn: Turn) -> Turn:
    """Take how wide it is."""
    return turn.keep(replace(work_of(turn), width_cm=centimetres_said(turn))).say(
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
    turn = turn.keep(replace(work_of(turn), depth_cm=depth, width_cm=width))
    return _sum_up_weighed(turn, thickness)


def take_no_coat(turn: Turn) -> Turn:
    """Leave the coat unmeasured, and sum the tile up."""
    return _sum_up(turn, {})


def _sum_up_weighed(turn: Turn, thickness_cm: float | None) -> Turn:
    work = work_of(turn)
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
    drawn, least = coats.drawn_g(turn.scene, work_of(turn)), 2 * work_of(turn).step_g
    return turn if drawn is None or drawn <= least else turn.say("tile_drew", water_g=drawn)


def _sum_up(turn: Turn, coat: dict[str, object]) -> Turn:
    """Write the tile down, say what its figures show, and how long to dip the next."""
    facts = coats.tile_facts(turn.scene, work_of(turn), coat)
    sign = coats.verdict(turn.scene, facts)
    turn = turn.write("tile", {**facts, "verdict": sign.value}).keep(CoatWork())
    wanted = coats.wanted_mm(turn.scene)
    if sign is not Sign.NONE or (coat and wanted is not None):
        turn = turn.say("coat_verdict", sign=sign.value, wanted_mm=wanted, coat_mm=facts.get("coat_mm"))
    return say_next_dip(turn)


def say_no_tiles(turn: Turn) -> Turn:
    """Say how to learn the dip time."""
    return turn.say("no_tiles")


ROWS = (
    Row(RIGHT, "how_long_to_dip", no_tiles, Then.AGAIN, say_no_tiles),
    Row(RIGHT, "how_long_to_dip", coat_not_wished, ASK_WANTED, nothing),
    Row(RIGHT, "how_long_to_dip", always, Then.AGAIN, say_next_dip),
    Row(ASK_COAT, "length", doubtful_coat, CONFIRM, hold),
    *home(ASK_COAT, "length", take_gauge),
    *(row for kind in ("skip", "unknown") for row in home(ASK_COAT, kind, take_no_coat, ask=False)),
    Row(ASK_DRY_WEIGHT, "weight", not_above_bare, Then.AGAIN, say_not_above_bare),
    Row(ASK_DRY_WEIGHT, "weight", not_below_wet, Then.AGAIN, say_not_below_wet),
    Row(ASK_DRY_WEIGHT, "weight", doubtful_tile, CONFIRM, hold),
    Row(ASK_DRY_WEIGHT, "weight", tile_is_known, SAME_TILE, take_dry_weight),
    Row(ASK_DRY_WEIGHT, "weight", always, TILE_DEEP, take_dry_weight),
    *(Row(ASK_DRY_WEIGHT, kind, always, ASK_COAT, nothing) for kind in ("skip", "unknown")),
    *home(SAME_TILE, "yes", take_same_tile),
    Row(SAME_TILE, "no", always, TILE_DEEP, nothing),
    Row(TILE_DEEP, "length", doubtful, CONFIRM, hold),
    Row(TILE_DEEP, "length", always, TILE_WIDE, take_depth),
    Row(TILE_WIDE, "length", doubtful, CONFIRM, hold),
    Row(TILE_WIDE, "length", always, TILE_THICK, take_width),
    Row(TILE_THICK, "length", doubtful, CONFIRM, hold),
    *home(TILE_THICK, "length", take_thickness),
    *home(TILE_THICK, "one_face", take_one_face),
    Row(ASK_WANTED, "length", doubtful_coat, CONFIRM, hold),
    Row(ASK_WANTED, "length", always, RIGHT, take_wanted),
    *(Row(ASK_WANTED, kind, always, RIGHT, nothing) for kind in ("skip", "unknown", "leave_it", "cancel")),
    *(
        row
        for state in (ASK_COAT, ASK_DRY_WEIGHT, TILE_DEEP, TILE_WIDE, TILE_THICK, SAME_TILE)
        for row in home(state, "cancel", leave_tile, ask=False)
    ),
)
