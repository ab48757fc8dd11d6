"""How much slurry is in the bucket: what the potter said of it, made surer by every reading."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from benchvoice.calculator import bucket as buckets
from benchvoice.calculator import inferred
from benchvoice.calculator.quantities import Quantity, above_zero, centimetres, grams, litres, magnitude
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.said import as_quantity, centimetres_said
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.messages import Entry

LEAST_REPEAT = 0.003
"""No two weighings agree better than this, however fine the scale (our choice; fill and air)."""


@dataclass(frozen=True, slots=True)
class Contents:
    """How much slurry the potter says is in the bucket."""

    mass_g: float
    """Mass at the gravity last read [g]."""
    volume_l: float
    """Volume then [L]."""
    spread: float
    """How far that may be out, as a part of it."""
    how: str
    """``litres``, ``weight`` or ``depth``."""

    def as_facts(self) -> dict[str, object]:
        """Return the facts of its entry."""
        return {n: v if isinstance(v, str) else round(v, 4) for n, v in asdict(self).items()}


def contents_said(turn: Turn) -> Contents:
    """Return the contents from litres or kilos; a bare number is never let in here."""
    said, gravity = as_quantity(turn.amount, "litre"), gravity_now(turn.scene)
    if said.check("[mass]"):
        mass_g = above_zero(said, "gram", of="the slurry in the bucket")
        return Contents(mass_g, mass_g / gravity / 1000, buckets.MARKED, "weight")
    return _contents(said, gravity, buckets.GUESSED, "litres")


def contents_from_depth(turn: Turn, depth_cm: float) -> Contents:
    """Return the contents from the depth of slurry and the inner width."""
    volume = buckets.cylinder(centimetres(centimetres_said(turn)), centimetres(depth_cm))
    return _contents(volume, gravity_now(turn.scene), 2 * buckets.MEASURED, "depth")


def _contents(volume: Quantity, gravity: float, spread: float, how: str) -> Contents:
    held = buckets.contents_of_volume(volume, gravity, spread)
    return Contents(magnitude(held.mass, "gram"), magnitude(volume, "litre"), spread, how)


def gravity_now(scene: Scene) -> float:
    """Return the gravity that was read last, or a middling one."""
    return number(scene.bench.last("reading", scene.bucket), "gravity", 1.4)


def inferred_bucket(scene: Scene) -> inferred.InferredBucket | None:
    """Return what the readings since the bucket was opened say of it, or None when they say nothing yet.

    They rest on what the potter said of the contents, or on two readings with water between them.
    Each round makes it surer. Dry batch begins the count anew.
    """
    readings, guess = _bucket_readings(scene.bench.since("opened", scene.bucket))
    if not readings or (guess is None and len({r.water.magnitude for r in readings}) < 2):
        return None
    return inferred.infer_bucket(readings, guess)


def contents(scene: Scene) -> buckets.Contents | None:
    """Return what is in the bucket now, with its bounds, or None when nothing is known of it."""
    found = inferred_bucket(scene)
    return None if found is None else contents_after(scene, found)


def contents_after(scene: Scene, found: inferred.InferredBucket) -> buckets.Contents:
    """Return what is in the bucket now, from what the readings said of it and what was added since."""
    return _after(scene.bench.since("opened", scene.bucket), found.contents)


def will_be_known(scene: Scene) -> bool:
    """Tell whether one more reading now says something of the contents."""
    readings, guess = _bucket_readings(scene.bench.since("opened", scene.bucket))
    return guess is not None or any(r.water.magnitude != _water_in(scene) for r in readings)


def _water_in(scene: Scene) -> float:
    """Return all water added since the bucket was opened, or since dry batch went in [g]."""
    since = _without_what_preceded_dry(scene.bench.since("opened", scene.bucket))
    return sum(number(entry, "mass_g") for entry in of_kind(since, "addition"))


def _without_what_preceded_dry(since: tuple[Entry, ...]) -> tuple[Entry, ...]:
    dry = max((place for place, e in enumerate(since) if e.facts.get("what") == "dry"), default=-1)
    return since[dry + 1 :]


def _after(since: tuple[Entry, ...], at_reading: buckets.Contents) -> buckets.Contents:
    """Return the contents after what was added since the last reading."""
    last = max(place for place, entry in enumerate(since) if entry.kind == "reading")
    added = grams(sum(number(e, "mass_g") for e in of_kind(since[last:], "addition")))
    return buckets.Contents(at_reading.mass + added, at_reading.low + added, at_reading.high + added)


def _bucket_readings(
    since: tuple[Entry, ...],
) -> tuple[list[inferred.BucketReading], inferred.Guess | None]:
    """Return the readings with all water added by then, and what was said of the contents."""
    water_g, readings, guess = 0.0, [], None
    for entry in _without_what_preceded_dry(since):
        if entry.kind == "addition":
            water_g += number(entry, "mass_g")
        elif entry.kind == "reading":
            spread = max(number(entry, "repeat"), LEAST_REPEAT)
            readings.append(inferred.BucketReading(grams(water_g), number(entry, "gravity"), spread))
        elif entry.kind == "contents":
            before_l = max(number(entry, "volume_l") - water_g / 1000, 0.2)
            guess = inferred.Guess(litres(before_l), number(entry, "spread"))
    return readings, guess
