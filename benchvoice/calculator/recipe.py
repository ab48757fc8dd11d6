"""A recipe as the potter keeps it: a base, and additions over it; read from comma-separated text or JSON.

The base is meant to make 100; additions are per cent over it. A base that makes 97 is not changed in silence:
``sum_of_base`` says so, and ``normalised`` is offered.

Comma-separated text has a heading and a line for each material; `kind` is base or addition::

    material,amount,kind
    feldspar,40,base
    tin oxide,8,addition

JSON says the same::

    {"name": "tide green", "base": {"feldspar": 40}, "additions": {"tin oxide": 8}}
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import finite
from benchvoice.errors import RoutineError

HUNDRED_TOLERANCE = 0.5
"""A base within half of 100 was rounded by its author; further off, a line is missing (common practice)."""
COLUMNS = ["material", "amount", "kind"]


@dataclass(eq=False)
class BadRecipe(Refusal, RoutineError):
    """A recipe that cannot be read: where, and what is wrong."""

    wanted_got = "In the recipe, {place}: {reason}."
    mend = "Mend that and read it again."

    place: str
    """The line, or the way to the entry, such as "base, feldspar"."""
    reason: str
    """What was wanted and what is there."""


@dataclass(frozen=True, slots=True)
class Line:
    """One material of a recipe."""

    material: str
    amount: float
    """Parts of the base, or per cent over it for an addition; above 0 [-]."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """A glaze recipe; checked when it is made."""

    name: str
    base: tuple[Line, ...]
    additions: tuple[Line, ...] = ()

    def __post_init__(self) -> None:
        if not self.base:
            raise BadRecipe("base", "at least one material is wanted; got none")
        seen: set[tuple[str, str]] = set()
        for part, lines in (("base", self.base), ("additions", self.additions)):
            for line in lines:
                _check(part, line)
                if (part, line.material) in seen:
                    raise BadRecipe(f"{part}, {line.material}", "one line is wanted; got two")
                seen.add((part, line.material))


@dataclass(frozen=True, slots=True)
class BaseSum:
    """What the base makes, and whether that is 100."""

    total: float
    """Sum of the base [-]."""
    is_hundred: bool
    """True within half of 100."""

    @property
    def off(self) -> float:
        """How far from 100: below 0 when something is missing."""
        return self.total - 100


def _check(part: str, line: Line) -> None:
    if not line.material.strip():
        raise BadRecipe(part, "a name is wanted; got none")
    if finite(line.amount, of=f"the amount of {line.material}") <= 0:
        raise BadRecipe(f"{part}, {line.material}", f"an amount above nothing is wanted; got {line.amount:g}")


def sum_of_base(recipe: Recipe) -> BaseSum:
    """Return what the base makes and whether it is 100.

    >>> sum_of_base(Recipe("x", (Line("feldspar", 60), Line("quartz", 37))))
    BaseSum(total=97, is_hundred=False)
    """
    total = sum(line.amount for line in recipe.base)
    return BaseSum(total, abs(total - 100) <= HUNDRED_TOLERANCE)


def normalised(recipe: Recipe) -> Recipe:
    """Return the recipe with its base made up to 100; additions stay per cent over the base.

    ::

        pᵢ = 100·aᵢ / Σ a

    source   definition (computed from the formula)

    >>> normalised(Recipe("x", (Line("feldspar", 48), Line("quartz", 57)))).base[0].amount
    45.714
    """
    total = sum_of_base(recipe).total
    return replace(recipe, base=tuple(Line(n.material, 100 * n.amount / total) for n in recipe.base))


def recipe_from_csv(name: str, text: str) -> Recipe:
    r"""Read a recipe from comma-separated text; refuses with the line and the reason.

    >>> recipe_from_csv("tide", "material,amount,kind\nfeldspar,60,base\nrutile,4,addition").additions
    (Line(material='rutile', amount=4.0),)
    """
    parts: dict[str, list[Line]] = {"base": [], "addition": []}
    for number, cells in _csv_lines(text):
        if len(cells) not in (2, 3):
            raise BadRecipe(f"line {number}", f"material, amount and kind are wanted; got {len(cells)} cells")
        material, amount, kind = [*(cell.strip().lower() for cell in cells), "base"][:3]
        if kind not in parts:
            raise BadRecipe(f"line {number}", f"base or addition is wanted; got {kind!r}")
        line = Line(material, _number(f"line {number}", amount))
        _checked_at(f"line {number}", kind, line, parts[kind])
        parts[kind].append(line)
    return Recipe(name, tuple(parts["base"]), tuple(parts["addition"]))


def _csv_lines(text: str) -> Iterable[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff")))
    heading = [cell.strip().lower() for cell in next(reader, [])]
    if heading not in (COLUMNS, COLUMNS[:2]):
        raise BadRecipe("line 1", f"the heading {','.join(COLUMNS)} is wanted; got {','.join(heading)!r}")
    return ((reader.line_num, cells) for cells in reader if any(cell.strip() for cell in cells))


def _checked_at(place: str, part: str, line: Line, before: Iterable[Line]) -> None:
    """Check a line as the recipe will, but say the line's number."""
    try:
        _check(part, line)
    except BadRecipe as refusal:
        raise BadRecipe(place, refusal.reason) from None
    if any(line.material == other.material for other in before):
        raise BadRecipe(place, f"a new material is wanted; {line.material} stands there already")


def _number(place: str, text: object) -> float:
    try:
        return (
            finite(float(text), of=place) if isinstance(text, int | float | str) else _no_number(place, text)
        )
    except ValueError:
        return _no_number(place, text)


def _no_number(place: str, text: object) -> float:
    raise BadRecipe(place, f"a number is wanted; got {text!r}")


def recipe_from_json(text: str) -> Recipe:
    """Read a recipe from JSON; refuses with the line, the way to the entry, and the reason.

    >>> recipe_from_json('{"name": "tide", "base": {"feldspar": 60, "quartz": 40}}').name
    'tide'
    """
    try:
        return _recipe_of(text)
    except BadRecipe as refusal:
        raise BadRecipe(_with_line(text, refusal.place), refusal.reason) from None


def _with_line(text: str, place: str) -> str:
    """Return the way to an entry with the line on which its name first stands, where it does."""
    name = json.dumps(place.split(", ", 1)[-1], ensure_ascii=False).lower()
    lines = (number for number, line in enumerate(text.lower().splitlines(), start=1) if name in line)
    number = None if place.startswith("line ") else next(lines, None)
    return place if number is None else f"line {number}, {place}"


def _recipe_of(text: str) -> Recipe:
    try:
        found = json.loads(text, object_pairs_hook=_no_doubles)
    except json.JSONDecodeError as fault:
        raise BadRecipe(f"line {fault.lineno}", f"JSON is wanted; {fault.msg.lower()}") from None
    if not isinstance(found, dict):
        raise BadRecipe("line 1", "an object with name, base and additions is wanted")
    if odd := sorted(set(found) - {"name", "base", "additions"}):
        raise BadRecipe(odd[0], "only name, base and additions are wanted")
    name = found.get("name")
    if not isinstance(name, str) or not name.strip():
        raise BadRecipe("name", f"a name is wanted; got {name!r}")
    return Recipe(
        name, _json_lines("base", found.get("base")), _json_lines("additions", found.get("additions", {}))
    )


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse a key given twice: plain JSON would keep the last in silence."""
    keys = [key for key, _ in pairs]
    if double := next((key for key in keys if keys.count(key) > 1), None):
        raise BadRecipe(double, "one entry is wanted; got two")
    return dict(pairs)


def _json_lines(part: str, found: object) -> tuple[Line, ...]:
    if not isinstance(found, Mapping):
        raise BadRecipe(part, f"materials with their amounts are wanted; got {found!r}")
    lines = ((str(name).strip().lower(), f"{part}, {name}", amount) for name, amount in found.items())
    return tuple(Line(name, _json_number(place, amount)) for name, place, amount in lines)


def _json_number(place: str, amount: object) -> float:
    if isinstance(amount, bool) or not isinstance(amount, int | float):
        return _no_number(place, amount)
    return _number(place, amount)
