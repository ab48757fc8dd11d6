"""How much slurry is in the bucket, when the potter knows its litres, its weight or its size.

What is known of a bucket is a weight and the two bounds between which it lies with 95 % chance. The bounds
matter more than the weight: water is only ever added for the smallest bucket that it may be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchvoice.calculator.limits import LiesAbove
from benchvoice.calculator.quantities import (
    Quantity,
    Weighing,
    above_zero,
    centimetres,
    grams,
    litres,
    magnitude,
    not_negative,
    within,
)
from benchvoice.calculator.slurry import slurry_gravity

GUESSED, MARKED, MEASURED = 0.15, 0.05, 0.03
"""How far a volume is out, as a part of it: guessed by eye, read from a mark, from a tape (our choice)."""


@dataclass(frozen=True, slots=True)
class Contents:
    """How much slurry is in the bucket, and between what bounds."""

    mass: Quantity
    """The likeliest mass [gram]."""
    low: Quantity
    """It is hardly less than this (97.5 % chance) [gram]."""
    high: Quantity
    """It is hardly more than this (97.5 % chance) [gram]."""

    @property
    def uncertainty(self) -> Quantity:
        """A quarter of the way between the bounds: the standard uncertainty of the mass [gram]."""
        return grams((magnitude(self.high, "gram") - magnitude(self.low, "gram")) / 4)


def contents(mass: Quantity, spread: float) -> Contents:
    """Return the contents of a bucket from its mass and how far that may be out.

    The bounds are m·exp(±2s): a guess is wrong by a factor, and a bucket never holds less than nothing.

    mass    [gram]  more than 0
    spread  [-]     s, standard uncertainty as a part of the mass, 0 to 1
    raises  NotAboveZero; OutOfRange; NotThatKind

    >>> contents(grams(10000), 0.1).low
    <Quantity(8187.3, 'gram')>
    """
    m, s = above_zero(mass, "gram", of=_MASS), within(spread, 0.0, 1.0, of="the spread")
    return Contents(grams(m), grams(m * math.exp(-2 * s)), grams(m * math.exp(2 * s)))


def contents_of_volume(volume: Quantity, gravity: float, spread: float) -> Contents:
    """Return the contents of a bucket from the volume of slurry in it: m = V·D.

    volume   [litre]  more than 0
    gravity  [-]      D, above 1
    spread   [-]      how far the volume may be out: GUESSED, MARKED, MEASURED or another part of it
    raises   NoSlurry; NotAboveZero; OutOfRange; NotThatKind

    >>> contents_of_volume(litres(10), 1.45, GUESSED).mass
    <Quantity(14500.0, 'gram')>
    """
    v = above_zero(volume, "millilitre", of=_VOLUME)
    return contents(grams(v * slurry_gravity(gravity, of="the gravity now")), spread)


def contents_of_weight(full: Quantity, empty: Quantity, step: Quantity) -> Contents:
    """Return the contents of a bucket that was weighed: full less empty, each good to the scale's step.

    full    [gram]  the bucket with its slurry
    empty   [gram]  the bucket alone, less than full; 0 when the scale was set to nothing with it on
    step    [gram]  the least change that the scale shows
    raises  LiesAbove when the empty bucket weighs as much; NotAboveZero; BelowZero; NotThatKind

    >>> contents_of_weight(grams(9120), grams(620), grams(10)).mass
    <Quantity(8500.0, 'gram')>
    """
    f, e = above_zero(full, "gram", of=_FULL), not_negative(empty, "gram", of=_EMPTY)
    if e >= f:
        raise LiesAbove(_FULL, f, _EMPTY, e, "gram")
    scale = magnitude(Weighing(full, step).uncertainty, "gram")
    return contents(grams(f - e), min(math.hypot(scale, scale if e else 0.0) / (f - e), 1.0))


# ---- from its size -----------------------------------------------------------------


def cylinder(diameter: Quantity, depth: Quantity) -> Quantity:
    """Return the volume of slurry in a bucket with upright sides: V = π/4·d²·h.

    diameter  [centimetre]  d, inside, more than 0
    depth     [centimetre]  h, of the slurry, more than 0
    returns   [litre]
    raises    NotAboveZero; NotThatKind

    >>> cylinder(centimetres(28), centimetres(20))
    <Quantity(12.315, 'litre')>
    """
    return frustum(diameter, diameter, depth)


def frustum(bottom: Quantity, surface: Quantity, depth: Quantity) -> Quantity:
    """Return the volume of slurry in a tapered bucket.

    ::

        V = π/12·h·(a² + a·b + b²)

    bottom   [centimetre]  a, inside diameter at the bottom, more than 0
    surface  [centimetre]  b, inside diameter at the surface of the slurry, more than 0
    depth    [centimetre]  h, of the slurry, more than 0
    returns  [litre]
    raises   NotAboveZero; NotThatKind
    source   volume of the frustum of a cone (computed from the formula)

    >>> frustum(centimetres(24), centimetres(28), centimetres(20))
    <Quantity(10.639, 'litre')>
    """
    a, b = above_zero(bottom, _CM, of=_BOTTOM), above_zero(surface, _CM, of="the diameter at the surface")
    h = above_zero(depth, _CM, of=_DEPTH)
    return litres(math.pi / 12 * h * (a * a + a * b + b * b) / 1000)


def surface_diameter(bottom: Quantity, rim: Quantity, height: Quantity, depth: Quantity) -> Quantity:
    """Return the inside diameter at the surface of the slurry, from those at the bottom and at the rim.

    ::

        b = a + (r − a)·h/H

    bottom   [centimetre]  a
    rim      [centimetre]  r
    height   [centimetre]  H, of the bucket inside
    depth    [centimetre]  h, of the slurry, not above H
    raises   LiesAbove when the slurry stands above the rim; NotAboveZero; NotThatKind

    >>> surface_diameter(centimetres(24), centimetres(30), centimetres(30), centimetres(20))
    <Quantity(28.0, 'centimetre')>
    """
    a, r = above_zero(bottom, _CM, of=_BOTTOM), above_zero(rim, _CM, of="the diameter at the rim")
    full, h = above_zero(height, _CM, of=_HEIGHT), above_zero(depth, _CM, of=_DEPTH)
    if h > full:
        raise LiesAbove(_HEIGHT, full, _DEPTH, h, _CM)
    return centimetres(a + (r - a) * h / full)


_CM = "centimetre"
_MASS, _VOLUME = "the slurry in the bucket", "the volume of slurry"
_FULL, _EMPTY = "the full bucket", "the empty bucket"
_BOTTOM, _DEPTH, _HEIGHT = "the diameter at the bottom", "the depth of slurry", "the height of the bucket"
