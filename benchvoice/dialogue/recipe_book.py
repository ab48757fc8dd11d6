"""Recipes as the entries hold them, and the lines of one that is being dictated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import cast

from benchvoice.calculator.materials import find_material
from benchvoice.calculator.recipe import Line, Recipe
from benchvoice.dialogue.bench import Bench, number
from benchvoice.messages import Entry


def recipe_facts(recipe: Recipe) -> dict[str, object]:
    """Return the facts of a recipe's entry."""
    return {
        "name": recipe.name,
        "base": {line.material: line.amount for line in recipe.base},
        "additions": {line.material: line.amount for line in recipe.additions},
    }


def recipe_of(entry: Entry) -> Recipe:
    """Return the recipe of an entry."""
    base, additions = (cast(Mapping[str, float], entry.facts[part]) for part in ("base", "additions"))
    return Recipe(str(entry.facts["name"]), _lines(base), _lines(additions))


def _lines(amounts: Mapping[str, float]) -> tuple[Line, ...]:
    return tuple(Line(material, float(amount)) for material, amount in amounts.items())


def recipe_named(bench: Bench, name: str) -> Recipe:
    """Return the newest recipe of a name; a defect if there is none."""
    return next(recipe_of(entry) for entry in bench.newest_first("recipe") if entry.facts["name"] == name)


def own_gravities(bench: Bench) -> dict[str, float]:
    """Return the gravities of materials that the potter gave."""
    return {str(e.facts["name"]): number(e, "gravity") for e in bench.entries if e.kind == "material"}


def is_known(bench: Bench, material: str) -> bool:
    """Tell whether a material's gravity is in the table or was given."""
    return find_material(material) is not None or material in own_gravities(bench)


@dataclass(frozen=True, slots=True)
class Dictated:
    """A recipe of which some lines were said."""

    base: Mapping[str, float] = field(default_factory=dict)
    additions: Mapping[str, float] = field(default_factory=dict)

    @property
    def total(self) -> float:
        """What the base makes so far."""
        return sum(self.base.values())

    def name_of(self, material: str) -> str:
        """Return the name by which a material is in the recipe already, or else its own."""
        meant = find_material(material)
        names = (name for name in (*self.base, *self.additions) if meant and find_material(name) == meant)
        return material if material in self.base or material in self.additions else next(names, material)

    def recipe(self, name: str) -> Recipe:
        """Return it as a recipe."""
        return Recipe(name, _lines(self.base), _lines(self.additions))


def dictated(bench: Bench, name: str) -> Dictated:
    """Return the lines that were said of a recipe since it was last kept; a line said again counts anew."""
    parts: dict[str, dict[str, float]] = {"base": {}, "additions": {}}
    for entry in _lines_said(bench, name):
        parts[str(entry.facts["part"])][str(entry.facts["material"])] = number(entry, "amount")
    return Dictated(parts["base"], parts["additions"])


def _lines_said(bench: Bench, name: str) -> Iterator[Entry]:
    kept = [i for i, e in enumerate(bench.entries) if e.kind == "recipe" and e.facts["name"] == name]
    for entry in bench.entries[max(kept, default=-1) + 1 :]:
        if entry.kind == "recipe_line" and entry.facts["recipe"] == name:
            yield entry
