"""The words numbers are made of, as data, and the cutting of heard or typed words into pieces.

Each piece gets a one-letter kind; the rules in `numbers` are patterns over those letters:

    d one..nine     e ten..nineteen   t twenty..ninety   z zero, nought   o oh
    h hundred       k thousand        x double, triple   . point          - minus
    a a, an         & and             q half, quarter    s third, fifth   p thirds, quarters
    n typed whole   f typed decimal   r typed fraction   ? anything else
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
ZEROS = ("zero", "nought", "naught")
OHS = ("oh", "o")
POINTS = ("point", "dot", "decimal")
MINUSES = ("minus", "negative")
REPEATS: Mapping[str, int] = {"double": 2, "triple": 3, "treble": 3}
# "Half" and "quarter" stand alone; a bare "third" or "fifth" is an order, not an amount.
LONE_PARTS: Mapping[str, int] = {"half": 2, "quarter": 4}
PARTS: Mapping[str, int] = {
    "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "eighth": 8, "tenth": 10, "sixteenth": 16,
}  # fmt: skip
VULGAR: Mapping[str, str] = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Piece:
    """One part of a word that was heard or typed."""

    text: str
    """the piece in lower case, without punctuation"""
    kind: str
    """one letter, see the list at the top of this file"""
    size: int
    """what the piece counts for: 4 for "four", 40 for "forty", 2 for "double", 4 for "quarter"; else 0"""
    end: int
    """number of words used up once this piece is used; 0 inside a word"""


def _lexicon() -> dict[str, tuple[str, int]]:
    table: dict[str, tuple[str, int]] = {}
    table.update({word: ("d", n) for n, word in enumerate(DIGITS) if n})
    table.update({word: ("e", n) for n, word in enumerate(TEENS, 10)})
    table.update({word: ("t", n * 10) for n, word in enumerate(TENS, 2)})
    table.update({word: ("x", n) for word, n in REPEATS.items()})
    table.update({word: ("q", n) for word, n in LONE_PARTS.items()})
    table.update({word: ("s", n) for word, n in PARTS.items()})
    table.update({word + "s": ("p", n) for word, n in {**PARTS, "quarter": 4}.items()})
    kinds = ((ZEROS, "z"), (OHS, "o"), (POINTS, "."), (MINUSES, "-"), (("a", "an"), "a"), (("and",), "&"))
    table.update({word: (kind, 0) for words, kind in kinds for word in words})
    return table | {"fourty": ("t", 40), "hundred": ("h", 100), "thousand": ("k", 1000)}


LEXICON: Mapping[str, tuple[str, int]] = _lexicon()
NUMBER_WORDS: frozenset[str] = frozenset(LEXICON)
"""Every word that can be part of a spoken number."""

_WHOLE = r"(?:0|[1-9][0-9]{0,5}|[1-9][0-9]{0,2},[0-9]{3})"
_TYPED = (
    ("n", re.compile(_WHOLE)),
    ("f", re.compile(rf"{_WHOLE}?\.[0-9]{{1,6}}")),
    ("r", re.compile(r"[1-9][0-9]{0,2}/[1-9][0-9]{0,2}")),
)
_VULGAR_SIGNS = "".join(VULGAR)
_GLUED = re.compile(
    rf"(?P<minus>^[-−](?=[.0-9{_VULGAR_SIGNS}]))"
    rf"|(?P<number>\.?[0-9]+(?:[.,/]+[0-9]+)*)"
    rf"|(?P<vulgar>[{_VULGAR_SIGNS}])"
    rf"|(?P<other>[^0-9{_VULGAR_SIGNS}]+)"
)
_HYPHEN = re.compile(r"(?<=[^\W\d_])[-\u2010\u2011](?=[^\W\d_])")
_QUOTES = "\"'\u2018\u2019\u201c\u201d"
_BEFORE = " \t\r\n,;:!?(" + _QUOTES
_AFTER = " \t\r\n.,;:!?)" + _QUOTES


def kind_of(text: str) -> tuple[str, int]:
    """Return the kind and size of one piece.

    >>> kind_of("forty"), kind_of("1,420"), kind_of("banana")
    (('t', 40), ('n', 0), ('?', 0))
    """
    known = LEXICON.get(text)
    if known is not None:
        return known
    return next(((kind, 0) for kind, form in _TYPED if form.fullmatch(text)), ("?", 0))


def _split(word: str) -> Iterator[str]:
    for part in _HYPHEN.split(word.lower().lstrip(_BEFORE).rstrip(_AFTER)):
        for match in _GLUED.finditer(part):
            yield _plain(match)


def _plain(match: re.Match[str]) -> str:
    """Return the piece that was matched, a minus sign and signs such as ½ written out."""
    if match.lastgroup == "minus":
        return "minus"
    return VULGAR[match.group()] if match.lastgroup == "vulgar" else match.group()


@lru_cache(maxsize=4096)
def _cut(word: str) -> tuple[tuple[str, str, int], ...]:
    return tuple((text, *kind_of(text)) for text in _split(word))


def pieces_of(words: Sequence[str], start: int = 0) -> list[Piece]:
    """Cut words into pieces: "forty-two" and "142g" are two pieces each, "one," is one.

    A word of nothing but punctuation is kept as an unknown piece, so that it is never skipped over.

    >>> [piece.text for piece in pieces_of(("forty-two,", "142.5g", "-2½", "."))]
    ['forty', 'two', '142.5', 'g', 'minus', '2', '1/2', '']
    """
    pieces: list[Piece] = []
    for index in range(start, len(words)):
        cut = _cut(words[index]) or (("", "?", 0),)
        pieces += [Piece(*part, end=0) for part in cut[:-1]]
        pieces.append(Piece(*cut[-1], end=index + 1))
    return pieces


def to_words(said: str | Sequence[str]) -> tuple[str, ...]:
    """Return the words of a sentence; a sequence of words is returned as it is.

    >>> to_words("one forty two")
    ('one', 'forty', 'two')
    """
    return tuple(said.split() if isinstance(said, str) else said)
