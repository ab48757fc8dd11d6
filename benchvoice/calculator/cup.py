"""The weighed cup: any cup, calibrated with water, gives the gravity of a slurry.

A cup filled with slurry, over the same cup filled with water, is the gravity: the cup's volume need not be
known, and the scale's own error drops out. The method is that of ASTM D1475-13 (2020), 4.1 and 5.2
(seen at source): calibrate the container with water, then weigh the sample in it.

All uncertainties are standard uncertainties (one sigma) and add in quadrature.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from benchvoice.calculator.limits import BelowWater, EmptyCupUnknown, TooFew, TooHeavy
from benchvoice.calculator.quantities import (
    Quantity,
    Weighing,
    above_zero,
    grams,
    magnitude,
    millilitres,
    not_negative,
    within,
)
from benchvoice.calculator.slurry import HIGHEST
from benchvoice.calculator.water import ROOM, water_density

FILLS_AGREE = 0.01
"""Fills of water agree within this part of their mean, or within one scale step (our choice)."""
FILLS_ENOUGH, FILLS_TOO_MANY = 2, 5
"""Ask for at least two fills; after five that disagree, the cup or the mark is at fault (our choice)."""
READINGS_AGREE = 0.01
"""Two readings of one slurry agree within this gravity (common practice, no source)."""
LEAST_SPREAD = 0.002
"""No hand fills a cup to the mark better than this part of it, whatever two fills say (our choice)."""
ONE_FILL_SPREAD = 0.01
"""The spread taken when there was one fill only: a millilitre in a hundred (our choice)."""
FILM = 0.005
"""Water that clings to a rinsed and shaken cup, as a part of its contents (our choice)."""
LEAST_CUP, GREATEST_CUP = 10.0, 5000.0
"""The water a cup may hold [gram]."""


@dataclass(frozen=True, slots=True)
class Cup:
    """A cup that has been filled to its mark with water and weighed."""

    name: str
    """What the potter calls it."""
    water: Quantity
    """The water that it holds to the mark, the mean of all fills [gram]."""
    spread: Quantity
    """How much one fill differs from another: the standard deviation [gram]."""
    fills: int
    """How many fills the mean was taken from."""
    step: Quantity
    """The least change that the scale shows [gram]."""
    tared: bool
    """True when the scale shows nothing with the empty cup on it; False when the cup is in the figure."""
    empty: Quantity | None = None
    """The weight of the empty cup [gram]; None when it was never weighed."""
    wet: bool = False
    """True when "empty" means rinsed and shaken, False when it means dry."""


@dataclass(frozen=True, slots=True)
class Fills:
    """What several fills of a cup with water say."""

    mean: Quantity
    """The mean of the fills [gram]."""
    spread: Quantity
    """Their standard deviation, never below what the hand must be granted [gram]."""
    count: int
    """How many they are."""
    agree: bool
    """True when there are enough and they agree: the cup can be used."""
    another: bool
    """True to ask for one more fill. When neither: five disagree, so mend the mark or change the cup."""
    odd: int | None
    """The fill farthest from the others when they do not agree, counted from 0; it may be misheard."""


@dataclass(frozen=True, slots=True)
class GravityReading:
    """The gravity that a weighed cup gave."""

    gravity: float
    """Specific gravity [-]."""
    uncertainty: float
    """Standard uncertainty of the gravity, all causes together [-]."""
    repeat: float
    """The part of it that differs between weighings [-]; the rest is the cup's, the same each time."""
    net: Quantity
    """The weight of the contents [gram]."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """What two or more readings of one slurry say together."""

    gravity: float
    """Their mean [-]."""
    uncertainty: float
    """Standard uncertainty of the mean [-]."""
    repeat: float
    """The part of it that another round of readings would change [-]."""
    agree: bool
    """True when they lie within READINGS_AGREE of each other."""


# ---- calibrating with water --------------------------------------------------------


def fills_of(fills: Sequence[Quantity], step: Quantity) -> Fills:
    """Return the mean and spread of repeated fills with water, and whether they are good enough.

    ::

        agree:  greatest − least <= the larger of 1 % of the mean and one scale step

    fills    [gram]  water to the mark, the cup's own weight already taken off; 1 or more
    step     [gram]  the least change that the scale shows
    raises   TooFew; OutOfRange for a cup that holds less than 10 or more than 5000 grams; NotThatKind

    >>> fills_of([grams(100.2), grams(100.4)], grams(0.1)).agree
    True
    >>> fills_of([grams(100), grams(107), grams(100)], grams(1)).odd
    1
    """
    nets = [_fill(fill) for fill in fills]
    if not nets:
        raise TooFew("fills", 0, 1)
    s, mean = above_zero(step, "gram", of="the scale's step"), fmean(nets)
    close = max(nets) - min(nets) <= max(FILLS_AGREE * mean, s) * (1 + 1e-9)
    agree = close and len(nets) >= FILLS_ENOUGH
    another = not agree and len(nets) < FILLS_TOO_MANY
    return Fills(grams(mean), grams(_spread(nets)), len(nets), agree, another, None if close else _odd(nets))


def calibrate(
    name: str,
    fills: Sequence[Quantity],
    step: Quantity,
    *,
    tared: bool,
    empty: Quantity | None = None,
    wet: bool = False,
) -> Cup:
    """Return a cup calibrated by one or more fills of water, as the scale showed them.

    fills    [gram]  as shown: with the cup's own weight in it unless it was tared
    step     [gram]  the least change that the scale shows
    empty    [gram]  the empty cup; wanted unless it was tared
    raises   EmptyCupUnknown; and as fills_of

    >>> calibrate("blue", [grams(182), grams(183)], grams(1), tared=False, empty=grams(82)).water
    <Quantity(100.5, 'gram')>
    """
    tare = _tare(name, tared, empty)
    found = fills_of([grams(magnitude(fill, "gram", of=_FILL) - tare) for fill in fills], step)
    return Cup(name, found.mean, found.spread, found.count, step, tared, empty, wet)


def cup_of_volume(name: str, volume: Quantity, step: Quantity, *, temperature: Quantity = ROOM) -> Cup:
    """Return a tared cup from a volume printed on it, not yet checked with water.

    The mark of a kitchen measure is worth about what a single fill is: ONE_FILL_SPREAD.

    >>> cup_of_volume("jug", millilitres(250), grams(1)).water
    <Quantity(249.552, 'gram')>
    """
    water = above_zero(volume, "litre", of="the cup") * water_density(temperature).magnitude
    return calibrate(name, [grams(water)], step, tared=True)


def cup_volume(cup: Cup, temperature: Quantity = ROOM) -> Quantity:
    """Return the volume of a cup to its mark: the mass of water in it over the water's density.

    temperature  [°C]          of the water that it was calibrated with, 0 to 40
    returns      [millilitre]
    source       ASTM D1475-13 (2020), 4.1 (seen at source); density as in water_density

    >>> cup_volume(calibrate("blue", [grams(99.82)], grams(0.01), tared=True))
    <Quantity(100.0, 'millilitre')>
    """
    return millilitres(magnitude(cup.water, "gram") / water_density(temperature).m_as("gram / millilitre"))


def cup_uncertainty(cup: Cup) -> Quantity:
    """Return the standard uncertainty of the water that a cup holds.

    With s the spread, n the fills and d the scale's step, counted twice when the empty cup is taken off::

        u² = s²/n + k·d²/12,  k = 1 tared, 2 not

    >>> cup_uncertainty(calibrate("blue", [grams(100), grams(101)], grams(1), tared=True))
    <Quantity(0.577, 'gram')>
    """
    return grams(math.hypot(_grams(cup.spread) / math.sqrt(cup.fills), _scale(cup)))


def gravity_step(cup: Cup) -> float:
    """Return by how much one step of the scale moves the gravity: 0.01 for 1 gram in a cup of 100.

    >>> gravity_step(calibrate("blue", [grams(100)], grams(1), tared=True))
    0.01
    """
    return _grams(cup.step) / _grams(cup.water)


# ---- weighing a slurry -------------------------------------------------------------


def gravity_of(cup: Cup, shown: Quantity, *, wet: bool | None = None) -> GravityReading:
    """Return the gravity of the slurry in a cup, with its uncertainty.

    With n the net weight, w the cup's water, s the spread of a fill, d the scale's step::

        D = n/w
        (u/D)² = (k·d²/12 + (D·s)²) / n² + (u_w/w)²

    A cup that was empty and dry when calibrated and is wet now (or the other way) is out by the film of
    water in it, so FILM·D is then added to u for a tared cup, and FILM·(D − 1) for one that is not.

    cup      [-]     calibrated
    shown    [gram]  as the scale showed it: with the cup's own weight in it unless the cup is tared
    wet      [-]     whether the cup was rinsed and not dried; None for as it was calibrated
    returns  [-]     gravity, its standard uncertainty, and the net weight
    raises   BelowWater when it weighs less than water and the uncertainty cannot explain it; TooHeavy at a
             gravity of 3 or more; NotThatKind
    source   ratio of two weighings, after ASTM D1475-13 (2020) (computed from the formula)

    >>> cup = calibrate("blue", [grams(100), grams(100)], grams(1), tared=True)
    >>> gravity_of(cup, grams(145))
    GravityReading(gravity=1.45, uncertainty=0.0062, repeat=0.0041, net=<Quantity(145.0, 'gram')>)
    """
    net, water = (
        magnitude(shown, "gram", of=_SHOWN) - _tare(cup.name, cup.tared, cup.empty),
        _grams(cup.water),
    )
    _plausible(cup, net)
    gravity = net / water
    film = FILM * (gravity if cup.tared else abs(gravity - 1)) if wet not in (None, cup.wet) else 0.0
    repeat = math.hypot(_scale(cup), gravity * _grams(cup.spread)) / water
    shared = gravity * _grams(cup_uncertainty(cup)) / water
    return GravityReading(gravity, math.hypot(repeat, shared, film), repeat, grams(net))


def agreement_of(readings: Sequence[GravityReading]) -> Agreement:
    """Return what several readings of one slurry, in one cup, say together.

    The part that differs from weighing to weighing shrinks with their number; the cup's own does not.

    raises   TooFew when there is none

    >>> cup = calibrate("blue", [grams(100), grams(100)], grams(1), tared=True)
    >>> agreement_of([gravity_of(cup, grams(145)), gravity_of(cup, grams(146))])
    Agreement(gravity=1.455, uncertainty=0.0055, repeat=0.0029, agree=True)
    """
    if not readings:
        raise TooFew("readings", 0, 1)
    gravities = [reading.gravity for reading in readings]
    repeat = math.hypot(*(reading.repeat for reading in readings)) / len(readings)
    shared = max(math.sqrt(max(r.uncertainty**2 - r.repeat**2, 0.0)) for r in readings)
    close = max(gravities) - min(gravities) <= READINGS_AGREE * (1 + 1e-9)
    return Agreement(fmean(gravities), math.hypot(repeat, shared), repeat, close)


# ---- checks ------------------------------------------------------------------------


def _plausible(cup: Cup, net: float) -> None:
    """Refuse a weight that no slurry in this cup can have, with the slips that would explain it."""
    water = _grams(cup.water)
    slack = 3 * math.hypot(_grams(cup_uncertainty(cup)), _grams(cup.spread), _scale(cup))
    if net < water - slack:
        raise BelowWater(net, water, _otherwise(cup, net))
    if net >= HIGHEST * water:
        raise TooHeavy(net, HIGHEST * water, _otherwise(cup, net), _likely(net / 10 / water))


def _otherwise(cup: Cup, net: float) -> float | None:
    """Return the gravity if the cup was tared though it should not have been, or was not though it should."""
    if cup.empty is None:
        return None
    empty = _grams(cup.empty)
    return _likely((net - empty if cup.tared else net + empty) / _grams(cup.water))


def _likely(gravity: float) -> float | None:
    """Return the gravity when a slurry may well have it."""
    return gravity if 1 < gravity < 2.2 else None


def _tare(name: str, tared: bool, empty: Quantity | None) -> float:
    """Return what is to be taken off the scale's figure [gram]."""
    if tared:
        return 0.0
    if empty is None:
        raise EmptyCupUnknown(name)
    return not_negative(empty, "gram", of="the empty cup")


def _fill(fill: Quantity) -> float:
    """Return a fill of water in grams, refused when no cup holds so little or so much."""
    return within(magnitude(fill, "gram", of=_FILL), LEAST_CUP, GREATEST_CUP, of=_FILL, unit="grams")


def _spread(nets: Sequence[float]) -> float:
    """Return the standard deviation of the fills [gram], never below what the hand must be granted."""
    return max(stdev(nets), LEAST_SPREAD * fmean(nets)) if len(nets) > 1 else ONE_FILL_SPREAD * nets[0]


def _odd(nets: Sequence[float]) -> int | None:
    """Return the place of the fill farthest from the middle one; None when there are only two."""
    middle = sorted(nets)[len(nets) // 2]
    return max(range(len(nets)), key=lambda place: abs(nets[place] - middle)) if len(nets) > 2 else None


def _scale(cup: Cup) -> float:
    """Return the standard uncertainty that the scale leaves in a net weight [gram]."""
    readings = 1 if cup.tared else 2
    return math.sqrt(readings) * _grams(Weighing(cup.water, cup.step).uncertainty)


def _grams(mass: Quantity) -> float:
    """Return a mass in grams."""
    return magnitude(mass, "gram")


_FILL, _SHOWN = "the water in the cup", "the slurry in the cup"
