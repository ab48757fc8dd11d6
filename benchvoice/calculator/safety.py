"""Hazards: which facts belong to what is about to be done, each with its source; never that a thing is safe.

There is no function here that clears a material. What is not in the table is treated as "read the label", and
every answer ends with the safety data sheet of the potter's own material, which comes before anything here.
The sentences are in ``replies``; here are codes, figures and where they come from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from benchvoice.calculator.additives import additives
from benchvoice.calculator.materials import catalogue, find_material
from benchvoice.calculator.sources import Source
from benchvoice.calculator.tables import Row, rows, table_text

COLUMNS = ("subject", "code", "actions", "value", "unit", "source", "known")
CODES = "hazard codes"
"""Code of the fact that lists a substance's hazard statements."""


class Hazard(StrEnum):
    """A class of hazard; a material may have several."""

    SILICA_DUST = "silica-dust"
    DUST = "dust"
    TOXIC = "toxic"
    LEAD = "lead"
    CAUSTIC = "caustic"
    IRRITANT = "irritant"
    HEATS_IN_WATER = "heats-in-water"
    UNREAD_LABEL = "unread-label"  # nothing is known: the label must be read
    NONE_CLASSIFIED = "none-classified"  # no class is known, which clears nothing
    ELECTRIC_MIXER = "electric-mixer"
    FOOD_USE = "food-use"
    ANY = "any"  # the safety data sheet, last of every answer


class Action(StrEnum):
    """What is about to be done at the bench."""

    WEIGH_POWDER = "weigh powder"
    ADD_POWDER = "add powder"
    MIX_BY_MACHINE = "mix by machine"
    SIEVE = "sieve"
    DOSE = "dose"
    DIP = "dip"
    SAND_COAT = "sand coat"
    SPRAY = "spray"
    CLEAN_UP = "clean up"
    FOOD_USE = "food use"


@dataclass(frozen=True, slots=True)
class SafetyFact:
    """One fact about a hazard, for ``replies`` to word."""

    subject: str
    """A hazard class, or the name of a substance."""
    code: str
    """Key of the fact."""
    actions: frozenset[Action]
    """When it is said without being asked for; empty for figures kept for the asking."""
    value: str
    """The figure or the codes, as printed; empty when there is none."""
    unit: str
    """Unit of the figure; empty when there is none."""
    source: Source


def parse_safety(text: str) -> tuple[SafetyFact, ...]:
    """Read the table of facts; refuses a subject that is neither a hazard class nor a known substance."""
    return tuple(_fact(row) for row in rows("safety", text, COLUMNS))


def _fact(row: Row) -> SafetyFact:
    subject = row["subject"]
    if subject not in tuple(Hazard) and subject not in _substances():
        raise row.bad(f"a hazard class or a known substance is wanted; got {subject!r}")
    if not row["code"]:
        raise row.bad("a code is wanted; got none")
    actions = row.some_of("actions", Action)
    return SafetyFact(subject, row["code"], actions, row["value"], row["unit"], row.source())


def _substances() -> frozenset[str]:
    materials = {material.name for material in catalogue().values()}
    return frozenset(materials | {additive.name for additive in additives().values()})


@cache
def facts() -> tuple[SafetyFact, ...]:
    """Return the package's own facts, in the order in which they are said."""
    return parse_safety(table_text("safety"))


def facts_about(subject: str) -> tuple[SafetyFact, ...]:
    """Return every fact about a hazard class or a substance, those for the asking too.

    >>> [fact.value for fact in facts_about("silica-dust") if fact.code == "eu limit"]
    ['100']
    """
    return tuple(fact for fact in facts() if fact.subject == subject)


def hazards_of(name: str) -> tuple[Hazard, ...]:
    """Return the hazard classes of a material or additive; an unknown one has its label unread.

    >>> hazards_of("cobalt carbonate"), hazards_of("moon dust")
    ((<Hazard.DUST: 'dust'>, <Hazard.TOXIC: 'toxic'>), (<Hazard.UNREAD_LABEL: 'unread-label'>,))
    """
    found = find_material(name) or additives().get(" ".join(name.lower().split()))
    return tuple(Hazard(hazard) for hazard in found.hazards) if found else (Hazard.UNREAD_LABEL,)


def hazard_codes(name: str) -> SafetyFact | None:
    """Return the hazard statements noted for a substance; None when none are, which clears nothing.

    >>> hazard_codes("whiting") is None, hazard_codes("cobalt carbonate").value
    (True, 'H317 H334 H341 H350i H360 H410')
    """
    found = find_material(name) or additives().get(" ".join(name.lower().split()))
    subject = found.name if found else name
    return next((fact for fact in facts_about(subject) if fact.code == CODES), None)


def facts_for(action: Action, names: Sequence[str] = ()) -> tuple[SafetyFact, ...]:
    """Return what to say before an action with these materials; the safety data sheet is always last.

    action   what is about to be done
    names    of the materials or additives in hand
    returns  each fact once, in the table's order; never empty

    >>> [fact.code for fact in facts_for(Action.CLEAN_UP, ["cobalt carbonate"])]
    ['wipe spills wet', 'gloves and no food', 'not down the drain', 'safety data sheet']
    """
    classes = {hazard for name in names for hazard in hazards_of(name)} | _of_action(action)
    chosen = (fact for fact in facts() if fact.subject in classes and action in fact.actions)
    said: dict[str, SafetyFact] = {}
    for fact in chosen:
        said.setdefault(fact.code, fact)
    return tuple(said.values())


def _of_action(action: Action) -> set[Hazard]:
    """Return the hazards that an action brings whatever is in hand."""
    brings = {Action.MIX_BY_MACHINE: {Hazard.ELECTRIC_MIXER}, Action.FOOD_USE: {Hazard.FOOD_USE}}
    return {Hazard.ANY} | brings.get(action, set())
