"""Amounts as they were said, in the units that the dialogue reckons in."""

from __future__ import annotations

from decimal import Decimal

from benchvoice.calculator import slurry
from benchvoice.calculator.quantities import Quantity, magnitude, quantity
from benchvoice.calculator.water import ROOM, water_density
from benchvoice.dialogue.scene import Turn
from benchvoice.messages import Amount

SINGLE_TARGET_BAND = 0.01
"""What a single target is widened by on each side: a gram on a cup of a hundred (our choice)."""
BARE_NAMES = {"degree": "degree_Celsius", "drop": "nominal_drop"}
"""What a unit of two sizes means here when nobody says which; pints are asked about."""
SURE_ENOUGH = 0.93
"""Confidence of the recogniser below which an amount is asked about (our choice)."""


def as_quantity(amount: Amount, bare: str) -> Quantity:
    """Return an amount with its unit, or with the one that a bare number has here."""
    unit = amount.unit or bare
    return quantity(amount.value, BARE_NAMES.get(unit, unit))


def grams_said(turn: Turn) -> float:
    """Return the weight that was said [g]; a bare number is grams."""
    return magnitude(as_quantity(turn.amount, "gram"), "gram", of="the weight")


def centimetres_said(turn: Turn) -> float:
    """Return the length that was said [cm]; a bare number is centimetres."""
    return magnitude(as_quantity(turn.amount, "centimetre"), "centimetre", of="the length")


def seconds_said(turn: Turn) -> float:
    """Return the time that was said [s]; a bare number is seconds."""
    return magnitude(as_quantity(turn.amount, "second"), "second", of="the time")


def celsius_said(turn: Turn) -> float:
    """Return the temperature that was said [°C]; a bare number is degrees Celsius."""
    return magnitude(as_quantity(turn.amount, "degree_Celsius"), "degree_Celsius", of="the temperature")


def water_said(turn: Turn) -> float:
    """Return the mass of water that was said [g], whether as a weight or as a volume."""
    said = as_quantity(turn.amount, "gram")
    if said.check("[length] ** 3"):
        return magnitude(said, "litre", of="the water") * float(water_density(ROOM).m_as("gram / litre"))
    return magnitude(said, "gram", of="the water")


def step_said(turn: Turn) -> float:
    """Return the step of the scale as the spoken decimals show it [g]: 1, 0.1 or 0.01."""
    exponent = turn.amount.value.as_tuple().exponent
    return 10.0 ** max(min(int(exponent), 0), -2)


def target_said(turn: Turn) -> tuple[float, float]:
    """Return the target that was said; a single gravity is widened a little."""
    low = turn.meaning.slots.get("low")
    high = turn.meaning.slots.get("high")
    if isinstance(low, Amount | Decimal) and isinstance(high, Amount | Decimal):
        pair = sorted((gravity_value(low), gravity_value(high)))
    else:
        middle = slurry.slurry_gravity(gravity_value(turn.amount), of="the target")
        pair = [middle - SINGLE_TARGET_BAND, middle + SINGLE_TARGET_BAND]
    for gravity in pair:
        slurry.slurry_gravity(gravity, of="the target")
    return round(pair[0], 4), round(pair[1], 4)


def gravity_value(said: Amount | Decimal) -> float:
    """Return a gravity; "one forty two" is 1.42 when a gravity is asked for."""
    value = float(said.value if isinstance(said, Amount) else said)
    return value / 100 if value >= 100 else value


def heard_badly(turn: Turn) -> bool:
    """Tell whether the recogniser was not sure of the words."""
    confidence = turn.meaning.words.confidence
    return confidence is not None and confidence < SURE_ENOUGH
