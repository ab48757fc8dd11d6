"""Drift of a bucket: the slope found again, one misread cup, a clock set back, and when to look again."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.drift import (
    Drift,
    GravityFell,
    GravityReading,
    NoTimeZone,
    TooClose,
    Why,
    expected_gravity,
    gravity_drift,
    look_again,
    water_lost_between,
)
from benchvoice.calculator.limits import TooFew
from benchvoice.calculator.quantities import grams
from benchvoice.calculator.slurry import gravity_with_water

START = datetime(2024, 5, 1, 9, tzinfo=UTC)
WEEK = timedelta(weeks=1)


def readings(*pairs):
    """Return readings from (weeks since the start, gravity)."""
    return [GravityReading(START + weeks * WEEK, gravity) for weeks, gravity in pairs]


def drift(per_week, spread=0.0, gravity=1.45, sure=0.0):
    """Return a drift whose last reading was at the start."""
    return Drift(per_week, spread, 3, GravityReading(START, gravity, sure), False)


@given(st.floats(-0.02, 0.02), st.lists(st.integers(0, 40), min_size=2, max_size=8, unique=True))
def test_a_straight_drift_is_found_again(slope, days):
    """Readings on a line give its slope back, and a line through two or more at each time."""
    found = gravity_drift(readings(*((d / 7, 1.5 + slope * d / 7) for d in sorted(days))))
    assert found.per_week == pytest.approx(slope, abs=1e-9)
    assert not found.clock_set_back


def test_one_misread_cup_does_not_turn_the_slope():
    """Five readings rising 0.01 a week with one of them 0.2 out: still about 0.01 (Sen 1968: robust)."""
    points = [(0, 1.40), (1, 1.41), (2, 1.62), (3, 1.43), (4, 1.44)]
    assert gravity_drift(readings(*points)).per_week == pytest.approx(0.01, abs=0.003)


def test_the_slope_is_the_median_of_all_pairs():
    """Three readings: slopes 0.01, 0.03 and 0.02 between them, so 0.02 (definition, by hand)."""
    assert gravity_drift(readings((0, 1.40), (1, 1.41), (2, 1.44))).per_week == pytest.approx(0.02)


def test_two_readings_are_as_sure_as_the_readings():
    """For two readings a week apart u = 0.005/√(2·½²) (by hand): the slope is hardly known."""
    found = gravity_drift(readings((0, 1.45), (1, 1.46)))
    assert found.per_week == pytest.approx(0.01)
    assert found.spread == pytest.approx(0.005 * math.sqrt(2))


def test_scatter_beyond_the_readings_own_widens_the_spread():
    """Readings that jump about leave the slope less sure than quiet ones."""
    quiet = gravity_drift(readings((0, 1.40), (1, 1.41), (2, 1.42), (3, 1.43)))
    wild = gravity_drift(readings((0, 1.40), (1, 1.46), (2, 1.37), (3, 1.43)))
    assert wild.spread > 3 * quiet.spread


@pytest.mark.parametrize("points", [[], [(0, 1.45)]])
def test_one_reading_is_no_drift(points):
    """A drift takes two."""
    with pytest.raises(TooFew) as refusal:
        gravity_drift(readings(*points))
    assert (refusal.value.got, refusal.value.least) == (len(points), 2)


def test_readings_of_one_day_are_no_drift():
    """Within a day it is the scale that is seen."""
    with pytest.raises(TooClose, match="got 3 hours"):
        gravity_drift([GravityReading(START, 1.45), GravityReading(START + timedelta(hours=3), 1.46)])


def test_two_readings_at_one_instant_are_no_slope_between_them():
    """Two cups read at once and one a week later: both pairs count, the pair at once does not."""
    assert gravity_drift(readings((0, 1.44), (0, 1.46), (1, 1.46))).per_week == pytest.approx(0.01)


def test_a_time_without_a_zone_is_refused():
    """Naive times cannot be set against others."""
    with pytest.raises(NoTimeZone):
        gravity_drift([GravityReading(datetime(2024, 5, 1), 1.45), *readings((1, 1.46))])
    with pytest.raises(NoTimeZone):
        expected_gravity(drift(0.01), datetime(2024, 5, 1))


def test_zones_may_differ():
    """The same instants told in another zone give the same drift."""
    here = readings((0, 1.45), (1, 1.46))
    there = [GravityReading(r.at.astimezone(timezone(timedelta(hours=9))), r.gravity) for r in here]
    assert gravity_drift(there).per_week == pytest.approx(gravity_drift(here).per_week)


def test_a_clock_set_back_is_said_and_only_readings_since_count():
    """The first two were written under a clock a year ahead; the drift is that of the last three."""
    found = gravity_drift(readings((52, 1.30), (53, 1.60), (1, 1.45), (2, 1.46), (3, 1.47)))
    assert found.clock_set_back
    assert found.count == 3
    assert found.per_week == pytest.approx(0.01)


def test_a_clock_set_back_may_leave_too_little():
    """When only one reading was written since, there is no drift."""
    with pytest.raises(TooFew):
        gravity_drift(readings((52, 1.30), (53, 1.60), (1, 1.45)))


def test_expected_gravity():
    """0.01 a week from 1.45: 1.47 after two; the uncertainties add in squares."""
    found = expected_gravity(drift(0.01, 0.002, sure=0.003), START + 2 * WEEK)
    assert found.gravity == pytest.approx(1.47)
    assert found.spread == pytest.approx(0.005)
    assert not found.clock_set_back


def test_a_time_before_the_last_reading_is_said():
    """Then no time is taken to have passed."""
    found = expected_gravity(drift(0.01), START - WEEK)
    assert found.gravity == pytest.approx(1.45)
    assert found.clock_set_back


def test_water_lost_is_what_puts_the_gravity_back():
    """10 kg at 1.45 that lost 100 g stands at 1.45662 (balance, computed): 9.9 kg now, 100 g lost."""
    assert water_lost_between(grams(9900), 1.45, 1.456621).m_as("gram") == pytest.approx(100, abs=0.01)


@given(st.floats(100, 50_000), st.floats(1.2, 1.6), st.floats(0, 0.2))
def test_water_lost_put_back_brings_the_gravity_back(mass, before, rise):
    """Whatever was lost, put back, makes the gravity what it was."""
    lost = water_lost_between(grams(mass), before, before + rise)
    assert gravity_with_water(grams(mass), before + rise, lost) == pytest.approx(before)


def test_a_gravity_that_fell_lost_no_water():
    """It was not stirred, or it was watered: the refusal asks."""
    with pytest.raises(GravityFell, match="Stir to the bottom"):
        water_lost_between(grams(1000), 1.45, 1.44)


# (drift per week, spread, gravity now, target, days, why): by hand, (end - gravity)/(drift + 2 spreads).
WAITS = [
    (0.01, 0.0, 1.45, (1.44, 1.47), 14, Why.DRIFT),
    (0.01, 0.005, 1.45, (1.30, 1.47), 7, Why.DRIFT),
    (-0.01, 0.0, 1.45, (1.44, 1.47), 7, Why.DRIFT),
    (0.0, 0.0, 1.45, (1.44, 1.47), 28, Why.USUAL),
    (0.0001, 0.0, 1.45, (1.44, 1.47), 28, Why.USUAL),
    (0.5, 0.0, 1.45, (1.44, 1.47), 1, Why.DRIFT),
    (0.01, 0.0, 1.48, (1.44, 1.47), 0, Why.OFF_TARGET),
    (0.01, 0.0, 1.43, (1.44, 1.47), 0, Why.OFF_TARGET),
]


@pytest.mark.parametrize(("per_week", "spread", "gravity", "target", "days", "why"), WAITS)
def test_when_to_look_again(per_week, spread, gravity, target, days, why):
    """Before it may have left its target, no sooner than a day, no later than four weeks."""
    found = look_again(drift(per_week, spread, gravity), *target, START)
    assert found.at - START == pytest.approx(timedelta(days=days), abs=timedelta(minutes=1))
    assert found.why is why


def test_an_unknown_drift_waits_a_week_and_a_clock_set_back_is_said():
    """Without a second reading nothing is known; before the last reading the clock is wrong."""
    found = look_again(None, 1.44, 1.46, START)
    assert (found.at, found.why) == (START + WEEK, Why.UNKNOWN)
    assert look_again(drift(0.01), 1.44, 1.46, START - WEEK).clock_set_back
