"""What is in a slurry: dry content and water, by weight and by volume, and what a new batch needs.

D is the gravity of the slurry, S that of its solids; a litre of water is taken as a kilogram (see slurry).
The dry content does need S: with 2.5 in place of 2.6 it comes out 2.5 % higher near a gravity of 1.45.
"""

from __future__ import annotations

from collections.abc import Sequence

from benchvoice.calculator.limits import LighterThanSlurry, TooFew
from benchvoice.calculator.quantities import UNITS, Quantity, above_zero, finite, grams, litres, within
from benchvoice.calculator.slurry import slurry_gravity

SOLIDS = 2.6
"""Gravity of the solids of an ordinary glaze whose recipe is not known (common practice, no source)."""
SOLIDS_LOW, SOLIDS_HIGH = 2.5, 2.7
"""The band round SOLIDS: 2.5 % of the dry content either way near a gravity of 1.45."""


def dry_per_litre(gravity: float, solids: float) -> Quantity:
    """Return the dry content of a litre of slurry.

    ::

        c = 1000·S·(D − 1) / (S − 1)

    gravity  [-]     D, of the slurry, above 1 and below S
    solids   [-]     S, gravity of the solids
    returns  [g/L]
    raises   NoSlurry; LighterThanSlurry
    source   A. Brongniart, Traité des Arts Céramiques, vol. 1, 1854, p. 249 (second-hand: a quotation
             of Handbook for Australian Potters, Harrison et al.)

    >>> dry_per_litre(1.45, 2.6)
    <Quantity(731.25, 'gram / litre')>
    """
    return UNITS.Quantity(1000 * solids * solids_by_volume(gravity, solids), "gram / litre")


def dry_fraction(gravity: float, solids: float) -> float:
    """Return the dry part of a slurry by mass.

    ::

        w = S·(D − 1) / (D·(S − 1))

    gravity  [-]  D, of the slurry, above 1 and below S
    solids   [-]  S, gravity of the solids
    returns  [-]  0 to 1
    raises   NoSlurry; LighterThanSlurry
    source   balance of mass and volume (computed from the formula)

    >>> dry_fraction(1.45, 2.6)
    0.5043
    """
    return solids * solids_by_volume(gravity, solids) / gravity


def solids_by_volume(gravity: float, solids: float) -> float:
    """Return the part of a slurry's volume that its solids take up.

    ::

        φ = (D − 1) / (S − 1)

    gravity  [-]  D, of the slurry, above 1 and below S
    solids   [-]  S, gravity of the solids
    returns  [-]  0 to 1
    raises   NoSlurry; LighterThanSlurry
    source   balance of mass and volume (computed from the formula)

    >>> solids_by_volume(1.45, 2.6)
    0.28125
    """
    if finite(solids, of=_SOLIDS) <= slurry_gravity(gravity, of=_NOW):
        raise LighterThanSlurry(solids, gravity)
    return (gravity - 1) / (solids - 1)


def dry_content(mass: Quantity, gravity: float, solids: float) -> Quantity:
    """Return the dry content of a weighed slurry, cup or bucket: m·w, with w the dry fraction.

    mass     [gram]  of the slurry, more than 0
    gravity  [-]     of the slurry, above 1 and below that of the solids
    solids   [-]     gravity of the solids
    returns  [gram]
    raises   NoSlurry; LighterThanSlurry; NotThatKind; NotAboveZero

    >>> dry_content(grams(5000), 1.45, 2.6)
    <Quantity(2521.552, 'gram')>
    """
    return grams(above_zero(mass, "gram", of=_MASS) * dry_fraction(gravity, solids))


def dry_in_volume(volume: Quantity, gravity: float, solids: float) -> Quantity:
    """Return the dry content of a measured volume of slurry: V·c, with c the dry content of a litre.

    >>> dry_in_volume(litres(30), 1.7, 2.5).to("kilogram")
    <Quantity(35.0, 'kilogram')>
    """
    return grams(
        above_zero(volume, "litre", of=_VOLUME) * dry_per_litre(gravity, solids).m_as("gram / litre")
    )


def volume_holding(dry: Quantity, gravity: float, solids: float) -> Quantity:
    """Return the volume of slurry that holds a given dry content.

    >>> volume_holding(grams(100), 1.45, 2.6)
    <Quantity(0.1368, 'litre')>
    """
    return litres(above_zero(dry, "gram", of=_DRY) / dry_per_litre(gravity, solids).m_as("gram / litre"))


def gravity_of_sample(mass: Quantity, volume: Quantity) -> float:
    """Return the gravity of a sample of known mass and volume: grams over millilitres.

    >>> gravity_of_sample(grams(65), litres(0.05))
    1.3
    """
    return above_zero(mass, "gram", of=_MASS) / above_zero(volume, "millilitre", of=_VOLUME)


def slurry_mass(volume: Quantity, gravity: float) -> Quantity:
    """Return the mass of a volume of slurry: V·D.

    >>> slurry_mass(litres(10), 1.45)
    <Quantity(14500.0, 'gram')>
    """
    return grams(above_zero(volume, "millilitre", of=_VOLUME) * slurry_gravity(gravity, of=_NOW))


def mixture_gravity(parts: Sequence[tuple[float, float]]) -> float:
    """Return the gravity of solids mixed from several materials.

    Masses and volumes add, so the mean is harmonic, not arithmetic::

        S = Σ a / Σ (a / S_a)

    parts    [-, -]  of each material: how many parts by mass, and its gravity
    returns  [-]     S, between the least and the greatest gravity
    raises   TooFew when there is no part; OutOfRange for a part below 0 or a gravity outside 0.5 to 12
    source   balance of mass and volume (computed from the formula)

    >>> mixture_gravity([(40, 2.60), (30, 2.65), (20, 2.71), (10, 2.60)])
    2.63632
    """
    amounts = [within(amount, 0.0, float("inf"), of="the parts") for amount, _ in parts]
    gravities = [within(gravity, 0.5, 12.0, of="the gravity of a material") for _, gravity in parts]
    if not sum(amounts):
        raise TooFew("materials", 0, 1)
    return sum(amounts) / sum(amount / gravity for amount, gravity in zip(amounts, gravities, strict=True))


def batch_water(dry: Quantity, solids: float, target: float) -> Quantity:
    """Return the water for a dry batch to reach a target gravity.

    ::

        W = dry·(1 − D/S) / (D − 1)

    dry      [gram]  batch, more than 0
    solids   [-]     S, gravity of the solids
    target   [-]     D, above 1 and below S
    returns  [gram]  W
    raises   NoSlurry; LighterThanSlurry; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> batch_water(grams(1000), 2.6, 1.45)
    <Quantity(982.906, 'gram')>
    """
    fraction = dry_fraction(target, solids)
    return grams(above_zero(dry, "gram", of=_DRY) * (1 - fraction) / fraction)


def batch_gravity(dry: Quantity, water: Quantity, solids: float) -> float:
    """Return the gravity that a dry batch makes with its water.

    ::

        D = (dry + W) / (dry/S + W)

    dry      [gram]  batch, more than 0
    water    [gram]  W, more than 0
    solids   [-]     S, gravity of the solids, 1 to 12
    returns  [-]     D
    raises   OutOfRange; NotThatKind; NotAboveZero
    source   balance of mass and volume (computed from the formula)

    >>> batch_gravity(grams(1000), grams(1000), 2.6)
    1.44444
    """
    d, w = above_zero(dry, "gram", of=_DRY), above_zero(water, "gram", of=_WATER)
    return (d + w) / (d / within(solids, 1.0, 12.0, of=_SOLIDS) + w)


_NOW, _SOLIDS = "the gravity now", "the gravity of the solids"
_MASS, _VOLUME, _WATER, _DRY = "the slurry", "the volume of slurry", "the water", "the dry batch"
