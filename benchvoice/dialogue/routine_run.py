"""Where a routine stands, worked out from its entries: so undo and a new start of the program need nothing.

An entry of kind ``routine`` has a ``name``, an ``act`` (begin, step, done, skip, again, end, left), the place
of the ``step``, and the bucket that was open ``at`` it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import cast

from benchvoice.dialogue.routine_tasks import TASKS
from benchvoice.dialogue.routine_text import Ask, Do, ForEvery, Routine, Step, Wait
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.messages import Entry

ROUTINE_STEP = State(
    "ROUTINE_STEP", "ask_routine_step", ("done", "skip it", "go back", "where are we", "cancel")
)
ROUTINE_RESUME = State("ROUTINE_RESUME", "ask_routine_resume", ("yes", "no"))

HANDS_OFF = frozenset({"PAUSED", "END", "CONFIRM", "ROUTINE_RESUME", "LEAVING", "SWITCHING"})
"""States in which no step is begun, whatever is reached."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A step in its place, with the bucket that it is about."""

    step: Step
    bucket: str | None = None

    @property
    def waits(self) -> bool:
        """Whether the potter is waited for here."""
        act = self.step.act
        if isinstance(act, Do):
            own = act.task == "open a bucket" and self.bucket is not None
            return act.task in TASKS and not TASKS[act.task].goes_on and not own
        return act is not None

    def can_be_done(self, scene: Scene) -> bool:
        """Tell whether an open bucket is there where one is needed."""
        act = self.step.act
        needs = isinstance(act, Do) and act.task in TASKS and TASKS[act.task].at_bucket
        return scene.bucket is not None or not needs


@dataclass(frozen=True, slots=True)
class Run:
    """A routine that is under way."""

    routine: Routine
    buckets: tuple[str, ...]
    """The buckets that are gone through."""
    last: Entry
    """Its newest entry."""
    since_begun: tuple[Entry, ...]
    since_last: tuple[Entry, ...]

    @property
    def place(self) -> int:
        """The place of the present step; -1 before the first."""
        return int(cast(int, self.last.facts["step"]))

    @property
    def stops(self) -> tuple[Stop, ...]:
        """Every step in its place."""
        return tuple(stops_of(self.routine, self.buckets))

    @property
    def stop(self) -> Stop:
        """The present step."""
        return self.stops[self.place]

    @property
    def act(self) -> Do | Ask | Wait | None:
        """What the present step does; None before the first."""
        return None if self.place < 0 else self.stop.step.act

    def waits_before(self) -> list[int]:
        """Return the places of the earlier steps that wait for the potter."""
        return [place for place in range(self.place) if self.stops[place].waits]

    def counted(self) -> tuple[int, int]:
        """Return which of the steps that wait for the potter this is, and how many there are."""
        waits = [place for place, stop in enumerate(self.stops) if stop.waits]
        return sum(place <= self.place for place in waits), len(waits)


def stops_of(routine: Routine, buckets: tuple[str, ...]) -> Iterator[Stop]:
    """Yield every step in its place, with those for every bucket once for each."""
    for step in routine.steps:
        if isinstance(step, ForEvery):
            if step.told is not None:
                yield Stop(Step(step.told))
            yield from (Stop(inner, bucket) for bucket in buckets for inner in step.each)
        else:
            yield Stop(step)


def running(scene: Scene) -> Run | None:
    """Return the routine that is under way, or None; one whose file has gone is no more."""
    entries = scene.bench.entries
    places = [place for place, entry in enumerate(entries) if entry.kind == "routine"]
    if not places or entries[places[-1]].facts["act"] in ("end", "left"):
        return None
    begun = max(place for place in places if entries[place].facts["act"] == "begin")
    routine = next((r for r in scene.routines if r.name == entries[begun].facts["name"]), None)
    if routine is None:
        return None
    buckets = tuple(str(name) for name in cast(list[object], entries[begun].facts["buckets"]))
    last = places[-1]
    run = Run(routine, buckets, entries[last], entries[begun + 1 :], entries[last + 1 :])
    return run if run.place < len(run.stops) else None


def the_run(scene: Scene) -> Run:
    """Return the routine that is under way; a defect when there is none."""
    found = running(scene)
    assert found is not None
    return found


def written(turn: Turn, run: Run, act: str, place: int) -> Turn:
    """Write down where the routine stands; not about the bucket, whose entries tell of its glaze only."""
    facts = {"name": run.routine.name, "act": act, "step": place, "at": turn.scene.bucket}
    return turn.write("routine", facts, about_bucket=False)
