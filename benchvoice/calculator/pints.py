"""The pint weight: what a pint of slurry weighs in ounces.

Two pints are about, so each is named in full: "imperial_pint", the pint of the potters' books, and "us_pint".
"""

from __future__ import annotations

from benchvoice.calculator.content import solids_by_volume
from benchvoice.calculator.quantities import Quantity, above_zero, magnitude, ounces, quantity
from benchvoice.calculator.slurry import slurry_gravity


def pint_weight(gravity: float, pint: str) -> Quantity:
    """Return what a pint of slurry weighs in ounces.

    An imperial gallon was made to hold ten pounds of water, so an imperial pint of it weighs 20 ounces;
    a US pint holds less, and weighs 16.65::

        P = D·water, water = 20 oz · pint/imperial pint

    gravity  [-]      D, of the slurry, above 1
    pint     [-]      "imperial_pint" or "us_pint"; there is no usual one
    returns  [ounce]  P
    raises   NoSlurry; AmbiguousUnit for a bare "pint"; NotThatKind for what is no volume
    source   NIST Handbook 44, Appendix C, note on British units (second-hand: a copy of it)

    >>> pint_weight(1.45, "imperial_pint"), pint_weight(1.45, "us_pint")
    (<Quantity(29.0, 'ounce')>, <Quantity(24.1476, 'ounce')>)
    """
    return ounces(slurry_gravity(gravity, of="the gravity now") * _water(pint))


def gravity_of_pint(weight: Quantity, pint: str) -> float:
    """Return the gravity of a slurry whose pint weighs so much: P over the weight of a pint of water.

    >>> gravity_of_pint(quantity(29, "ounce"), "imperial_pint")
    1.45
    """
    water = water_in_pint(pint).m_as("ounce")
    return slurry_gravity(
        above_zero(weight, "ounce", of="the pint of slurry") / water, of="the pint of slurry"
    )


def dry_in_pint(weight: Quantity, pint: str, solids: float) -> Quantity:
    """Return the dry content of a pint of slurry that weighs so much.

    ::

        dry = (P − water)·S / (S − 1)

    weight   [ounce]  P, of the pint of slurry
    pint     [-]      "imperial_pint" or "us_pint"
    solids   [-]      S, gravity of the solids
    returns  [ounce]
    raises   NoSlurry; LighterThanSlurry; AmbiguousUnit; NotThatKind; NotAboveZero
    source   M. Cardew, Pioneer Pottery, p. 269 (second-hand: a potters' mailing list, 2000)

    >>> dry_in_pint(quantity(29, "ounce"), "imperial_pint", 2.6)
    <Quantity(14.625, 'ounce')>
    """
    return ounces(_water(pint) * solids * solids_by_volume(gravity_of_pint(weight, pint), solids))


def water_in_pint(pint: str) -> Quantity:
    """Return what a pint of water weighs: 20 ounces for the imperial pint, in proportion for the other.

    >>> water_in_pint("us_pint")
    <Quantity(16.6535, 'ounce')>
    """
    return ounces(20 * magnitude(quantity(1, pint), "imperial_pint", of="the pint"))


def _water(pint: str) -> float:
    """Return the ounces of water in a pint."""
    return water_in_pint(pint).magnitude


_PINT = "the pint of slurry"
