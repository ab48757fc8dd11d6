"""What the main job asks of the calculator, from the standing entries to plain numbers."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from benchvoice.calculator import bucket as buckets
from benchvoice.calculator import cup as cups
from benchvoice.calculator import inferred, slurry, thinning
from benchvoice.calculator.quantities import (
    Quantity,
    above_zero,
    centimetres,
    grams,
    litres,
    magnitude,
    quantity,
)  # fmt: skip
from benchvoice.calculator.water import ROOM, water_density
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.messages import Amount, Entry

if TYPE_CHECKING:
    from benchvoice.dialogue.density import CupWork

USUAL_TARGET = (1.35, 1.45)
"""Where most dipping glazes work; common practice, no source."""
SINGLE_TARGET_BAND = 0.01
"""What a single target is widened by on each side: a gram on a cup of a hundred (our choice)."""
USUAL_SOLIDS = 2.6
"""Gravity of the solids of a glaze whose recipe is not known; computed from common materials, ± 0.1."""
LIKELY_GRAVITY = (1.15, 1.85)
"""Outside this a reading is asked about (our choice; most glazes lie well inside)."""
LIKELY_JUMP = 0.08
"""A change between two readings that is asked about when nothing explains it (our choice)."""
SURE_ENOUGH = 0.6
"""Confidence of the recogniser below which an amount is asked about (our choice)."""
TWO_PLACES_FROM = 0.003
"""From this uncertainty on, a third place of a gravity would say nothing (our choice)."""
LEAST_REPEAT = 0.003
"""No two weighings agree better than this, however fine the scale (our choice; fill and air)."""
SMALLEST_BUCKET_L = 2.0
"""The least slurry that there may be when nobody knows [L] (our choice)."""
GRAVITY_AS_SAID = (Decimal("0.9"), Decimal(3))
"""A bare number in this range, said at the cup, is a gravity and no weight (our choice)."""


# ---- amounts as said --------------------------------------------------------------------


def as_quantity(amount: Amount, bare: str) -> Quantity:
    """Return an amount with its unit, or with the one that a bare number has here."""
    return quantity(amount.value, amount.unit or bare)


def grams_said(turn: Turn) -> float:
    """Return the weight that was said [g]; a bare number is grams."""
    return magnitude(as_quantity(turn.amount, "gram"), "gram", of="the weight")


def centimetres_said(turn: Turn) -> float:
    """Return the length that was said [cm]; a bare number is centimetres."""
    return magnitude(as_quantity(turn.amount, "centimetre"), "centimetre", of="the length")


def water_said(turn: Turn) -> float:
    """Return the mass of water that was said [g], whether as a weight or as a volume."""
    said = as_quantity(turn.amount, "gram")
    if said.check("[length] ** 3"):
        return magnitude(said, "litre", of="the water") * float(water_density(ROOM).m_as("gram / litre"))
    return magnitude(said, "gram", of="the water")


def step_said(turn: Turn) -> float:
    """Return the step of the scale as the spoken decimals show it [g]: 1, 0.1 or 0.01."""
    exponent = turn.amount.value.as_tuple().exponent
    return 10.0 ** max(min(int(exponent), 0), -2)


def target_said(turn: Turn) -> tuple[float, float]:
    """Return the target that was said; a single gravity is widened a little."""
    low = turn.meaning.slots.get("low")
    high = turn.meaning.slots.get("high")
    if isinstance(low, Amount | Decimal) and isinstance(high, Amount | Decimal):
        pair = sorted((_gravity_value(low), _gravity_value(high)))
    else:
        middle = _gravity_value(turn.amount)
        pair = [middle - SINGLE_TARGET_BAND, middle + SINGLE_TARGET_BAND]
    for gravity in pair:
        slurry.slurry_gravity(gravity, of="the target")
    return round(pair[0], 4), round(pair[1], 4)


def _gravity_value(said: Amount | Decimal) -> float:
    """Return a gravity; "one forty two" is 1.42 when a gravity is asked for."""
    value = float(said.value if isinstance(said, Amount) else said)
    return value / 100 if value >= 100 else value


# ---- the cup ------------------------------------------------------------------------------


def checked_fills(work: CupWork) -> cups.Fills:
    """Return what the fills say; refuses what no cup holds."""
    return cups.fills_of([grams(g) for g in work.fills_g], grams(work.step_g))


def spread(work: CupWork) -> float:
    """Return how far the fills lie apart [g]."""
    return max(work.fills_g) - min(work.fills_g)


def calibrated(work: CupWork) -> dict[str, object]:
    """Return the facts of a calibrated cup."""
    fills = checked_fills(work)
    return {
        "name": "cup",
        "water_g": round(magnitude(fills.mean, "gram"), 4),
        "spread_g": round(magnitude(fills.spread, "gram"), 4),
        "fills": fills.count,
        "step_g": work.step_g,
        "empty_g": work.empty_g,
    }


def cup_of(entry: Entry) -> cups.Cup:
    """Return the calibrated cup of an entry."""
    empty = entry.facts["empty_g"]
    return cups.Cup(
        str(entry.facts["name"]),
        grams(number(entry, "water_g")),
        grams(number(entry, "spread_g")),
        int(number(entry, "fills")),
        grams(number(entry, "step_g")),
        empty is None,
        None if empty is None else grams(number(entry, "empty_g")),
    )


# ---- a reading -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reading:
    """A gravity, from a weight or as it was said."""

    gravity: float
    sigma: float
    """Standard uncertainty of the gravity."""
    repeat: float
    """The part of it that differs from one weighing to the next."""
    net_g: float | None
    """Net weight of the slurry in the cup [g]; None when a gravity was said."""

    @property
    def shown(self) -> float:
        """The gravity to as many places as its uncertainty allows: what is said and judged."""
        return round(self.gravity, 2 if self.sigma >= TWO_PLACES_FROM else 3)

    def as_facts(self) -> dict[str, object]:
        """Return the facts of its entry."""
        facts = {name: None if value is None else round(value, 5) for name, value in asdict(self).items()}
        return {**facts, "shown": self.shown}


def reading(turn: Turn) -> Reading:
    """Return the reading that the weight in the cup gives, or the gravity that was said."""
    if reads_as_gravity(turn):
        gravity = slurry.slurry_gravity(_gravity_value(turn.amount), of="the gravity")
        return Reading(gravity, 0.01, 0.01, None)
    entry = turn.scene.bench.last("cup")
    assert entry is not None
    found = cups.gravity_of(cup_of(entry), grams(grams_said(turn)))
    return Reading(found.gravity, found.uncertainty, found.repeat, magnitude(found.net, "gram"))


def reads_as_gravity(turn: Turn) -> bool:
    """Tell whether what was said at the cup is a gravity: said so, or a bare 1.42."""
    bare = turn.amount.unit is None and GRAVITY_AS_SAID[0] <= turn.amount.value < GRAVITY_AS_SAID[1]
    return turn.meaning.kind == "gravity" or bare


def target(scene: Scene) -> tuple[float, float]:
    """Return the bucket's target, lowest and highest gravity."""
    entry = scene.bench.last("bucket", scene.bucket)
    return number(entry, "target_low", USUAL_TARGET[0]), number(entry, "target_high", USUAL_TARGET[1])


def _verdict(shown: float, sigma: float, scene: Scene) -> str:
    low, high = target(scene)
    if shown < low:
        return "thin"
    if shown <= high:
        return "right"
    where = thinning.where_is(shown, sigma, low, high)
    return "unsure" if where is thinning.Where.UNSURE else "thick"


def verdict(turn: Turn) -> str:
    """Return whether what was said is ``thin``, ``right``, ``thick`` or ``unsure`` for this bucket.

    ``unsure`` is above the target by its figure, yet perhaps at its low end: then water could spoil it.
    """
    found = reading(turn)
    return _verdict(found.shown, found.sigma, turn.scene)


def last_verdict(scene: Scene) -> str | None:
    """Return the verdict on the bucket's last reading, or None when there is none."""
    entry = scene.bench.last("reading", scene.bucket)
    return None if entry is None else _verdict(number(entry, "shown"), number(entry, "sigma"), scene)


def read_twice(scene: Scene) -> bool:
    """Tell whether the last thing that was done to this bucket was a reading."""
    since = scene.bench.since("opened", scene.bucket)
    return bool(since) and since[-1].kind == "reading"


# ---- what is unlikely ---------------------------------------------------------------------------


def heard_badly(turn: Turn) -> bool:
    """Tell whether the recogniser was not sure of the words."""
    confidence = turn.meaning.words.confidence
    return confidence is not None and confidence < SURE_ENOUGH


def unlikely_cup(turn: Turn) -> bool:
    """Tell whether a weight of the cup or of its water is to be asked about."""
    return heard_badly(turn)


def unlikely_reading(turn: Turn) -> bool:
    """Tell whether a reading is to be asked about: heard badly, unusual, or a jump that nothing explains.

    What cannot be at all is left to the calculator, which refuses it.
    """
    gravity = reading(turn).gravity
    unusual = not LIKELY_GRAVITY[0] <= gravity <= LIKELY_GRAVITY[1]
    foreseen = _foreseen(turn.scene)
    return heard_badly(turn) or unusual or (foreseen is not None and abs(gravity - foreseen) > LIKELY_JUMP)


def _foreseen(scene: Scene) -> float | None:
    """Return the gravity that the last reading and what was added since lead to expect.

    Without contents it is the last reading of this opening itself.
    """
    since = scene.bench.since("opened", scene.bucket)
    readings = of_kind(since, "reading")
    if not readings:
        return None
    last = readings[-1]
    gravity = number(last, "gravity")
    added = of_kind(since[since.index(last) :], "addition")
    held = contents(scene)
    if held is None or not added or any(e.facts["what"] != "water" for e in added):
        return gravity
    water_g = sum(number(entry, "mass_g") for entry in added)
    before_g = magnitude(held.mass, "gram") - water_g
    return _with_water(before_g, gravity, water_g) if before_g + min(water_g, 0.0) > 0 else gravity


def _with_water(mass_g: float, gravity: float, water_g: float) -> float:
    return (mass_g + water_g) / (mass_g / gravity + water_g)


def unlikely_addition(turn: Turn, advised_g: float) -> bool:
    """Tell whether an addition is to be asked about: heard badly, or far from what was advised."""
    said = water_said(turn)
    return heard_badly(turn) or said > max(2 * advised_g, 50.0)


# ---- the contents of the bucket --------------------------------------------------------------------


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
    """Return the contents from litres or kilos; a bare number is litres."""
    said, gravity = as_quantity(turn.amount, "litre"), _gravity_now(turn.scene)
    if said.check("[mass]"):
        mass_g = above_zero(said, "gram", of="the slurry in the bucket")
        return Contents(mass_g, mass_g / gravity / 1000, buckets.MARKED, "weight")
    return _contents(said, gravity, buckets.GUESSED, "litres")


def contents_from_depth(turn: Turn, depth_cm: float) -> Contents:
    """Return the contents from the depth of slurry and the inner width."""
    volume = buckets.cylinder(centimetres(centimetres_said(turn)), centimetres(depth_cm))
    return _contents(volume, _gravity_now(turn.scene), 2 * buckets.MEASURED, "depth")


def _contents(volume: Quantity, gravity: float, spread: float, how: str) -> Contents:
    held = buckets.contents_of_volume(volume, gravity, spread)
    return Contents(magnitude(held.mass, "gram"), magnitude(volume, "litre"), spread, how)


def _gravity_now(scene: Scene) -> float:
    return number(scene.bench.last("reading", scene.bucket), "gravity", 1.4)


def contents(scene: Scene) -> buckets.Contents | None:
    """Return what is known of the contents now, or None when nothing is.

    It rests on what the potter said since the bucket was opened, and on every reading with water
    between: each round makes it surer. Dry batch begins the count anew.
    """
    since = scene.bench.since("opened", scene.bucket)
    readings, guess = _bucket_readings(since)
    if not readings or (guess is None and len({r.water.magnitude for r in readings}) < 2):
        return None
    found = inferred.infer_bucket(readings, guess)
    if guess is None and not found.told:
        return None
    return _after(since, found.contents)


def _after(since: tuple[Entry, ...], at_reading: buckets.Contents) -> buckets.Contents:
    """Return the contents after what was added since the last reading."""
    last = max(place for place, entry in enumerate(since) if entry.kind == "reading")
    added = grams(sum(number(e, "mass_g") for e in of_kind(since[last:], "addition")))
    return buckets.Contents(at_reading.mass + added, at_reading.low + added, at_reading.high + added)


def _bucket_readings(
    since: tuple[Entry, ...],
) -> tuple[list[inferred.BucketReading], inferred.Guess | None]:
    """Return the readings with all water added by then, and what was said of the contents."""
    dry = max((place for place, e in enumerate(since) if e.facts.get("what") == "dry"), default=-1)
    water_g, readings, guess = 0.0, [], None
    for entry in since[dry + 1 :]:
        if entry.kind == "addition":
            water_g += number(entry, "mass_g")
        elif entry.kind == "reading":
            spread = max(number(entry, "repeat"), LEAST_REPEAT)
            readings.append(inferred.BucketReading(grams(water_g), number(entry, "gravity"), spread))
        elif entry.kind == "contents":
            before_l = max(number(entry, "volume_l") - water_g / 1000, 0.2)
            guess = inferred.Guess(litres(before_l), number(entry, "spread"))
    return readings, guess


# ---- what to do about it ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Addition:
    """How much to add now, and in all."""

    stage_g: float
    whole_g: float

    @property
    def is_stage(self) -> bool:
        """True when more is likely to be needed after this."""
        return self.stage_g < 0.95 * self.whole_g

    def as_facts(self) -> dict[str, object]:
        """Return the facts of its reply."""
        return asdict(self)


def water_advice(scene: Scene) -> Addition:
    """Return how much water to add now, so that even the smallest bucket it may be is not overshot."""
    held, last = contents(scene), scene.bench.last("reading", scene.bucket)
    assert held is not None
    since = scene.bench.since("opened", scene.bucket)
    first = not any(e.facts["what"] == "water" for e in of_kind(since, "addition"))
    plan = thinning.plan_water(
        held, number(last, "gravity"), number(last, "sigma"), *target(scene), first=first
    )
    return Addition(
        _for_the_scale(magnitude(plan.pour, "gram")), _for_the_scale(magnitude(plan.whole, "gram"))
    )


def _for_the_scale(mass_g: float) -> float:
    """Return a mass that is easily weighed out [g], never nothing."""
    return max(magnitude(thinning.pourable(grams(mass_g)), "gram"), 1.0)


def water_to_take_off(scene: Scene) -> float:
    """Return how much clear water to take off a settled bucket [g]."""
    held = contents(scene)
    assert held is not None
    low, high = target(scene)
    return _for_the_scale(
        magnitude(slurry.water_to_take_off(held.low, _gravity_now(scene), (low + high) / 2), "gram")
    )


def dry_advice(scene: Scene) -> Addition:
    """Return how much dry batch to add, two thirds of it first."""
    held = contents(scene)
    assert held is not None
    low, high = target(scene)
    solids = number(scene.bench.last("bucket", scene.bucket), "solids_gravity", USUAL_SOLIDS)
    whole = magnitude(slurry.dry_to_add(held.mass, _gravity_now(scene), (low + high) / 2, solids), "gram")
    return Addition(_for_the_scale(whole * 2 / 3), _for_the_scale(whole))


def trial_g(scene: Scene) -> float:
    """Return how much water to add (or take off) first when nothing is known of the contents [g]."""
    entry = scene.bench.last("reading", scene.bucket)
    low, high = target(scene)
    gravity = number(entry, "gravity")
    if gravity < low:
        return _for_the_scale(SMALLEST_BUCKET_L * 1000 * 0.05)
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
    water = [number(e, "mass_g") for e in of_kind(since, "addition") if e.facts["what"] == "water"]
    return {
        "gravity": readings[-1].facts["shown"] if readings else None,
        "readings": len(readings),
        "water_g": round(sum(water), 2),
    }
