"""From spoken or typed words to exact numbers: every reading, or a refusal that tells how far it got.

A wrong number taken silently spoils a bucket, so the grammar below is narrow. Two rules made it:

* A phrase that looks like another number with a word dropped, doubled or misheard is refused rather than
  guessed: "hundred and five" (three hundred?), "one forty two five" (142.5 without its point?), "sixty
  fifteen" (sixty, or rather fifteen), "one oh" (one oh what?), "forty twelve".
* A phrase that honestly means two things gives two readings: "fifteen fifteen" is 1515 or 15 said twice,
  "a hundred and a half" is 100.5 or 150, six figures that repeat themselves may be three said twice.

No grammar can notice every dropped word, "a hundred and two" is as good a number as "a hundred and forty
two": that is what reading back is for.

Everything else has one value: "one forty two", "a hundred and forty two", "one four two" and "142" are
142; "one thirty" is 130 ("one minute thirty" is for `amounts`); "twenty two" is 22 and never 20 and 2.

    >>> [(str(each.value), each.rule) for each in readings("one forty two point five")]
    [('142.5', 'pair, point')]
    >>> [str(each.value) for each in readings("fifteen fifteen")]
    ['1515', '15']
    >>> hear_number("sixty fifteen").sentence()
    'I understood "sixty", then stopped at "fifteen".'
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from benchvoice.meaning.number_grammar import numbers_in
from benchvoice.meaning.number_words import pieces_of, to_words
from benchvoice.meaning.number_worth import Number


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to take a phrase as a number."""

    value: Number
    rule: str
    """the rules used: cardinal, pair, "thousand, pair", digits, typed, "said twice"; point, fraction"""
    text: str
    """the words it came from"""


@dataclass(frozen=True, slots=True)
class NumberRefused:
    """A phrase that is not a number, with as much of it as was one."""

    understood: tuple[Reading, ...]
    """readings of the longest beginning that is a number; empty if there is none"""
    stopped_at: str | None
    """the word that did not fit; None when the words ran out ("one hundred and")"""
    unfinished: bool
    """True when one more word would make it a number: wait for it"""

    def sentence(self) -> str:
        """Return one sentence for the log: how far it got, and where it stopped."""
        got = f'understood "{self.understood[0].text}"' if self.understood else "understood no number"
        return f"I {got}, then {_stop(self.stopped_at)}."


def _stop(word: str | None) -> str:
    return "the words ran out" if word is None else f'stopped at "{word}"'


LONGEST = 20
"""No number has more words: six figures with their hundreds, a sign, and six figures after the point."""


def _said(words: Sequence[str], start: int, end: int) -> str:
    return " ".join(words[start:end])


def _readings_at(words: Sequence[str], start: int) -> Iterator[tuple[Reading, int]]:
    pieces = pieces_of(words[: start + LONGEST], start)
    for value, rule, used in numbers_in(pieces):
        end = pieces[used - 1].end
        if end:
            yield Reading(value, rule, _said(words, start, end)), end


def number_at(said: str | Sequence[str], start: int = 0) -> Iterator[tuple[Decimal, str, int]]:
    """Yield (value, rule, end) for every number that begins at a word, longest first.

    A third and the like are left out, because no `Decimal` holds them.

    >>> [(str(value), end) for value, rule, end in number_at("add one forty two grams", 1)]
    [('142', 4), ('140', 3), ('1', 2)]
    """
    for reading, end in _readings_at(to_words(said), start):
        if isinstance(reading.value, Decimal):
            yield reading.value, reading.rule, end


def gravity_at(said: str | Sequence[str], start: int = 0) -> Iterator[tuple[Decimal, str, int]]:
    """Yield (value, rule, end) for every gravity that begins at a word, longest first.

    Where a gravity is wanted, "one forty two", "one four two" and "fourteen twenty" leave out the point: they
    are 1.42. A number said in full or typed is what it is: "a hundred and forty two" is 142, and no gravity.

    >>> [str(value) for value, _, _ in gravity_at("fourteen twenty five")]
    ['1.425', '1.420', '14']
    """
    for value, rule, end in number_at(said, start):
        places = _places_left_out(value) if rule in ("pair", "digits") else 0
        yield value.scaleb(-places), rule + ", point left out" * bool(places), end


def _places_left_out(value: Decimal) -> int:
    if 100 <= value < 300:
        return 2
    return 3 if 1000 <= value < 3000 else 0


def readings(said: str | Sequence[str]) -> tuple[Reading, ...]:
    """Return every way to take the whole phrase as a number: none, one, or more when it is ambiguous.

    >>> [str(each.value) for each in readings("a hundred and five")]
    ['105']
    >>> readings("forty twelve")
    ()
    """
    words = to_words(said)
    return tuple(reading for reading, end in _readings_at(words, 0) if end == len(words))


def hear_number(said: str | Sequence[str]) -> tuple[Reading, ...] | NumberRefused:
    """Return the readings of a phrase, or how far it could be followed.

    >>> hear_number("one hundred and").unfinished
    True
    >>> hear_number("nine bananas").stopped_at
    'bananas'
    """
    return readings(said) or _refusal(to_words(said))


def _refusal(words: Sequence[str]) -> NumberRefused:
    found = list(_readings_at(words, 0))
    end = found[0][1] if found else 0
    understood = tuple(reading for reading, at in found if at == end)
    unfinished = _waits(words, end)
    stopped_at = None if unfinished or end == len(words) else words[end]
    return NumberRefused(understood, stopped_at, unfinished)


NEXT_WORDS = ("five", "hundred", "half", "quarters")
"""With one of these a number that lacks its last word is one; the others of a kind would do as well."""
MOST_WAITING = 2
"""No more words than these wait for the last one of a number: "two" and then "and three"."""


def is_unfinished(said: str | Sequence[str]) -> bool:
    """Tell whether a phrase is no number, but would be one with one word more.

    >>> is_unfinished("one point"), is_unfinished("minus"), is_unfinished("one forty two")
    (True, True, False)
    """
    words = to_words(said)
    return _waits(words, max((end for _, end in _readings_at(words, 0)), default=0))


def _waits(words: Sequence[str], understood: int) -> bool:
    """Tell whether one more word would do, when so many words are a number already."""
    if not 0 < len(words) - understood <= MOST_WAITING:
        return False
    return any(readings((*words, more)) for more in NEXT_WORDS)
