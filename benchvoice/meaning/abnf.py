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
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NoReturn

from benchvoice.meaning.grammar import (
    Choice,
    Grammar,
    GrammarMistake,
    Node,
    Reference,
    Repeat,
    Rule,
    Sequence,
    Tag,
    Word,
    add_meta,
)

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


def parse(text: str, file: str) -> Grammar:
    """Return the rules of one file; what they refer to may be in others.

    >>> parse("#ABNF 1.0 UTF-8; public $thanks = thanks | thank you;", "a.gram").rules["thanks"].tree
    Choice(options=(Word(text='thanks'), Sequence(items=(Word(text='thank'), Word(text='you')))))
    """
    return _Reader(text, file).read()
