"""The history of a bucket in one sentence, and what its drift says when it is opened."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import cast

from benchvoice.calculator.drift import Why
from benchvoice.dialogue import drifting
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.drifting import Lately, Lost
from benchvoice.dialogue.scene import Scene
from benchvoice.messages import Entry, Reply

DAY = timedelta(days=1)
FIRST_TOLD = ("clause_gravity", "clause_lost", "clause_look")
"""What is told of a bucket first; how fast it drifts is told with it where it is not told in water."""


def history(scene: Scene, now: datetime, *, at_work: bool) -> Reply:
    """Return the sentence that tells the scene's bucket: what is known of it, in one order always."""
    if scene.bench.last("reading", scene.bucket) is None:
        return Reply("history_none", {"bucket": scene.bucket})
    found = drifting.lately(scene, now, at_work=at_work)
    return Reply("history", {"bucket": scene.bucket, "clauses": tuple(_clauses(scene, found, now))})


def history_in_two(scene: Scene, now: datetime, *, at_work: bool) -> tuple[Reply, Reply | None]:
    """Return the history as it is told: what matters first, and the rest for whoever wants it."""
    whole = history(scene, now, at_work=at_work)
    if whole.key == "history_none":
        return whole, None
    found = drifting.lately(scene, now, at_work=at_work)
    clauses = cast(tuple[Reply, ...], whole.facts["clauses"])
    lost = any(clause.key.startswith("clause_lost") for clause in clauses)
    first = [clause for clause in clauses if clause.key.startswith(FIRST_TOLD)]
    first = first if lost else [first[0], _trend(found), *first[1:]]
    rest = tuple(clause for clause in clauses if clause not in first)
    if len(rest) < 2:
        return whole, None
    return (
        Reply("history", {"bucket": scene.bucket, "clauses": tuple(first), "more": True}),
        Reply("history_rest", {"clauses": rest}),
    )


def _clauses(scene: Scene, found: Lately, now: datetime) -> Iterator[Reply]:
    assert found.last is not None
    yield _gravity(found, now)
    yield _trend(found)
    if found.lost is not None:
        yield _lost(found.lost)
    yield from _flow(scene, now)
    yield _drops(scene)
    if found.look.clock_set_back or drifting.clock_was_set_back(scene):
        yield Reply("clause_clock")
    yield _look(found, now)


def _gravity(found: Lately, now: datetime) -> Reply:
    last = found.last
    assert last is not None
    facts = {"gravity": number(last, "shown"), "age": (now - last.at) / DAY}
    if found.added_since:
        return Reply("clause_gravity_before", facts)
    return Reply("clause_gravity_old" if facts["age"] >= 1 else "clause_gravity", facts)


def _trend(found: Lately) -> Reply:
    if found.drift is None:
        return Reply("clause_trend_one" if found.count == 1 else "clause_trend_unknown")
    return Reply(f"clause_trend_{found.way}", {"change": found.drift.per_week})


def _lost(lost: Lost) -> Reply:
    told = "foretold" if lost.foretold else "read"
    size = "litre" if lost.mass_g is None else "bucket"
    return Reply(f"clause_lost_{told}_{size}", _lost_facts(lost))


def _lost_facts(lost: Lost) -> dict[str, object]:
    """Return the loss to as many figures as it is known to: two, and two places of the gravity."""
    mass_g = None if lost.mass_g is None else _two_figures(lost.mass_g)
    return {"water_g": _two_figures(lost.water_g), "mass_g": mass_g, "gravity": round(lost.gravity, 2)}


def _two_figures(mass_g: float) -> float:
    return float(f"{mass_g:.2g}")


def _flow(scene: Scene, now: datetime) -> Iterator[Reply]:
    last = scene.bench.last("flow", scene.bucket)
    if last is not None:
        age = (now - last.at) / DAY
        key = "clause_flow_time" if "seconds" in last.facts else "clause_flow_word"
        yield Reply(key + ("_old" if age >= 1 else ""), {**last.facts, "age": age})


def _drops(scene: Scene) -> Reply:
    """Tell the drops of each additive."""
    given: dict[str, float] = {}
    for entry in doses(scene):
        name = str(entry.facts["additive"])
        given[name] = given.get(name, 0.0) + number(entry, "drops")
    if not given:
        return Reply("clause_drops_none")
    each = tuple(
        Reply("clause_drops_of", {"drops": round(drops), "additive": name}) for name, drops in given.items()
    )
    return Reply("clause_drops", {"each": each})


def doses(scene: Scene) -> list[Entry]:
    """Return every dose that went into the bucket."""
    return [e for e in scene.bench.entries if e.kind == "dose" and e.bucket == scene.bucket]


def _look(found: Lately, now: datetime) -> Reply:
    if found.added_since:
        return Reply("clause_look_added")
    if found.look.why is Why.OFF_TARGET:
        return Reply("clause_look_now")
    return Reply("clause_look", {"wait": max((found.look.at - now) / DAY, 1.0)})


# ---- when it is opened ---------------------------------------------------------------------------


def on_opening(scene: Scene, now: datetime) -> tuple[Reply, ...]:
    """Return what the drift says of a bucket that is being opened, from its readings before that."""
    last = scene.bench.last("reading", scene.bucket)
    if last is None or now - last.at < DAY:
        return ()
    clock = (Reply("drift_clock"),) if drifting.clock_was_set_back(scene) else ()
    return (*clock, _standing(drifting.lately(scene, now, at_work=False)))


def _standing(found: Lately) -> Reply:
    if found.drift is None:
        return Reply("drift_one" if found.count == 1 else "drift_unknown")
    if found.lost is None:
        return Reply(f"drift_{found.way}", {"change": found.drift.per_week})
    size = "litre" if found.lost.mass_g is None else "bucket"
    return Reply(f"drift_lost_{size}", _lost_facts(found.lost))
