"""The values that travel through benchvoice; nothing here acts.

Words used in every module, one word for one thing:

block      a stretch of sound: mono, 16 bit
words      what was heard or typed, as text
meaning    what was meant by it: a kind, and slots with exact values
scene      where the conversation stands (``dialogue``)
reply      what is to be said, as a key and facts; ``replies`` words it
sentence   a reply in words, once for the ear and once for the eye
effect     something to be carried out by the session: write down, change the voice
entry      one line of the journal; never changed once written
amount     an exact number with or without a unit
network    the word sequences that the recogniser may hear just now
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal

UNKNOWN_WORD = "[unk]"
"""What the recogniser writes for sound that fits no word of the network."""


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch of sound."""

    sound: bytes
    """Mono samples, signed 16 bit, little endian."""
    rate: int
    """Samples per second [Hz]."""


@dataclass(frozen=True, slots=True)
class Words:
    """What was heard or typed."""

    text: str
    """Lower case, one space between words; empty for silence."""
    typed: bool = False
    """True when it came from a keyboard: then nothing was misheard."""
    confidence: float | None = None
    """Chance that every word is right, 0 to 1; None when typed or not measured."""
    alternatives: tuple[str, ...] = ()
    """What else it may have been, likeliest first, without ``text`` itself."""
    started: float | None = None
    """Start of the first word, seconds since the ears were opened."""
    ended: float | None = None
    """End of the last word, seconds since the ears were opened."""


@dataclass(frozen=True, slots=True)
class Closed:
    """The ears hear no more: the recording is over, the keyboard was closed."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An exact number as spoken, with the unit that was said, if one was."""

    value: Decimal
    unit: str | None = None
    """Unit name known to ``calculator.quantities`` (``gram``, ``litre``); None when bare."""
    words: str = ""
    """The words it came from."""


Slot = Amount | Decimal | str


@dataclass(frozen=True, slots=True)
class Meaning:
    """What was meant: a kind (the name of a phrase rule) and its slots."""

    kind: str
    slots: Mapping[str, Slot] = field(default_factory=dict)
    words: Words = Words("")

    def has_amount(self) -> bool:
        """Tell whether an amount or a bare number was said."""
        return "amount" in self.slots or "number" in self.slots

    def amount(self) -> Amount:
        """Return the amount, or the bare number, in this meaning; a defect if there is none."""
        value = self.slots["amount"] if "amount" in self.slots else self.slots["number"]
        return value if isinstance(value, Amount) else Amount(Decimal(value))

    def with_amount(self, amount: Amount, words: Words) -> Meaning:
        """Return the same meaning with another amount, said in these words."""
        slots = {name: slot for name, slot in self.slots.items() if name != "number"}
        return replace(self, slots={**slots, "amount": amount}, words=words)

    def text(self, slot: str) -> str:
        """Return a slot that holds a name or a choice."""
        return str(self.slots[slot])


UNCLEAR = "unclear"
"""Kind of a meaning that could not be made out. Slots: ``understood``, ``stopped_at``."""
SILENCE = "silence"
"""Kind of a meaning for which nothing was said."""


@dataclass(frozen=True, slots=True)
class Expectation:
    """What the present step takes, handed to ``understand`` and to the recogniser."""

    kinds: tuple[str, ...]
    """Kinds of meaning, most likely first; those always taken are not listed."""
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Names that are known just now, by slot: ``{"bucket": ("tide green",)}``."""
    alone: bool = False
    """True when nothing else is to be heard, not even what is always taken; what is typed still counts."""


@dataclass(frozen=True, slots=True)
class WordNetwork:
    """A finite automaton over words: what the recogniser may hear.

    State 0 is the start. It is deterministic and has no empty arcs.
    """

    arcs: tuple[tuple[int, str, int], ...]
    """(from state, word, to state)."""
    finals: frozenset[int]
    costs: tuple[tuple[str, float], ...] = ()
    """Words that are said less often than the others, and how much less: -ln of the ratio."""

    def vocabulary(self) -> frozenset[str]:
        """Return every word on an arc."""
        return frozenset(word for _, word, _ in self.arcs)


# ---- what happens ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Heard:
    """Something was said or typed."""

    meaning: Meaning


@dataclass(frozen=True, slots=True)
class Rang:
    """A timer has come to its end."""

    name: str


@dataclass(frozen=True, slots=True)
class Counted:
    """The next moment of a spoken countdown has come."""


@dataclass(frozen=True, slots=True)
class SetBack:
    """The clock shows less than it did before: it was set back."""

    shown: datetime
    """What it showed before."""


Event = Heard | Rang | Counted | SetBack


# ---- what follows ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reply:
    """Something to be said: ``replies`` finds the words by key and fills in the facts."""

    key: str
    facts: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sentence:
    """A reply in words."""

    spoken: str
    """For the ear: numbers and units spelled."""
    printed: str
    """For the eye and the screen reader: digits and unit signs."""
    safety: bool = False
    """True for a caution: never cut short."""
    big: str = ""
    """The number in it that matters now, for the large display; empty when there is none."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the journal. Nothing is overwritten: an undo is an entry too."""

    key: str
    """Unique: session and running number."""
    kind: str
    """``bucket``, ``cup``, ``reading``, ``addition``, ``dose``, ``timer``, ``undo``, …"""
    at: datetime
    """When, with time zone (UTC)."""
    bucket: str | None = None
    """Name of the bucket it is about; None when about none."""
    facts: Mapping[str, object] = field(default_factory=dict)
    """Plain values only (text, numbers, true/false, None, lists and maps of these); numbers
    carry their unit in the name: ``net_g``, ``water_g``, ``gravity``."""
    undoes: str | None = None
    """Key of the entry that this one takes back."""


@dataclass(frozen=True, slots=True)
class Record:
    """Effect: write this entry down before anything is said about it."""

    entry: Entry


@dataclass(frozen=True, slots=True)
class SetVoice:
    """Effect: change how replies are spoken."""

    rate: int | None = None
    """Words per minute."""
    volume: float | None = None
    """0 to 1."""
    muted: bool | None = None
    voice: int | None = None
    """0 is the usual voice, 1 the first of the machine's others, and so on round."""


@dataclass(frozen=True, slots=True)
class Leave:
    """Effect: end the session."""


Effect = Record | SetVoice | Leave
