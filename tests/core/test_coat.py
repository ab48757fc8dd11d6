"""The coat on a tile: published examples, the square-root law turned round, and intervals that hold."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.coat import (
    CoatCaution,
    Tile,
    TileOutOfOrder,
    coat_after,
    coat_expected,
    coat_of_tile,
    coat_thickness,
    fit_dip_law,
    next_dip,
    tile_sign,
    water_drawn,
)
from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.limits import NotThatKind, OutOfRange, TooFew
from benchvoice.calculator.quantities import Weighing, grams, millimetres, quantity, seconds

DM2 = quantity(1, "dm ** 2")


def tile(bare, wet, dry, step=0.1, area=DM2):
    """Return a tile from plain grams."""
    return Tile(*(Weighing(grams(g), grams(step)) for g in (bare, wet, dry)), area)


def mm(value):
    """Return the millimetres in a quantity."""
    return value.m_as("millimetre")


def s(value):
    """Return the seconds in a quantity."""
    return value.m_as("second")


@pytest.mark.parametrize(
    ("load", "solids", "packing", "expected"),
    [(4, 2.6, 0.5, 0.3077), (4, 2.6, 0.6, 0.2564)],
)
def test_thickness_from_the_weight_on_an_area(load, solids, packing, expected):
    """4 g on 100 cm², S = 2.6: 0.31 mm packed to a half, 0.26 mm to six tenths (mass balance, computed)."""
    found = coat_thickness(quantity(load, "g / dm ** 2"), solids, packing)
    assert mm(found) == pytest.approx(expected, abs=5e-4)


# (dip, coat) from 3 s and 0.80 mm: the square-root law (computed from the formula).
@pytest.mark.parametrize(("dip", "coat"), [(5, 1.033), (6, 1.13), (12, 1.60)])
def test_coat_of_another_dip(dip, coat):
    """Four times as long makes twice the coat."""
    assert mm(coat_after(millimetres(0.80), seconds(3), seconds(dip))) == pytest.approx(coat, abs=2e-3)


def test_coat_of_a_tile():
    """Bare 50, wet 58, dry 54 on a square decimetre: 8 wet, 4 dry, 4 of water."""
    found = coat_of_tile(tile(50, 58, 54))
    assert found.wet_load.m_as("g / dm ** 2") == pytest.approx(8)
    assert found.dry_load.m_as("g / dm ** 2") == pytest.approx(4)
    assert found.water.m_as("gram") == pytest.approx(4)
    assert found.error == pytest.approx(math.sqrt(2) * 0.1 / math.sqrt(12) / 4)
    assert found.cautions == ()


def test_a_coarse_scale_is_said():
    """A scale of 1 g cannot weigh 4 g of glaze to a tenth."""
    assert coat_of_tile(tile(50, 58, 54, step=1)).cautions == (CoatCaution.COARSE_SCALE,)


@pytest.mark.parametrize("weights", [(50, 54, 58), (58, 50, 54), (50, 50, 50), (54, 58, 50)])
def test_weights_out_of_order_are_refused(weights):
    """Bare below dry below wet, or something was said amiss."""
    with pytest.raises(TileOutOfOrder, match="Bare below dry below wet"):
        coat_of_tile(tile(*weights))


def test_the_water_that_the_tile_drew():
    """4 g dry at 1.45, S = 2.6, bring 3.93 g of water (98.3 to 100 dry, computed); the rest was drawn."""
    assert water_drawn(grams(4), grams(5), 1.45, 2.6).m_as("gram") == pytest.approx(5 - 4 * 0.983, abs=2e-3)


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
    assert dip.cautions == (CoatCaution.ONE_TILE,)


def test_tiles_that_disagree_cannot_bound_the_dip():
    """Two tiles far off the law: the upper end is open, and that is said."""
    law = fit_dip_law([(seconds(4), millimetres(0.4)), (seconds(9), millimetres(1.8))])
    dip = next_dip(law, millimetres(1.0))
    assert dip.most is None
    assert CoatCaution.SCATTERED in dip.cautions


def test_a_dip_far_beyond_the_tiles_is_doubtful_and_an_endless_one_refused():
    """The pores fill: past twice the longest dip the law is not trusted (Katz, seen at source)."""
    law = fit_dip_law([(seconds(4), millimetres(0.8))])
    assert CoatCaution.BEYOND_TILES in next_dip(law, millimetres(1.3)).cautions
    with pytest.raises(OutOfRange, match="the dip"):
        next_dip(law, millimetres(5))


def test_student_factor_is_that_of_the_tables():
    """Two tiles, one degree of freedom: 12.706 (NIST/SEMATECH e-Handbook 1.3.6.7.2, from memory)."""
    law = fit_dip_law([(seconds(4), millimetres(0.80)), (seconds(9), millimetres(1.21))])
    dip = next_dip(law, millimetres(1.0))
    k, u = law.k.m, law.spread.m
    assert s(dip.least) == pytest.approx((1 / (k + 12.706 * u)) ** 2)


def test_no_tiles_or_mixed_kinds_are_refused():
    """A law needs a tile; loads and thicknesses do not mix."""
    with pytest.raises(TooFew):
        fit_dip_law([])
    with pytest.raises(NotThatKind):
        fit_dip_law([(seconds(4), millimetres(0.8)), (seconds(9), grams(1))])
    with pytest.raises(NotThatKind):
        next_dip(fit_dip_law([(seconds(4), millimetres(0.8))]), grams(1))


# (seen, drying, usual, coat over wanted, sign): common practice, no source.
TILES = [
    (Sign.NONE, None, None, None, Sign.NONE),
    (Sign.FLAKES, 60, 20, 2.0, Sign.FLAKES),
    (Sign.NONE, 31, 20, 1.0, Sign.SLOW_TO_DRY),
    (Sign.NONE, 30, 20, 1.0, Sign.NONE),
    (Sign.NONE, 60, None, 1.0, Sign.NONE),
    (Sign.NONE, None, None, 0.79, Sign.TOO_THIN),
    (Sign.NONE, None, None, 1.26, Sign.TOO_THICK),
    (Sign.NONE, 20, 20, 0.8, Sign.NONE),
]


@pytest.mark.parametrize(("seen", "drying", "usual", "coat", "sign"), TILES)
def test_the_sign_of_a_tile(seen, drying, usual, coat, sign):
    """What was seen comes first, then slow drying, then the coat's weight."""
    times = [None if t is None else seconds(t) for t in (drying, usual)]
    assert tile_sign(seen, *times, coat=coat) is sign
