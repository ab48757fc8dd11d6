"""A recipe out of a file: read, checked, shown, and written down; a file that is not right is refused.

Which forms are read is told in ``calculator.recipe``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from benchvoice.calculator.materials import (
    ASSUMED_GRAVITY,
    HEAVIEST,
    LIGHTEST,
    near_names,
    recipe_gravity,
)
from benchvoice.calculator.quantities import within
from benchvoice.calculator.recipe import (
    BadRecipe,
    Line,
    Recipe,
    normalised,
    recipe_from_csv,
    recipe_from_json,
    sum_of_base,
)
from benchvoice.dialogue.recipe_book import recipe_facts
from benchvoice.errors import CalculatorError, RoutineError
from benchvoice.messages import Entry

LARGEST = 1_000_000
"""No recipe has more bytes; a larger file is something else [byte]."""


def read(path: Path, name: str | None = None) -> Recipe:
    """Return the recipe of a file; refuses with file, line and reason."""
    text = _text(path)
    try:
        return _recipe(path, text, name)
    except BadRecipe as refusal:
        raise RoutineError(f"{path}, {refusal.place}: {refusal.reason}.", refusal.mend) from None
    except CalculatorError as refusal:
        raise RoutineError(f"{path}: {refusal}") from None


def _recipe(path: Path, text: str, name: str | None) -> Recipe:
    """Read by the file's ending: nothing is guessed from what is in it."""
    ending = path.suffix.lower()
    if ending == ".csv":
        return recipe_from_csv(name or path.stem.lower().replace("_", " ").replace("-", " "), text)
    if ending == ".json":
        found = recipe_from_json(text)
        return Recipe(name or found.name.strip().lower(), found.base, found.additions)
    raise RoutineError(
        f"{path}: a file that ends in .csv or .json is wanted; got {ending or 'no ending'}.",
        "Save the recipe as one of them and read it again.",
    )


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except OSError as error:
        raise RoutineError(f"{path} cannot be read: {error.strerror}.", "Check the name.") from error
    if len(data) > LARGEST:
        raise RoutineError(f"{path} is too large for a recipe.", "Check the name.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise RoutineError(f"{path} is not text.", "Save the recipe as CSV or JSON in UTF-8.") from None


def made_up_to_a_hundred(path: Path, recipe: Recipe, *, normalise: bool, as_it_is: bool) -> Recipe:
    """Return the recipe as it is to be kept; a base that is not a hundred needs a decision."""
    found = sum_of_base(recipe)
    if normalise:
        return normalised(recipe)
    if found.is_hundred or as_it_is:
        return recipe
    raise RoutineError(
        f"{path}: the base makes {found.total:g}, not 100; nothing was written down.",
        "If a line is missing, add it; or read it with --normalise to make it 100, or with --as-it-is.",
    )


def densities(given: Sequence[str]) -> dict[str, float]:
    """Return the densities that were given as ``material=value``."""
    return dict(_density(text) for text in given)


def _density(text: str) -> tuple[str, float]:
    material, _, value = text.rpartition("=")
    try:
        gravity = within(float(value), LIGHTEST, HEAVIEST, of=f"the density of {material}")
    except CalculatorError as refusal:
        raise RoutineError(str(refusal)) from None
    except ValueError:
        material = ""
    if not material.strip():
        raise RoutineError(f"A density such as 'olive ash=2.7' is wanted; got {text!r}.", "Give it again.")
    return material.strip().lower(), gravity


def told(recipe: Recipe, own: Mapping[str, float]) -> Iterator[str]:
    """Yield the recipe as lines to read."""
    yield f"{recipe.name}:"
    yield from (_line(line) for line in recipe.base)
    yield f"  the base makes {sum_of_base(recipe).total:g}"
    for line in recipe.additions:
        yield f"{_line(line)} on top"
    found = recipe_gravity([(n.material, n.amount) for n in (*recipe.base, *recipe.additions)], own)
    yield f"  the dry mix is {found.gravity:.2f} times as dense as water"
    yield from (_assumed(name) for name in found.assumed)


def _line(line: Line) -> str:
    return f"  {line.amount:8.5g}  {line.material}"


def _assumed(name: str) -> str:
    near = ", ".join(near_names(name))
    meant = f" Did you mean {near}?" if near else ""
    return (
        f"  {name} is not in the table and is taken as {ASSUMED_GRAVITY:g}.{meant}"
        f" Its own density is given with --density '{name}=2.7'."
    )


def entries(recipe: Recipe, own: Mapping[str, float], session: str, now: datetime) -> tuple[Entry, ...]:
    """Return what is written down: the recipe, and the densities that were given."""
    materials = [("material", {"name": name, "gravity": gravity}) for name, gravity in own.items()]
    kinds = [*materials, ("recipe", recipe_facts(recipe))]
    return tuple(
        Entry(f"{session}-{number}", kind, now, None, facts) for number, (kind, facts) in enumerate(kinds, 1)
    )
