"""What dosing asks of the calculator: the bottle, the dry content, what has gone in, the next step."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator import content, dosing, drops
from benchvoice.calculator.additives import Additive, Kind, find_additive
from benchvoice.calculator.flow import FlowWord
from benchvoice.calculator.quantities import Quantity, grams, magnitude
from benchvoice.dialogue.bench import number, of_kind
from benchvoice.dialogue.contents import contents, gravity_now
from benchvoice.dialogue.said import grams_said
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.dialogue.target import solids_gravity, target
from benchvoice.messages import Entry

USUAL = {Kind.DEFLOCCULANT: "sodium silicate", Kind.FLOCCULANT: "magnesium sulfate"}
"""What is taken when the potter names none; common practice, no source."""
COUNTED = 20
"""Drops that are counted into a cup to weigh one; an hour-glass of a number (our choice)."""
CAUSTIC = frozenset({"caustic", "irritant", "unread-label", "heats-in-water"})
"""Hazard classes whose caution must be acknowledged before the first dose of a session."""


@dataclass(frozen=True, slots=True)
class DoseWork:
    """A dosing under way."""

    additive: str = ""
    advised_g: float = 0.0
    """Out of the bottle, as advised last [g]."""


def additive_of(scene: Scene) -> Additive:
    """Return the additive that is being dosed."""
    return find_additive(scene.work(DoseWork).additive)


def needs_caution(scene: Scene, additive: Additive) -> bool:
    """Tell whether this additive's caution was not yet acknowledged in this session."""
    if not CAUSTIC & set(additive.hazards):
        return False
    here = (e for e in scene.bench.newest_first("caution") if e.key.startswith(f"{scene.session}-"))
    return all(entry.facts["additive"] != additive.name for entry in here)


def acknowledged(turn: Turn, additive: str) -> Turn:
    """Write down that the caution about an additive was heard."""
    return turn.write("caution", {"additive": additive}, about_bucket=False)


def bottle_entry(scene: Scene) -> Entry | None:
    """Return what is known of the bottle of this additive."""
    name = additive_of(scene).name
    return next((e for e in scene.bench.newest_first("bottle") if e.facts["additive"] == name), None)


def bottle(scene: Scene) -> dosing.Bottle:
    """Return the bottle, with the potter's own drop where one was weighed."""
    entry = bottle_entry(scene)
    assert entry is not None
    return _bottle(additive_of(scene), number(entry, "share", 1.0), entry.facts.get("drop_g"))


def _bottle(additive: Additive, share: float, drop_g: object) -> dosing.Bottle:
    """Return a bottle. Thinned, it drips between water and the additive: volumes add, as in a slurry."""
    density = 1 / (share / additive.density + (1 - share)) if additive.form.value == "liquid" else 1.0
    nominal = drops.nominal_drop(min(max(density, 0.7), 3.0))
    if drop_g is None:
        return dosing.Bottle(additive, nominal, share)
    return dosing.Bottle(additive, drops.DropSize(grams(float(str(drop_g))), 1 / COUNTED, True), share)


def dry(scene: Scene) -> Quantity:
    """Return the dry content of the bucket; the contents must be known."""
    held = contents(scene)
    assert held is not None
    return content.dry_content(held.mass, gravity_now(scene), solids_gravity(scene))


def given(scene: Scene) -> list[dosing.Dose]:
    """Return every dose that ever went into this bucket."""
    found = (e for e in scene.bench.entries if e.kind == "dose" and e.bucket == scene.bucket)
    return [_dose(entry) for entry in found]


def _dose(entry: Entry) -> dosing.Dose:
    additive = find_additive(str(entry.facts["additive"]))
    source = _bottle(additive, number(entry, "share", 1.0), entry.facts["drop_g"])
    return dosing.Dose(source, grams(number(entry, "mass_g")))


def check_gravity(scene: Scene) -> None:
    """Refuse drops before the density is right."""
    last = scene.bench.last("reading", scene.bucket)
    dosing.gravity_allows(number(last, "shown", 0.0) or gravity_now(scene), *target(scene))


def was_read(scene: Scene) -> bool:
    """Tell whether the gravity was read since the bucket was opened."""
    return bool(of_kind(scene.bench.since("opened", scene.bucket), "reading"))


def next_step(scene: Scene) -> dosing.Step:
    """Return the next small dose."""
    check_gravity(scene)
    return dosing.next_step(bottle(scene), dry(scene), given(scene))


def step_of(scene: Scene, mass_g: float) -> dosing.Step:
    """Return a dose that went in, above the ceiling too: what is in the bucket is in it."""
    return dosing.step_of(bottle(scene), dry(scene), given(scene), grams(mass_g))


def above_ceiling(scene: Scene, mass_g: float) -> bool:
    """Tell whether a dose brings the sum above the ceiling."""
    try:
        dosing.checked_dose(bottle(scene), dry(scene), given(scene), grams(mass_g))
    except dosing.AboveCeiling:
        return True
    return False


def said_dose_g(turn: Turn) -> float:
    """Return the weight of the dose that was said: drops when bare or so called, grams otherwise."""
    amount = turn.amount
    if turn.meaning.kind == "count":
        one = bottle(turn.scene).drop
        return magnitude(drops.mass_of_drops(float(amount.value), one), "gram")
    return grams_said(turn)


def dose_facts(step: dosing.Step) -> dict[str, object]:
    """Return the facts of a dose's entry."""
    source = step.dose.bottle
    return {
        "additive": source.additive.name,
        "mass_g": round(magnitude(step.dose.mass, "gram"), 4),
        "drops": round(step.drops, 1),
        "share": source.share,
        "drop_g": round(magnitude(source.drop.mass, "gram"), 5) if source.drop.weighed else None,
    }


def sum_facts(step: dosing.Step) -> dict[str, object]:
    """Return what will have gone in, all ways."""
    return {
        "sum_g": magnitude(step.after.supplied, "gram"),
        "percent": round(step.after.percent, 3),
        "percent_active": round(step.after.percent_active, 3),
        "sum_drops": round(step.after.drops),
    }


def turned(scene: Scene) -> bool:
    """Tell whether more deflocculant has begun to thicken this bucket since it was opened."""
    if additive_of(scene).kind is not Kind.DEFLOCCULANT:
        return False
    points = _points(scene.bench.since("opened", scene.bucket), additive_of(scene).name)
    return bool(points) and dosing.turn_of_curve(points).turned


def _points(since: tuple[Entry, ...], name: str) -> list[tuple[Quantity, float]]:
    """Return the doses so far and the flow after each; a word and a time are never mixed."""
    total, timed, worded = 0.0, [], []
    for entry in since:
        if entry.kind == "dose" and entry.facts["additive"] == name:
            total += number(entry, "mass_g")
        elif entry.kind == "flow" and "seconds" in entry.facts:
            timed.append((grams(total), number(entry, "seconds")))
        elif entry.kind == "flow":
            worded.append((grams(total), float(FlowWord[str(entry.facts["word"]).upper()])))
    return timed if len(timed) > 1 else worded
