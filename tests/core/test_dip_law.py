"""The square-root law: published examples, turned round, and intervals that hold."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.dip_law import (
    T95,
    DipCaution,
    coat_after,
    coat_expected,
    fit_dip_law,
    next_dip,
)
from benchvoice.calculator.limits import NotThatKind, OutOfRange, TooFew
from benchvoice.calculator.quantities import grams, millimetres, quantity, seconds


def mm(value):
    """Return the millimetres in a quantity."""
    return value.m_as("millimetre")


def s(value):
    """Return the seconds in a quantity."""
    return value.m_as("second")


# (dip, coat) from 3 s and 0.80 mm: the square-root law (computed from the formula).
@pytest.mark.parametrize(("dip", "coat"), [(5, 1.033), (6, 1.13), (12, 1.60)])
def test_coat_of_another_dip(dip, coat):
    """Four times as long makes twice the coat."""
    assert mm(coat_after(millimetres(0.80), seconds(3), seconds(dip))) == pytest.approx(coat, abs=2e-3)


@given(st.floats(0.05, 2), st.lists(st.floats(1, 30), min_size=1, max_size=8))
def test_the_law_is_found_again_from_its_own_points(k, dips):
    """Points on the curve give its constant back, without spread, and the dip for each coat."""
    law = fit_dip_law([(seconds(t), millimetres(k * math.sqrt(t))) for t in dips])
    assert law.k.m == pytest.approx(k)
    assert law.spread is None or law.spread.m == pytest.approx(0, abs=1e-7 * k)
    for t in dips:
        assert s(next_dip(law, millimetres(k * math.sqrt(t))).time) == pytest.approx(t, rel=1e-6)
        assert mm(coat_expected(law, seconds(t))) == pytest.approx(k * math.sqrt(t))


@given(st.floats(0.1, 1), st.floats(2, 20), st.floats(1, 9))
def test_units_of_the_coat_do_not_matter(k, dip, factor):
    """A law fitted in grams per square decimetre answers in grams per square metre alike."""
    law = fit_dip_law([(seconds(dip), quantity(k * math.sqrt(dip), "g / dm ** 2"))])
    wanted = quantity(k * math.sqrt(dip * factor), "g / dm ** 2")
    if dip * factor < 60:
        assert s(next_dip(law, wanted.to("g / m ** 2")).time) == pytest.approx(dip * factor)


def test_least_squares_against_hand_worked_sums():
    """Three tiles at 4, 9 and 16 s: k = 11.9/29, residuals squared over 2·29 (computed by hand)."""
    law = fit_dip_law(
        [(seconds(4), millimetres(0.9)), (seconds(9), millimetres(1.1)), (seconds(16), millimetres(1.7))]
    )
    k = (0.9 * 2 + 1.1 * 3 + 1.7 * 4) / 29
    rest = (0.9 - 2 * k) ** 2 + (1.1 - 3 * k) ** 2 + (1.7 - 4 * k) ** 2
    assert law.k.m == pytest.approx(k)
    assert law.spread.m == pytest.approx(math.sqrt(rest / 2 / 29))


def test_the_interval_holds_the_dip_and_widens_with_scatter():
    """Tiles that scatter give a wide interval round the same kind of answer."""
    tight = fit_dip_law(
        [(seconds(t), millimetres(0.4 * math.sqrt(t) + e)) for t, e in ((4, 0.01), (9, -0.01), (16, 0.01))]
    )
    loose = fit_dip_law(
        [(seconds(t), millimetres(0.4 * math.sqrt(t) + e)) for t, e in ((4, 0.1), (9, -0.1), (16, 0.1))]
    )
    near, far = (next_dip(law, millimetres(1.2)) for law in (tight, loose))
    for dip in (near, far):
        assert s(dip.least) < s(dip.time) < s(dip.most)
    assert s(far.most) - s(far.least) > 3 * (s(near.most) - s(near.least))


def test_one_tile_gives_a_dip_but_no_interval():
    """Nothing is known of the scatter from one tile, and that is said."""
    dip = next_dip(fit_dip_law([(seconds(4), millimetres(0.8))]), millimetres(1.0))
    assert s(dip.time) == pytest.approx(6.25)
    assert (dip.least, dip.most) == (None, None)
    assert dip.cautions == (DipCaution.ONE_TILE,)


def test_tiles_that_disagree_cannot_bound_the_dip():
    """Two tiles far off the law: the upper end is open, and that is said."""
    law = fit_dip_law([(seconds(4), millimetres(0.4)), (seconds(9), millimetres(1.8))])
    dip = next_dip(law, millimetres(1.0))
    assert dip.most is None
    assert DipCaution.SCATTERED in dip.cautions


def test_a_dip_far_beyond_the_tiles_is_doubtful_and_an_endless_one_refused():
    """The pores fill: past twice the longest dip the law is not trusted (Katz, seen at source)."""
    law = fit_dip_law([(seconds(4), millimetres(0.8))])
    assert DipCaution.BEYOND_TILES in next_dip(law, millimetres(1.3)).cautions
    with pytest.raises(OutOfRange, match="the dip"):
        next_dip(law, millimetres(5))


@pytest.mark.parametrize("freedom", range(1, 11))
def test_student_factors_leave_five_in_a_hundred(freedom):
    """The density of Student's t between -τ and τ sums up to 0.95 (computed from the formula)."""
    x = np.linspace(0, T95[freedom - 1], 200_001)
    scale = math.gamma((freedom + 1) / 2) / math.gamma(freedom / 2) / math.sqrt(freedom * math.pi)
    density = scale * (1 + x**2 / freedom) ** (-(freedom + 1) / 2)
    assert 2 * np.trapezoid(density, x) == pytest.approx(0.95, abs=5e-5)


@pytest.mark.parametrize(
    ("tiles", "factor"), [(2, 12.706), (5, 2.776), (13, 2.179), (31, 2.042), (121, 1.980)]
)
def test_the_interval_uses_student_factors(tiles, factor):
    """The factor is that of the printed tables of Student's t (from memory) within two in a hundred."""
    points = [(seconds(4), millimetres(0.8 + 0.01 * (-1) ** i)) for i in range(tiles)]
    law = fit_dip_law(points)
    dip = next_dip(law, millimetres(1.0))
    half = 1.0 / math.sqrt(s(dip.least)) - law.k.m
    assert half / law.spread.m == pytest.approx(factor, rel=0.02)


@given(st.lists(st.tuples(st.floats(1, 30), st.floats(0.2, 3)), min_size=2, max_size=8))
def test_least_squares_against_numpy(points):
    """The constant is the one that numpy.linalg.lstsq (a reference library) finds for the same points."""
    law = fit_dip_law([(seconds(t), millimetres(c)) for t, c in points])
    roots = np.sqrt([[t] for t, _ in points])
    (k,), rest, _, _ = np.linalg.lstsq(roots, np.array([c for _, c in points]), rcond=None)
    assert law.k.m == pytest.approx(k)
    assert law.spread.m == pytest.approx(math.sqrt(rest[0] / (len(points) - 1) / sum(t for t, _ in points)))


def test_no_tiles_or_mixed_kinds_are_refused():
    """A law needs a tile; loads and thicknesses do not mix."""
    with pytest.raises(TooFew):
        fit_dip_law([])
    with pytest.raises(NotThatKind):
        fit_dip_law([(seconds(4), millimetres(0.8)), (seconds(9), grams(1))])
    with pytest.raises(NotThatKind):
        next_dip(fit_dip_law([(seconds(4), millimetres(0.8))]), grams(1))
