"""From a network of words to the decoding graph that vosk reads.

A graph is a finite automaton in OpenFst's binary form (``HCLG.fst``). Its input labels are
Kaldi transition numbers, two for each phone: one to enter it, one to stay. Its output labels
are words. It is made of three things:

    speech    the network, each word spelled in phones; equal endings that lead to the same
              state are spelled once
    silence   before, after and, by choice, between words
    filler    a loop over all phones, at a price, that writes ``[unk]``: so that talk and noise
              that fit no word are not pressed into one. It may stand before the words, or
              take over after any of them and keep to the end.

Weights are costs (negative natural logarithms of probability).
"""

from __future__ import annotations

import struct
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, log

from benchvoice.messages import UNKNOWN_WORD, WordNetwork

Phones = tuple[str, ...]
Transitions = Mapping[str, tuple[int, int]]
"""For each phone of the model: number of its staying and of its entering transition."""

SILENCE_PHONE = "SIL"


@dataclass(frozen=True, slots=True)
class Tuning:
    """The prices in a graph. Every field is a cost unless it says otherwise."""

    silence_chance: float = 0.5
    """Probability of a silence after a word."""
    word: float = 0.5
    """Of each word."""
    choice: float = 1.0
    """Of each word, times the logarithm of how many words there were to choose from."""
    filler: float = 6.0
    """Of filler that takes over from the words, or stands for all of them."""
    opening: float = 9.0
    """Of filler before the words: dear, or it would take the place of a first “one”."""
    filler_phone: float = -0.3
    """Of each phone of filler, over and above its rarity: more noise is refused the lower it is,
    and more speech."""


TUNING = Tuning()


@dataclass(slots=True)
class _Draft:
    """A graph while it is being made: for each state its arcs (in, out, cost, to)."""

    arcs: list[list[tuple[int, int, float, int]]] = field(default_factory=list)
    finals: dict[int, float] = field(default_factory=dict)

    def state(self) -> int:
        self.arcs.append([])
        return len(self.arcs) - 1

    def states(self, count: int) -> list[int]:
        return [self.state() for _ in range(count)]

    def arc(self, start: int, end: int, label: int = 0, word: int = 0, cost: float = 0.0) -> None:
        self.arcs[start].append((label, word, cost, end))


@dataclass(frozen=True, slots=True)
class Graph:
    """A finished graph: the bytes of ``HCLG.fst`` and the words that it writes, in order."""

    fst: bytes
    words: tuple[str, ...]
    states: int
    arcs: int

    def symbols(self) -> str:
        """Return the text of ``words.txt``."""
        names = ["<eps>", *self.words, "#0", "<s>", "</s>"]
        return "".join(f"{name} {number}\n" for number, name in enumerate(names))


def build_graph(
    network: WordNetwork,
    pronunciations: Mapping[str, Sequence[Phones]],
    transitions: Transitions,
    tuning: Tuning = TUNING,
    rarity: Mapping[str, float] | None = None,
) -> Graph:
    """Build the graph of a network. ``rarity`` is the cost of each phone within filler."""
    return _Builder(network, pronunciations, transitions, tuning, rarity or {}).build()


def filler_graph(transitions: Transitions, rarity: Mapping[str, float] | None = None) -> Graph:
    """Build a graph that is nothing but filler: what a sound scores when any phones will do."""
    nothing, free = WordNetwork((), frozenset()), Tuning(filler=0.0, opening=0.0, filler_phone=0.0)
    return _Builder(nothing, {}, transitions, free, rarity or {}).build()


class _Builder:
    def __init__(
        self,
        network: WordNetwork,
        pronunciations: Mapping[str, Sequence[Phones]],
        transitions: Transitions,
        tuning: Tuning,
        rarity: Mapping[str, float],
    ) -> None:
        self.network, self.pronunciations, self.tuning = network, pronunciations, tuning
        self.transitions, self.rarity = transitions, rarity
        self.words = (*sorted(network.vocabulary()), UNKNOWN_WORD)
        self.number = {word: place + 1 for place, word in enumerate(self.words)}
        self.draft = _Draft()
        self.endings: dict[tuple[int, Phones], int] = {}

    def build(self) -> Graph:
        count = 1 + max((max(a, b) for a, _, b in self.network.arcs), default=0)
        opening = self.draft.state()
        here = self.draft.states(count)
        after = [self._silence_before(state) for state in here]
        self._open(opening, here[0])
        choices = Counter(start for start, _, _ in self.network.arcs)
        rare = dict(self.network.costs)
        for start, word, end in self.network.arcs:
            cost = self.tuning.word + self.tuning.choice * log(choices[start]) + rare.get(word, 0.0)
            self._word(here[start], word, after[end], cost)
        # Silence alone is a way through, too: else a word would be made out of it at the end.
        self.draft.finals = {here[state]: 0.0 for state in {0, *self.network.finals}}
        self._fillers(opening, here, after)
        return self._finish()

    # ---- speech ---------------------------------------------------------------

    def _word(self, start: int, word: str, end: int, cost: float) -> None:
        for phones in self.pronunciations[word]:
            placed = place(phones)
            self._enter(start, placed[0], self._ending(placed, end), self.number[word], cost)

    def _ending(self, placed: Phones, end: int) -> int:
        """Return the state just inside the first phone, from which the rest leads to ``end``."""
        known = self.endings.get((end, placed))
        if known is not None:
            return known
        inside = self.endings[end, placed] = self.draft.state()
        self.draft.arc(inside, inside, self.transitions[placed[0]][0])
        if len(placed) == 1:
            self.draft.arc(inside, end)
        else:
            self._enter(inside, placed[1], self._ending(placed[1:], end))
        return inside

    def _enter(self, start: int, phone: str, inside: int, word: int = 0, cost: float = 0.0) -> None:
        self.draft.arc(start, inside, self.transitions[phone][1], word, cost)

    # ---- silence ----------------------------------------------------------------

    def _silence_before(self, state: int) -> int:
        """Return a state that leads to ``state`` through an optional silence."""
        before, silent = self.draft.states(2)
        self._optional_silence(before, silent, state, self.tuning.silence_chance)
        return before

    def _optional_silence(self, before: int, silent: int, state: int, chance: float) -> None:
        stay, enter = self.transitions[SILENCE_PHONE]
        self.draft.arc(before, state, cost=-log(1 - chance))
        self.draft.arc(before, silent, enter, cost=-log(chance))
        self.draft.arc(silent, silent, stay)
        self.draft.arc(silent, state)

    def _open(self, opening: int, first: int) -> None:
        # A turn nearly always begins with some silence.
        self._optional_silence(opening, self.draft.state(), first, 0.8)

    # ---- filler -------------------------------------------------------------------

    def _fillers(self, opening: int, here: list[int], after: list[int]) -> None:
        end = self.draft.state()
        self.draft.finals[end] = 0.0
        last = self._filler(self._silence_before(end))
        for state in here:
            self.draft.arc(state, last, cost=self.tuning.filler)
        if self.network.arcs:
            silent = self.draft.state()
            first = self._filler(after[0])
            self._optional_silence(silent, self.draft.state(), first, 0.8)
            self.draft.arc(opening, silent, cost=self.tuning.opening)

    def _filler(self, end: int) -> int:
        """Return the entrance to a loop of two or more phones that leads to ``end``."""
        entrance, middle = self.draft.states(2)
        unknown = self.number[UNKNOWN_WORD]
        for phone in sorted({name.partition("_")[0] for name in self.transitions} - {SILENCE_PHONE}):
            cost = self.rarity.get(phone, log(40)) + self.tuning.filler_phone
            begin, inner, finish = (named(phone, mark, self.transitions) for mark in "BIE")
            self._enter(entrance, begin, self._held(begin, middle), unknown, cost)
            self._enter(middle, inner, self._held(inner, middle), cost=cost)
            self._enter(middle, finish, self._held(finish, end), cost=cost)
        return entrance

    def _held(self, phone: str, end: int) -> int:
        inside = self.draft.state()
        self.draft.arc(inside, inside, self.transitions[phone][0])
        self.draft.arc(inside, end)
        return inside

    # ---- the file --------------------------------------------------------------------

    def _finish(self) -> Graph:
        arcs = self.draft.arcs
        return Graph(_fst(arcs, self.draft.finals), self.words, len(arcs), sum(map(len, arcs)))


def place(phones: Phones) -> Phones:
    """Mark each phone of a word with its place: begin, internal, end, or single.

    >>> place(("W", "AH", "N")), place(("AH",))
    (('W_B', 'AH_I', 'N_E'), ('AH_S',))
    """
    if len(phones) == 1:
        return (f"{phones[0]}_S",)
    inner = (f"{phone}_I" for phone in phones[1:-1])
    return (f"{phones[0]}_B", *inner, f"{phones[-1]}_E")


def named(phone: str, mark: str, transitions: Transitions) -> str:
    """Return the phone's name at a place in the word."""
    name = f"{phone}_{mark}"
    return name if name in transitions else phone


def _fst(arcs: list[list[tuple[int, int, float, int]]], finals: Mapping[int, float]) -> bytes:
    """Write OpenFst's binary form: a ``vector`` automaton over ``standard`` (tropical) costs."""
    magic, version, properties, start = 2125659606, 2, 0x3, 0
    head = struct.pack("<i", magic) + _text("vector") + _text("standard")
    head += struct.pack("<iiQqqq", version, 0, properties, start, len(arcs), sum(map(len, arcs)))
    state, arc = struct.Struct("<fq").pack, struct.Struct("<iifi").pack
    parts = [head]
    for number, leaving in enumerate(arcs):
        parts.append(state(finals.get(number, inf), len(leaving)))
        parts += [arc(*one) for one in leaving]
    return b"".join(parts)


def _text(text: str) -> bytes:
    return struct.pack("<i", len(text)) + text.encode("ascii")
