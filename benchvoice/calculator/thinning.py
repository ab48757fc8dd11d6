"""How much water to pour now: less than the sum says, so that a slurry is never made too thin.

Water goes in quickly and leaves slowly, so it is added in stages: two thirds of the sum first, stir, weigh
again (common practice, no source); and never more than would be safe if the bucket were the smallest that it
may be, the gravity the lowest that it may be, and the target missed on its thin side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from benchvoice.calculator.bucket import Contents
from benchvoice.calculator.limits import TargetUpsideDown
from benchvoice.calculator.quantities import (
    Quantity,
    above_zero,
    finite,
    grams,
    magnitude,
    not_negative,
    within,
)
from benchvoice.calculator.slurry import gravity_with_water, slurry_gravity, water_to_add

FIRST_PART = 2 / 3
"""The part of the sum that goes in first (common practice, no source)."""


class Where(StrEnum):
    """Where a gravity stands against its target."""

    ABOVE = "above"
    INSIDE = "inside"
    BELOW = "below"
    UNSURE = "unsure"
    """Above by its figure, but it may as well be at the low end already: read again before adding."""


@dataclass(frozen=True, slots=True)
class WaterPlan:
    """What to do about a gravity with water."""

    where: Where
    """Where the gravity stands against the target."""
    whole: Quantity
    """The water to the middle of the target [gram]; 0 when it does not stand above."""
    uncertainty: Quantity
    """Standard uncertainty of that water [gram]."""
    pour: Quantity
    """What to pour now [gram]; never more than is safe; 0 when nothing is."""
    expected: float
    """The gravity to be expected after pouring [-]; what is read instead tells how great the bucket is."""
    held_back: bool
    """True when the bucket or the reading is so uncertain that less is poured than practice would."""


def plan_water(
    bucket: Contents, now: float, uncertainty: float, low: float, high: float, *, first: bool = True
) -> WaterPlan:
    """Return how much water to pour now to bring a bucket to its target.

    With W(m, D, T) the water that brings a mass m from D to T, m0 the lower bound of the bucket, and u the
    standard uncertainty of D::

        whole = W(m, D, (low + high)/2)
        pour  = the smaller of 2/3·whole (all of it after the first time) and W(m0, D − 2u, low)

    bucket       [gram]  what is in it, with bounds
    now          [-]     D, the gravity read, above 1
    uncertainty  [-]     u, 0 or more
    low, high    [-]     the target, above 1, low not above high
    first        [-]     True until water has once been added towards this target
    raises       TargetUpsideDown; NoSlurry; BelowZero; NotThatKind
    source       balance of mass and volume (computed from the formula); stages: common practice, no source

    >>> from benchvoice.calculator.bucket import contents
    >>> plan_water(contents(grams(5000), 0.03), 1.52, 0.004, 1.41, 1.43).pour
    <Quantity(522.139, 'gram')>
    """
    where, lowest = where_is(now, uncertainty, low, high), now - 2 * uncertainty
    if where in (Where.INSIDE, Where.BELOW):
        return WaterPlan(where, grams(0), grams(0), grams(0), now, held_back=False)
    whole = water_to_add(bucket.mass, now, (low + high) / 2)
    spread = water_uncertainty(bucket.mass, bucket.uncertainty, now, uncertainty, (low + high) / 2)
    usual = magnitude(whole, "gram") * (FIRST_PART if first else 1)
    safe = 0.0 if lowest <= low else magnitude(water_to_add(bucket.low, lowest, low), "gram")
    pour = grams(min(usual, safe))
    return WaterPlan(where, whole, spread, pour, gravity_with_water(bucket.mass, now, pour), safe < usual)


def where_is(now: float, uncertainty: float, low: float, high: float) -> Where:
    """Return where a gravity stands against its target.

    >>> where_is(1.52, 0.004, 1.41, 1.43)
    <Where.ABOVE: 'above'>
    """
    if slurry_gravity(low, of="the target") > slurry_gravity(high, of="the target"):
        raise TargetUpsideDown(low, high)
    u = within(finite(uncertainty, of=_U), 0.0, 1.0, of=_U)
    if slurry_gravity(now, of="the gravity now") <= high:
        return Where.INSIDE if now >= low else Where.BELOW
    return Where.ABOVE if now - 2 * u > low else Where.UNSURE


def water_uncertainty(
    mass: Quantity, mass_uncertainty: Quantity, now: float, uncertainty: float, target: float
) -> Quantity:
    """Return the standard uncertainty of the water to add.

    From W = m·(D1 − D2)/(D1·(D2 − 1)) by its slopes in m and D1::

        u² = (W/m·u_m)² + (m·D2/(D1²·(D2 − 1))·u_D)²

    mass              [gram]  m, of the slurry, more than 0
    mass_uncertainty  [gram]  u_m, 0 or more
    now               [-]     D1, above 1
    uncertainty       [-]     u_D, 0 or more
    target            [-]     D2, above 1, not above D1
    returns           [gram]
    raises            as water_to_add; BelowZero
    source            law of propagation, JCGM 100:2008 (the GUM), 5.1.2 (from memory)

    >>> water_uncertainty(grams(5000), grams(150), 1.52, 0.004, 1.42)
    <Quantity(37.532, 'gram')>
    """
    m, w = above_zero(mass, "gram"), magnitude(water_to_add(mass, now, target), "gram")
    from_mass = w / m * not_negative(mass_uncertainty, "gram", of="the uncertainty of the bucket")
    from_gravity = m * target / (now**2 * (target - 1)) * within(uncertainty, 0.0, 1.0, of=_U)
    return grams(math.hypot(from_mass, from_gravity))


def pourable(water: Quantity) -> Quantity:
    """Return an amount of water that is easily said and poured, cut and never rounded up.

    >>> [pourable(grams(amount)).magnitude for amount in (37.9, 522.1, 1862)]
    [37.0, 520.0, 1850.0]
    """
    amount = not_negative(water, "gram", of="the water")
    step = next(step for below, step in _STEPS if amount < below)
    return grams(math.floor(amount / step) * step)


_STEPS = ((100, 1), (200, 5), (1000, 10), (5000, 50), (math.inf, 100))  # below this much, in steps of that
_U = "the uncertainty of the gravity"
