"""Facts in words: each spec that a wording can name, for the ear and for the eye."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from benchvoice.meaning.spelling import say, say_digits, say_gravity
from benchvoice.messages import Amount

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
DEGREES = {
    "degree_Celsius": "degrees", "degree_Twaddell": "degrees Twaddell", "degree_Baume": "degrees Baumé",
    "degree_Fahrenheit": "degrees Fahrenheit",
}  # fmt: skip


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
    if unit in DEGREES:
        return DEGREES[unit]
    word = unit.replace("_", " ").replace("nominal ", "")
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
