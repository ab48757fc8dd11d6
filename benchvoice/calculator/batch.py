"""A batch: a recipe scaled to what is wanted, rounded to what the scale shows, with its first water."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from benchvoice.calculator.content import batch_water, dry_in_volume
from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.materials import MixtureGravity, recipe_gravity
from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude
from benchvoice.calculator.recipe import Recipe, sum_of_base

COARSE = 0.02
"""A step of the scale above this share of a line is too coarse for it (judgement)."""


@dataclass(eq=False)
class ScaleTooCoarse(Refusal):
    """A line that the scale cannot show at all."""

    wanted_got = (
        "A scale that shows {grams:.3g} grams of {material} is wanted; this one steps by {step:g} grams."
    )
    mend = "Use a finer scale or make a bigger batch."

    material: str
    grams: float
    step: float


@dataclass(frozen=True, slots=True)
class Portion:
    """One material of a batch."""

    material: str
    mass: Quantity
    """To weigh [g]."""
    is_addition: bool = False
    """True when it is counted over the base."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What to weigh, in order: base first."""

    portions: tuple[Portion, ...]

    @property
    def base(self) -> Quantity:
        """The base together [g]."""
        return _total(portion for portion in self.portions if not portion.is_addition)

    @property
    def total(self) -> Quantity:
        """Everything together [g]."""
        return _total(self.portions)

    def masses(self) -> tuple[float, ...]:
        """Return each portion [g] as plain numbers, in order."""
        return tuple(magnitude(portion.mass, "gram") for portion in self.portions)


@dataclass(frozen=True, slots=True)
class Rounded:
    """A batch as the scale will show it, and what rounding did to it."""

    batch: Batch
    worst: str
    """The material whose amount changed by the largest share."""
    worst_error: float
    """That share, below 0 when it was rounded down [-]."""
    coarse: tuple[str, ...]
    """Materials for which one step of the scale is more than two in a hundred."""


@dataclass(frozen=True, slots=True)
class BucketBatch:
    """A batch and its first water that together fill a volume at a gravity."""

    batch: Batch
    water: Quantity
    """The first water, the powder goes into it [g]."""
    solids: MixtureGravity
    """Gravity of the dry mix, and which materials were taken as 2.6."""
    water_band: tuple[Quantity, Quantity]
    """Least and most water for the same dry, by what is found for the materials [g]."""


def _total(portions: Iterable[Portion]) -> Quantity:
    return grams(sum(magnitude(portion.mass, "gram") for portion in portions))


def _scaled(recipe: Recipe, grams_per_part: float, grams_of_base: float) -> Batch:
    base = (Portion(n.material, grams(n.amount * grams_per_part)) for n in recipe.base)
    over = (Portion(n.material, grams(n.amount / 100 * grams_of_base), True) for n in recipe.additions)
    return Batch((*base, *over))


def scale_to_base(recipe: Recipe, base: Quantity) -> Batch:
    """Return the batch whose base weighs so much, with the additions on top.

    ::

        baseᵢ = B·aᵢ/Σ a,   additionᵢ = B·pᵢ/100

    base     [gram]  B, more than 0
    returns  the portions; they weigh B and the additions together
    source   definition (computed from the formula); additions over 100 are the trade's convention

    >>> from benchvoice.calculator.recipe import Line
    >>> batch = scale_to_base(Recipe("x", (Line("feldspar", 100),), (Line("tin oxide", 8),)), grams(2000))
    >>> batch.masses()
    (2000.0, 160.0)
    """
    wanted = above_zero(base, "gram", of="the base")
    return _scaled(recipe, wanted / sum_of_base(recipe).total, wanted)


def scale_to_total(recipe: Recipe, total: Quantity) -> Batch:
    """Return the batch that weighs so much with its additions.

    ::

        B = T / (1 + Σ p/100)

    total    [gram]  T, more than 0
    returns  the portions; together they weigh T
    source   definition (computed from the formula)

    >>> from benchvoice.calculator.recipe import Line
    >>> recipe = Recipe("x", (Line("base", 100),), (Line("tin oxide", 8), Line("cobalt carbonate", 1)))
    >>> scale_to_total(recipe, grams(2000)).base
    <Quantity(1834.862, 'gram')>
    """
    over = sum(line.amount for line in recipe.additions) / 100
    return scale_to_base(recipe, grams(above_zero(total, "gram", of="the batch") / (1 + over)))


def fill_bucket(
    recipe: Recipe, volume: Quantity, gravity: float, own: Mapping[str, float] | None = None
) -> BucketBatch:
    """Return the batch and the first water that fill a volume at a gravity.

    ::

        dry = 1000·V·S(D - 1)/(S - 1),   water = dry·(1 - D/S)/(D - 1)

    volume   [litre]  V, more than 0
    gravity  [-]      D, above 1 and below S
    own      [-]      gravities of materials that the potter gave, by name
    returns  batch and water; which materials were taken as 2.6, and what that does to the water
    raises   LighterThanSlurry; NoSlurry; OutOfRange; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> from benchvoice.calculator.quantities import litres
    >>> from benchvoice.calculator.recipe import Line
    >>> made = fill_bucket(Recipe("x", (Line("feldspar", 100),)), litres(10), 1.45)
    >>> made.batch.total, made.water
    (<Quantity(7312.5, 'gram')>, <Quantity(7187.5, 'gram')>)
    """
    parts = list(zip(_names(recipe), scale_to_total(recipe, grams(100)).masses(), strict=True))
    solids = recipe_gravity(parts, own)
    batch = scale_to_total(recipe, dry_in_volume(volume, gravity, solids.gravity))
    least, water, most = (
        batch_water(batch.total, s, gravity) for s in (solids.low, solids.gravity, solids.high)
    )
    return BucketBatch(batch, water, solids, (least, most))


def _names(recipe: Recipe) -> list[str]:
    return [line.material for line in (*recipe.base, *recipe.additions)]


def round_to_step(batch: Batch, step: Quantity) -> Rounded:
    """Return the batch in whole steps of the scale, with the largest share by which a line changed.

    step     [gram]  the least change the scale shows, more than 0
    returns  every line within half a step; the worst line; lines for which the scale is coarse
    raises   ScaleTooCoarse when a line would round to nothing

    >>> batch = Batch((Portion("quartz", grams(100.4)), Portion("rutile", grams(2.6))))
    >>> found = round_to_step(batch, grams(1))
    >>> found.batch.masses(), found.worst, round(found.worst_error, 3), found.coarse
    ((100.0, 3.0), 'rutile', 0.154, ('rutile',))
    """
    size = above_zero(step, "gram", of="the scale's step")
    rounded = Batch(tuple(Portion(p.material, _rounded(p, size), p.is_addition) for p in batch.portions))
    pairs = zip(batch.portions, batch.masses(), rounded.masses(), strict=True)
    errors = [(portion.material, shown / exact - 1) for portion, exact, shown in pairs]
    worst, error = max(errors, key=lambda found: abs(found[1]))
    coarse = (p.material for p in batch.portions if size > COARSE * magnitude(p.mass, "gram"))
    return Rounded(rounded, worst, error, tuple(coarse))


def _rounded(portion: Portion, size: float) -> Quantity:
    exact = magnitude(portion.mass, "gram")
    if not (steps := math.floor(exact / size + 0.5)):
        raise ScaleTooCoarse(portion.material, exact, size)
    return grams(steps * size)
