"""How the gravity of one bucket changes while it stands, the water it lost, and when to look again.

Times are handed in and carry their zone. A clock that was set back leaves readings that seem to run
backwards: only the readings since then are used, and that is said. All of it is this bucket's own history.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import combinations, pairwise
from statistics import median

from benchvoice.calculator.limits import Refusal, TooFew
from benchvoice.calculator.quantities import Quantity, within
from benchvoice.calculator.slurry import slurry_gravity, water_to_add

WEEK = timedelta(weeks=1)
LEAST_SPAN = timedelta(days=1)
"""Readings closer together than this show the scale, not the bucket (common practice)."""
SOONEST, LATEST = timedelta(days=1), timedelta(weeks=4)
"""A bucket at rest is looked at no sooner and no later (common practice, no source)."""
UNKNOWN_WAIT = timedelta(weeks=1)
"""The wait for a bucket whose drift is not known yet (common practice, no source)."""
READING_SPREAD = 0.005
"""Standard uncertainty of one gravity where the reading does not say: ±0.01 from a 1 gram scale [-]."""


@dataclass(eq=False)
class NoTimeZone(Refusal):
    """A time without a zone cannot be set against another."""

    wanted_got = "A time with its zone is wanted; got {got}."
    mend = "Give the time in UTC."

    got: str


@dataclass(eq=False)
class TooClose(Refusal):
    """Readings within a day say nothing of a drift."""

    wanted_got = "Readings at least a day apart are wanted; got {hours:.3g} hours."
    mend = "Read it again tomorrow."

    hours: float


@dataclass(eq=False)
class GravityFell(Refusal):
    """A gravity that fell was not changed by water lost."""

    wanted_got = "A gravity that rose from {before:g} is wanted for water lost; got {now:g}."
    mend = "Stir to the bottom and read it again; or was water added?"

    before: float
    now: float


@dataclass(frozen=True, slots=True)
class GravityReading:
    """A gravity of one bucket."""

    at: datetime
    """When, with its zone."""
    gravity: float
    """Read [-]."""
    spread: float = READING_SPREAD
    """Its standard uncertainty [-]."""


@dataclass(frozen=True, slots=True)
class Drift:
    """How the gravity of a bucket runs."""

    per_week: float
    """Change of gravity in a week [1/week]; above 0 when it dries."""
    spread: float
    """Standard uncertainty of that [1/week]."""
    count: int
    """Readings that were used."""
    last: GravityReading
    clock_set_back: bool
    """True when the clock was set back among the readings: those before were left out."""


@dataclass(frozen=True, slots=True)
class Expected:
    """A gravity that is to be expected."""

    gravity: float
    spread: float
    """Standard uncertainty [-]."""
    clock_set_back: bool
    """True when the time asked for lies before the last reading: no time is taken to have passed."""


class Why(StrEnum):
    """Why a bucket is to be looked at then."""

    OFF_TARGET = "off target"  # it is outside already: now
    DRIFT = "drift"  # it may leave its target by then
    UNKNOWN = "unknown"  # its drift is not known yet: the next reading will tell
    USUAL = "usual"  # nothing presses: the usual longest wait


@dataclass(frozen=True, slots=True)
class LookAgain:
    """When to look at a bucket again."""

    at: datetime
    why: Why
    clock_set_back: bool
    """True when now lies before the last reading."""


def gravity_drift(readings: Sequence[GravityReading]) -> Drift:
    """Return how fast a bucket's gravity changes, from readings in the order they were written down.

    ::

        b = median over all pairs of (Dⱼ - Dᵢ)/(tⱼ - tᵢ)
        u(b) = max(u_reading, rms of D - b·t about its middle) / √Σ(t - t̄)²

    readings  two or more, a day or more apart; only since the last water or additive, or that shows as drift
    returns   [1/week]  with its standard uncertainty; whether the clock was set back among them
    raises    TooFew; TooClose; NoTimeZone; NoSlurry
    source    Theil-Sen slope, P. K. Sen, J. Am. Stat. Assoc. 63, 1968, 1379-1389 (from memory): one misread
              cup among several does not turn it

    >>> from datetime import UTC
    >>> days = [datetime(2024, 5, d, tzinfo=UTC) for d in (1, 8, 15)]
    >>> drift = gravity_drift([GravityReading(d, g) for d, g in zip(days, (1.45, 1.46, 1.47))])
    >>> round(drift.per_week, 4)
    0.01
    """
    for reading in readings:
        _checked(reading)
    used = _since_clock_set_back(readings)
    if len(used) < 2:
        raise TooFew("gravity readings", len(used), 2)
    weeks = [(reading.at - used[0].at) / WEEK for reading in used]
    if weeks[-1] * WEEK < LEAST_SPAN:
        raise TooClose(weeks[-1] * WEEK / timedelta(hours=1))
    points = list(zip(weeks, (reading.gravity for reading in used), strict=True))
    slope = median((g2 - g1) / (t2 - t1) for (t1, g1), (t2, g2) in combinations(points, 2) if t2 > t1)
    spread = max(_scatter(points, slope), _reading_spread(used)) / _lever(weeks)
    return Drift(slope, spread, len(used), used[-1], len(used) < len(readings))


def _checked(reading: GravityReading) -> None:
    _aware(reading.at)
    slurry_gravity(reading.gravity, of="the gravity")
    within(reading.spread, 0, 0.2, of="the gravity's uncertainty")


def _aware(at: datetime) -> datetime:
    if at.utcoffset() is None:
        raise NoTimeZone(at.isoformat())
    return at


def _since_clock_set_back(readings: Sequence[GravityReading]) -> Sequence[GravityReading]:
    """Return the readings after the last step back in time."""
    backs = [i for i, (a, b) in enumerate(pairwise(readings), start=1) if b.at < a.at]
    return readings[backs[-1] :] if backs else readings


def _scatter(points: Sequence[tuple[float, float]], slope: float) -> float:
    """Return the root mean square of what the line leaves; two points leave nothing."""
    rest = [g - slope * t for t, g in points]
    middle = median(rest)
    return math.sqrt(sum((r - middle) ** 2 for r in rest) / max(1, len(rest) - 2))


def _reading_spread(used: Sequence[GravityReading]) -> float:
    return math.sqrt(sum(reading.spread**2 for reading in used) / len(used))


def _lever(weeks: Sequence[float]) -> float:
    mean = sum(weeks) / len(weeks)
    return math.sqrt(sum((t - mean) ** 2 for t in weeks))


def expected_gravity(drift: Drift, at: datetime) -> Expected:
    """Return the gravity to expect at a time: the last reading and the drift since.

    ::

        D(t) = D_last + b·Δt,   u = √(u_last² + (u(b)·Δt)²)

    at       with its zone; before the last reading no time is taken to have passed, and that is said
    returns  [-]

    >>> from datetime import UTC
    >>> last = GravityReading(datetime(2024, 5, 15, tzinfo=UTC), 1.47)
    >>> expected_gravity(Drift(0.01, 0.002, 3, last, False), datetime(2024, 5, 29, tzinfo=UTC)).gravity
    1.49
    """
    weeks = (_aware(at) - drift.last.at) / WEEK
    passed = max(0.0, weeks)
    spread = math.hypot(drift.last.spread, drift.spread * passed)
    return Expected(drift.last.gravity + drift.per_week * passed, spread, weeks < 0)


def water_lost_between(mass: Quantity, before: float, now: float) -> Quantity:
    """Return the water that a bucket lost, from what it weighs now and its gravity before and now.

    mass     [gram]  of the slurry now
    before   [-]     gravity before
    now      [-]     gravity now, not below it
    returns  [gram]  the water that, put back, brings it down again
    raises   GravityFell; NoSlurry; NotAboveZero
    source   balance of mass and volume (computed from the formula), see ``slurry.water_to_add``

    >>> from benchvoice.calculator.quantities import grams
    >>> water_lost_between(grams(9900), 1.45, 1.456621)
    <Quantity(100.0, 'gram')>
    """
    if now < before:
        raise GravityFell(before, now)
    return water_to_add(mass, now, before)


def look_again(drift: Drift | None, low: float, high: float, now: datetime) -> LookAgain:
    """Return when to look at a bucket again: before it may have left its target.

    The drift is taken two standard uncertainties fast, towards the end of the target that it runs to. Never
    sooner than a day, never later than four weeks; at once when it is outside already.

    drift    None when it is not known yet: then a week
    low      [-]  end of the target
    high     [-]  end of the target
    now      with its zone
    source   common practice, no source

    >>> from datetime import UTC
    >>> last = GravityReading(datetime(2024, 5, 15, tzinfo=UTC), 1.45)
    >>> look_again(Drift(0.01, 0.0, 3, last, False), 1.44, 1.47, last.at).at.day
    29
    """
    if drift is None:
        return LookAgain(_aware(now) + UNKNOWN_WAIT, Why.UNKNOWN, False)
    expected = expected_gravity(drift, now)
    if not low <= expected.gravity <= high:
        return LookAgain(now, Why.OFF_TARGET, expected.clock_set_back)
    wait = _weeks_inside(drift, expected.gravity, low, high) * WEEK
    why = Why.USUAL if wait >= LATEST else Why.DRIFT
    return LookAgain(now + min(max(wait, SOONEST), LATEST), why, expected.clock_set_back)


def _weeks_inside(drift: Drift, gravity: float, low: float, high: float) -> float:
    """Return the weeks until the fastest rise or fall that the readings allow leaves the target."""
    rise, fall = drift.per_week + 2 * drift.spread, 2 * drift.spread - drift.per_week
    longest = LATEST / WEEK
    up = (high - gravity) / rise if rise > 0 else longest
    down = (gravity - low) / fall if fall > 0 else longest
    return min(up, down, longest)
