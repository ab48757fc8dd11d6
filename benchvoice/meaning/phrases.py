"""Everything that can be said: the door to the phrase files of this package.

The files are read once, at the first question. To add a kind of meaning, add one public rule to a file in
``phrases/``; to add a topic, add a file.

    >>> from benchvoice.messages import Expectation, Words
    >>> understand(Words("say that again please"), Expectation(kinds=("yes", "no"))).kind
    'repeat'
"""

from __future__ import annotations

import random
from functools import lru_cache
from importlib.resources import files

from benchvoice.meaning.abnf import parse
from benchvoice.meaning.grammar import Choice, Grammar, Node, Sequence, Word, join, words_in
from benchvoice.meaning.network import Builder
from benchvoice.meaning.samples import Sampler, short_sentences
from benchvoice.meaning.understand import Interpreter
from benchvoice.messages import Expectation, Meaning, WordNetwork, Words


@lru_cache(maxsize=1)
def grammar() -> Grammar:
    """Return all phrase files as one; the only reading of a file in this package."""
    folder = files("benchvoice.meaning") / "phrases"
    found = sorted(
        (file for file in folder.iterdir() if file.name.endswith(".gram")), key=lambda file: file.name
    )
    return join(parse(file.read_text("utf-8"), file.name) for file in found)


@lru_cache(maxsize=1)
def _interpreter() -> Interpreter:
    return Interpreter(grammar())


@lru_cache(maxsize=1)
def _builder() -> Builder:
    return Builder(grammar())


def understand(words: Words, expected: Expectation) -> Meaning:
    """Return what was meant by words, given what the present step expects."""
    return _interpreter().understand(words, expected)


def network(expected: Expectation) -> WordNetwork:
    """Return what may be heard: the kinds expected and, unless they stand alone, those always taken."""
    names = tuple(sorted((slot, tuple(known)) for slot, known in expected.names.items()))
    return _network(expected.kinds, names, expected.alone)


@lru_cache(maxsize=256)
def _network(
    kinds: tuple[str, ...], names: tuple[tuple[str, tuple[str, ...]], ...], alone: bool
) -> WordNetwork:
    taken = dict.fromkeys((*kinds, *(() if alone else grammar().listed("always"))))
    tree = Choice(tuple(grammar().sentence(kind) for kind in taken))
    return _builder().network(tree, _name_trees(Expectation(kinds, dict(names))))


def _name_trees(expected: Expectation) -> dict[str, Node]:
    """Return the names known just now as trees; a slot without names can never be said."""
    known = _interpreter().known_names(expected)
    return {
        slot: Choice(tuple(_in_turn(said) for said in known.get(slot, ())))
        for slot in grammar().listed("open")
    }


def _in_turn(said: tuple[str, ...]) -> Node:
    return Sequence(tuple(Word(word) for word in said))


def kinds() -> tuple[str, ...]:
    """Return every kind of meaning that has phrases."""
    return grammar().kinds()


def sample(kind: str, dice: random.Random, expected: Expectation | None = None) -> str:
    """Return a sentence of a kind at random; names come from ``expected``."""
    names = _name_trees(expected or Expectation(kinds=(kind,)))
    return " ".join(Sampler(grammar(), names).sample(grammar().sentence(kind), dice))


def sentences_of(kind: str, most: int = 12) -> tuple[str, ...]:
    """Return the short sentences of a kind, with an example where a number or a name is said.

    >>> sentences_of("help")[:2]
    ('help', 'help me')
    """
    declared = grammar().meta.items()
    shown = {name.removeprefix("example "): text for name, text in declared if name.startswith("example ")}
    return short_sentences(grammar(), grammar().rules[kind].tree, shown, most)


def vocabulary() -> frozenset[str]:
    """Return every word that the recogniser may be asked to hear, but for names known at run time."""
    rules = grammar().rules
    return frozenset(word for name in rules for word in words_in(grammar().heard(name)))
