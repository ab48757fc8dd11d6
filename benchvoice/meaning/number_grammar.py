"""The grammar of numbers: patterns over the letters of `number_words`, and what each is worth.

A number is a whole, then perhaps a tail ("one forty two", "... point five", "... and a half"), or a tail
alone ("point five", "three quarters"). `numbers` tells what is refused on purpose, and why.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from benchvoice.meaning.number_words import Piece

Number: TypeAlias = Decimal | Fraction
"""Exact: a `Decimal` wherever one can hold the value, a `Fraction` for thirds and the like."""

MOST_FIGURES = 6
"""Figures before the point, and figures after it: more than any bench scale shows."""

MOST_PIECES = 24
"""No number has more pieces."""

# ---- what a number looks like ------------------------------------------------------------------------

_TENS = r"(?:td?|e)"  # 10 to 99
_SMALL = r"(?:td?|e|d)"  # 1 to 99
_HUNDREDS = rf"(?:[da]h(?:&?{_SMALL})?|{_SMALL})"  # 1 to 999
_THOUSANDS = rf"(?:(?:{_HUNDREDS}|a)k)"
_AFTER = rf"(?:{_TENS}|[zo]d)"  # the last two figures of a pair: 01 to 99

_CARDINAL = rf"{_THOUSANDS}(?:&?{_HUNDREDS})?|(?:e|td)h(?:&?{_SMALL})?|{_HUNDREDS}"
_PAIR = rf"{_THOUSANDS}?d{_AFTER}|(?:e|td){_AFTER}"
_DIGITS = r"(?!do(?![dzox]))x?d(?:x?[dzo])+|xd"  # not "one oh", which waits for its last figure
_PART = r"a?q|as|d[qsp]|r"
_PART_ONLY = re.compile(_PART)
_FIGURES = rf"(?:x?[dzo])+|{_TENS}|n"


def _number(whole: str) -> re.Pattern[str]:
    return re.compile(
        rf"(?P<minus>-?)(?P<whole>{whole})(?:(?P<point>\.)(?P<figures>{_FIGURES})|&(?P<part>{_PART}))?"
    )


# ---- what it is worth --------------------------------------------------------------------------------


def _sum(pieces: Sequence[Piece]) -> int:
    """Value of a cardinal: "two thousand four hundred and five"."""
    thousands = below = 0
    for piece in pieces:
        if piece.kind == "k":
            thousands, below = (below or 1) * 1000, 0
        elif piece.kind == "h":
            below = (below or 1) * 100
        else:
            below += piece.size
    return thousands + below


def _halves(pieces: Sequence[Piece]) -> tuple[int, int, int]:
    """Cut a pair in three: thousands (0 when none are said), what comes before, the last two figures."""
    cut = next((index for index, piece in enumerate(pieces, 1) if piece.kind == "k"), 0)
    middle = cut + 1 + (pieces[cut].kind == "t")
    return _sum(pieces[:cut]), _sum(pieces[cut:middle]), _sum(pieces[middle:])


def _cardinal(pieces: Sequence[Piece]) -> Iterator[tuple[int, str]]:
    yield _sum(pieces), "cardinal"


def _pair(pieces: Sequence[Piece]) -> Iterator[tuple[int, str]]:
    """Two figures run together: "one forty two", "fourteen twenty"; or one figure said twice."""
    thousands, before, after = _halves(pieces)
    yield thousands + before * 100 + after, "pair"
    if before == after >= 10:
        yield before, "said twice"


def _figures(pieces: Sequence[Piece]) -> str:
    """Figures as text: "one double four oh" is "1440"."""
    repeat, figures = 1, ""
    for piece in pieces:
        if piece.kind == "x":
            repeat = piece.size
        else:
            figures, repeat = figures + str(piece.size) * repeat, 1
    return figures


def _digits(pieces: Sequence[Piece]) -> Iterator[tuple[int, str]]:
    """Figures one by one; six that repeat themselves are perhaps three said twice."""
    figures = _figures(pieces)
    yield int(figures), "digits"
    if len(figures) == 6 and figures[:3] == figures[3:]:
        yield int(figures[:3]), "said twice"


def _typed(pieces: Sequence[Piece]) -> Iterator[tuple[int, str]]:
    """Typed figures: "1,420", and "14 hundred"."""
    yield int(pieces[0].text.replace(",", "")) * (pieces[1].size if len(pieces) > 1 else 1), "typed"


def _zero(_: Sequence[Piece]) -> Iterator[tuple[int, str]]:
    yield 0, "digits"


Worth: TypeAlias = Callable[[Sequence[Piece]], Iterator[tuple[int, str]]]

_WHOLES: tuple[tuple[re.Pattern[str], Worth], ...] = (
    (_number(_CARDINAL), _cardinal),
    (_number(_PAIR), _pair),
    (_number(_DIGITS), _digits),
    (_number(r"z|o(?=\.)|(?=\.)"), _zero),
    (_number("n[hk]?"), _typed),
)
_ALONE = re.compile(rf"(?P<minus>-?)(?:(?P<decimal>f)|(?P<whole>n)?(?P<part>{_PART}))")


def exact(value: Fraction) -> Number:
    """Return the value as a `Decimal` when six places hold it, else unchanged.

    >>> exact(Fraction(3, 4)), exact(Fraction(1, 3))
    (Decimal('0.75'), Fraction(1, 3))
    """
    for places in range(MOST_FIGURES + 1):
        scaled = value * 10**places
        if scaled.denominator == 1:
            return Decimal(f"{scaled.numerator}e-{places}")
    return value


def _ratio(pieces: Sequence[Piece]) -> Fraction:
    """Ratio of "a half", "three quarters" or a typed 3/4."""
    if pieces[-1].kind == "r":
        over, under = pieces[-1].text.split("/")
        return Fraction(int(over), int(under))
    return Fraction(pieces[0].size if pieces[0].kind == "d" else 1, pieces[-1].size)


def _proper(pieces: Sequence[Piece]) -> Fraction | None:
    """Ratio of a fraction below one whose words agree: "one third" and "two thirds"."""
    ratio = _ratio(pieces)
    many = pieces[0].kind == "d" and pieces[0].size > 1
    agrees = ratio < 1 and many == (pieces[-1].kind == "p")
    return ratio if agrees or pieces[-1].kind == "r" else None


def part_in(pieces: Sequence[Piece], start: int = 0) -> Iterator[tuple[Fraction, int]]:
    """Yield (value, end) for a fraction below one that begins at a piece: "half", "three quarters"."""
    for end in range(start + 1, min(start + 2, len(pieces)) + 1):
        chosen = pieces[start:end]
        part = _proper(chosen) if _PART_ONLY.fullmatch("".join(piece.kind for piece in chosen)) else None
        if part is not None and part < 1:
            yield part, end


def _places(pieces: Sequence[Piece]) -> str:
    """Figures after the point: "oh five", "double five", "forty two"."""
    if pieces[0].kind == "n":
        return pieces[0].text
    return str(_sum(pieces)) if pieces[0].kind in "te" else _figures(pieces)


def numbers_in(pieces: Sequence[Piece], start: int = 0) -> Iterator[tuple[Number, str, int]]:
    """Yield (value, rule, end) for every number that begins at a piece, longest first."""
    kinds = "".join(piece.kind for piece in pieces[start : start + MOST_PIECES]).partition("?")[0]
    for used in range(len(kinds), 0, -1):
        for value, rule in _values(kinds[:used], pieces[start : start + used]):
            yield value, rule, start + used


def _values(kinds: str, pieces: Sequence[Piece]) -> Iterator[tuple[Number, str]]:
    """Yield every value that these pieces, all of them, can have; no value twice."""
    seen: set[Number] = set()
    for value, rule in (*_with_whole(kinds, pieces), *_without_whole(kinds, pieces)):
        if value not in seen:
            seen.add(value)
            yield value, rule


def _with_whole(kinds: str, pieces: Sequence[Piece]) -> Iterator[tuple[Number, str]]:
    for pattern, worth in _WHOLES:
        match = pattern.fullmatch(kinds)
        if match:
            for whole, rule in worth(pieces[slice(*match.span("whole"))]):
                yield from _finish(match, pieces, whole, rule)


def _finish(
    match: re.Match[str], pieces: Sequence[Piece], whole: int, rule: str
) -> Iterator[tuple[Number, str]]:
    """Add to a whole the tail that was matched with it, and the sign."""
    minus = bool(match["minus"])
    if match["part"]:
        for value, tail in _and_part(pieces[slice(*match.span("whole"))], whole, match, pieces):
            yield _signed(value, minus), f"{rule}, {tail}"
    elif len(str(whole)) <= MOST_FIGURES:
        places = _places(pieces[slice(*match.span("figures"))]) if match["point"] else ""
        if len(places) <= MOST_FIGURES:
            yield _signed(Decimal(f"{whole}.{places}"), minus), f"{rule}, point" if places else rule


def _and_part(
    before: Sequence[Piece], whole: int, match: re.Match[str], pieces: Sequence[Piece]
) -> Iterator[tuple[Number, str]]:
    """Add "and a half"; after a round hundred or thousand it may be half of that: "a thousand and a half"."""
    part = _proper(pieces[slice(*match.span("part"))])
    if part is None or part >= 1:
        return
    yield exact(whole + part), "fraction"
    if before[-1].kind in "hk" and match["part"][0] in "aq":
        yield exact(whole + part * before[-1].size), "fraction of the last word"


def _without_whole(kinds: str, pieces: Sequence[Piece]) -> Iterator[tuple[Number, str]]:
    """Yield the value of a typed decimal, of a fraction alone, and of a typed "2 1/2"."""
    match = _ALONE.fullmatch(kinds)
    if not match:
        return
    minus = bool(match["minus"])
    if match["decimal"]:
        yield _signed(Decimal(pieces[-1].text.replace(",", "")), minus), "typed"
    else:
        yield from _fraction(match, pieces, minus)


def _fraction(match: re.Match[str], pieces: Sequence[Piece], minus: bool) -> Iterator[tuple[Number, str]]:
    part = _proper(pieces[slice(*match.span("part"))])
    if part is None or (match["whole"] and (part >= 1 or pieces[-1].kind != "r")):
        return
    whole = int(pieces[slice(*match.span("whole"))][0].text.replace(",", "")) if match["whole"] else 0
    yield _signed(exact(whole + part), minus), "typed, fraction" if match["whole"] else "fraction"


def _signed(value: Number, minus: bool) -> Number:
    """Return the value with its sign; there is no minus nought."""
    return -value if minus and value else value
