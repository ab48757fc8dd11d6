"""From words to what was meant: the one place that decides.

The order decides between kinds: what the present step expects, then what may be said at any step, then
everything else (so that the bench can say that it is not the moment). A number decides nothing in silence:
where the words of the first kind that fits can be two different amounts, the meaning is ``ambiguous``,
and where the recogniser heard something that is no word, it is ``unclear``, however good the rest looks.
What is itself something to say to the bench ("done", "five grams") is no name: the meaning is ``no_name``.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from benchvoice.meaning.grammar import Grammar, words_in
from benchvoice.meaning.match import KnownNames, Matcher, Slots
from benchvoice.meaning.number_words import NUMBER_WORDS
from benchvoice.meaning.openings import BUILT_IN, FREE, openings
from benchvoice.meaning.spelling import say
from benchvoice.meaning.tidy import words_of
from benchvoice.meaning.units import UNITS
from benchvoice.messages import SILENCE, UNCLEAR, UNKNOWN_WORD, Amount, Expectation, Meaning, Words

AMBIGUOUS = "ambiguous"
"""Kind of a meaning whose number can be two. Slots: ``first``, ``second`` in words; ``wanted`` the kind."""
NO_NAME = "no_name"
"""Kind of a meaning whose name would be taken for something else. Slots: its own, ``wanted`` the kind."""


class Interpreter:
    """Knows all phrases and nothing of the conversation."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self._always = grammar.listed("always")
        self._kinds = grammar.kinds()
        self._names_none = frozenset((*grammar.listed("may be a name"), *grammar.listed("may name anything")))
        self._fillers = (
            frozenset(words_in(grammar.rules["before"].tree)) if "before" in grammar.rules else frozenset()
        )
        asked_only = grammar.listed("only when asked for")
        self._elsewhere = tuple(kind for kind in self._kinds if kind not in asked_only)
        self._spelt = dict(pair.split("=", 1) for pair in grammar.listed("also typed"))
        self._openings = {kind: openings(grammar, grammar.sentence(kind)) for kind in self._kinds}
        self._free = frozenset(kind for kind, words in self._openings.items() if FREE in words)

    def understand(self, words: Words, expected: Expectation) -> Meaning:
        """Return what was meant: never nothing, never an exception."""
        said = self._said(words)
        if not said:
            return Meaning(SILENCE, {}, words)
        if UNKNOWN_WORD in said:
            return _unclear(words, said, said.index(UNKNOWN_WORD))
        matcher = Matcher(self._grammar, said, self.known_names(expected))
        for kind in expected.kinds if expected.alone and not words.typed else self._order(expected):
            if self._may_begin(kind, said[0]) and (found := matcher.whole(kind)):
                return self._with_fit_name(_meant(kind, found, words))
        end = len(said) if matcher.is_unfinished() else matcher.furthest
        return _unclear(words, said, 0 if self._fillers.issuperset(said[:end]) else end)

    def _said(self, words: Words) -> tuple[str, ...]:
        """Return the words; a keyboard makes no noise, so what stands for noise is dropped at its ends."""
        said = words_of(words.text, self._spelt)
        if not words.typed:
            return said
        kept = [place for place, word in enumerate(said) if word != UNKNOWN_WORD]
        return said[kept[0] : kept[-1] + 1] if kept else said

    def known_names(self, expected: Expectation) -> KnownNames:
        """Return the names known just now, by slot and by the words in which they are said."""
        return {
            slot: {words_of(name, self._spelt): name for name in names}
            for slot, names in expected.names.items()
        }

    def _order(self, expected: Expectation) -> Iterator[str]:
        """Yield the kinds in the order of their right to the words.

        A kind that takes any words (a new name) would swallow "help" and "cancel": it comes after those, and
        where it is not expected it does not come at all.
        """
        wanted = [kind for kind in expected.kinds if kind in self._openings]
        yield from (kind for kind in wanted if kind not in self._free)
        yield from (kind for kind in self._always if kind not in wanted)
        yield from (kind for kind in wanted if kind in self._free)
        tried = {*wanted, *self._always}
        yield from (kind for kind in self._kinds if kind not in tried and kind not in self._free)

    def _with_fit_name(self, meaning: Meaning) -> Meaning:
        """Return a meaning, or that the name in it is none because it means something by itself."""
        name = meaning.slots.get("name")
        if not isinstance(name, str) or meaning.kind in self._names_none or not self._is_said(name):
            return meaning
        return Meaning(NO_NAME, {**meaning.slots, "wanted": meaning.kind}, meaning.words)

    def _is_said(self, name: str) -> bool:
        """Tell whether a name is a whole sentence to the bench, in any step."""
        said = words_of(name, self._spelt)
        matcher = Matcher(self._grammar, said, {})
        return any(
            all(slot != "name" for slot, _ in slots)
            for kind in self._kinds
            if kind not in self._names_none and self._may_begin(kind, said[0])
            for slots in matcher.whole(kind)
        )

    def _may_begin(self, kind: str, first: str) -> bool:
        """Tell at a glance whether a sentence of this kind can begin with this word."""
        return first in self._openings[kind] or BUILT_IN in self._openings[kind]


def _meant(kind: str, found: list[Slots], words: Words) -> Meaning:
    """Return the meaning of a kind that fits; ambiguous when its numbers can be two."""
    numbers = list(dict.fromkeys(_numbers(slots) for slots in found))
    if len(numbers) < 2:
        return Meaning(kind, dict(found[0]), words)
    first, second = (" and ".join(_said(*number) for number in each) for each in numbers[:2])
    return Meaning(AMBIGUOUS, {"first": first, "second": second, "wanted": kind}, words)


def _numbers(slots: Slots) -> tuple[tuple[Decimal, str | None], ...]:
    """Return the numbers among slots, each with its unit."""
    return tuple(_number(value) for _, value in slots if not isinstance(value, str))


def _number(value: Amount | Decimal) -> tuple[Decimal, str | None]:
    return (value.value, value.unit) if isinstance(value, Amount) else (value, None)


def _said(value: Decimal, unit: str | None) -> str:
    if unit is None:
        return say(value)
    return f"{say(value)} {UNITS[unit].one if value == 1 else UNITS[unit].many}"


def _unclear(words: Words, said: tuple[str, ...], end: int) -> Meaning:
    """Return how far the words could be followed, the word where that ended, and whether numbers came."""
    stopped_at = said[end] if end < len(said) else ""
    figures = "yes" if any(word in NUMBER_WORDS or word[0].isdigit() for word in said) else ""
    slots = {"understood": " ".join(said[:end]), "stopped_at": stopped_at, "figures": figures}
    return Meaning(UNCLEAR, slots, words)
