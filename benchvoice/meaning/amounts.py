"""From words to amounts: an exact number, and the unit that was said with it, if one was.

Compound amounts come in the smallest unit that was said: "two kilos four hundred" is 2400 grams. A phrase
that means two things gives two amounts, and whoever asked has to find out which:

* "two kilos fifty" is 2050 or 2500 grams, "two litres five" 2005 or 2500 millilitres;
* "one thirty seconds" is 130 or 90 seconds;
* "two mils" is two millilitres or two millimetres: ask for a dimension;
* "a pint" is one amount with the unit `pint`, which the calculator refuses until it is told which pint.

Where a time is wanted, a bare "one thirty" is one minute thirty; anywhere else it is 130.

    >>> [(str(each.value), each.unit) for each in hear_amount("two kilos four hundred")]
    [('2400', 'gram')]
    >>> [(str(each.value), each.unit) for each in hear_amount("a minute and a half")]
    [('1.5', 'minute')]
    >>> hear_amount("banana grams").stopped_at
    'banana'
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from benchvoice.meaning.number_grammar import numbers_in, part_in
from benchvoice.meaning.number_words import Piece, pieces_of, to_words
from benchvoice.meaning.number_worth import Number, exact
from benchvoice.meaning.numbers import MOST_WAITING, NEXT_WORDS
from benchvoice.meaning.units import DIMENSIONS, UNITS, Unit, smaller_units, units_in
from benchvoice.messages import Amount

Pieces: TypeAlias = Sequence[Piece]
Found: TypeAlias = tuple[Fraction, Unit | None, int]
"""A value, its unit, and the piece after it."""

_MINUTES_SECONDS = re.compile(r"([0-9]{1,3}):([0-5][0-9])")
LONGEST = 32
"""No amount has more words."""


@dataclass(frozen=True, slots=True)
class AmountRefused:
    """A phrase that is not an amount, with as much of it as was one."""

    understood: tuple[Amount, ...]
    """amounts that the longest beginning can mean; empty if there is none"""
    stopped_at: str | None
    """the word that did not fit; None when the words ran out"""
    unfinished: bool
    """True when one more word would make it an amount: wait for it"""


def hear_amount(
    said: str | Sequence[str], dimension: str | None = None
) -> tuple[Amount, ...] | AmountRefused:
    """Return every amount that the whole phrase can mean, or how far it could be followed.

    >>> [(str(each.value), each.unit) for each in hear_amount("one thirty seconds")]
    [('130', 'second'), ('90', 'second')]
    """
    words = to_words(said)
    longest, amounts = _longest(words, dimension)
    if amounts and longest == len(words):
        return amounts
    unfinished = _waits(words, longest, dimension)
    stopped_at = None if unfinished or longest == len(words) else words[longest]
    return AmountRefused(amounts, stopped_at, unfinished)


def _longest(words: Sequence[str], dimension: str | None) -> tuple[int, tuple[Amount, ...]]:
    """Return how many words the longest amounts use that these words begin with, and those amounts."""
    found = list(amounts_at(words, 0, dimension))
    longest = found[0][1] if found else 0
    return longest, tuple(amount for amount, end in found if end == longest)


_NEXT_WORDS = (*NEXT_WORDS, "litre", "hour", "pints")


def _waits(words: Sequence[str], understood: int, dimension: str | None) -> bool:
    """Tell whether one more word would do, when so many words are an amount already."""
    if not 0 < len(words) - understood <= MOST_WAITING:
        return False
    more = ((*words, word) for word in _NEXT_WORDS)
    return any(_longest(longer, dimension)[0] == len(longer) for longer in more)


def amounts_at(
    said: str | Sequence[str], start: int = 0, dimension: str | None = None
) -> Iterator[tuple[Amount, int]]:
    """Yield (amount, end) for every amount that begins at a word, longest first.

    said: words, or a sentence
    start: index of the first word to use
    dimension: weight, volume, time, length, temperature, density, share or count: only amounts of this,
        and bare numbers; None for all
    Yields the amount and the index of the first word it did not use.
    Raises ValueError for a dimension that is not one.

    >>> [(str(amount.value), amount.unit, end) for amount, end in amounts_at("two litres please")]
    [('2', 'litre', 2), ('2', None, 1)]
    """
    if dimension is not None and dimension not in DIMENSIONS:
        raise ValueError(
            f"A dimension is wanted, got {dimension!r}: use one of {', '.join(sorted(DIMENSIONS))}."
        )
    words = to_words(said)
    pieces = pieces_of(words[: start + LONGEST], start)
    found = {(pieces[used - 1].end, unit, value): None for value, unit, used in _amounts(pieces, dimension)}
    for end, unit, value in sorted(found, key=lambda each: -each[0]):
        shown = _shown(value, unit)
        if end and shown is not None and _wanted(unit, dimension):
            yield Amount(shown[0], shown[1], " ".join(words[start:end])), end


def _wanted(unit: Unit | None, dimension: str | None) -> bool:
    return unit is None or dimension is None or unit.dimension == dimension


def _shown(value: Fraction, unit: Unit | None) -> tuple[Decimal, str | None] | None:
    """Return the value as a `Decimal`, in a smaller unit if need be: a third of an hour is 20 minutes."""
    number = exact(value)
    if isinstance(number, Decimal):
        return number, unit.name if unit else None
    for smaller, count in smaller_units(unit) if unit else ():
        number = exact(value * count)
        if isinstance(number, Decimal):
            return number, smaller.name
    return None


def _amounts(pieces: Pieces, dimension: str | None) -> Iterator[Found]:
    for value, unit, end in _simple(pieces, 0):
        yield value, unit, end
        if unit:
            yield from _more(pieces, value, unit, end)
    yield from _bare(pieces, dimension)


# ---- one number with one unit ------------------------------------------------------------------------


def _simple(pieces: Pieces, start: int) -> Iterator[Found]:
    """Yield "five grams", "a litre", "half a litre", "three quarters of an hour"."""
    for number, rule, middle in numbers_in(pieces, start):
        for unit, end in units_in(pieces, middle):
            yield from _with_unit(number, rule, unit, end)
    if _kind(pieces, start) == "a":
        yield from ((Fraction(1), unit, end) for unit, end in units_in(pieces, start + 1))
    yield from _part_of(pieces, start)


def _kind(pieces: Pieces, at: int) -> str:
    return pieces[at].kind if at < len(pieces) else ""


def _with_unit(number: Number, rule: str, unit: Unit, end: int) -> Iterator[Found]:
    """Yield a number with its unit; "one thirty seconds" may be one minute thirty."""
    yield Fraction(number), unit, end
    if rule == "pair" and unit.name in ("second", "minute"):
        for total in _clock(number):
            yield total, unit, end
            yield total, UNITS["second"], end


def _part_of(pieces: Pieces, start: int) -> Iterator[Found]:
    """Yield "half a litre", "a quarter of a litre", "two thirds of an hour"."""
    for part, middle in part_in(pieces, start):
        after = middle + (middle < len(pieces) and pieces[middle].text == "of")
        if _kind(pieces, after) == "a":
            yield from ((part, unit, end) for unit, end in units_in(pieces, after + 1))


def _clock(number: Number) -> Iterator[Fraction]:
    """Yield sixty times the first figures of a pair plus the last two: 130 is ninety."""
    large, small = divmod(int(number), 100)
    if 0 < large < 60 and small < 60:
        yield Fraction(large * 60 + small)


# ---- no unit -----------------------------------------------------------------------------------------


def _bare(pieces: Pieces, dimension: str | None) -> Iterator[Found]:
    """Yield numbers without a unit, and "1:30"; where a time is wanted "one thirty" is a time."""
    for number, rule, end in numbers_in(pieces):
        times = list(_clock(number)) if rule == "pair" and dimension == "time" else []
        yield from ((total, UNITS["second"], end) for total in times)
        if not times:
            yield Fraction(number), None, end
    yield from _typed_time(pieces)


def _typed_time(pieces: Pieces) -> Iterator[Found]:
    match = _MINUTES_SECONDS.fullmatch("".join(piece.text for piece in pieces[:3]))
    if match and pieces[1].text == ":":
        yield Fraction(int(match[1]) * 60 + int(match[2])), UNITS["second"], 3


# ---- and more: "two kilos four hundred", "a litre and a half", "one minute thirty" ---------------------


def _more(pieces: Pieces, value: Fraction, unit: Unit, start: int) -> Iterator[Found]:
    """Yield a whole number of units with a fraction, or with smaller units, added to it."""
    if value.denominator != 1 or value < 1:
        return
    after = start + (_kind(pieces, start) == "&")
    if after > start:
        yield from ((value + part, unit, end) for part, end in part_in(pieces, after))
    yield from _with_named(pieces, value, unit, after)
    yield from _with_bare(pieces, value, unit, after)


def _with_named(pieces: Pieces, value: Fraction, unit: Unit, start: int) -> Iterator[Found]:
    """Add smaller units, fewer than make up a larger one: "four hundred grams", then perhaps more."""
    counts = dict(smaller_units(unit))
    for extra, smaller, end in _simple(pieces, start):
        count = counts.get(smaller, 0) if smaller else 0
        if smaller and 0 < extra < count:
            total = value * count + extra
            yield total, smaller, end
            yield from _more_after(pieces, total, smaller, end, extra)


def _more_after(pieces: Pieces, total: Fraction, unit: Unit, start: int, extra: Fraction) -> Iterator[Found]:
    """Go on after "one hour two minutes" only if the two was whole."""
    if extra.denominator == 1:
        yield from _with_named(pieces, total, unit, start + (_kind(pieces, start) == "&"))


def _with_bare(pieces: Pieces, value: Fraction, unit: Unit, start: int) -> Iterator[Found]:
    """Add a number without a unit: "two kilos four hundred", "three pounds four", "one minute thirty"."""
    if not unit.smaller:
        return
    count, smaller = unit.smaller
    for number, _, end in numbers_in(pieces, start):
        for extra in _extras(Fraction(number), count):
            yield value * count + extra, UNITS[smaller], end


def _extras(number: Fraction, count: int) -> Iterator[Fraction]:
    """Yield what a number after a unit can add; "two kilos fifty" may be 2050 grams, or 2.50 kilos.

    Parts of one are refused: "two kilos point five" is neither clearly 2000.5 grams nor 2.5 kilos.
    """
    least = 100 if count == 1000 else 1
    if not 0 < number < count or (number < least and number.denominator != 1):
        return
    yield number
    if count == 1000 and number < 100:
        yield number * (10 if number >= 10 else 100)
