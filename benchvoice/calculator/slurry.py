"""What moves the gravity of a slurry: exact balances of mass and volume.

Letters used below, one for one thing::

    D   gravity of the slurry (weight of it over weight of as much water)
    S   gravity of the solids, each grain weighed over as much water
    m   mass of the slurry, V its volume
    W   water added, X dry or slurry added

Volumes add: m/D = dry/S + (m − dry), with water as the unit of both mass and volume. A litre of water is
taken as a kilogram, 0.2 % too much at 20 °C; the cup that was filled with water takes this out again.
Moving a gravity with water never needs S.
"""

from __future__ import annotations

from benchvoice.calculator.limits import (
    MoreThanThereIs,
    NoSlurry,
    OnlyWaterThins,
    OutOfReach,
    WaterCannotThicken,
)
from benchvoice.calculator.quantities import Quantity, above_zero, finite, grams, litres, not_negative

HIGHEST = 3.0
"""No slurry that still flows reaches this gravity; a figure above it was misheard (common practice)."""


def water_to_add(mass: Quantity, now: float, target: float) -> Quantity:
    """Return the water that brings a slurry down to a target gravity.

    ::

        (m + W) / (m/D1 + W) = D2   =>   W = m·(D1 − D2) / (D1·(D2 − 1))

    mass     [gram]  of the slurry, more than 0
    now      [-]     D1, its gravity, above 1
    target   [-]     D2, above 1, not above D1
    returns  [gram]  W
    raises   NoSlurry; WaterCannotThicken; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> water_to_add(grams(5000), 1.52, 1.42)
    <Quantity(783.208, 'gram')>
    """
    _thinner(now, target)
    return grams(above_zero(mass, "gram", of=_MASS) * (now - target) / (now * (target - 1)))


def water_to_add_by_volume(volume: Quantity, now: float, target: float) -> Quantity:
    """Return the volume of water that brings a volume of slurry down to a target gravity.

    ::

        W = V·(D1 − D2) / (D2 − 1)

    volume   [litre]  of the slurry, more than 0
    now      [-]      D1, its gravity, above 1
    target   [-]      D2, above 1, not above D1
    returns  [litre]  W
    raises   NoSlurry; WaterCannotThicken; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> water_to_add_by_volume(litres(10), 1.5, 1.45)
    <Quantity(1.111, 'litre')>
    """
    _thinner(now, target)
    return litres(above_zero(volume, "litre", of=_VOLUME) * (now - target) / (target - 1))


def water_to_take_off(mass: Quantity, now: float, target: float) -> Quantity:
    """Return the clear water to take off a settled slurry to bring it up to a target gravity.

    ::

        W = m·(D2 − D1) / (D1·(D2 − 1))

    mass     [gram]  of the slurry, more than 0
    now      [-]     D1, its gravity, above 1
    target   [-]     D2, not below D1, below 3
    returns  [gram]  W
    raises   NoSlurry; OnlyWaterThins; NotThatKind; NotAboveZero
    limits   what is dissolved leaves with the water (common practice, no source)
    source   balance of mass and volume (computed from the formula)

    >>> water_to_take_off(grams(5000), 1.42, 1.52)
    <Quantity(677.140, 'gram')>
    """
    _thicker(now, target)
    return grams(above_zero(mass, "gram", of=_MASS) * (target - now) / (now * (target - 1)))


def dry_to_add(mass: Quantity, now: float, target: float, solids: float) -> Quantity:
    """Return the dry batch to stir in to bring a slurry up to a target gravity.

    ::

        X = m·(D2 − D1)/D1 · S/(S − D2)

    mass     [gram]  of the slurry, more than 0
    now      [-]     D1, its gravity, above 1
    target   [-]     D2, not below D1, below S
    solids   [-]     S, gravity of the solids
    returns  [gram]  X
    raises   NoSlurry; OnlyWaterThins; OutOfReach; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> dry_to_add(grams(5000), 1.42, 1.52, 2.6)
    <Quantity(847.679, 'gram')>
    """
    return _to_add(mass, now, target, finite(solids, of=_SOLIDS), "dry")


def slurry_to_add(mass: Quantity, now: float, target: float, other: float) -> Quantity:
    """Return how much of a thicker (or thinner) slurry brings this one to a target gravity.

    ::

        X = m·(D2 − D1)/D1 · D3/(D3 − D2)

    mass     [gram]  of the slurry, more than 0
    now      [-]     D1, its gravity, above 1
    target   [-]     D2, from D1 towards D3 without reaching it
    other    [-]     D3, gravity of the slurry to be added, above 1
    returns  [gram]  X
    raises   NoSlurry; OutOfReach; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> slurry_to_add(grams(5000), 1.42, 1.52, 1.80)
    <Quantity(2263.581, 'gram')>
    """
    if slurry_gravity(other, of="the slurry to be added") >= slurry_gravity(now, of=_NOW):
        return _to_add(mass, now, target, other, "slurry")
    _thinner(now, target)
    if target <= other:
        raise OutOfReach("slurry", other, target)
    return grams(above_zero(mass, "gram", of=_MASS) * (now - target) / now * other / (target - other))


def gravity_with_water(mass: Quantity, now: float, water: Quantity) -> float:
    """Return the gravity after water was stirred in.

    ::

        D2 = (m + W) / (m/D1 + W)

    mass     [gram]  of the slurry before, more than 0
    now      [-]     D1, its gravity before, above 1
    water    [gram]  W, 0 or more
    returns  [-]     D2
    raises   NoSlurry; NotThatKind; NotAboveZero; BelowZero
    source   balance of mass and volume (computed from the formula)

    >>> gravity_with_water(grams(5000), 1.52, grams(783.208))
    1.42000
    """
    m, w = above_zero(mass, "gram", of=_MASS), not_negative(water, "gram", of=_WATER)
    return (m + w) / (m / slurry_gravity(now, of=_NOW) + w)


def gravity_without_water(mass: Quantity, now: float, water: Quantity) -> float:
    """Return the gravity after water has evaporated or was taken off clear.

    ::

        D2 = (m − E) / (m/D1 − E)

    mass     [gram]  of the slurry before, more than 0
    now      [-]     D1, its gravity before, above 1
    water    [gram]  E, that left; 0 or more, and not so much that D2 reaches 3
    returns  [-]     D2
    raises   NoSlurry; MoreThanThereIs; NotThatKind; NotAboveZero; BelowZero
    source   balance of mass and volume (computed from the formula)

    >>> gravity_without_water(grams(10000), 1.45, grams(100))
    1.45662
    """
    m, w = above_zero(mass, "gram", of=_MASS), not_negative(water, "gram", of=_WATER)
    most = m * (HIGHEST - slurry_gravity(now, of=_NOW)) / (now * (HIGHEST - 1))
    if w >= most:
        raise MoreThanThereIs(w, most)
    return (m - w) / (m / now - w)


def water_lost(mass: Quantity, before: float, now: float) -> Quantity:
    """Return the water that evaporated from a slurry that still weighs `mass`.

    It is the water that, put back, would bring it down again: water_to_add(mass, now, before).

    >>> water_lost(grams(9900), 1.45, 1.456621)
    <Quantity(100.0, 'gram')>
    """
    return water_to_add(mass, now, before)


def slurry_gravity(gravity: float, *, of: str) -> float:
    """Return the gravity itself when a slurry can have it: above 1, below HIGHEST."""
    if not 1 < finite(gravity, of=of) < HIGHEST:
        raise NoSlurry(of, gravity, HIGHEST)
    return gravity


def _thinner(now: float, target: float) -> None:
    """Refuse to add water unless 1 < target <= now."""
    if slurry_gravity(target, of=_TARGET) > slurry_gravity(now, of=_NOW):
        raise WaterCannotThicken(now, target)


def _thicker(now: float, target: float) -> None:
    """Refuse to thicken unless now <= target."""
    if slurry_gravity(target, of=_TARGET) < slurry_gravity(now, of=_NOW):
        raise OnlyWaterThins(now, target)


def _to_add(mass: Quantity, now: float, target: float, heavier: float, of: str) -> Quantity:
    """Return how much of something heavier than the target to add."""
    _thicker(now, target)
    if heavier <= target:
        raise OutOfReach(of, heavier, target)
    return grams(above_zero(mass, "gram", of=_MASS) * (target - now) / now * heavier / (heavier - target))


_NOW, _TARGET, _SOLIDS = "the gravity now", "the target", "the gravity of the solids"
_MASS, _VOLUME, _WATER = "the slurry", "the volume of slurry", "the water"
