"""Reads what can be said from text: the ABNF form of SRGS 1.0, a small part of it.

A file looks like this::

    #ABNF 1.0 UTF-8;
    language en-GB;
    meta "always" is "help thanks";           // kinds that are taken at every step

    public $thanks = thank you | thanks;      // a public rule is a kind of meaning
    public $flow = [it is] [$much] (thick | thin);
    $much = very {lots} | a little {little};  // a private rule with tags fills the slot of its name
    public $range = target $low to $high;
    $low = $number;                           // a private rule that is one slot renames it
    $high = $number;
    $also_to = two;                           // understood when it comes; the recogniser never waits for it

Taken from the standard: the header, ``language``, ``meta``, ``public`` and private rules, words, ``( )``,
``[ ]``, ``|``, repeats ``<3>`` and ``<0-3>``, tags, ``//`` and ``/* */`` comments. Left out: weights,
imports, ``$NULL``, and open repeats ``<1->``, because every sentence at the bench comes to an end.

Source: W3C Recommendation "Speech Recognition Grammar Specification Version 1.0", 16 March 2004, appendix D
(from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import NoReturn, TypeAlias

HEADER = re.compile(r"#ABNF 1\.0( UTF-8)?;")

TOKEN = re.compile(
    r"""(?P<space>\s+|//[^\n]*|/\*.*?\*/)
      | (?P<rule>\$[a-z_]+)
      | (?P<repeat><\s*\d+\s*(?:-\s*\d*\s*)?>)
      | (?P<tag>\{[^{}]*\})
      | (?P<quoted>"[^"\n]*")
      | (?P<word>[A-Za-z0-9'][A-Za-z0-9'.-]*)
      | (?P<sign>[=|()\[\];])""",
    re.VERBOSE | re.DOTALL,
)


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
        """Return what the recogniser waits for under a rule: nothing where it is taken only if it comes."""
        return NOTHING if name.startswith(ALSO) else self.rules[name].tree

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


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    line: int


def _tokens(text: str, file: str) -> Iterator[_Token]:
    """Yield what the text is made of; ends with a token of kind ``end``."""
    at, line = 0, 1
    while at < len(text):
        found = TOKEN.match(text, at)
        if found is None:
            raise GrammarMistake(file, line, f"{text[at]!r} means nothing here")
        if (kind := found.lastgroup or "") != "space":
            yield _Token(kind, found.group(), line)
        at, line = found.end(), line + found.group().count("\n")
    yield _Token("end", "the end of the file", line)


class _Reader:
    """Walks over the tokens of one file and builds its rules."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.rules: dict[str, Rule] = {}
        self.meta: dict[str, str] = {}
        header = HEADER.match(text)
        if header is None:
            raise GrammarMistake(file, 1, 'the first line must be "#ABNF 1.0 UTF-8;"')
        # The header is blanked, not cut, so that lines and columns stay what the writer sees.
        self._tokens = list(_tokens(" " * header.end() + text[header.end() :], file))
        self._at = 0

    def read(self) -> Grammar:
        while self._now.kind != "end":
            self._declaration()
        return Grammar(self.rules, self.meta)

    @property
    def _now(self) -> _Token:
        return self._tokens[self._at]

    def _next(self) -> _Token:
        token = self._now
        self._at += 1
        return token

    def _fail(self, reason: str, line: int = 0) -> NoReturn:
        raise GrammarMistake(self.file, line or self._now.line, reason)

    def _expect(self, text: str) -> None:
        if self._now.text != text:
            self._fail(f"{text!r} is wanted here, not {self._now.text!r}")
        self._next()

    def _declaration(self) -> None:
        if self._now.text in ("public", "private") or self._now.kind == "rule":
            self._rule()
        elif self._now.text == "meta":
            self._meta()
        elif self._now.text == "language":
            self._at += 2
            self._expect(";")
        else:
            self._fail(f"a rule, meta or language is wanted here, not {self._now.text!r}")

    def _meta(self) -> None:
        self._next()
        name = self._quoted()
        self._expect("is")
        add_meta(self.meta, name, self._quoted())
        self._expect(";")

    def _quoted(self) -> str:
        if self._now.kind != "quoted":
            self._fail(f"a text in quotes is wanted here, not {self._now.text!r}")
        return self._next().text.strip('"')

    def _rule(self) -> None:
        public = self._now.text == "public"
        if self._now.kind != "rule":
            self._next()
        token = self._next()
        if token.kind != "rule":
            self._fail(f"the name of a rule is wanted here, not {token.text!r}", token.line)
        name = token.text[1:]
        if name in self.rules:
            self._fail(f"${name} was already given in line {self.rules[name].line}", token.line)
        self._expect("=")
        self.rules[name] = Rule(name, self._choice(), public, self.file, token.line)
        self._expect(";")

    def _choice(self) -> Node:
        options = [self._sequence()]
        while self._now.text == "|":
            self._next()
            options.append(self._sequence())
        return options[0] if len(options) == 1 else Choice(tuple(options))

    def _sequence(self) -> Node:
        items: list[Node] = []
        while self._now.kind in ("word", "quoted", "rule", "tag") or self._now.text in ("(", "["):
            items.append(self._repeated(self._item()))
        if not items:
            self._fail(f"words are wanted here, not {self._now.text!r}")
        return items[0] if len(items) == 1 else Sequence(tuple(items))

    def _item(self) -> Node:
        token = self._next()
        match token.kind, token.text:
            case "rule", name:
                return Reference(name[1:])
            case "tag", tag:
                return Tag(tag[1:-1].strip())
            case _, "(":
                return self._bracketed(")")
            case _, "[":
                return Repeat(self._bracketed("]"), 0, 1)
            case "quoted", text:
                return Sequence(tuple(Word(word) for word in text.strip('"').lower().split()))
        return Word(token.text.lower())

    def _bracketed(self, closing: str) -> Node:
        inside = self._choice()
        self._expect(closing)
        return inside

    def _repeated(self, item: Node) -> Node:
        if self._now.kind != "repeat":
            return item
        token = self._next()
        low, dash, high = token.text[1:-1].replace(" ", "").partition("-")
        if dash and not high:
            self._fail(f"{token.text} has no end: say at most how often", token.line)
        least, most = int(low), int(high or low)
        if most < max(least, 1):
            self._fail(f"{token.text} can never be said", token.line)
        return Repeat(item, least, most)


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


def parse(text: str, file: str) -> Grammar:
    """Return the rules of one file; what they refer to may be in others.

    >>> parse("#ABNF 1.0 UTF-8; public $thanks = thanks | thank you;", "a.gram").rules["thanks"].tree
    Choice(options=(Word(text='thanks'), Sequence(items=(Word(text='thank'), Word(text='you')))))
    """
    return _Reader(text, file).read()


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
