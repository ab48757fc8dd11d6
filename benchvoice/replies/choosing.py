"""One key, several wordings: which variant the facts call for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, cast

from benchvoice.replies.wordings import wordings

Facts = Mapping[str, Any]


def _greeting(facts: Facts) -> str:
    return "buckets" if facts["buckets"] else ""


def _where(facts: Facts) -> str:
    if facts["bucket"] is None:
        return ""
    return "bucket" if facts["gravity"] is None else "reading"


def _so_far(facts: Facts) -> str:
    if facts["bucket"] is None:
        return "none"
    if facts["dry_g"]:
        return "dry"
    water = cast(float, facts["water_g"])
    return "water" if water > 0 else "taken_off" if water < 0 else ""


def _ask_confirm(facts: Facts) -> str:
    if "low" in facts:
        return "range"
    return "" if facts.get("filled_to") is None else "fill"


def _help(facts: Facts) -> str:
    return "more" if facts["more"] else ""


def _history(facts: Facts) -> str:
    return "more" if facts.get("more") else ""


def _undone(facts: Facts) -> str:
    if facts["taken"]:
        return ""
    return "range" if facts["forgotten"] is None else "amount"


def _gone_back(facts: Facts) -> str:
    return "" if set(facts["taken"]) - {"routine"} else "nothing"


def _not_understood(facts: Facts) -> str:
    if facts["misses"] >= 3:
        return "typed" if facts["typed"] else "help"
    if facts["naming"] and not facts["typed"]:
        return "naming"
    if facts["misses"] == 2:
        return "digits" if facts.get("figures") and not facts["typed"] else "examples"
    if facts["typed"] and facts["at_names"] and not facts.get("understood"):
        return "name"
    return "part" if facts.get("understood") else ""


def _bucket_opened(facts: Facts) -> str:
    age = facts["age"]
    if facts["gravity"] is None:
        return "first"
    if age < 0:
        return "clock"
    return "today" if age < 1 else "past" if age < LONG_STANDING_DAYS else "long"


def _summary(facts: Facts) -> str:
    if facts["gravity"] is None:
        return "no_reading"
    water = facts["water_g"]
    if facts.get("dry_g"):
        return "both" if water > 0 else "dry"
    return "" if water > 0 else "taken_off" if water < 0 else "no_water"


def _put_aside(facts: Facts) -> str:
    return "" if facts["gravity"] is None else "read"


def _ask_switch(facts: Facts) -> str:
    return str(facts["loses"])


def _verdict(facts: Facts) -> str:
    return str(facts["verdict"])


def _flow_blocked(facts: Facts) -> str:
    return "never" if facts["time_s"] is None else "long"


def _called_good(facts: Facts) -> str:
    return "" if facts["gravity"] is None else "gravity"


def _cup_calibrated(facts: Facts) -> str:
    return "tared" if facts.get("empty_g") is None else ""


def _sum_of_doses(facts: Facts) -> str:
    return "alike" if facts["percent"] == facts["percent_active"] else ""


def _ask_cup_again(facts: Facts) -> str:
    return "differ" if facts.get("differ") else ""


def _dose_given(facts: Facts) -> str:
    return "weight" if facts["by_weight"] else ""


def _dose_too_far(facts: Facts) -> str:
    return str(facts["kind"])


def _refused(facts: Facts) -> str:
    name = type(facts["error"]).__name__
    return name if f"refused.{name}" in wordings() else ""


def _next_step(facts: Facts) -> str:
    return str(facts["step"])


def _batch_line(facts: Facts) -> str:
    if facts["shows_g"] != facts["mass_g"]:
        return "adds_up"
    return "more" if facts["more"] else ""


def _batch_slip(facts: Facts) -> str:
    return str(facts["slip"])


def _batch_so_far(facts: Facts) -> str:
    if not facts["lines"]:
        return "none"
    return "long" if facts["long"] else ""


def _ask_on_top(facts: Facts) -> str:
    return "usual" if facts["usual"] else ""


def _which_target(facts: Facts) -> str:
    return "here" if facts["here"] else ""


def _batch_plan(facts: Facts) -> str:
    return "long" if facts.get("long") else ""


def _recipe_kept(facts: Facts) -> str:
    return "long" if facts["long"] else _recipe_lines(facts)


def _recipe_lines(facts: Facts) -> str:
    return "additions" if facts["additions"] else ""


def _ask_dip(facts: Facts) -> str:
    return "begun" if facts.get("begun") else ""


def _ask_drying(facts: Facts) -> str:
    if facts.get("wet_wanted"):
        return "weigh"
    return "" if facts.get("dip_s") else "dip"


def _ask_same_tile(facts: Facts) -> str:
    return "face" if facts["thickness_cm"] is None else ""


def _coat_by_weight(facts: Facts) -> str:
    return "" if facts["wet_load"] is None else "wet"


def _coat_verdict(facts: Facts) -> str:
    return {"slow to dry": "slow", "too thin": "thin", "too thick": "thick"}.get(str(facts["sign"]), "right")


def _ask_routine_step(facts: Facts) -> str:
    return "wait" if "called" in facts else ""


LONG_STANDING_DAYS = 21
"""After three weeks a slurry is expected to have changed; common practice, no source."""

CHOOSERS: dict[str, Callable[[Facts], str]] = {
    "greeting": _greeting, "where": _where, "so_far": _so_far, "undone": _undone,
    "ask_confirm": _ask_confirm, "help": _help, "history": _history,
    "gone_back": _gone_back,
    "not_understood": _not_understood, "flow_word": _verdict, "flow_compared": _verdict,
    "flow_blocked": _flow_blocked, "called_good": _called_good, "next_step": _next_step,
    "refused": _refused, "ask_dose_given": _dose_given, "dose_too_far": _dose_too_far,
    "ask_batch_weigh": _batch_line, "ask_batch_odd": _batch_slip, "batch_so_far": _batch_so_far,
    "recipe_kept": _recipe_kept,
    "recipe_lines": _recipe_lines, "batch_plan": _batch_plan,
    "put_aside": _put_aside, "ask_on_top": _ask_on_top,
    "which_target": _which_target, "ask_switch": _ask_switch,
    "bucket_opened": _bucket_opened, "summary": _summary, "ask_routine_step": _ask_routine_step,
    "cup_calibrated": _cup_calibrated, "dose_given": _sum_of_doses, "ask_cup_again": _ask_cup_again,
    "ask_dip": _ask_dip, "ask_drying": _ask_drying, "ask_same_tile": _ask_same_tile,
    "coat_by_weight": _coat_by_weight, "coat_verdict": _coat_verdict,
}  # fmt: skip
