"""Where the conversation stands, and a turn in it: both are values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType
from typing import TypeVar, cast

from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.routine_text import Routine
from benchvoice.messages import Amount, Effect, Entry, Expectation, Leave, Meaning, Record, Reply, SetVoice
from benchvoice.timers import known_names

W = TypeVar("W")

ALWAYS_NAMED = ("bucket",)
"""Slots whose names are understood at every step, also where they are not waited for."""


@dataclass(frozen=True, slots=True)
class State:
    """A step at which the conversation waits for the potter."""

    name: str
    ask: str
    """Key of the reply that asks this step's question."""
    examples: tuple[str, ...]
    """What can be said here, at most five, as the help names them."""
    names: tuple[str, ...] = ()
    """Slots whose known names can be said here: ``bucket``, ``recipe``."""
    alone: bool = False
    """True when only its own kinds are heard here: nobody is speaking to the bench."""

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class Held:
    """A meaning that waits for a yes, and the state in which it was said."""

    state: State
    meaning: Meaning
    asking: Mapping[str, object] = field(default_factory=dict)
    """Facts of that state's question, in case it is asked again."""
    past: tuple[Step, ...] = ()
    """The steps before it was said."""


@dataclass(frozen=True, slots=True)
class Step:
    """A scene that was left, and what was meant when it was."""

    scene: Scene
    meaning: Meaning


@dataclass(frozen=True, slots=True)
class Scene:
    """Where the conversation stands."""

    session: str
    """Name of the session; the first part of every entry's key."""
    state: State
    bench: Bench = field(default_factory=Bench)
    written: int = 0
    """Entries written so far in this session; numbers their keys."""
    bucket: str | None = None
    """The bucket being worked on."""
    works: Mapping[type, object] = field(default_factory=dict)
    """What each topic keeps while it is being worked on, by the type that holds it."""
    routines: tuple[Routine, ...] = ()
    """The routines that are known: those that come with the bench, and the potter's own."""
    asking: Mapping[str, object] = field(default_factory=dict)
    """Facts for the state's question, so that it can be asked again."""
    past: tuple[Step, ...] = ()
    """Earlier steps, oldest first: where ``go back`` and ``undo`` return to."""
    said: tuple[Reply, ...] = ()
    """What was said last, for ``repeat``."""
    held: Held | None = None
    sure: bool = False
    """True while a held meaning, now confirmed, is being carried out."""
    misses: int = 0
    """How often running something was not understood."""

    def work(self, kind: type[W]) -> W:
        """Return a topic's own notes, empty if it has none yet."""
        return cast(W, self.works[kind]) if kind in self.works else kind()

    def keys_since(self, earlier: Scene) -> tuple[str, ...]:
        """Return the keys of standing entries written since an earlier scene, newest first."""
        old = {entry.key for entry in earlier.bench.entries}
        return tuple(e.key for e in reversed(self.bench.entries) if e.key not in old)


@dataclass(frozen=True, slots=True)
class Turn:
    """One thing that was meant, and what comes of it. Actions take a turn and return a turn."""

    scene: Scene
    meaning: Meaning
    now: datetime
    replies: tuple[Reply, ...] = ()
    effects: tuple[Effect, ...] = ()

    @property
    def amount(self) -> Amount:
        """The amount that was said."""
        return self.meaning.amount()

    def say(self, key: str, **facts: object) -> Turn:
        """Add a reply."""
        return replace(self, replies=(*self.replies, Reply(key, facts)))

    def ask(self, **facts: object) -> Turn:
        """Set the facts of the next state's question."""
        return replace(self, scene=replace(self.scene, asking=facts))

    def set(self, **changes: object) -> Turn:
        """Change the scene."""
        return replace(self, scene=replace(self.scene, **changes))  # type: ignore[arg-type]

    def keep(self, work: object) -> Turn:
        """Keep a topic's notes in the place of the earlier ones."""
        return self.set(works={**self.scene.works, type(work): work})

    def write(
        self, kind: str, facts: Mapping[str, object] = MappingProxyType({}), *, about_bucket: bool = True
    ) -> Turn:
        """Write an entry down; it is remembered at once and durable before anything is said."""
        return self._write(kind, self.scene.bucket if about_bucket else None, facts, None)

    def take_back(self, key: str) -> Turn:
        """Write down that an entry no longer stands."""
        taken = next(e for e in self.scene.bench.entries if e.key == key)
        return self._write("undo", taken.bucket, {"was": taken.kind}, key)

    def _write(self, kind: str, bucket: str | None, facts: Mapping[str, object], undoes: str | None) -> Turn:
        scene = self.scene
        entry = Entry(f"{scene.session}-{scene.written + 1}", kind, self.now, bucket, facts, undoes)
        scene = replace(scene, bench=scene.bench.with_entry(entry), written=scene.written + 1)
        return replace(self, scene=scene, effects=(*self.effects, Record(entry)))

    def voice(self, rate: int | None = None, volume: float | None = None, voice: int | None = None) -> Turn:
        """Change how replies are spoken."""
        return replace(self, effects=(*self.effects, SetVoice(rate, volume, voice=voice)))

    def leave(self) -> Turn:
        """End the session after the replies."""
        return replace(self, effects=(*self.effects, Leave()))


def expectation(scene: Scene, kinds: tuple[str, ...]) -> Expectation:
    """Return what the scene's state takes, with the names that are known just now."""
    names = {slot: _names(scene, slot) for slot in (*ALWAYS_NAMED, *scene.state.names)}
    return Expectation(kinds, {**names, "timer": known_names(scene.bench.entries)}, scene.state.alone)


def _names(scene: Scene, slot: str) -> tuple[str, ...]:
    """Return the names that a slot may hold: of routines those that are known, of all else those in use."""
    if slot == "routine":
        return tuple(routine.name for routine in scene.routines)
    return scene.bench.names(slot)
