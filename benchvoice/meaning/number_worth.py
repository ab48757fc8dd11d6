"""What runs of number words are worth: cardinals, pairs, figures one by one, typed figures, fractions.

Each function is given pieces that `number_grammar` has found to be well formed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from benchvoice.meaning.number_words import Piece

Number: TypeAlias = Decimal | Fraction
"""Exact: a `Decimal` wherever one can hold the value, a `Fraction` for thirds and the like."""
Pieces: TypeAlias = Sequence[Piece]
Readings: TypeAlias = Iterator[tuple[int | Decimal, str]]
"""Every value that a run can have, with the rule used."""

MOST_FIGURES = 6
"""Figures before the point, and figures after it: more than any bench scale shows."""


def cardinal(pieces: Pieces) -> Readings:
    """Yield the value of "two thousand four hundred and five"."""
    yield total(pieces), "cardinal"


def total(pieces: Pieces) -> int:
    """Return the sum of number words, hundreds and thousands multiplied."""
    thousands = below = 0
    for piece in pieces:
        if piece.kind == "k":
            thousands, below = (below or 1) * 1000, 0
        elif piece.kind == "h":
            below = (below or 1) * 100
        else:
            below += piece.size
    return thousands + below


def pair(pieces: Pieces) -> Readings:
    """Yield the value of two figures run together: "one forty two", "fourteen twenty".

    The same figure of two places twice may be one figure said twice: "fifteen fifteen".
    """
    middle = 1 + (pieces[0].kind == "t")
    before, after = total(pieces[:middle]), total(pieces[middle:])
    yield before * 100 + after, "pair"
    if before == after >= 10:
        yield before, "said twice"


def thousand_pair(pieces: Pieces) -> Readings:
    """Yield the value of a pair after thousands: "two thousand four fifty"."""
    cut = 1 + [piece.kind for piece in pieces].index("k")
    yield total(pieces[:cut]) + pieces[cut].size * 100 + total(pieces[cut + 1 :]), "thousand, pair"


def digits(pieces: Pieces) -> Readings:
    """Yield the value of figures one by one; six that repeat themselves are perhaps three said twice."""
    text = figures(pieces)
    yield int(text), "digits"
    if text[:3] == text[3:]:
        yield int(text[:3]), "said twice"


def figures(pieces: Pieces) -> str:
    """Return figures as text: "one double four oh" is "1440"."""
    repeat, text = 1, ""
    for piece in pieces:
        if piece.kind == "x":
            repeat = piece.size
        else:
            text, repeat = text + str(piece.size) * repeat, 1
    return text


def places(pieces: Pieces) -> str:
    """Return the figures after a point: "oh five", "double five", "forty two"; none for no pieces."""
    if not pieces or pieces[0].kind == "n":
        return "".join(piece.text for piece in pieces)
    return str(total(pieces)) if pieces[0].kind in "te" else figures(pieces)


def typed(pieces: Pieces) -> Readings:
    """Yield the value of typed figures: "1,420", "142.5", "14 hundred"."""
    value = Decimal(pieces[0].text.replace(",", ""))
    yield value * (pieces[1].size if len(pieces) > 1 else 1), "typed"


def nought(_: Pieces) -> Readings:
    """Yield nothing at all as zero: "nought", and what is before "point five"."""
    yield 0, "digits"


def no_whole(_: Pieces) -> Readings:
    """Yield the whole of a fraction alone."""
    yield 0, ""


def ratio(pieces: Pieces) -> Fraction | None:
    """Return "a half", "three quarters" or a typed 3/4; None for "two third", "five quarters"."""
    last = pieces[-1]
    if last.kind == "r":
        over, under = last.text.split("/")
        return Fraction(int(over), int(under))
    over_spoken = pieces[0].size if pieces[0].kind == "d" else 1
    agrees = (over_spoken > 1) == (last.kind == "p")
    return Fraction(over_spoken, last.size) if agrees and over_spoken < last.size else None


def exact(value: Fraction) -> Number:
    """Return the value as a `Decimal` when six places hold it, else unchanged.

    >>> exact(Fraction(3, 4)), exact(Fraction(1, 3))
    (Decimal('0.75'), Fraction(1, 3))
    """
    for count in range(MOST_FIGURES + 1):
        scaled = value * 10**count
        if scaled.denominator == 1:
            return Decimal(f"{scaled.numerator}e-{count}")
    return value
