"""The units a potter says, as data: what they are called, how they are spoken, what is the next smaller.

Names are those of `calculator.quantities`. A measure that means two sizes keeps its bare name (`pint`,
`degree`): whoever works with it has to ask, or to know, which one is meant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from benchvoice.meaning.number_words import Piece


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit and its words."""

    name: str
    """its name in the calculator"""
    dimension: str
    """weight, volume, time, length, temperature, density, share or count"""
    one: str
    """how it is said after "one\""""
    many: str
    """how it is said after other numbers"""
    also: tuple[str, ...] = ()
    """further words and signs for it"""
    smaller: tuple[int, str] | None = None
    """the next smaller unit and how many of them make one of these: "two kilos four hundred\""""


def _unit(
    name: str, dimension: str, words: str, also: str = "", smaller: tuple[int, str] | None = None
) -> Unit:
    one, many = words.split(", ")
    return Unit(name, dimension, one, many, tuple(also.split(", ")) if also else (), smaller)


def _two_sizes(name: str, words: str, also: str = "") -> Iterator[Unit]:
    """Yield a measure that is larger in Britain than in America, or the other way round."""
    one, many = words.split(", ")
    yield _unit(name, "volume", words, also)
    for size, said in (("imperial", ("british", "uk")), ("us", ("american", "u s"))):
        spoken = "imperial" if size == "imperial" else "US"
        others = ", ".join(f"{other} {word}" for other in said for word in (one, many))
        yield _unit(f"{size}_{name}", "volume", f"{spoken} {one}, {spoken} {many}", others)


UNITS: Mapping[str, Unit] = {
    unit.name: unit
    for unit in (
        _unit("gram", "weight", "gram, grams", "gramme, grammes, g, gm, gms"),
        _unit(
            "kilogram", "weight", "kilogram, kilograms", "kilo, kilos, kilogramme, kilogrammes, kg, kgs",
            (1000, "gram"),
        ),
        _unit("ounce", "weight", "ounce, ounces", "oz, ozs"),
        _unit("pound", "weight", "pound, pounds", "lb, lbs", (16, "ounce")),
        _unit(
            "millilitre", "volume", "millilitre, millilitres",
            "milliliter, milliliters, ml, mls, mil, mils, mill, mills, cc, ccs, c c, cubic centimetre, "
            "cubic centimetres, cubic centimeter, cubic centimeters",
        ),
        _unit("litre", "volume", "litre, litres", "liter, liters, l, ltr, ltrs", (1000, "millilitre")),
        *_two_sizes("fluid_ounce", "fluid ounce, fluid ounces", "fl oz, floz"),
        *_two_sizes("pint", "pint, pints", "pt, pts"),
        *_two_sizes("quart", "quart, quarts", "qt, qts"),
        *_two_sizes("gallon", "gallon, gallons", "gal, gals"),
        _unit("teaspoon", "volume", "teaspoon, teaspoons", "teaspoonful, teaspoonfuls, tsp, tsps"),
        _unit("tablespoon", "volume", "tablespoon, tablespoons", "tablespoonful, tablespoonfuls, tbsp"),
        _unit("drop", "count", "drop, drops"),
        _unit("second", "time", "second, seconds", "sec, secs, s"),
        _unit("minute", "time", "minute, minutes", "min, mins", (60, "second")),
        _unit("hour", "time", "hour, hours", "hr, hrs, h", (60, "minute")),
        _unit("day", "time", "day, days", "", (24, "hour")),
        _unit("week", "time", "week, weeks", "", (7, "day")),
        _unit(
            "millimetre", "length", "millimetre, millimetres",
            "millimeter, millimeters, mm, mil, mils, mill, mills",
        ),
        _unit(
            "centimetre", "length", "centimetre, centimetres", "centimeter, centimeters, cm, cms",
            (10, "millimetre"),
        ),
        _unit("metre", "length", "metre, metres", "meter, meters", (100, "centimetre")),
        _unit("inch", "length", "inch, inches"),
        _unit("foot", "length", "foot, feet", "ft", (12, "inch")),
        _unit("degree", "temperature", "degree, degrees", "deg, °"),
        _unit(
            "degree_Celsius", "temperature", "degree Celsius, degrees Celsius",
            "celsius, centigrade, degree centigrade, degrees centigrade, degrees c, °c, c",
        ),
        _unit(
            "degree_Fahrenheit", "temperature", "degree Fahrenheit, degrees Fahrenheit",
            "fahrenheit, degrees f, °f, f",
        ),
        _unit(
            "degree_Baume", "density", "degree Baumé, degrees Baumé",
            "degree baume, degrees baume, baumé, baume, °bé, °be",
        ),
        _unit(
            "degree_Twaddell", "density", "degree Twaddell, degrees Twaddell",
            "degree twaddle, degrees twaddle, twaddell, twaddle, °tw, tw",
        ),
        _unit(
            "gram / litre", "density", "gram per litre, grams per litre",
            "gram per liter, grams per liter, grams a litre, grams to the litre, grams a liter, g/l",
        ),
        _unit(
            "gram / millilitre", "density", "gram per millilitre, grams per millilitre",
            "grams per milliliter, grams per cc, grams per mil, grams per ml, g/ml, g/cc",
        ),
        _unit(
            "ounce / pint", "density", "ounce per pint, ounces per pint",
            "ounces to the pint, ounces a pint, oz/pint, oz/pt",
        ),
        _unit("percent", "share", "percent, percent", "per cent, %"),
        _unit("part", "share", "part, parts"),
    )
}  # fmt: skip
"""Every unit by name."""

DIMENSIONS: frozenset[str] = frozenset(unit.dimension for unit in UNITS.values())


def _phrases() -> dict[str, list[tuple[tuple[str, ...], Unit]]]:
    """Index the units by the first word of each of their names, longest name first."""
    index: dict[str, list[tuple[tuple[str, ...], Unit]]] = {}
    for unit in UNITS.values():
        for said in dict.fromkeys(text.lower() for text in (unit.one, unit.many, *unit.also)):
            words = tuple(said.split())
            index.setdefault(words[0], []).append((words, unit))
    for found in index.values():
        found.sort(key=lambda entry: -len(entry[0]))
    return index


_BY_FIRST_WORD = _phrases()


def units_in(pieces: Sequence[Piece], start: int) -> Iterator[tuple[Unit, int]]:
    """Yield (unit, end) for every unit whose name begins at a piece, longest first."""
    if start < len(pieces):
        for words, unit in _BY_FIRST_WORD.get(pieces[start].text, ()):
            end = start + len(words)
            if tuple(piece.text for piece in pieces[start:end]) == words:
                yield unit, end


def smaller_units(unit: Unit) -> Iterator[tuple[Unit, int]]:
    """Yield each smaller unit of the same kind, and how many of them make one.

    >>> [(each.name, count) for each, count in smaller_units(UNITS["day"])]
    [('hour', 24), ('minute', 1440), ('second', 86400)]
    """
    count = 1
    while unit.smaller:
        count, unit = count * unit.smaller[0], UNITS[unit.smaller[1]]
        yield unit, count
