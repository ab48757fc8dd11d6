"""A reading: the gravity that a weight gives, the verdict on it, and whether to ask about it first."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from decimal import Decimal

from benchvoice.calculator import cup as cups
from benchvoice.calculator import slurry, thinning
from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.contents import contents
from benchvoice.dialogue.cup import cup_of
from benchvoice.dialogue.said import grams_said, gravity_value, heard_badly
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.dialogue.target import target

LIKELY_GRAVITY = (1.15, 1.85)
"""Outside this a reading is asked about (our choice; most glazes lie well inside)."""
LIKELY_JUMP = 0.08
"""A change between two readings that is asked about when nothing explains it (our choice)."""
LIKELY_RISE = 0.012
"""A rise that is asked about when only water went in: thrice what two weighings differ by (our choice)."""
TWO_PLACES_FROM = 0.003
"""From this uncertainty on, a third place of a gravity would say nothing (our choice)."""
SAID_SIGMA = 0.01
"""Standard uncertainty of a gravity that was said and not weighed (our choice)."""
GRAVITY_AS_SAID = (Decimal("0.9"), Decimal(3))
"""A bare number in this range, said at the cup, is a gravity and no weight (our choice)."""


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
        gravity = slurry.slurry_gravity(gravity_value(turn.amount), of="the gravity")
        return Reading(gravity, SAID_SIGMA, SAID_SIGMA, None)
    entry = turn.scene.bench.last("cup")
    assert entry is not None
    found = cups.gravity_of(cup_of(entry), grams(grams_said(turn)))
    return Reading(found.gravity, found.uncertainty, found.repeat, magnitude(found.net, "gram"))


def reads_as_gravity(turn: Turn) -> bool:
    """Tell whether what was said at the cup is a gravity: said so, or a bare 1.42."""
    bare = turn.amount.unit is None and GRAVITY_AS_SAID[0] <= turn.amount.value < GRAVITY_AS_SAID[1]
    return turn.meaning.kind == "gravity" or bare


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


def looks_like_a_cup(turn: Turn) -> bool:
    """Tell whether a number is what the cup shows when it is full of slurry."""
    entry = turn.scene.bench.last("cup")
    if entry is None:
        return False
    full_g = number(entry, "water_g")
    net_g = float(turn.amount.value) - number(entry, "empty_g")
    return LIKELY_GRAVITY[0] * full_g <= net_g <= LIKELY_GRAVITY[1] * full_g


# ---- what is unlikely ------------------------------------------------------------


def unlikely_reading(turn: Turn) -> bool:
    """Tell whether a reading is to be asked about: heard badly, unusual, or a jump that nothing explains.

    What cannot be at all is left to the calculator, which refuses it.
    """
    gravity = reading(turn).gravity
    unusual = not LIKELY_GRAVITY[0] <= gravity <= LIKELY_GRAVITY[1]
    foreseen = _foreseen(turn.scene)
    jumps = foreseen is not None and abs(gravity - foreseen) > LIKELY_JUMP
    return heard_badly(turn) or unusual or jumps or _rises_with_water(turn.scene, gravity)


def _rises_with_water(scene: Scene, gravity: float) -> bool:
    """Tell whether a gravity is higher than before, though nothing but water went in since."""
    since = scene.bench.since("opened", scene.bucket)
    readings = of_kind(since, "reading")
    if not readings:
        return False
    added = of_kind(since[since.index(readings[-1]) :], "addition")
    only_water = all(e.facts["what"] == "water" for e in added)
    water_g = sum(number(e, "mass_g") for e in added)
    return only_water and water_g > 0 and gravity > number(readings[-1], "gravity") + LIKELY_RISE


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
