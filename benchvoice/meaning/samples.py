"""Makes sentences from rules: at random for tests and training text, one after another for the help text.

The one who asks brings the dice (a ``random.Random``), so the same dice give the same sentences. Only what
the recogniser waits for is made: no ``also_...`` rules, no slot for which no name is known.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import islice

from benchvoice.meaning.grammar import Choice, Grammar, Node, Reference, Repeat, Sequence, Tag, Word

Sentence = tuple[str, ...]

LOOK_AT = 2000
"""No more sentences than this are looked at when the short ones are sought."""


class Sampler:
    """Makes sentences at random, each option of a choice as likely as the next."""

    def __init__(self, grammar: Grammar, names: Mapping[str, Node]) -> None:
        self._grammar = grammar
        self._names = names
        self._possible: dict[int, bool] = {}

    def sample(self, tree: Node, dice: random.Random) -> Sentence:
        """Return one sentence; refuses a tree of which nothing can be said just now."""
        match tree:
            case Word(text):
                return (text,)
            case Reference(name):
                return self.sample(self._tree(name), dice)
            case Sequence(items):
                return tuple(word for item in items for word in self.sample(item, dice))
            case Choice(options):
                return self.sample(self._chosen(options, dice), dice)
            case Repeat(item, low, high):
                times = dice.randint(low, high) if self._can_be_said(item) else low
                return tuple(word for _ in range(times) for word in self.sample(item, dice))
        return ()

    def _chosen(self, options: tuple[Node, ...], dice: random.Random) -> Node:
        possible = [option for option in options if self._can_be_said(option)]
        if not possible:
            raise ValueError(
                "A sentence with a name in it is wanted, but no name is known: hand over some names."
            )
        return dice.choice(possible)

    def _tree(self, name: str) -> Node:
        return self._names.get(name) or self._grammar.heard(name)

    def _can_be_said(self, tree: Node) -> bool:
        if id(tree) not in self._possible:
            self._possible[id(tree)] = self._look(tree)
        return self._possible[id(tree)]

    def _look(self, tree: Node) -> bool:
        match tree:
            case Reference(name):
                return self._can_be_said(self._tree(name))
            case Sequence(items):
                return all(self._can_be_said(item) for item in items)
            case Choice(options):
                return any(self._can_be_said(option) for option in options)
            case Repeat(item, low):
                return low == 0 or self._can_be_said(item)
        return True


def sentences(grammar: Grammar, tree: Node, shown: Mapping[str, str]) -> Iterator[Sentence]:
    """Yield every sentence of a tree, the shortest way through each option first.

    ``shown`` holds an example for each rule that has too many sentences to list: numbers, names.
    """
    match tree:
        case Word(text):
            yield (text,)
        case Tag():
            yield ()
        case Reference(name) if name in shown:
            yield tuple(shown[name].split())
        case Reference(name):
            yield from sentences(grammar, grammar.heard(name), shown)
        case Sequence(items):
            yield from _in_turn(grammar, items, shown)
        case Choice(options):
            for option in options:
                yield from sentences(grammar, option, shown)
        case Repeat(item, low, high):
            for times in range(low, high + 1):
                yield from _in_turn(grammar, (item,) * times, shown)


def _in_turn(grammar: Grammar, items: tuple[Node, ...], shown: Mapping[str, str]) -> Iterator[Sentence]:
    if not items:
        yield ()
        return
    for first in sentences(grammar, items[0], shown):
        for rest in _in_turn(grammar, items[1:], shown):
            yield first + rest


def short_sentences(grammar: Grammar, tree: Node, shown: Mapping[str, str], most: int) -> tuple[str, ...]:
    """Return the shortest sentences of a tree, each once; in the order written where equally long."""
    found = dict.fromkeys(" ".join(words) for words in islice(sentences(grammar, tree, shown), LOOK_AT))
    return tuple(sorted(found, key=lambda sentence: len(sentence.split()))[:most])
