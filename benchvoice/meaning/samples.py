"""Makes sentences from rules: at random for tests and training text, one after another for the help text.

The one who asks brings the dice (a ``random.Random``), so the same dice give the same sentences.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import islice

from benchvoice.meaning.grammar import Choice, Node, Reference, Repeat, Rule, Sequence, Tag, Word

Rules = Mapping[str, Rule]
Names = Mapping[str, Node]


def sample(rules: Rules, tree: Node, dice: random.Random, names: Names) -> tuple[str, ...]:
    """Return the words of one sentence of a tree, each option of a choice as likely as the next."""
    match tree:
        case Word(text):
            return (text,)
        case Tag():
            return ()
        case Reference(name):
            return sample(rules, names[name] if name in names else rules[name].tree, dice, names)
        case Sequence(items):
            return tuple(word for item in items for word in sample(rules, item, dice, names))
        case Choice(options):
            return sample(rules, dice.choice(options), dice, names)
        case Repeat(item, low, high):
            times = dice.randint(low, high)
            return tuple(word for _ in range(times) for word in sample(rules, item, dice, names))


def sentences(rules: Rules, tree: Node, shown: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    """Yield every sentence of a tree, the shortest way through each option first.

    ``shown`` holds an example for each rule that has too many sentences to list: numbers, names.
    """
    match tree:
        case Word(text):
            yield (text,)
        case Tag():
            yield ()
        case Reference(name):
            yield from (
                [tuple(shown[name].split())] if name in shown else sentences(rules, rules[name].tree, shown)
            )
        case Sequence(items):
            yield from _in_turn(rules, items, shown)
        case Choice(options):
            for option in options:
                yield from sentences(rules, option, shown)
        case Repeat(item, low, high):
            for times in range(low, high + 1):
                yield from _in_turn(rules, (item,) * times, shown)


def _in_turn(rules: Rules, items: tuple[Node, ...], shown: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    if not items:
        yield ()
        return
    for first in sentences(rules, items[0], shown):
        for rest in _in_turn(rules, items[1:], shown):
            yield first + rest


def short_sentences(rules: Rules, tree: Node, shown: Mapping[str, str], most: int) -> tuple[str, ...]:
    """Return the shortest sentences of a tree, each once; in the order written where equally long."""
    found = dict.fromkeys(" ".join(words) for words in islice(sentences(rules, tree, shown), LOOK_AT))
    return tuple(sorted(found, key=lambda sentence: len(sentence.split()))[:most])


LOOK_AT = 2000
"""No more sentences than this are looked at when the short ones are sought."""
