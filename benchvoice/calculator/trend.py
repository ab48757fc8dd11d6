"""How a bucket's gravity runs while it stands, learned over many standings with water added between them.

``drift.gravity_drift`` takes one standing. At the bench most standings have two readings only: the last one
before the lid went on and the first one after. Here all of them together give one slope.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import timedelta
from itertools import combinations, pairwise
from statistics import median

from benchvoice.calculator.drift import LEAST_SPAN, WEEK, Drift, GravityReading, NoTimeZone, TooClose
from benchvoice.calculator.limits import TooFew
from benchvoice.calculator.quantities import within
from benchvoice.calculator.slurry import slurry_gravity

Run = Sequence[GravityReading]
"""Readings of one standing: nothing was added and nothing taken off between them."""


def gravity_trend(runs: Sequence[Run]) -> Drift:
    """Return how fast a bucket's gravity changes while it stands, from all its standings.

    ::

        b = median over all pairs within one run, a day or more apart, of (Dⱼ - Dᵢ)/(tⱼ - tᵢ)
        u(b) = max(u_reading, rms of D - b·t about each run's mean) / √Σ_runs Σ(t - t̄_run)²

    runs     each [readings in the order written down]; two readings a day apart in at least one of them
    returns  [1/week]  with its standard uncertainty; whether the clock was set back among the readings
    raises   TooFew; TooClose; NoTimeZone; NoSlurry
    limits   holds for a bucket that is kept in the same manner; a lid left off once is one pair among several
    source   Sen's slope over pairs within blocks: R. M. Hirsch, J. R. Slack, R. A. Smith, Water Resour. Res.
             18, 1982, 107-121 (from memory); the uncertainty is that of one slope in all runs (computed)

    >>> from datetime import UTC, datetime
    >>> days = [datetime(2024, 5, d, tzinfo=UTC) for d in (1, 8, 15)]
    >>> first = [GravityReading(days[0], 1.44), GravityReading(days[1], 1.45)]
    >>> second = [GravityReading(days[1], 1.41), GravityReading(days[2], 1.42)]
    >>> round(gravity_trend([first, second]).per_week, 4)
    0.01
    """
    written = [_checked(reading) for run in runs for reading in run]
    if len(written) < 2:
        raise TooFew("gravity readings", len(written), 2)
    used = _since_clock_set_back(runs)
    slopes = [slope for run in used for slope in _slopes(run)]
    if not slopes:
        raise TooClose(max((_span(run) for run in used), default=timedelta()) / timedelta(hours=1))
    slope = median(slopes)
    count = sum(len(run) for run in used)
    spread = max(_scatter(used, slope), _reading_spread(used)) / _lever(used)
    return Drift(slope, spread, count, used[-1][-1], count < len(written))


def _checked(reading: GravityReading) -> GravityReading:
    if reading.at.utcoffset() is None:
        raise NoTimeZone(reading.at.isoformat())
    slurry_gravity(reading.gravity, of="the gravity")
    within(reading.spread, 0, 0.2, of="the gravity's uncertainty")
    return reading


def _since_clock_set_back(runs: Sequence[Run]) -> list[Run]:
    """Return the runs after the last step back in time, without the empty ones."""
    written = [reading for run in runs for reading in run]
    backs = [place for place, (a, b) in enumerate(pairwise(written), start=1) if b.at < a.at]
    left_out = backs[-1] if backs else 0
    kept: list[Run] = []
    for run in runs:
        kept.append(run[max(left_out, 0) :])
        left_out -= len(run)
    return [run for run in kept if run]


def _slopes(run: Run) -> list[float]:
    return [
        (b.gravity - a.gravity) / ((b.at - a.at) / WEEK)
        for a, b in combinations(run, 2)
        if b.at - a.at >= LEAST_SPAN
    ]


def _span(run: Run) -> timedelta:
    return run[-1].at - run[0].at


def _weeks(run: Run) -> list[float]:
    return [(reading.at - run[0].at) / WEEK for reading in run]


def _scatter(runs: Sequence[Run], slope: float) -> float:
    """Return the root mean square of what one slope leaves of all runs; one run of two leaves nothing."""
    squares = sum(_left(run, slope) for run in runs)
    return math.sqrt(squares / max(1, sum(len(run) - 1 for run in runs) - 1))


def _left(run: Run, slope: float) -> float:
    rest = [reading.gravity - slope * t for reading, t in zip(run, _weeks(run), strict=True)]
    middle = sum(rest) / len(rest)
    return sum((r - middle) ** 2 for r in rest)


def _reading_spread(runs: Sequence[Run]) -> float:
    spreads = [reading.spread for run in runs for reading in run]
    return math.sqrt(sum(spread**2 for spread in spreads) / len(spreads))


def _lever(runs: Sequence[Run]) -> float:
    return math.sqrt(sum((t - _mean(run)) ** 2 for run in runs for t in _weeks(run)))


def _mean(run: Run) -> float:
    return sum(_weeks(run)) / len(run)
