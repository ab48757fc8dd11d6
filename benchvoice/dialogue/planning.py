"""The plan of a batch: from a recipe and a size to what the scale is to show, and whether it fits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from benchvoice.calculator.batch import fill_bucket, round_to_step, scale_to_base, scale_to_total
from benchvoice.calculator.content import batch_water
from benchvoice.calculator.materials import MixtureGravity, recipe_gravity
from benchvoice.calculator.quantities import grams, litres, magnitude
from benchvoice.calculator.recipe import Recipe
from benchvoice.dialogue.batches import Portions, volume_l
from benchvoice.dialogue.bench import Bench, number
from benchvoice.dialogue.recipe_book import own_gravities, recipe_named

USUAL_STEP_G = 1.0
"""Step of the scale when nothing is known of it [g] (our choice)."""


@dataclass(frozen=True, slots=True)
class BatchWork:
    """A batch that is being planned."""

    recipe: str = ""
    dry_g: float | None = None
    """Dry weight, when that was said [g]."""
    in_all: bool = False
    """True when the additions are part of the dry weight, and do not come on top."""
    volume_l: float | None = None
    """Volume to fill, when that was said [L]."""
    holds_l: float | None = None
    """What the bucket holds, when that was said [L]."""
    low: float = 0.0
    high: float = 0.0
    gravity: float = 0.0
    """What the first water aims at: the thick end of the target, for water cannot be taken out again."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What to weigh, and what it makes."""

    wanted: Portions
    """In whole steps of the scale [g]."""
    water_g: float
    volume_l: float
    """Slurry that it makes [L]."""
    solids: MixtureGravity
    coarse: tuple[str, ...]
    """Materials for which the scale's step is coarse."""

    @property
    def total_g(self) -> float:
        """Everything dry [g]."""
        return round(sum(mass for _, mass in self.wanted), 4)


def plan(work: BatchWork, bench: Bench) -> Plan:
    """Return the plan of a batch whose size and gravity are known."""
    recipe, own, step = recipe_named(bench, work.recipe), own_gravities(bench), scale_step(bench)
    if work.volume_l is not None:
        exact = fill_bucket(recipe, litres(work.volume_l), work.gravity, own).batch
    else:
        scale = scale_to_total if work.in_all else scale_to_base
        exact = scale(recipe, grams(work.dry_g or 0.0))
    rounded = round_to_step(exact, grams(step))
    wanted = _together(zip(_names(recipe), rounded.batch.masses(), strict=True))
    solids = recipe_gravity(wanted, own)
    water_g = magnitude(batch_water(rounded.batch.total, solids.gravity, work.gravity), "gram")
    filled = volume_l(sum(mass for _, mass in wanted), water_g, solids.gravity)
    return Plan(wanted, float(round(water_g)), filled, solids, rounded.coarse)


def fits(work: BatchWork, bench: Bench) -> bool:
    """Tell whether the batch goes into the bucket, where its size is known."""
    return work.holds_l is None or plan(work, bench).volume_l <= work.holds_l


def scale_step(bench: Bench) -> float:
    """Return the step of the scale: what the potter said of it, or what the cup's weights showed [g]."""
    cup = bench.last("cup")
    return float(bench.setting("scale_step_g", number(cup, "step_g", USUAL_STEP_G)))


def _names(recipe: Recipe) -> list[str]:
    return [line.material for line in (*recipe.base, *recipe.additions)]


def _together(lines: Iterable[tuple[str, float]]) -> Portions:
    """Return one portion for each material, where one is in the base and on top as well."""
    found: dict[str, float] = {}
    for name, mass in lines:
        found[name] = round(found.get(name, 0.0) + mass, 4)
    return tuple(found.items())
