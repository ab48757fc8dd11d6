"""Flow after standing: the rate found again, intervals, and no foretelling without history."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import OutOfRange, TooFew
from benchvoice.calculator.quantities import seconds
from benchvoice.calculator.standing import WEEK, Stand, Thickening, flow_after_standing, thickening


@given(st.floats(-0.1, 0.1), st.lists(st.integers(1, 30), min_size=1, max_size=6))
def test_thickening_is_found_again(rate, weeks):
    """Standings on one exponential give its rate back, and the ratio for each standing."""
    stands = [Stand(w * WEEK, seconds(40), seconds(40 * math.exp(rate * w))) for w in weeks]
    found = thickening(stands)
    assert found.per_week == pytest.approx(rate, abs=1e-9)
    for w in weeks:
        assert flow_after_standing(found, w * WEEK).ratio == pytest.approx(math.exp(rate * w))


def test_thickening_from_one_standing_has_no_interval_and_far_ahead_is_a_guess():
    """One standing of two weeks, 40 s to 44 s: four weeks 1.21 (by hand), five weeks is beyond."""
    found = thickening([Stand(2 * WEEK, seconds(40), seconds(44))])
    ahead = flow_after_standing(found, 4 * WEEK)
    assert ahead.ratio == pytest.approx(1.21)
    assert (ahead.least, ahead.most, ahead.beyond) == (None, None, False)
    assert flow_after_standing(found, 5 * WEEK).beyond


@given(st.lists(st.tuples(st.floats(0.5, 30), st.floats(20, 90)), min_size=2, max_size=6))
def test_the_rate_and_its_spread_against_numpy(points):
    """Rate and spread are those of numpy.linalg.lstsq (a reference library) for the same logarithms."""
    found = thickening([Stand(w * WEEK, seconds(40), seconds(after)) for w, after in points])
    weeks = np.array([[w] for w, _ in points])
    (rate,), rest, _, _ = np.linalg.lstsq(weeks, np.log([after / 40 for _, after in points]), rcond=None)
    assert found.per_week == pytest.approx(rate, abs=1e-9)
    expected = math.sqrt(rest[0] / (len(points) - 1) / float((weeks**2).sum()))
    assert found.spread == pytest.approx(expected, rel=1e-6, abs=1e-7)


def test_standings_that_differ_give_an_interval():
    """Two standings of unlike rates: the answer lies between two uncertainties either way."""
    found = thickening([Stand(2 * WEEK, seconds(40), seconds(44)), Stand(3 * WEEK, seconds(40), seconds(50))])
    ahead = flow_after_standing(found, 3 * WEEK)
    assert ahead.least < ahead.ratio < ahead.most
    assert math.log(ahead.most / ahead.least) == pytest.approx(4 * 3 * found.spread)


def test_without_a_standing_nothing_is_foretold():
    """How fast a glaze ages is not published: without history the answer is to measure."""
    with pytest.raises(TooFew):
        thickening([])
    with pytest.raises(OutOfRange):
        thickening([Stand(timedelta(0), seconds(40), seconds(44))])
    with pytest.raises(OutOfRange):
        flow_after_standing(Thickening(0.1, None, WEEK), timedelta(days=-1))
