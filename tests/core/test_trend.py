"""A bucket's drift over many standings: against other programs' sums, and where it is refused."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import linregress, theilslopes

from benchvoice.calculator.drift import GravityReading, NoTimeZone, TooClose, gravity_drift
from benchvoice.calculator.limits import NoSlurry, OutOfRange, TooFew
from benchvoice.calculator.trend import gravity_trend

START = datetime(2026, 1, 5, 9, tzinfo=UTC)
WEEK = timedelta(weeks=1)


def run(*pairs, spread=0.005):
    """Return one run of readings from (weeks since the start, gravity)."""
    return [GravityReading(START + weeks * WEEK, gravity, spread) for weeks, gravity in pairs]


RUNS = [
    [(0, 1.430), (4, 1.452), (9, 1.476)],
    [(9.01, 1.441), (16, 1.470)],
    [(16.01, 1.412), (20, 1.437), (22, 1.446), (25, 1.459)],
]


@given(
    st.lists(st.integers(0, 60), min_size=2, max_size=9, unique=True),
    st.lists(st.floats(1.2, 1.7), min_size=9, max_size=9),
)
def test_one_run_has_the_slope_that_scipy_finds(days, gravities):
    """For a single standing the slope is that of scipy.stats.theilslopes (reference library)."""
    weeks = [day / 7 for day in sorted(days)]
    gravities = gravities[: len(weeks)]
    found = gravity_trend([run(*zip(weeks, gravities, strict=True))])
    assert found.per_week == pytest.approx(theilslopes(gravities, weeks).slope, abs=1e-9)


def test_several_runs_have_the_slope_of_seasonal_blocks():
    """The median over pairs within runs, counted again with numpy: Hirsch et al. 1982 (from memory)."""
    slopes = []
    for pairs in RUNS:
        t, g = numpy.array(pairs).T
        rise, wait = g[None, :] - g[:, None], t[None, :] - t[:, None]
        slopes.extend((rise / numpy.where(wait > 0, wait, 1))[wait >= 1 / 7])
    assert gravity_trend([run(*pairs) for pairs in RUNS]).per_week == pytest.approx(numpy.median(slopes))


@given(st.floats(-0.02, 0.02), st.lists(st.floats(1.3, 1.6), min_size=1, max_size=5))
def test_a_common_slope_is_found_whatever_the_water_in_between(slope, levels):
    """Runs on parallel lines give their slope; least squares with one level each (numpy) gives the same."""
    runs = [[(5 * n + t, level + slope * t) for t in (0, 1, 3)] for n, level in enumerate(levels)]
    rows = [
        (t, *(1.0 if n == m else 0.0 for m in range(len(runs)))) for n, r in enumerate(runs) for t, _ in r
    ]
    solved = numpy.linalg.lstsq(numpy.array(rows), numpy.array([g for r in runs for _, g in r]), rcond=None)
    found = gravity_trend([run(*pairs) for pairs in runs])
    assert found.per_week == pytest.approx(slope, abs=1e-9)
    assert found.per_week == pytest.approx(float(solved[0][0]), abs=1e-9)


@pytest.mark.parametrize("gravities", [(1.402, 1.398, 1.402, 1.398, 1.402), (1.400, 1.406, 1.400)])
def test_the_uncertainty_is_that_of_least_squares_where_both_lines_are_one(gravities):
    """Readings scattered evenly about a line: scipy's linregress has the same slope and standard error."""
    pairs = list(enumerate(gravities))
    found, other = gravity_trend([run(*pairs, spread=0.0)]), linregress(*zip(*pairs, strict=True))
    assert found.per_week == pytest.approx(other.slope, abs=1e-12)
    assert found.spread == pytest.approx(other.stderr)
    assert (found.count, found.clock_set_back) == (len(pairs), False)


def test_many_standings_are_surer_than_one():
    """Nine standings of two readings: u = 0.005/√(9·2·½²) by hand, a third of one standing's."""
    runs = [run((2 * n, 1.43), (2 * n + 1, 1.44)) for n in range(9)]
    assert gravity_trend(runs).spread == pytest.approx(0.005 / math.sqrt(4.5))
    assert gravity_trend(runs).spread == pytest.approx(gravity_trend(runs[:1]).spread / 3)


def test_one_run_is_what_drift_says_of_it():
    """Where all pairs lie a day apart both functions have the same slope."""
    readings = run((0, 1.43), (1, 1.45), (3, 1.46))
    assert gravity_trend([readings]).per_week == pytest.approx(gravity_drift(readings).per_week)


def test_a_second_cup_at_the_same_sitting_is_no_drift():
    """Two cups within minutes differ by the cup; only pairs a day apart count: 0.01 and 0.02."""
    found = gravity_trend([run((0, 1.43), (0.001, 1.42), (1, 1.44))])
    assert found.per_week == pytest.approx(0.015, abs=1e-4)


def test_a_clock_set_back_leaves_out_what_was_before():
    """The first run and half of the second were written under a clock a year ahead."""
    runs = [run((52, 1.30), (53, 1.60)), run((54, 1.50), (1, 1.45), (2, 1.46)), run((3, 1.44), (4, 1.45))]
    found = gravity_trend(runs)
    assert found.clock_set_back
    assert found.count == 4
    assert found.per_week == pytest.approx(0.01)
    assert found.last == runs[-1][-1]


@pytest.mark.parametrize(
    ("runs", "refusal", "told"),
    [
        ([], TooFew, "2 or more; got"),
        ([run((0, 1.4))], TooFew, "2 or more; got"),
        ([run((0, 1.4)), run((5, 1.5))], TooClose, "got 0 hours"),
        ([run((0, 1.4), (1 / 14, 1.5))], TooClose, "got 12 hours"),
        ([run((9, 1.4), (10, 1.5)), run((1, 1.4))], TooClose, "got 0 hours"),
        ([[GravityReading(datetime(2026, 1, 5), 1.4), *run((1, 1.5))]], NoTimeZone, "zone"),
        ([run((0, 1.4), (1, 1.5), spread=0.21)], OutOfRange, "uncertainty"),
        ([run((0, 0.9), (1, 1.5))], NoSlurry, "gravity"),
    ],
)
def test_what_shows_no_drift_is_refused(runs, refusal, told):
    """One reading, readings parted by water, readings of one day, times without a zone, no readings."""
    with pytest.raises(refusal, match=told):
        gravity_trend(runs)


def test_two_cups_at_one_instant_are_no_clock_set_back():
    """Equal times are in order; exactly a day apart is far enough."""
    found = gravity_trend([run((0, 1.44), (0, 1.46), (1 / 7, 1.46))])
    assert not found.clock_set_back
    assert found.per_week == pytest.approx(0.07)
