"""What a bucket's own entries say of how it stands: its drift, the water it lost, when to look again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from benchvoice.calculator.drift import (
    Drift,
    GravityReading,
    LookAgain,
    TooClose,
    Why,
    expected_gravity,
    look_again,
    water_lost_between,
)
from benchvoice.calculator.limits import TooFew
from benchvoice.calculator.quantities import Quantity, grams, magnitude
from benchvoice.calculator.trend import gravity_trend
from benchvoice.dialogue.bench import Bench, number, of_kind
from benchvoice.dialogue.contents import LEAST_REPEAT, contents
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.target import target
from benchvoice.messages import Entry

CLEAR = 2.0
"""Standard uncertainties beyond which a drift is told as one (common practice)."""
LEAST_RISE = 0.005
"""A smaller rise is not told as water lost: half of what a gram on a cup of a hundred tells (our choice)."""


@dataclass(frozen=True, slots=True)
class Lost:
    """Water that has gone since the bucket was last worked on."""

    water_g: float
    """Of the whole bucket, or of each litre [g]."""
    mass_g: float | None
    """Slurry that this is reckoned for [g]; None when it is each litre."""
    gravity: float
    """Gravity now, read or foretold [-]."""
    foretold: bool
    """True when the drift foretells it and nobody has read it yet."""


@dataclass(frozen=True, slots=True)
class Lately:
    """How a bucket stands."""

    last: Entry | None
    """Its newest reading."""
    count: int
    """Readings in all."""
    drift: Drift | None
    """None when no two readings show one."""
    lost: Lost | None
    """None when nothing was lost that can be told."""
    look: LookAgain
    added_since: bool
    """True when something was added or taken off after the last reading."""

    @property
    def way(self) -> str:
        """``unknown``, ``rises``, ``falls`` or ``steady``."""
        if self.drift is None:
            return "unknown"
        if abs(self.drift.per_week) <= CLEAR * self.drift.spread:
            return "steady"
        return "rises" if self.drift.per_week > 0 else "falls"


def lately(scene: Scene, now: datetime, *, at_work: bool) -> Lately:
    """Return how the scene's bucket stands; at work, what it lost is that before this opening."""
    readings = tuple(reversed(tuple(scene.bench.newest_first("reading", scene.bucket))))
    last, drift = (readings[-1] if readings else None), drift_of(scene)
    look = _look(last, drift, target(scene), now)
    return Lately(last, len(readings), drift, _lost(scene, drift, now, at_work), look, added_since(scene))


def _look(last: Entry | None, drift: Drift | None, ends: tuple[float, float], now: datetime) -> LookAgain:
    low, high = ends
    if last is not None and not low <= number(last, "shown") <= high:
        return LookAgain(now, Why.OFF_TARGET, last.at > now)
    return look_again(drift, low, high, now)


# ---- drift -----------------------------------------------------------------------------------


def runs(scene: Scene) -> list[list[GravityReading]]:
    """Return the bucket's readings, parted wherever something was added or taken off.

    A dose does not part them: drops weigh next to nothing beside a bucket.
    """
    found: list[list[GravityReading]] = [[]]
    for entry in scene.bench.entries:
        if entry.bucket == scene.bucket and entry.kind == "reading":
            found[-1].append(_reading(entry))
        elif entry.bucket == scene.bucket and entry.kind == "addition":
            found.append([])
    return [run for run in found if run]


def _reading(entry: Entry) -> GravityReading:
    return GravityReading(entry.at, number(entry, "gravity"), max(number(entry, "repeat"), LEAST_REPEAT))


def drift_of(scene: Scene) -> Drift | None:
    """Return the bucket's drift, or None while no two readings show one."""
    try:
        return gravity_trend(runs(scene))
    except (TooFew, TooClose):
        return None


def clock_was_set_back(scene: Scene) -> bool:
    """Tell whether a reading of the bucket is older than one written down before it."""
    times = [reading.at for run in runs(scene) for reading in run]
    return any(b < a for a, b in pairwise(times))


def added_since(scene: Scene) -> bool:
    """Tell whether something was added or taken off after the last reading."""
    kinds = [e.kind for e in scene.bench.entries if e.bucket == scene.bucket]
    changes = [kind for kind in kinds if kind in ("reading", "addition")]
    return bool(changes) and changes[-1] == "addition"


# ---- water lost ---------------------------------------------------------------------------------


def _lost(scene: Scene, drift: Drift | None, now: datetime, at_work: bool) -> Lost | None:
    earlier = before_this_opening(scene) if at_work else scene
    left = earlier.bench.last("reading", scene.bucket)
    if left is None or added_since(earlier):
        return None
    found = _first_reading(scene) if at_work else None
    if found is not None:
        return _read_loss(scene, earlier, number(left, "gravity"), found)
    return _foretold_loss(earlier, drift, now)


def _read_loss(scene: Scene, earlier: Scene, before: float, found: Entry) -> Lost | None:
    """Return the water that the first reading of this opening shows to have gone."""
    gravity = number(found, "gravity")
    held = contents(scene)
    if held is None or gravity - before < LEAST_RISE:
        return _between(earlier, before, gravity, foretold=False)
    since = scene.bench.since("opened", scene.bucket)
    added_g = sum(number(e, "mass_g") for e in of_kind(since[since.index(found) :], "addition"))
    now_g = magnitude(held.mass, "gram") - added_g
    if now_g <= 0:
        return None
    lost = water_lost_between(grams(now_g), before, gravity)
    return Lost(magnitude(lost, "gram"), now_g, gravity, foretold=False)


def _foretold_loss(earlier: Scene, drift: Drift | None, now: datetime) -> Lost | None:
    """Return the water that the drift says was lost since the last reading, or None when it says nothing."""
    if drift is None or drift.per_week <= CLEAR * drift.spread:
        return None
    foretold = expected_gravity(drift, now).gravity
    return _between(earlier, drift.last.gravity, foretold, foretold=True)


def _between(earlier: Scene, before: float, now: float, *, foretold: bool) -> Lost | None:
    if now - before < LEAST_RISE:
        return None
    held = last_contents(earlier)
    if held is None:
        lost = water_lost_between(grams(1000 * now), before, now)
        return Lost(magnitude(lost, "gram"), None, now, foretold)
    mass_g = magnitude(held, "gram")
    return Lost(_lost_of(mass_g, before, now), mass_g, now, foretold)


def _lost_of(mass_g: float, before: float, now: float) -> float:
    """Return what a bucket lost that held so much before [g]; a part of that mass is gone now."""
    per_gram = magnitude(water_lost_between(grams(1), before, now), "gram")
    return mass_g * per_gram / (1 + per_gram)


def _first_reading(scene: Scene) -> Entry | None:
    """Return the first reading of this opening, unless something was added before it."""
    since = scene.bench.since("opened", scene.bucket)
    first = next((e for e in since if e.kind in ("reading", "addition")), None)
    return first if first is not None and first.kind == "reading" else None


def before_this_opening(scene: Scene) -> Scene:
    """Return the scene as it was before the bucket was last opened."""
    places = [
        place
        for place, entry in enumerate(scene.bench.entries)
        if entry.kind == "opened" and entry.bucket == scene.bucket
    ]
    return replace(scene, bench=Bench(scene.bench.entries[: places[-1]] if places else ()))


def last_contents(scene: Scene) -> Quantity | None:
    """Return how much slurry the bucket held when that was last known, or None."""
    while scene.bench.last("opened", scene.bucket) is not None:
        held = contents(scene)
        if held is not None:
            return held.mass
        scene = before_this_opening(scene)
    return None
