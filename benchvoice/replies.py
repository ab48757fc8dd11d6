"""A reply becomes a sentence: all wording is here and in ``wording/*.toml``, nowhere else.

Each key has a full and a terse wording, and each sentence two forms: for the ear, with numbers
and units spelled, and for the eye, with digits. Some have ``big`` too: the number for the large display.
Where one key needs several wordings, a chooser
picks among ``key.variant`` by the facts.
"""

from __future__ import annotations

import re
import string
import tomllib
from collections.abc import Callable, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from importlib.resources import files
from typing import Any, cast

from benchvoice.meaning.spelling import say, say_digits, say_gravity
from benchvoice.messages import Amount, Reply, Sentence

Facts = Mapping[str, Any]
MILLION = 1_000_000

CALLED = {"magnesium sulfate": "Epsom salt"}
"""Potters' words for what the tables name otherwise; the crystals are meant, with their water."""
UNITS_FOR_THE_EYE = {
    "gram": "g", "kilogram": "kg", "litre": "L", "millilitre": "mL", "centimetre": "cm", "millimetre": "mm",
    "second": "s", "minute": "min", "hour": "h", "percent": "%", "degree_Celsius": "°C",
}  # fmt: skip
KINDS = {
    "reading": "reading", "addition": "addition", "cup": "cup calibration", "bucket": "new bucket",
    "contents": "contents", "closed": "closing note", "flow": "flow", "good": "good mark",
    "opened": "opening", "tile": "tile", "wanted_coat": "wanted coat", "signs": "signs", "target": "target",
    "declined": "answer about the range",
    "recipe": "recipe", "recipe_line": "line of the recipe", "material": "density", "batch": "batch",
    "weighed": "weighing", "batch_change": "change of the batch", "batch_water": "water",
    "batch_closed": "end of the batch",
    "routine": "routine step",
    "dose": "dose", "bottle": "bottle", "caution": "caution",
}  # fmt: skip


def sentence(reply: Reply, wording: str = "full") -> Sentence:
    """Return the words for a reply; a key or fact that is missing is a defect."""
    spoken, printed = (_tidy(_filled(reply, wording, ear=ear)) for ear in (True, False))
    big = _Form(wording, ear=False).vformat(_entry(reply).get("big", ""), (), reply.facts)
    return Sentence(spoken, printed, safety=reply.key.startswith("safety_"), big=big)


def _filled(reply: Reply, wording: str, *, ear: bool) -> str:
    entry = _entry(reply)
    return _Form(wording, ear=ear).vformat(entry.get(wording, entry["full"]), (), reply.facts)


def _entry(reply: Reply) -> Mapping[str, str]:
    chooser = CHOOSERS.get(reply.key)
    variant = chooser(reply.facts) if chooser else ""
    return wordings()[f"{reply.key}.{variant}" if variant else reply.key]


def sentences(replies: Sequence[Reply], wording: str = "full") -> tuple[Sentence, ...]:
    """Return the words for several replies, in their order."""
    return tuple(sentence(reply, wording) for reply in replies)


@cache
def wordings() -> Mapping[str, Mapping[str, str]]:
    """Return every wording by key, from the package's wording files."""
    found: dict[str, Mapping[str, str]] = {}
    for file in sorted(files("benchvoice").joinpath("wording").iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            found.update(tomllib.loads(file.read_text("utf-8")))
    return found


# ---- facts in words -----------------------------------------------------------------------


class _Form(string.Formatter):
    """Fills facts into a wording, for the ear or for the eye."""

    def __init__(self, wording: str, *, ear: bool) -> None:
        self.wording, self.ear = wording, ear

    def format_field(self, value: Any, format_spec: str) -> str:
        spec, _, word = format_spec.partition(":")
        if not spec:
            return for_the_ear(str(value)) if self.ear else str(value)
        if spec == "clauses":
            return ", ".join(_filled(clause, self.wording, ear=self.ear) for clause in value)
        return SPECS[spec](value, self.ear, word)


def rounded(value: float | Decimal | str, step: str) -> Decimal:
    """Return a number rounded half up to a step such as "0.1", exactly."""
    return Decimal(str(value)).quantize(Decimal(step), ROUND_HALF_UP)


def _number(value: Decimal, ear: bool) -> str:
    """Write a number or spell it; what was reckoned may be longer or larger than what can be said."""
    value = Decimal(format(rounded(value, "0.000001").normalize(), "f"))
    if abs(value) >= MILLION:
        return f"{_number(rounded(value / MILLION, '0.1'), ear)} million"
    return say(value) if ear else format(value, ",f")


def _weight(value: Any, ear: bool, _: str) -> str:
    """Say grams: to a tenth below 20 g, whole above, kilograms from 10 kg; never a minus."""
    grams = abs(Decimal(str(value)))
    if grams >= 10_000:
        return _with_unit(rounded(grams / 1000, "0.1"), "kilogram", ear)
    return _with_unit(rounded(grams, "0.1" if grams < 20 else "1"), "gram", ear)


def _with_unit(value: Decimal, unit: str | None, ear: bool) -> str:
    number = _number(value, ear)
    if unit is None:
        return number
    if not ear:
        sign = UNITS_FOR_THE_EYE.get(unit) or _plural_unit(unit, value)
        return f"{number} {sign}"
    return f"{number} {_plural_unit(unit, value)}"


def _plural_unit(unit: str, value: Decimal) -> str:
    word = unit.replace("_", " ").replace("degree Celsius", "degrees").replace("nominal ", "")
    return word if value == 1 or word.endswith("s") or word == "percent" else word + "s"


def _gravity(value: Any, ear: bool, _: str) -> str:
    """Say a gravity to three places, the third only where it is not zero."""
    exact = rounded(value, "0.001")
    exact = exact.quantize(Decimal("0.01")) if exact == exact.quantize(Decimal("0.01")) else exact
    return say_gravity(exact) if ear else format(exact, "f")


def _digits(value: Amount, ear: bool, _: str) -> str:
    """Read an amount back figure by figure, so that a mishearing is heard."""
    if not ear:
        return _with_unit(value.value, value.unit, ear)
    digits = say_digits(value.value)
    return digits if value.unit is None else f"{digits} {_plural_unit(value.unit, value.value)}"


def _amount(value: Amount, ear: bool, _: str) -> str:
    return _with_unit(value.value, value.unit, ear)


def _plain_number(value: Any, ear: bool, _: str) -> str:
    return _number(Decimal(str(value)), ear)


def _change(value: Any, ear: bool, _: str) -> str:
    """Say a small change of gravity to a thousandth; never a minus."""
    change = rounded(abs(Decimal(str(value))), "0.001")
    return _number(change, ear) if change else f"less than {_number(Decimal('0.001'), ear)}"


def _count(value: Any, ear: bool, _: str) -> str:
    return "no" if int(value) == 0 else _number(Decimal(int(value)), ear)


def _whole(value: Any, ear: bool, _: str) -> str:
    return _number(rounded(value, "1"), ear)


def _fine(value: Any, ear: bool, _: str) -> str:
    """Say grams of a dose: two figures below one gram, a tenth above."""
    return _number(rounded(value, "0.01" if float(value) < 1 else "0.1"), ear)


def _share(value: Any, ear: bool, _: str) -> str:
    """Say a small percentage to three places at the most."""
    return _number(rounded(value, "0.001" if float(value) < 0.1 else "0.01"), ear)


def _unit(value: Any, _ear: bool, _word: str) -> str:
    return _plural_unit(str(value), Decimal(2))


def _plural(value: Any, _: bool, word: str) -> str:
    return word if int(value) == 1 else word + "s"


def listed(names: Sequence[str], joint: str) -> str:
    """Return names as a list in a sentence."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"


def _names(value: Sequence[str], _ear: bool, _word: str) -> str:
    return listed(list(value), "and")


def _called(value: Any, _ear: bool, _word: str) -> str:
    """Call an additive what potters call it."""
    return CALLED.get(str(value), str(value))


def _said(value: Sequence[str], _ear: bool, _word: str) -> str:
    return listed(list(value), "or")


def _kinds(value: Sequence[str], _ear: bool, _word: str) -> str:
    named = [kind for kind in dict.fromkeys(value) if kind != "routine"] or ["routine"]
    return listed([KINDS.get(kind, kind) for kind in named], "and")


def _age(days: Any, ear: bool, _: str) -> str:
    """Say a number of days in days below two weeks, in weeks above."""
    count, unit = (int(days), "day") if days < 14 else (int(days // 7), "week")
    return f"{_number(Decimal(count), ear)} {unit if count == 1 else unit + 's'}"


def _length(value: Any, ear: bool, _: str) -> str:
    return _with_unit(rounded(value, "0.1"), "centimetre", ear)


def _volume(value: Any, ear: bool, _: str) -> str:
    litres = Decimal(str(value))
    return _with_unit(rounded(litres, "0.1" if litres >= 1 else "0.01"), "litre", ear)


def _coat(value: Any, ear: bool, _: str) -> str:
    return _with_unit(rounded(value, "0.01"), "millimetre", ear)


def _seconds(value: Any, ear: bool, _: str) -> str:
    return _with_unit(rounded(value, "0.1" if float(value) < 60 else "1"), "second", ear)


def _span(value: Any, ear: bool, word: str) -> str:
    """Say a time in its two largest units; "about" leaves the seconds out from ten minutes on."""
    seconds = int(rounded(value, "1"))
    if word == "about" and seconds >= 600:
        seconds = 60 * int(rounded(Decimal(seconds) / 60, "1"))
    sizes = (("day", 86400), ("hour", 3600), ("minute", 60), ("second", 1))
    largest = "day" if seconds >= 2 * 86400 else next((u for u, s in sizes[1:] if seconds >= s), "second")
    first = [unit for unit, _ in sizes].index(largest)
    parts: list[str] = []
    for unit, size in sizes[first : first + 2]:
        count, seconds = divmod(seconds, size)
        if count or not parts:
            parts.append(_with_unit(Decimal(count), unit, ear))
    return " ".join(parts)


def _grams(value: Any, ear: bool, _: str) -> str:
    """Say grams as a scale shows them, never rounded to less than it shows; kilograms from a thousand."""
    if float(value) >= 999_999.5:
        return _weight(value, ear, "")
    return _with_unit(rounded(value, "0.01"), "gram", ear)


def _portions(value: Sequence[tuple[str, float]], ear: bool, _: str) -> str:
    """Say materials with their weights."""
    return listed([f"{material} {_grams(mass, ear, '')}" for material, mass in value], "and")


def _parts(value: Sequence[tuple[str, float]], ear: bool, _: str) -> str:
    """Say materials with their parts of the base."""
    return listed([f"{material} {_plain_number(amount, ear, '')}" for material, amount in value], "and")


SPECS: dict[str, Callable[[Any, bool, str], str]] = {
    "weight": _weight, "gravity": _gravity, "digits": _digits, "amount": _amount, "number": _plain_number,
    "count": _count, "plural": _plural, "names": _names, "said": _said, "kinds": _kinds, "age": _age,
    "grams": _grams, "portions": _portions, "parts": _parts,
    "length": _length, "whole": _whole, "fine": _fine, "unit": _unit, "share": _share,
    "volume": _volume, "seconds": _seconds, "span": _span, "coat": _coat, "change": _change,
    "called": _called,
}  # fmt: skip

_FIGURES = re.compile(r"\d[\d,]*(?:\.\d+)?")
_SIGNS = {
    r"\bg\b": "grams", r"\bkg\b": "kilograms", r"\bmL\b": "millilitres", r"\bL\b": "litres",
    r"\bcm\b": "centimetres", r"\bs\b": "seconds", "%": " percent", "°C": " degrees", "_": " ",
}  # fmt: skip


def for_the_ear(text: str) -> str:
    """Spell the numbers and units of a text that was written for the eye."""
    text = _FIGURES.sub(lambda match: f" {_figures(match[0])} ", text)
    for sign, word in _SIGNS.items():
        text = re.sub(sign, word, text)
    return _tidy(text)


def _figures(figures: str) -> str:
    """Say a number; one that is too long for words, as in the name of a file, stays as it is."""
    try:
        return say(Decimal(figures.replace(",", "").rstrip(".")))
    except ValueError:
        return figures


def _tidy(text: str) -> str:
    text = re.sub(r"\s+([,.;:?])", r"\1", re.sub(r"\s+", " ", text)).strip()
    return text[:1].upper() + text[1:]


# ---- one key, several wordings ---------------------------------------------------------------


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


def _undone(facts: Facts) -> str:
    return "" if facts["taken"] else "amount"


def _gone_back(facts: Facts) -> str:
    return "" if set(facts["taken"]) - {"routine"} else "nothing"


def _not_understood(facts: Facts) -> str:
    if facts["misses"] >= 3:
        return "help"
    if facts["misses"] == 2:
        return "digits"
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
    return "" if water > 0 else "taken_off" if water < 0 else "no_water"


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
    return "" if facts["lines"] else "none"


def _recipe_kept(facts: Facts) -> str:
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
    "greeting": _greeting, "where": _where, "so_far": _so_far, "undone": _undone, "gone_back": _gone_back,
    "not_understood": _not_understood, "flow_word": _verdict, "flow_compared": _verdict,
    "flow_blocked": _flow_blocked, "called_good": _called_good, "next_step": _next_step,
    "refused": _refused, "ask_dose_given": _dose_given, "dose_too_far": _dose_too_far,
    "ask_batch_weigh": _batch_line, "ask_batch_odd": _batch_slip, "batch_so_far": _batch_so_far,
    "recipe_kept": _recipe_kept,
    "bucket_opened": _bucket_opened, "summary": _summary, "ask_routine_step": _ask_routine_step,
    "cup_calibrated": _cup_calibrated, "dose_given": _sum_of_doses, "ask_cup_again": _ask_cup_again,
    "ask_dip": _ask_dip, "ask_drying": _ask_drying, "ask_same_tile": _ask_same_tile,
    "coat_by_weight": _coat_by_weight, "coat_verdict": _coat_verdict,
}  # fmt: skip
