"""The grammar of numbers: patterns over the letters of `number_words`.

A number is a whole, then perhaps a tail ("one forty two", "... point five", "... and a half"), or a tail
alone ("point five", "three quarters"). `numbers` tells what is refused on purpose, and why.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TypeAlias

from benchvoice.meaning import number_worth as worth
from benchvoice.meaning.number_worth import MOST_FIGURES, Number, Pieces, Readings, exact

MOST_PIECES = 24
"""No number has more pieces."""

_TENS = r"(?:td?|e)"  # 10 to 99
_SMALL = r"(?:td?|e|d)"  # 1 to 99
_HUNDREDS = rf"(?:[da]h(?:&?{_SMALL})?|{_SMALL})"  # 1 to 999
_THOUSANDS = rf"(?:(?:{_HUNDREDS}|a)k)"
_AFTER = rf"(?:{_TENS}|[zo]d)"  # the last two figures of a pair: 01 to 99
_CARDINAL = rf"{_THOUSANDS}(?:&?{_HUNDREDS})?|(?:e|td)h(?:&?{_SMALL})?|{_HUNDREDS}"
_DIGITS = r"(?!do(?![dzox]))x?d(?:x?[dzo])+|xd"  # not "one oh", which waits for its last figure
_PART = r"(?:a?q|as|d[qsp]|r)"
_PART_ONLY = re.compile(_PART)

Whole: TypeAlias = Callable[[Pieces], Readings]


def _number(whole: str) -> re.Pattern[str]:
    tail = rf"(?:\.(?P<figures>(?:x?[dzo])+|{_TENS}|n)|&(?P<part>{_PART}))?"
    return re.compile(rf"(?P<minus>-?)(?P<whole>{whole}){tail}")


def _alone(whole: str, part: str) -> re.Pattern[str]:
    return re.compile(rf"(?P<minus>-?)(?P<whole>{whole})(?P<figures>)(?P<part>{part})")


_RULES: tuple[tuple[re.Pattern[str], Whole], ...] = (
    (_number(_CARDINAL), worth.cardinal),
    (_number(rf"(?:d|e|td){_AFTER}"), worth.pair),
    (_number(rf"{_THOUSANDS}d{_AFTER}"), worth.thousand_pair),
    (_number(_DIGITS), worth.digits),
    (_number(r"z|o(?=\.)|(?=\.)"), worth.nought),
    (_number(r"n[hk]?"), worth.typed),
    (_alone("f", ""), worth.typed),
    (_alone("n", "r"), worth.typed),
    (_alone("", _PART), worth.no_whole),
)


@dataclass(frozen=True, slots=True)
class _Cut:
    """Pieces cut into the parts of a number; a part that was not said has none."""

    minus: bool
    whole: Pieces
    figures: Pieces
    part: Pieces


@lru_cache(maxsize=8192)
def _matches(kinds: str) -> tuple[tuple[re.Match[str], Whole], ...]:
    """Return the rules that fit; remembered, because the same few rows of letters come again and again."""
    return tuple((match, whole) for pattern, whole in _RULES if (match := pattern.fullmatch(kinds)))


def numbers_in(pieces: Pieces, start: int = 0) -> Iterator[tuple[Number, str, int]]:
    """Yield (value, rule, end) for every number that begins at a piece, longest first."""
    kinds = "".join(piece.kind for piece in pieces[start : start + MOST_PIECES]).partition("?")[0]
    for used in range(len(kinds), 0, -1):
        found: dict[Number, str] = {}
        for value, rule in _values(kinds[:used], pieces[start : start + used]):
            found.setdefault(value, rule)
        yield from ((value, rule, start + used) for value, rule in found.items())


def part_in(pieces: Pieces, start: int = 0) -> Iterator[tuple[Fraction, int]]:
    """Yield (value, end) for a fraction below one that begins at a piece: "half", "three quarters"."""
    for end in range(start + 1, min(start + 2, len(pieces)) + 1):
        chosen = pieces[start:end]
        part = worth.ratio(chosen) if _PART_ONLY.fullmatch("".join(piece.kind for piece in chosen)) else None
        if part is not None and part < 1:
            yield part, end


def _values(kinds: str, pieces: Pieces) -> Iterator[tuple[Number, str]]:
    """Yield every value that these pieces, all of them, can have."""
    for match, whole in _matches(kinds):
        cut = _Cut(
            bool(match["minus"]), *(pieces[slice(*match.span(i))] for i in ("whole", "figures", "part"))
        )
        for value, rule in whole(cut.whole):
            for number, full_rule in _with_tail(cut, value, rule):
                yield (-number if cut.minus else number), full_rule


def _are_figures(places: str) -> bool:
    """Tell whether these are places: "point 1,420" and "point 4.2" are none."""
    return not places or places.isdecimal()


def _with_tail(cut: _Cut, whole: int | Decimal, rule: str) -> Iterator[tuple[Number, str]]:
    if cut.part:
        yield from _with_part(cut, Fraction(whole), rule)
        return
    places = worth.places(cut.figures)
    if _are_figures(places) and len(places) <= MOST_FIGURES and abs(whole) < 10**MOST_FIGURES:
        yield Decimal(f"{whole}.{places}" if places else whole), f"{rule}, point" if places else rule


def _with_part(cut: _Cut, whole: Fraction, rule: str) -> Iterator[tuple[Number, str]]:
    """Add "and a half"; after a round hundred or thousand it may be half of that: "a thousand and a half"."""
    part = worth.ratio(cut.part)
    if part is None or (cut.whole and part >= 1):
        return
    yield exact(whole + part), f"{rule}, fraction".removeprefix(", ")
    if cut.whole and cut.whole[-1].kind in "hk" and cut.part[0].kind in "aq":
        yield exact(whole + part * cut.whole[-1].size), f"{rule}, fraction of the last word"
