"""What to do about a reading: water, clear water off, dry batch, and the sum of it all."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from benchvoice.calculator import inferred, slurry, thinning
from benchvoice.calculator.quantities import grams, litres, magnitude
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.contents import (
    LEAST_REPEAT,
    Contents,
    contents,
    contents_after,
    gravity_now,
    inferred_bucket,
)
from benchvoice.dialogue.said import heard_badly, water_said
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.dialogue.target import solids_gravity, target
from benchvoice.messages import Entry

SMALLEST_BUCKET_L = 2.0
"""The least slurry that there may be when nobody knows [L] (our choice)."""
TRIAL_OFF = 0.05
"""The part of the smallest bucket that is taken off first when nobody knows (our choice)."""
LEAST_SHARE = 20
"""Less than one part in so many of what was advised is asked about: "two" may be two hundred (our choice)."""
FIRST_DRY = 2 / 3
"""The part of the dry batch that goes in first; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Addition:
    """How much to add now, and in all."""

    stage_g: float
    whole_g: float | None
    """None when the contents are not known well enough to say."""
    fits: bool = True
    """False when the readings fit no one bucket: something was spilt, misheard or not stirred in."""

    @property
    def key(self) -> str:
        """The reply that says it: all at once, a part of a known whole, or a part of an unknown one."""
        if self.whole_g is None:
            return "add_water_unknown"
        return "add_water_stage" if self.stage_g < 0.95 * self.whole_g else "add_water"

    def as_facts(self) -> dict[str, object]:
        """Return the facts of its reply."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Advice:
    """What was advised last, so that "done" means that."""

    mass_g: float = 0.0
    """Weight of what was advised [g]."""
    depth_cm: float | None = None
    """Depth of the slurry, while its width is being asked [cm]."""
    wish: str = ""
    """What is to be done once the contents are known: ``settle``, ``add_dry``, or nothing chosen yet."""


def water_advice(scene: Scene) -> Addition:
    """Return how much water to add now, so that even the smallest bucket it may be is not overshot."""
    found, last = inferred_bucket(scene), scene.bench.last("reading", scene.bucket)
    assert found is not None
    held = contents_after(scene, found)
    since = scene.bench.since("opened", scene.bucket)
    first = not any(e.facts["what"] == "water" for e in of_kind(since, "addition"))
    plan = thinning.plan_water(
        held, number(last, "gravity"), number(last, "sigma"), *target(scene), first=first
    )
    pour = _for_the_scale(magnitude(plan.pour, "gram"))
    if not found.fits:
        pour = min(pour, _with_care(scene))
    whole = _for_the_scale(magnitude(plan.whole, "gram")) if found.told else None
    return Addition(pour, whole, found.fits)


def _with_care(scene: Scene) -> float:
    """Return the most to add when the readings contradict each other [g]."""
    added = of_kind(scene.bench.since("opened", scene.bucket), "addition")
    last_g = number(added[-1], "mass_g") if added else 0.0
    return max(_for_the_scale(last_g / 2), trial_g(scene))


def _for_the_scale(mass_g: float) -> float:
    """Return a mass that is easily weighed out [g], never nothing."""
    return max(magnitude(thinning.pourable(grams(mass_g)), "gram"), 1.0)


def water_to_take_off(scene: Scene) -> float:
    """Return how much clear water to take off a settled bucket [g]."""
    held = contents(scene)
    assert held is not None
    low, high = target(scene)
    return _for_the_scale(
        magnitude(slurry.water_to_take_off(held.low, gravity_now(scene), (low + high) / 2), "gram")
    )


def dry_advice(scene: Scene) -> Addition:
    """Return how much dry batch to add, two thirds of it first."""
    held = contents(scene)
    assert held is not None
    low, high = target(scene)
    aim = (low + high) / 2
    whole = magnitude(slurry.dry_to_add(held.mass, gravity_now(scene), aim, solids_gravity(scene)), "gram")
    return Addition(_for_the_scale(whole * FIRST_DRY), _for_the_scale(whole))


def contents_with_dry(scene: Scene, dry_g: float) -> Contents | None:
    """Return the contents once dry batch is in, from what was known of them before."""
    held = contents(scene)
    if held is None:
        return None
    mass_g, gravity = magnitude(held.mass, "gram"), gravity_now(scene)
    volume_ml = mass_g / gravity + dry_g / solids_gravity(scene)
    spread = magnitude(held.uncertainty, "gram") / mass_g
    return Contents(mass_g + dry_g, volume_ml / 1000, spread, "reckoned")


def trial_g(scene: Scene) -> float:
    """Return how much water to add (or take off) first when nothing is known of the contents [g]."""
    entry = scene.bench.last("reading", scene.bucket)
    low, high = target(scene)
    gravity = number(entry, "gravity")
    if gravity < low:
        return _for_the_scale(SMALLEST_BUCKET_L * 1000 * TRIAL_OFF)
    trial = inferred.trial_addition(
        litres(SMALLEST_BUCKET_L), gravity, max(number(entry, "repeat"), LEAST_REPEAT), low, high
    )
    return _for_the_scale(magnitude(trial.water, "gram"))


def since_last_reading(before: Entry | None, now: datetime) -> dict[str, object]:
    """Return the last gravity and how many days ago it was read."""
    if before is None:
        return {"gravity": None, "age": None}
    return {"gravity": number(before, "shown"), "age": (now - before.at).total_seconds() / 86400}


def summary(scene: Scene) -> dict[str, object]:
    """Return what was done to the bucket since it was opened."""
    since = scene.bench.since("opened", scene.bucket)
    readings = of_kind(since, "reading")
    additions = of_kind(since, "addition")
    water, dry = ([number(e, "mass_g") for e in additions if e.facts["what"] == w] for w in ("water", "dry"))
    return {
        "gravity": readings[-1].facts["shown"] if readings else None,
        "readings": len(readings),
        "water_g": round(sum(water), 2),
        "dry_g": round(sum(dry), 2),
    }


def unlikely_addition(turn: Turn, advised_g: float) -> bool:
    """Tell whether an addition is to be asked about: heard badly, or far from what was advised."""
    too_much = water_said(turn) > max(2 * advised_g, 50.0)
    return heard_badly(turn) or too_much or far_too_little(turn, advised_g)


def far_too_little(turn: Turn, advised_g: float) -> bool:
    """Tell whether an addition is a small part of what was advised only."""
    return water_said(turn) < advised_g / LEAST_SHARE
