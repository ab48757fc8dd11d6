"""Cautions before something is done: each once in a session, from the calculator, never a clearance."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchvoice.calculator.safety import Action, Hazard, facts_for, hazards_of
from benchvoice.dialogue.scene import Turn

CAUTIONS = {
    Hazard.SILICA_DUST: "safety_dust",
    Hazard.DUST: "safety_dust",
    Hazard.TOXIC: "safety_toxic",
    Hazard.LEAD: "safety_lead",
    Hazard.CAUSTIC: "safety_caustic",
    Hazard.IRRITANT: "safety_irritant",
    Hazard.HEATS_IN_WATER: "safety_heats",
    Hazard.UNREAD_LABEL: "safety_unread_label",
    Hazard.ELECTRIC_MIXER: "safety_mixer",
    Hazard.FOOD_USE: "safety_food",
}
"""Which caution is said about a class of hazard; each ends with the safety data sheet."""
ANY_POWDER = ("safety_dust",)
"""Cautions that hold for every powder alike, and are said once."""


@dataclass(frozen=True, slots=True)
class Cautioned:
    """Which cautions were said in this session, and about what."""

    said: frozenset[tuple[str, str]] = frozenset()


def caution(turn: Turn, action: Action, *materials: str) -> Turn:
    """Say what belongs to an action with these materials, unless it was said in this session."""
    for key, about in dict.fromkeys(_cautions(action, materials)):
        turn = say_once(turn, key, about)
    return turn


def say_once(turn: Turn, key: str, about: str) -> Turn:
    """Say something about a material, unless it was said in this session."""
    said = turn.scene.work(Cautioned).said
    if (key, about) in said:
        return turn
    return turn.keep(Cautioned(said | {(key, about)})).say(key, material=about)


def caution_anew(turn: Turn, action: Action, material: str) -> Turn:
    """Say what belongs to an action with a material, though it was said before: it is to be acknowledged."""
    others = frozenset(pair for pair in turn.scene.work(Cautioned).said if pair[1] != material)
    return caution(turn.keep(Cautioned(others)), action, material)


def _cautions(action: Action, materials: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Yield the key of each caution, and the material it is about where it is not about all."""
    if action is Action.WEIGH_POWDER:
        yield "safety_dust", ""
    for material in materials:
        for hazard in hazards_of(material):
            if (key := CAUTIONS.get(hazard)) and key not in ANY_POWDER:
                yield key, material
    for fact in facts_for(action):
        if fact.subject in CAUTIONS:
            yield CAUTIONS[Hazard(fact.subject)], ""
