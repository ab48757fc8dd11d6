"""Tells with which words a rule can begin, so that most rules need not be tried at all."""

from __future__ import annotations

from benchvoice.meaning.grammar import Choice, Grammar, Node, Reference, Repeat, Sequence, Tag, Word
from benchvoice.meaning.match import is_built_in

BUILT_IN = "$"
"""Stands for whatever a number, an amount or a name begins with."""
FREE = "$name"
"""Stands beside it where that is a new name: any word at all."""

Openings = tuple[frozenset[str], bool]
"""The words, and whether the tree can also be left out."""


def openings(grammar: Grammar, tree: Node) -> frozenset[str]:
    """Return every word that a tree can begin with."""
    return _openings(grammar, tree)[0]


def _openings(grammar: Grammar, tree: Node) -> Openings:
    match tree:
        case Word(text):
            return frozenset((text,)), False
        case Tag():
            return frozenset(), True
        case Reference(name):
            return _of_rule(grammar, name)
        case Sequence(items):
            return _of_sequence(grammar, items)
        case Choice(options):
            found = [_openings(grammar, option) for option in options]
            return _together(found), any(skipped for _, skipped in found)
        case Repeat(item, low):
            words, skipped = _openings(grammar, item)
            return words, skipped or low == 0


def _of_rule(grammar: Grammar, name: str) -> Openings:
    if is_built_in(grammar, name):
        return frozenset((BUILT_IN, FREE) if name == "name" else (BUILT_IN,)), False
    return _openings(grammar, grammar.rules[name].tree)


def _of_sequence(grammar: Grammar, items: tuple[Node, ...]) -> Openings:
    """Return the openings of the items up to the first that cannot be left out."""
    found: list[Openings] = []
    for item in items:
        found.append(_openings(grammar, item))
        if not found[-1][1]:
            return _together(found), False
    return _together(found), True


def _together(found: list[Openings]) -> frozenset[str]:
    return frozenset(word for words, _ in found for word in words)
