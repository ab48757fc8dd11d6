"""What can be said, as rules: small trees of words, choices and repeats, and what may be asked of them.

``abnf`` reads the rules from text; ``match`` finds them in words; ``network`` and ``samples`` say them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Word:
    """One word, said as it is written."""

    text: str


@dataclass(frozen=True, slots=True)
class Tag:
    """What the words before it stand for; said by nobody."""

    text: str


@dataclass(frozen=True, slots=True)
class Reference:
    """The rule of this name."""

    name: str


@dataclass(frozen=True, slots=True)
class Sequence:
    """One after another."""

    items: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """One of several."""

    options: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Repeat:
    """The same again, at least ``low`` and at most ``high`` times."""

    item: Node
    low: int
    high: int


Node: TypeAlias = Word | Tag | Reference | Sequence | Choice | Repeat


NOTHING = Choice(())
"""A tree of which nothing can be said."""

ALSO = "also_"
"""What the names of rules begin with that are understood, but never offered to the recogniser."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A named piece of what can be said, and where it is written."""

    name: str
    tree: Node
    public: bool
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Grammar:
    """All rules by name, in the order written, and what the files declare about themselves."""

    rules: Mapping[str, Rule] = field(default_factory=dict)
    meta: Mapping[str, str] = field(default_factory=dict)

    def listed(self, name: str) -> tuple[str, ...]:
        """Return the words of a declaration that is a list, none when it was not made."""
        return tuple(self.meta.get(name, "").split())

    def kinds(self) -> tuple[str, ...]:
        """Return the names of the public rules."""
        return tuple(name for name, rule in self.rules.items() if rule.public)

    def heard(self, name: str) -> Node:
        """Return what the recogniser waits for under a rule.

        Nothing where it is taken only if it comes, and where it is a name and nobody said which are known.
        """
        unknown = name not in self.rules and name in self.listed("open")
        return NOTHING if unknown or name.startswith(ALSO) else self.rules[name].tree

    def sentence(self, kind: str) -> Node:
        """Return a kind with the words around it that are of no account ("okay", "please")."""
        tree: Node = Reference(kind)
        if "before" in self.rules:
            tree = Sequence((Repeat(Reference("before"), 0, 2), tree))
        if "after" in self.rules:
            tree = Sequence((tree, Repeat(Reference("after"), 0, 1)))
        return tree


class GrammarMistake(ValueError):
    """A phrase file with a mistake in it: a defect of ours, never of the potter's."""

    def __init__(self, file: str, line: int, reason: str) -> None:
        super().__init__(f"{file}, line {line}: {reason}")
        self.file, self.line, self.reason = file, line, reason


def words_in(tree: Node) -> Iterator[str]:
    """Yield every word that is written in a tree."""
    match tree:
        case Word(text):
            yield text
        case Sequence(parts) | Choice(parts):
            for part in parts:
                yield from words_in(part)
        case Repeat(item):
            yield from words_in(item)


def add_meta(meta: dict[str, str], name: str, text: str) -> None:
    """Add a declaration; what is declared twice under one name is one list."""
    meta[name] = f"{meta[name]} {text}" if name in meta else text


def references(tree: Node) -> Iterator[str]:
    """Yield the name of every rule that a tree refers to."""
    match tree:
        case Reference(name):
            yield name
        case Sequence(parts) | Choice(parts):
            for part in parts:
                yield from references(part)
        case Repeat(item):
            yield from references(item)


def join(grammars: Iterable[Grammar]) -> Grammar:
    """Return several files as one; refuses doubles, gaps and rules that contain themselves.

    Lists that several files declare under the same name (``always``) are put together.
    """
    rules: dict[str, Rule] = {}
    meta: dict[str, str] = {}
    for grammar in grammars:
        for rule in grammar.rules.values():
            if (other := rules.setdefault(rule.name, rule)) is not rule:
                raise GrammarMistake(rule.file, rule.line, f"${rule.name} is also in {other.file}")
        for name, text in grammar.meta.items():
            add_meta(meta, name, text)
    joined = Grammar(rules, meta)
    _check(joined)
    return joined


def _check(grammar: Grammar) -> None:
    """Refuse references that lead nowhere or in a circle, and lists that name no rule."""
    known = grammar.rules.keys() | set(grammar.listed("open"))
    for rule in grammar.rules.values():
        for name in references(rule.tree):
            if name not in known:
                raise GrammarMistake(rule.file, rule.line, f"${rule.name} needs ${name}, which is nowhere")
    for kind in grammar.listed("always"):
        if kind not in grammar.rules or not grammar.rules[kind].public:
            raise GrammarMistake("meta always", 1, f"{kind} is no public rule")
    done: set[str] = set()
    for name in grammar.rules:
        _descend(grammar, name, (), done)


def _descend(grammar: Grammar, name: str, above: tuple[str, ...], done: set[str]) -> None:
    """Refuse a rule that is part of itself: its sentences would never end."""
    if name in done or name not in grammar.rules:
        return
    rule = grammar.rules[name]
    if name in above:
        raise GrammarMistake(rule.file, rule.line, f"${name} contains itself")
    for inner in references(rule.tree):
        _descend(grammar, inner, (*above, name), done)
    done.add(name)
