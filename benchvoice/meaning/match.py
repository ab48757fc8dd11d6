"""Finds every way in which words fit a rule, and what the slots hold then.

Plain backtracking over the tree of a rule. Numbers and amounts are not spelled out word by word here but
read by ``numbers`` and ``amounts``, which give the exact value; names are those known at run time.

A match is where it ends (number of words used) and the slots filled on the way. Which slot something
fills: a tag fills the slot of its private rule; ``$number`` fills ``number``; every ``..._amount`` fills
``amount``; ``$bucket`` and the like fill the slot of their name; and a private rule that is nothing but
one of these takes over under its own name (``$low = $number``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TypeAlias

from benchvoice.meaning.amounts import amounts_at
from benchvoice.meaning.grammar import Choice, Grammar, Node, Reference, Repeat, Sequence, Tag, Word
from benchvoice.meaning.numbers import gravity_at, is_unfinished, number_at
from benchvoice.meaning.units import UNITS
from benchvoice.messages import UNKNOWN_WORD, Amount, Slot

Slots: TypeAlias = tuple[tuple[str, Slot], ...]
Match: TypeAlias = tuple[int, Slots]
KnownNames: TypeAlias = Mapping[str, Mapping[tuple[str, ...], str]]

LONGEST_NAME = 4
"""A name has at most so many words."""

WORDS_LEFT_OVER = 2
"""An unfinished number has at most so many words that are no number yet: "and a"."""

NUMBERS = ("number", "gravity_number")
"""The rules that read a number without a unit; in a gravity the point may be left out."""

DIMENSION_OF: Mapping[str, str | None] = {
    "any_amount": None,
    "some_amount": None,
    "weight_amount": "weight",
    "volume_amount": "volume",
    "measured_volume": "volume",
    "duration_amount": "time",
    "span_amount": "time",
    "length_amount": "length",
    "temperature_amount": "temperature",
    "density_amount": "density",
    "percent_amount": "share",
    "count_amount": "count",
}
"""The rules that read an amount, and what it may be measured in; None for anything."""

UNIT_NEEDED = frozenset({"measured_volume"})
"""Those of them that read no bare number."""

BY_WEIGHT_OR_VOLUME = frozenset({"some_amount"})
"""Those of them that read a weight or a volume, so that "mils" are not millimetres."""


@dataclass(frozen=True, slots=True)
class BuiltIn:
    """A rule that is read by a function instead of word by word."""

    slot: str
    read: Callable[[int], Iterable[tuple[Slot, int]]]
    """From the number of a word to every (value, end) that begins there, longest first."""


class Matcher:
    """Matches the rules of a grammar against one sentence; remembers how far any of them came."""

    def __init__(self, grammar: Grammar, words: tuple[str, ...], names: KnownNames) -> None:
        self._grammar = grammar
        self._words = words
        self._names = names
        self._open = grammar.listed("open")
        self._never_in_names = grammar.listed("never in names")
        self._read: dict[tuple[str, int], list[tuple[Slot, int]]] = {}
        self._amounts_at: dict[int, list[tuple[Amount, int]]] = {}
        self.furthest = 0
        """The largest number of words that any rule could follow."""
        self.ran_out = False
        """True when a rule had followed all words and waited for one more."""

    def whole(self, kind: str) -> list[Slots]:
        """Return the slots of every way in which all words fit a kind."""
        tree = self._grammar.sentence(kind)
        return [slots for end, slots in self.match(tree, 0, kind) if end == len(self._words)]

    def is_unfinished(self) -> bool:
        """Tell whether more words could have made it a sentence ("target", "one hundred and")."""
        if self.ran_out or len(self._words) - self.furthest > WORDS_LEFT_OVER:
            return self.ran_out
        numbers = {at for name, at in self._read if name in NUMBERS or name in DIMENSION_OF}
        return any(is_unfinished(self._words[at:]) for at in numbers)

    def match(self, tree: Node, at: int, rule: str) -> Iterator[Match]:
        """Yield every way in which the words from ``at`` on begin with this tree."""
        match tree:
            case Word(text):
                if at == len(self._words):
                    self.ran_out = True
                elif self._words[at] == text:
                    self.furthest = max(self.furthest, at + 1)
                    yield at + 1, ()
            case Tag(text):
                yield at, ((rule, text),)
            case Reference(name):
                yield from self._reference(name, at)
            case Sequence(items):
                yield from self._sequence(items, at, rule)
            case Choice(options):
                for option in options:
                    yield from self.match(option, at, rule)
            case Repeat(item, low, high):
                yield from self._repeat(item, low, high, at, rule)

    def _sequence(self, items: tuple[Node, ...], at: int, rule: str) -> Iterator[Match]:
        if not items:
            yield at, ()
            return
        for middle, first in self.match(items[0], at, rule):
            for end, rest in self._sequence(items[1:], middle, rule):
                yield end, first + rest

    def _repeat(self, item: Node, low: int, high: int, at: int, rule: str) -> Iterator[Match]:
        """Longest first; a round that used no words stands for all that are left, or it would never end."""
        if high > 0:
            for middle, first in self.match(item, at, rule):
                if middle > at:
                    for end, rest in self._repeat(item, max(low - 1, 0), high - 1, middle, rule):
                        yield end, first + rest
                elif low > 0:
                    yield at, first
        if low == 0:
            yield at, ()

    def _reference(self, name: str, at: int) -> Iterator[Match]:
        if (built_in := self._built_in(name)) is not None:
            yield from self._slot(name, built_in, at)
            return
        rule = self._grammar.rules[name]
        inner = self._built_in(rule.tree.name) if isinstance(rule.tree, Reference) else None
        if isinstance(rule.tree, Reference) and inner is not None and not rule.public:
            yield from self._slot(rule.tree.name, BuiltIn(name, inner.read), at)
        else:
            yield from self.match(rule.tree, at, name)

    def _slot(self, name: str, built_in: BuiltIn, at: int) -> Iterator[Match]:
        """Yield a slot in every way it can be filled from here; read once for each place."""
        if at == len(self._words):
            self.ran_out = True
        if (name, at) not in self._read:
            self._read[name, at] = list(built_in.read(at))
        for value, end in self._read[name, at]:
            self.furthest = max(self.furthest, end)
            yield end, ((built_in.slot, value),)

    def _built_in(self, name: str) -> BuiltIn | None:
        """Return which slot a rule fills and what reads it; None for an ordinary rule."""
        if name in NUMBERS:
            return BuiltIn("number", self._numbers if name == "number" else self._gravities)
        if name == "name":
            return BuiltIn(name, self._free_names)
        if name in DIMENSION_OF:
            return BuiltIn("amount", partial(self._amounts_of, name))
        if name in self._open:
            return BuiltIn(name, partial(self._known_names, name))
        return None

    def _numbers(self, at: int) -> Iterator[tuple[Slot, int]]:
        """Yield every number that begins here."""
        for value, _, end in number_at(self._words, at):
            if isinstance(value, Decimal):
                yield value, end

    def _gravities(self, at: int) -> Iterator[tuple[Slot, int]]:
        for value, _, end in gravity_at(self._words, at):
            if isinstance(value, Decimal):
                yield value, end

    def _amounts(self, dimension: str | None, at: int) -> Iterable[tuple[Slot, int]]:
        """Return the amounts that begin here; what is no time is read once for all dimensions."""
        if dimension == "time":
            return amounts_at(self._words, at, dimension)
        if at not in self._amounts_at:
            self._amounts_at[at] = list(amounts_at(self._words, at))
        return [(amount, end) for amount, end in self._amounts_at[at] if _fits(amount, dimension)]

    def _amounts_of(self, name: str, at: int) -> Iterator[tuple[Slot, int]]:
        """Yield the amounts of a rule that begin here; of what goes into a bucket, none in inches."""
        for amount, end in self._amounts(DIMENSION_OF[name], at):
            unit = amount.unit if isinstance(amount, Amount) else None
            of_another = name in BY_WEIGHT_OR_VOLUME and not _is_weight_or_volume(unit)
            if not (of_another or (unit is None and name in UNIT_NEEDED)):
                yield amount, end

    def _known_names(self, slot: str, at: int) -> Iterator[tuple[Slot, int]]:
        """Yield every name known under a slot that is said here."""
        for words, name in self._names.get(slot, {}).items():
            if self._words[at : at + len(words)] == words:
                yield name, at + len(words)

    def _free_names(self, at: int) -> Iterator[tuple[Slot, int]]:
        """Yield what may be a new name: the next words, as many as possible first."""
        words = self._words[at : at + LONGEST_NAME]
        for length in range(len(words), 0, -1):
            if words[length - 1] not in self._never_in_names and UNKNOWN_WORD not in words[:length]:
                yield " ".join(words[:length]), at + length


def _fits(amount: Amount, dimension: str | None) -> bool:
    return dimension is None or amount.unit is None or UNITS[amount.unit].dimension == dimension


def _is_weight_or_volume(unit: str | None) -> bool:
    return unit is None or UNITS[unit].dimension in ("weight", "volume")


def is_built_in(grammar: Grammar, name: str) -> bool:
    """Tell whether a rule is read by a function instead of word by word."""
    return name in NUMBERS or name == "name" or name in DIMENSION_OF or name in grammar.listed("open")
