"""Turns rules into the least network of words that hears exactly their sentences.

The network is built from the end backwards: every piece of a rule is given the state in which it must
leave off and answers with the state in which it begins. States that look alike (same arcs, same end) are
made once only. The rules are finite, so the network has no circles, and without circles "no two states
look alike" is the same as "as few states as possible": no separate step makes it smaller afterwards.
Where two ways begin with the same word, they are walked together (the subset construction).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from math import log

from benchvoice.meaning.grammar import Choice, Grammar, Node, Reference, Repeat, Sequence, Tag, Word
from benchvoice.messages import WordNetwork

Arcs = tuple[tuple[str, int], ...]

RARE = (5, 30)
"""How many times less often the words of ``meta "rare 5"`` and ``meta "rare 30"`` are said (our choice)."""
DEAD = 0
"""The state from which nothing can be said and nothing has been."""
END = 1
"""The state in which a sentence is complete and has no more words."""


class Builder:
    """Makes states, each only once, and remembers what it made for the next network."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar
        self._costs = tuple((word, log(ratio)) for ratio in RARE for word in grammar.listed(f"rare {ratio}"))
        self._states: list[tuple[Arcs, bool]] = [((), False), ((), True)]
        self._known: dict[tuple[Arcs, bool], int] = {state: at for at, state in enumerate(self._states)}
        self._unions: dict[frozenset[int], int] = {}
        self._pieces: dict[tuple[int, int], int] = {}

    def network(self, tree: Node, names: Mapping[str, Node]) -> WordNetwork:
        """Return the network of a tree; ``names`` are the rules that exist at run time only."""
        return self._numbered(_Pass(self, names).state(tree, END))

    def state(self, arcs: Mapping[str, int], final: bool) -> int:
        """Return the one state with these arcs."""
        key = (tuple(sorted((word, to) for word, to in arcs.items() if to != DEAD)), final)
        if key not in self._known:
            self._known[key] = len(self._states)
            self._states.append(key)
        return self._known[key]

    def union(self, states: Iterable[int]) -> int:
        """Return the state from which can be said what can be said from any of these."""
        several = frozenset(states) - {DEAD}
        if len(several) < 2:
            return next(iter(several), DEAD)
        if several not in self._unions:
            self._unions[several] = self._merged(several)
        return self._unions[several]

    def _merged(self, several: frozenset[int]) -> int:
        to: dict[str, list[int]] = {}
        for state in several:
            for word, target in self._states[state][0]:
                to.setdefault(word, []).append(target)
        arcs = {word: self.union(targets) for word, targets in to.items()}
        return self.state(arcs, any(self._states[state][1] for state in several))

    def remembered(self, tree: Node, then: int) -> int | None:
        """Return the state made before for this very tree and continuation."""
        return self._pieces.get((id(tree), then))

    def remember(self, tree: Node, then: int, state: int) -> None:
        """Keep a state for the next time; only for the tree of a rule that holds no run-time names."""
        self._pieces[id(tree), then] = state

    def rule(self, name: str) -> Node:
        """Return what may be heard under a rule."""
        return self._grammar.heard(name)

    def _numbered(self, start: int) -> WordNetwork:
        """Return what can be reached from a state, numbered from 0 in the order of reaching it."""
        numbers, waiting = {start: 0}, deque([start])
        arcs: list[tuple[int, str, int]] = []
        while waiting:
            state = waiting.popleft()
            for word, target in self._states[state][0]:
                if target not in numbers:
                    numbers[target] = len(numbers)
                    waiting.append(target)
                arcs.append((numbers[state], word, numbers[target]))
        finals = frozenset(n for s, n in numbers.items() if self._states[s][1])
        there = {word for _, word, _ in arcs}
        return WordNetwork(tuple(arcs), finals, tuple(cost for cost in self._costs if cost[0] in there))


class _Pass:
    """One building of a network, with the names known just now."""

    def __init__(self, builder: Builder, names: Mapping[str, Node]) -> None:
        self._builder = builder
        self._names = names

    def state(self, tree: Node, then: int) -> int:
        """Return the state in which a tree begins that leaves off in ``then``."""
        match tree:
            case Word(text):
                return self._builder.state({text: then}, False)
            case Tag():
                return then
            case Reference(name):
                return self._reference(name, then)
            case Sequence(items):
                for item in reversed(items):
                    then = self.state(item, then)
                return then
            case Choice(options):
                return self._builder.union([self.state(option, then) for option in options])
            case Repeat(item, low, high):
                return self._repeat(item, low, high, then)

    def _repeat(self, item: Node, low: int, high: int, then: int) -> int:
        state = then
        for _ in range(high - low):
            state = self._builder.union((then, self.state(item, state)))
        for _ in range(low):
            state = self.state(item, state)
        return state

    def _reference(self, name: str, then: int) -> int:
        if name in self._names:
            return self.state(self._names[name], then)
        tree = self._builder.rule(name)
        if self._depends(tree):
            return self.state(tree, then)
        state = self._builder.remembered(tree, then)
        if state is None:
            state = self.state(tree, then)
            self._builder.remember(tree, then, state)
        return state

    def _depends(self, tree: Node) -> bool:
        """Tell whether a tree holds names that are known at run time only."""
        match tree:
            case Reference(name):
                return name in self._names or self._depends(self._builder.rule(name))
            case Sequence(parts) | Choice(parts):
                return any(self._depends(part) for part in parts)
            case Repeat(item):
                return self._depends(item)
        return False


def acceptor(network: WordNetwork) -> Callable[[Iterable[str]], bool]:
    """Return what tells whether a network hears exactly the words that it is given."""
    arcs = {(start, word): end for start, word, end in network.arcs}

    def accepts(words: Iterable[str]) -> bool:
        state = 0
        for word in words:
            if (state := arcs.get((state, word), -1)) < 0:
                return False
        return state in network.finals

    return accepts
