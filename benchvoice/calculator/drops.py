"""Drops: how heavy one is, and how many make a weight.

A drop is not a measure. Water from a standard dropper makes 20 to the millilitre; a thick silicate makes
fewer and heavier ones. So the potter's own drop, weighed once, comes before the nominal one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude, quantity, within
from benchvoice.calculator.sources import Known, Source

NOMINAL_BAND = 0.25
"""How far a drop that was never weighed may be from the nominal one [-]."""
NOMINAL_SOURCE = Source(
    "USP 32 <1101>: one drop of water from a medicine dropper weighs 45 to 55 mg, 20 to the millilitre; the "
    "25 % for other liquids is a judgement",
    Known.SEEN,
)


@dataclass(frozen=True, slots=True)
class DropSize:
    """The weight of one drop of one liquid from one dropper."""

    mass: Quantity
    """Of one drop [g]."""
    band: float
    """How far the true weight may be from it, as a share [-]."""
    weighed: bool
    """True when the potter weighed it, false when it is the nominal one."""


def nominal_drop(density: float) -> DropSize:
    """Return the nominal drop of a liquid: a twentieth of a millilitre, give or take a quarter.

    ::

        mass = 0.05 mL · density

    density  [g/mL]  0.7 to 3
    returns  [gram]  with a band of 25 %
    source   USP 32 <1101> for water (seen at source); other liquids differ

    >>> nominal_drop(1.381).mass
    <Quantity(0.06905, 'gram')>
    """
    volume = magnitude(quantity(1, "nominal_drop"), "millilitre")
    return DropSize(grams(volume * within(density, 0.7, 3, of="a density", unit="g/mL")), NOMINAL_BAND, False)


def weighed_drop(count: int, mass: Quantity, scale_step: Quantity) -> DropSize:
    """Return the potter's own drop: so many counted into a tared cup, and what they weighed.

    ::

        one = mass / count,   band = √((1/count)² + (step/(√12·mass))²)

    count       [-]     drops, 10 or more
    mass        [gram]  of them all, more than 0
    scale_step  [gram]  the least change the scale shows
    returns     [gram]  of one, with the band left by one drop miscounted and the scale's step
    source      JCGM 100:2008, 4.3.7 and 5.1.2 (from memory)

    >>> weighed_drop(40, grams(2), grams(0.1)).mass
    <Quantity(0.05, 'gram')>
    """
    drops, total = within(count, 10, 10_000, of="the drops counted"), above_zero(mass, "gram", of="the drops")
    step = above_zero(scale_step, "gram", of="the scale's step")
    return DropSize(grams(total / drops), math.hypot(1 / drops, step / (math.sqrt(12) * total)), True)


def drops_in(mass: Quantity, drop: DropSize) -> float:
    """Return how many drops make a weight.

    >>> drops_in(grams(6), nominal_drop(1.381))
    86.9
    """
    return above_zero(mass, "gram", of="a dose") / magnitude(drop.mass, "gram")


def mass_of_drops(count: float, drop: DropSize) -> Quantity:
    """Return what so many drops weigh.

    >>> mass_of_drops(20, nominal_drop(1.0))
    <Quantity(1.0, 'gram')>
    """
    return grams(within(count, 0, 10_000, of="the drops") * magnitude(drop.mass, "gram"))
