"""The bucket found out from its readings: how far the gravity falls tells how much slurry there is.

Nobody needs to know the litres. The first reading and the first water give a rough figure, and each round of
water, stirring and weighing makes it better::

    D_i = 1 + (D_0 − 1) / (1 + W_i/V)

with V the volume at the start, D_0 its gravity then, W_i all the water added up to reading i. For every V the
best D_0 follows by weighted least squares; V itself is weighed over the whole range of buckets, so that its
bounds are right even when the readings hardly tell one bucket from another, and with what the potter guessed
beforehand as one more reading. Every volume is as likely as its double before anything is known.

The readings should come from one cup: an error of the cup itself is then the same in all, and nearly drops
out.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from statistics import fmean

from benchvoice.calculator.bucket import Contents
from benchvoice.calculator.limits import NotAboveZero, OneWater, TooFew, TooUnsure
from benchvoice.calculator.quantities import Quantity, above_zero, finite, grams, litres, magnitude, within
from benchvoice.calculator.slurry import slurry_gravity, water_to_add_by_volume

SMALLEST, GREATEST = 200.0, 500_000.0
"""The buckets that are thought of [millilitre of slurry]."""
TOLD = 3.0
"""The bucket counts as told when its bounds are within this factor of each other (our choice)."""
TELLING = 5.0
"""A fall tells the bucket when it is this many times its own standard uncertainty: see TOLD."""


@dataclass(frozen=True, slots=True)
class BucketReading:
    """A gravity, and all the water that had gone into the bucket by then."""

    water: Quantity
    """Water added since the first reading, less what was taken off [gram]; 0 at the first."""
    gravity: float
    """The gravity read [-]."""
    uncertainty: float
    """Its standard uncertainty, the part that differs from reading to reading [-]."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What the potter thought of the bucket before any water went in."""

    volume: Quantity
    """Slurry at the first reading [litre]."""
    spread: float
    """How far that may be out, as a part of it: one standard uncertainty."""


@dataclass(frozen=True, slots=True)
class InferredBucket:
    """What the readings say of the bucket as it stands after the last of them."""

    contents: Contents
    """Its mass now, with bounds. When not `told`, only the lower bound is worth anything."""
    gravity: float
    """The gravity now that fits all readings best [-]."""
    told: bool
    """True when the bounds are close enough to reckon with."""
    fits: bool
    """False when no bucket fits: something was spilt, misheard, or not stirred in."""
    fall: float
    """By how much the gravity differed between readings [-]."""
    noise: float
    """The standard uncertainty of such a difference [-]: not `told` when the fall is not well above it."""


@dataclass(frozen=True, slots=True)
class TrialAddition:
    """The first water for a bucket of which nothing is known."""

    water: Quantity
    """How much to add [gram]."""
    tells_up_to: Quantity
    """The greatest volume of slurry that the fall will tell [litre]; 0 when it tells none."""


def infer_bucket(readings: Sequence[BucketReading], guess: Guess | None = None) -> InferredBucket:
    """Return the bucket that fits its readings best, with the bounds they leave.

    readings  [-]  two or more with different water, in the order taken; or one or more with a guess
    guess     [-]  what was thought beforehand; None when nothing was
    raises    TooFew; OneWater; NoSlurry; NotAboveZero; NotThatKind; MoreThanThereIs
    limits    0.2 to 500 litres; nothing but water went in or out between the readings
    source    balance of mass and volume; weighted least squares (computed from the formula)

    >>> before, after = BucketReading(grams(0), 1.50, 0.001), BucketReading(grams(1000), 1.45, 0.001)
    >>> infer_bucket([before, after]).contents.mass
    <Quantity(14500.0, 'gram')>
    """
    fit = _fit(readings, guess)
    bounds = _bounds(fit)
    fits = fit.misfit(bounds.best) <= usual_misfit(len(readings) - (2 if guess is None else 1))
    told = fits and bounds.enclose and fit.mass(bounds.high) <= TOLD * fit.mass(bounds.low)
    best = bounds.best if told else bounds.middle
    return InferredBucket(
        Contents(*(grams(fit.mass(x)) for x in (best, bounds.low, bounds.high))),
        fit.gravity(best),
        told,
        fits,
        fall=max(point.excess for point in fit.points) - min(point.excess for point in fit.points),
        noise=math.sqrt(2 * fmean(1 / point.weight for point in fit.points)),
    )


def trial_addition(
    smallest: Quantity, now: float, uncertainty: float, low: float, high: float
) -> TrialAddition:
    """Return the first water for a bucket of which only a rough smallest size is known.

    It brings even that bucket, at the thinnest that its reading allows, no further than the target; how much
    of a fall it makes in a greater one tells how great it is::

        W = V·(D − 2u − T)/(T − 1),  T the high gravity of the target, or the low one when D − 2u is below it
        tells up to V = W·((D − 1)/f − 1),  f = 5·√2·u

    smallest     [litre]  V, the least slurry that there may be, more than 0
    now          [-]      D, the gravity read
    uncertainty  [-]      u, standard uncertainty of D, more than 0
    low, high    [-]      the target
    raises       TooUnsure when D − 2u is not above the low gravity; NoSlurry; NotAboveZero; NotThatKind
    source       balance of mass and volume (computed from the formula)

    >>> trial_addition(litres(2), 1.52, 0.004, 1.42, 1.44)
    TrialAddition(water=<Quantity(327.3, 'gram')>, tells_up_to=<Quantity(5.6, 'litre')>)
    """
    u = _above_zero(uncertainty, "the uncertainty")
    thinnest = slurry_gravity(now, of="the gravity now") - 2 * u
    if thinnest <= slurry_gravity(low, of="the target"):
        raise TooUnsure(now, u, low)
    water = water_to_add_by_volume(smallest, thinnest, high if thinnest > high else low).m_as("millilitre")
    return TrialAddition(
        grams(water), litres(max(water * ((now - 1) / (TELLING * math.sqrt(2) * u) - 1), 0) / 1000)
    )


# ---- the fit -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Point:
    """A reading as bare numbers."""

    water: float  # gram
    excess: float  # gravity less 1
    weight: float  # one over the square of the gravity's standard uncertainty


@dataclass(frozen=True, slots=True)
class _Fit:
    """The readings and the guess; x is the logarithm of the volume at the start in millilitres."""

    points: tuple[_Point, ...]
    guess: tuple[float, float] | None  # x and its standard uncertainty

    def sums(self, x: float) -> tuple[float, float, float]:
        """Return Σ g²/u², Σ g·y/u² and Σ y²/u², with y the excess and g what water left of it."""
        volume, gg, gy, yy = math.exp(x), 0.0, 0.0, 0.0
        for point in self.points:
            left = volume / (volume + point.water)
            gg += left * left * point.weight
            gy += left * point.excess * point.weight
            yy += point.excess * point.excess * point.weight
        return gg, gy, yy

    def misfit(self, x: float) -> float:
        """Return the squared distances of the readings, and of the guess, in standard uncertainties."""
        gg, gy, yy = self.sums(x)
        return yy - gy * gy / gg + self.surprise(x)

    def badness(self, x: float) -> float:
        """Return −2 times the logarithm of the probability of this volume, for any gravity at the start."""
        gg, gy, yy = self.sums(x)
        return yy - gy * gy / gg + math.log(gg) + self.surprise(x)

    def surprise(self, x: float) -> float:
        """Return the squared distance of the guess in its standard uncertainty; 0 when there is none."""
        return ((x - self.guess[0]) / self.guess[1]) ** 2 if self.guess else 0.0

    def start(self, x: float) -> float:
        """Return the excess at the start that fits best for this volume: weighted least squares."""
        gg, gy, _ = self.sums(x)
        return gy / gg

    def mass(self, x: float) -> float:
        """Return the mass after the last reading [gram]."""
        return math.exp(x) * (1 + self.start(x)) + self.points[-1].water

    def gravity(self, x: float) -> float:
        """Return the gravity after the last reading."""
        return 1 + self.start(x) * math.exp(x) / (math.exp(x) + self.points[-1].water)


@dataclass(frozen=True, slots=True)
class _Bounds:
    """Where the logarithm of the volume lies."""

    low: float
    best: float
    middle: float
    high: float

    @property
    def enclose(self) -> bool:
        """True when the best lies between the bounds, not at the end of all buckets."""
        return self.low < self.best < self.high


def _fit(readings: Sequence[BucketReading], guess: Guess | None) -> _Fit:
    """Return the readings as numbers, refused when they cannot tell a bucket."""
    if len(readings) < (2 if guess is None else 1):
        raise TooFew("readings", len(readings), 2 if guess is None else 1)
    points = tuple(_point(reading) for reading in readings)
    if guess is None and len({point.water for point in points}) == 1:
        raise OneWater(len(points))
    return _Fit(points, None if guess is None else _guess(guess))


def _point(reading: BucketReading) -> _Point:
    """Return a reading as bare numbers."""
    return _Point(
        magnitude(reading.water, "gram", of="the water added"),
        slurry_gravity(reading.gravity, of="the gravity read") - 1,
        1 / _above_zero(reading.uncertainty, "the uncertainty") ** 2,
    )


def _guess(guess: Guess) -> tuple[float, float]:
    """Return the guess as a logarithm and its spread."""
    volume = above_zero(guess.volume, "millilitre", of="the guessed volume")
    return math.log(
        within(volume, SMALLEST, GREATEST, of="the guessed volume", unit="millilitre")
    ), _above_zero(guess.spread, "the spread")


def _above_zero(value: float, of: str) -> float:
    """Return a plain number that must be more than nothing."""
    if finite(value, of=of) <= 0:
        raise NotAboveZero(of, value, "")
    return value


def _bounds(fit: _Fit) -> _Bounds:
    """Return the best volume and the bounds that hold 95 % of the probability."""
    taken = -min(point.water for point in fit.points)
    low, high = math.log(max(SMALLEST, 1.05 * taken)), math.log(GREATEST)
    for _ in range(4):
        low, high = _closer(fit.badness, low, high)
    sums, spots = _heaped(fit.badness, low, high)
    tail, middle, head = (_spot(sums, spots, part) for part in (0.025, 0.5, 0.975))
    return _Bounds(tail, _least(fit.misfit, low, high), middle, head)


def _closer(badness: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Return the part of a range outside which nothing is likely."""
    spots = _spots(low, high, 50)
    bad = [badness(spot) for spot in spots]
    likely = [place for place, value in enumerate(bad) if value < min(bad) + 40]
    return spots[max(likely[0] - 1, 0)], spots[min(likely[-1] + 1, len(spots) - 1)]


def _heaped(badness: Callable[[float], float], low: float, high: float) -> tuple[list[float], list[float]]:
    """Return the probability up to each spot of a range (not scaled), and the spots."""
    spots = _spots(low, high, 150)
    bad = [badness(spot) for spot in spots]
    weights = [math.exp((min(bad) - value) / 2) for value in bad]
    return list(accumulate((a + b) / 2 for a, b in zip([0.0, *weights], weights, strict=False))), spots


def _spot(sums: Sequence[float], spots: Sequence[float], part: float) -> float:
    """Return where the probability up to a spot reaches a part of the whole."""
    wanted = part * sums[-1]
    place = max(bisect_left(sums, wanted), 1)
    along = (wanted - sums[place - 1]) / (sums[place] - sums[place - 1])
    return spots[place - 1] + along * (spots[place] - spots[place - 1])


def _least(badness: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function with one dip is least, by golden section."""
    for _ in range(40):
        left, right = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        low, high = (low, right) if badness(left) < badness(right) else (left, high)
    return (low + high) / 2


def _spots(low: float, high: float, steps: int) -> list[float]:
    """Return evenly spaced spots from low to high."""
    return [low + (high - low) * step / steps for step in range(steps + 1)]


def usual_misfit(freedom: int) -> float:
    """Return what the squared distances of 99 in 100 honest sets of readings stay below (chi squared).

    With k the readings beyond those that a fit needs, at least 1::

        q = k·(1 − 2/(9k) + 2.326·√(2/(9k)))³

    freedom  [-]  k; 0 counts as 1
    returns  [-]
    limits   within 1 % of the exact figure
    source   E. B. Wilson, M. M. Hilferty, PNAS 17 (1931) 684-688 (from memory)

    >>> usual_misfit(3)
    11.3
    """
    k = max(freedom, 1)
    return k * (1 - 2 / (9 * k) + 2.326 * math.sqrt(2 / (9 * k))) ** 3


_GOLDEN = (math.sqrt(5) - 1) / 2
