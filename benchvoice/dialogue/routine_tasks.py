"""The tasks that a routine can name: how each is asked for, as the potter would ask, and when it is done."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from benchvoice.calculator import slurry
from benchvoice.calculator.flow import Verdict
from benchvoice.calculator.quantities import grams, litres, magnitude
from benchvoice.calculator.safety import Action
from benchvoice.dialogue import flows, hazards, readings
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.scene import Scene, State, Turn
from benchvoice.dialogue.states import READY, RIGHT, WEIGH
from benchvoice.dialogue.target import target
from benchvoice.messages import Entry, Meaning, Reply

Entries = tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a potter would say for it, and in which state; nothing said: the state's own question."""

    state: State
    meaning: Meaning | None = None


@dataclass(frozen=True, slots=True)
class Task:
    """Something that the dialogue can do."""

    asks: Callable[[Scene, str | None], Asked | None]
    """How it is asked for, given the bucket that it is about; None when there is nothing to do."""
    reached: Callable[[Scene, Entries], bool]
    """Whether its goal is reached, given what was written since it was asked for."""
    at_bucket: bool = True
    """Whether it needs an open bucket."""
    goes_on: bool = False
    """Whether it is done as soon as it is asked for."""


# ---- how they are asked for ------------------------------------------------------------------------


def _said(state: State, kind: str) -> Callable[[Scene, str | None], Asked]:
    return lambda _scene, _bucket: Asked(state, Meaning(kind))


def _bucket(_: Scene, bucket: str | None) -> Asked:
    return Asked(READY, None if bucket is None else Meaning("choose_bucket", {"bucket": bucket}))


def _cup(scene: Scene, _: str | None) -> Asked:
    return Asked(READY if scene.bucket is None else WEIGH, Meaning("calibrate"))


def _weigh(scene: Scene, bucket: str | None) -> Asked:
    return _cup(scene, bucket) if scene.bench.last("cup") is None else Asked(WEIGH)


def _recipe(scene: Scene, _: str | None) -> Asked | None:
    return None if scene.bench.names("recipe") else Asked(READY, Meaning("new_recipe"))


def _drops(scene: Scene, _: str | None) -> Asked | None:
    """Return which way the flow is to be brought; nothing where it is right or was not looked at."""
    ways = {Verdict.THICK: "thin_it", Verdict.THIN: "thicken_it"}
    verdict = flows.last_flow_verdict(scene)
    return Asked(RIGHT, Meaning(ways[verdict])) if verdict in ways else None


# ---- when they are done ----------------------------------------------------------------------------


def _written(*kinds: str) -> Callable[[Scene, Entries], bool]:
    return lambda _scene, since: bool(of_kind(since, *kinds))


def _opened(scene: Scene, since: Entries) -> bool:
    return scene.bucket is not None and bool(of_kind(since, "opened"))


def _read(scene: Scene, since: Entries) -> bool:
    # One too close to tell asks for a second one, and waits for it at the cup.
    return scene.state != WEIGH and bool(of_kind(since, "reading"))


def _in_range(scene: Scene, since: Entries) -> bool:
    return scene.state == RIGHT and bool(of_kind(since, "reading"))


def _back(scene: Scene, _: Entries) -> bool:
    return scene.state == RIGHT


def _made(_: Scene, since: Entries) -> bool:
    return any(entry.facts["how"] == "made" for entry in of_kind(since, "batch_closed"))


def _known_recipe(scene: Scene, _: Entries) -> bool:
    return bool(scene.bench.names("recipe"))


TASKS: Mapping[str, Task] = {
    "open a bucket": Task(_bucket, _opened, at_bucket=False),
    "calibrate the cup": Task(_cup, _written("cup"), at_bucket=False),
    "weigh once": Task(_weigh, _read),
    "weigh until in range": Task(_weigh, _in_range),
    "check the flow": Task(_said(RIGHT, "check_flow"), _written("flow")),
    "bring the flow right": Task(_drops, _back),
    "dip a tile": Task(_said(RIGHT, "dip_tile"), _back),
    "look at the tile": Task(_said(RIGHT, "check_tile"), _written("signs")),
    "call it good": Task(_said(RIGHT, "call_it_good"), _back, goes_on=True),
    "close the bucket": Task(_said(RIGHT, "finish"), _written("closed"), goes_on=True),
    "know a recipe": Task(_recipe, _known_recipe, at_bucket=False),
    "make a batch": Task(_said(READY, "make_batch"), _made, at_bucket=False),
}


# ---- what is only said -----------------------------------------------------------------------------


def _warn_of_dust(turn: Turn, _: Entries, __: tuple[str, ...]) -> Turn:
    """Say the caution about dust, once in a session."""
    return hazards.caution(turn, Action.WEIGH_POWDER)


def _warn_of_mixer(turn: Turn, _: Entries, __: tuple[str, ...]) -> Turn:
    """Say the caution about the electric mixer, once in a session."""
    return hazards.caution(turn, Action.MIX_BY_MACHINE)


def _sum_up(turn: Turn, since: Entries, buckets: tuple[str, ...]) -> Turn:
    """Say one sentence for each bucket that needs work."""
    wanting = [reply for bucket in buckets for reply in _wants(turn.scene, since, bucket)]
    for reply in wanting or [Reply("round_all_right")]:
        turn = turn.say(reply.key, **reply.facts)
    return turn


def _wants(scene: Scene, since: Entries, bucket: str) -> Iterator[Reply]:
    last = next((e for e in reversed(since) if e.kind == "reading" and e.bucket == bucket), None)
    if last is None:
        yield Reply("round_unread", {"bucket": bucket})
        return
    there = replace(scene, bucket=bucket)
    verdict = readings.last_verdict(there)
    if verdict in ("thick", "thin"):
        low, high = target(there)
        shown = number(last, "shown")
        water_g = _water_per_litre(shown, (low + high) / 2)
        yield Reply(f"round_{verdict}", {"bucket": bucket, "gravity": shown, "water_g": water_g})


def _water_per_litre(now: float, wanted: float) -> float:
    """Return the water that a litre of slurry is out by [g], to the two figures that a cup can tell."""
    if now > wanted:
        out = 1000 * magnitude(slurry.water_to_add_by_volume(litres(1), now, wanted), "litre")
    else:
        out = magnitude(slurry.water_to_take_off(grams(1000 * now), now, wanted), "gram")
    return float(f"{out:.2g}")


SPOKEN: Mapping[str, Callable[[Turn, Entries, tuple[str, ...]], Turn]] = {
    "warn of dust": _warn_of_dust,
    "warn of the mixer": _warn_of_mixer,
    "sum up": _sum_up,
}
NAMES = (*TASKS, *SPOKEN)
