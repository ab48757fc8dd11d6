"""A batch as its entries tell it: what is wanted, what is in, which line is next, what is too much.

The lines are not numbered: what is missing of a material is what is wanted of it less what is in. So
topping up, taking out and another order all fall out of the same sum.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import cast

from benchvoice.calculator.batch import Batch, Portion
from benchvoice.calculator.content import batch_water
from benchvoice.calculator.materials import MixtureGravity, find_material, recipe_gravity
from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.calculator.weighing import TOLERANCE, Mode, Sheet, rescale
from benchvoice.dialogue.bench import Bench, number, of_kind
from benchvoice.dialogue.recipe_book import own_gravities
from benchvoice.messages import Entry

ROUNDING = 1e-9
"""What sums of decimal fractions may be out by, as a part."""

Portions = tuple[tuple[str, float], ...]
"""Materials with their weights [g], in order."""


class Stage(Enum):
    """What is to be done next with a batch."""

    OVER = "over"  # something is to be taken out
    WEIGH = "weigh"  # a line is missing
    WATER = "water"  # all is weighed out
    SOAK = "soak"  # the water is in


@dataclass(frozen=True, slots=True)
class OpenBatch:
    """A batch that is under way."""

    recipe: str
    wanted: dict[str, float]
    """What is wanted of each material, in order [g]."""
    put_in: Portions
    """What went in, in the order in which it did; below nothing what was taken out [g]."""
    mode: Mode
    step_g: float
    """The least change that the scale shows [g]."""
    gravity: float
    """What the first water aims at."""
    low: float
    """Low gravity of the target."""
    high: float
    """High gravity of the target."""
    own: Mapping[str, float]
    """Gravities of materials that the potter gave."""
    water_g: float | None
    """Water that went in, None before [g]."""

    def is_in(self, material: str) -> float:
        """Return how much of a material is in [g]."""
        return sum(mass for name, mass in self.put_in if name == material)

    def got(self) -> dict[str, float]:
        """Return how much is in of each material that is wanted [g]."""
        return {material: self.is_in(material) for material in self.wanted}

    @property
    def total_in(self) -> float:
        """Everything that is in [g]."""
        return sum(mass for _, mass in self.put_in)

    def near(self, material: str) -> float:
        """Return how near is near enough for a material [g]."""
        return max(TOLERANCE * self.wanted[material], self.step_g) * (1 + ROUNDING)

    def missing(self) -> Portions:
        """Return what is still to be weighed of each material that is short, in order."""
        short = ((name, wanted - self.is_in(name)) for name, wanted in self.wanted.items())
        return tuple((name, _tidy(mass)) for name, mass in short if mass > self.near(name))

    def too_much(self) -> tuple[str, float] | None:
        """Return the first material of which too much is in, and by how much [g]."""
        over = ((name, self.is_in(name) - wanted) for name, wanted in self.wanted.items())
        return next(((name, _tidy(mass)) for name, mass in over if mass > self.near(name)), None)

    def next_line(self, first: str = "") -> tuple[str, float]:
        """Return the material to weigh now and how much; the one named first, if it is missing.

        When none is missing it is the last line, and nothing of it.
        """
        missing = self.missing() or ((next(reversed(self.wanted)), 0.0),)
        return next((line for line in missing if line[0] == first), missing[0])

    def sheet(self, first: str = "") -> Sheet:
        """Return the batch as a sheet: what went in, the line to weigh now, and the others."""
        line = self.next_line(first)
        rest = tuple(other for other in self.missing() if other != line)
        done = tuple(grams(mass) for _, mass in self.put_in)
        return Sheet(_batch((*self.put_in, line, *rest)), self.mode, grams(self.step_g), done)

    def whole_sheet(self) -> Sheet:
        """Return the batch as a sheet with one line for each material, however often it was weighed."""
        got = tuple(grams(mass) for mass in self.got().values())
        return Sheet(_batch(self.wanted.items()), self.mode, grams(self.step_g), got)

    def stage(self) -> Stage:
        """Return what is to be done next."""
        if self.too_much():
            return Stage.OVER
        if self.missing():
            return Stage.WEIGH
        return Stage.WATER if self.water_g is None else Stage.SOAK

    def bigger(self) -> tuple[dict[str, float], float]:
        """Return the lines of a batch so big that nothing is too much, in whole steps, and by what factor."""
        found = rescale(self.whole_sheet())
        masses = zip(self.wanted, found.batch.masses(), strict=True)
        return {name: _tidy(round(mass / self.step_g) * self.step_g) for name, mass in masses}, found.factor

    def makes_l(self) -> float:
        """Return the volume of slurry that the batch makes at its gravity [L]."""
        solids = recipe_gravity(self.wanted.items(), self.own).gravity
        dry_g = sum(self.wanted.values())
        return volume_l(dry_g, magnitude(batch_water(grams(dry_g), solids, self.gravity), "gram"), solids)

    def solids(self) -> MixtureGravity:
        """Return the gravity of what is in."""
        return recipe_gravity([(name, mass) for name, mass in self.got().items() if mass > 0], self.own)

    def water_wanted(self) -> float:
        """Return the first water for what is in, in whole grams [g]."""
        water = batch_water(grams(self.total_in), self.solids().gravity, self.gravity)
        return float(round(magnitude(water, "gram")))

    def named(self, said: str) -> str | None:
        """Return the material of the batch that a name stands for, whichever of its names was said."""
        meant = find_material(said)
        names = (name for name in self.wanted if name == said or (meant and find_material(name) == meant))
        return next(names, None)


def volume_l(dry_g: float, water_g: float, solids: float) -> float:
    """Return the volume of slurry that dry and water make [L]."""
    return (dry_g / solids + water_g) / 1000


def _batch(lines: Iterable[tuple[str, float]]) -> Batch:
    return Batch(tuple(Portion(name, grams(mass)) for name, mass in lines))


def _tidy(mass: float) -> float:
    return round(mass, 4)


# ---- from the entries ---------------------------------------------------------------------------


def open_batch(bench: Bench) -> OpenBatch | None:
    """Return the batch that is under way, None when there is none."""
    since = _since_begun(bench)
    if since is None:
        return None
    begun, later = since[0], since[1:]
    wanted = of_kind(since, "batch", "batch_change")[-1].facts["wanted"]
    waters = of_kind(later, "batch_water")
    return OpenBatch(
        str(begun.facts["recipe"]),
        dict(cast(Mapping[str, float], wanted)),
        tuple((str(e.facts["material"]), number(e, "mass_g")) for e in _that_count(later)),
        Mode(str(begun.facts["mode"])),
        number(begun, "step_g"),
        number(begun, "gravity"),
        number(begun, "target_low"),
        number(begun, "target_high"),
        own_gravities(bench),
        number(waters[-1], "water_g") if waters else None,
    )


def the_batch(bench: Bench) -> OpenBatch:
    """Return the batch that is under way; a defect when there is none."""
    found = open_batch(bench)
    assert found is not None
    return found


def weighings(bench: Bench) -> tuple[Entry, ...]:
    """Return what was weighed for the batch that is under way and still counts, oldest first."""
    return tuple(e for e in _that_count(_since_begun(bench) or ()) if number(e, "mass_g") > 0)


def _that_count(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Return what was weighed, but for weighings that were corrected since and what corrects them."""
    found = of_kind(entries, "weighed")
    corrected = {e.facts["corrects"] for e in found}
    return tuple(e for e in found if e.facts["corrects"] is None and e.key not in corrected)


def _since_begun(bench: Bench) -> tuple[Entry, ...] | None:
    """Return the entries from the beginning of the batch that is under way."""
    for place in range(len(bench.entries) - 1, -1, -1):
        if bench.entries[place].kind == "batch":
            return bench.entries[place:]
        if bench.entries[place].kind == "batch_closed":
            return None
    return None
