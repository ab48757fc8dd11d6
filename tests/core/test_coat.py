"""The coat on a tile: published examples, the square-root law turned round, and intervals that hold."""

from __future__ import annotations

import math

import pytest

from benchvoice.calculator.coat import (
    Tile,
    TileOutOfOrder,
    coat_of_tile,
    coat_thickness,
    coat_thickness_band,
    dipped_area,
    tile_sign,
    water_drawn,
)
from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.quantities import Weighing, grams, quantity, seconds

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
    assert mm(coat_thickness(quantity(load, "g / dm ** 2"), solids)) == pytest.approx(0.3077, abs=5e-4)


def test_the_dipped_area_of_a_tile():
    """A box of 1 × 1 × 1 dm has five dipped faces; a thin tile has two (geometry, computed)."""
    one = quantity(1, "dm")
    assert dipped_area(one, one, one).m_as("dm ** 2") == pytest.approx(5)
    assert dipped_area(one, one, quantity(0.001, "dm")).m_as("dm ** 2") == pytest.approx(2.003)
    sides = (quantity(length, "dm") for length in (2, 3, 0.5))
    assert dipped_area(*sides).m_as("dm ** 2") == pytest.approx(2 * 6 + 2 * 1.5 + 1)


def test_coat_of_a_tile():
    """Bare 50, wet 58, dry 54 on a square decimetre: 8 wet, 4 dry, 4 of water."""
    found = coat_of_tile(tile(50, 58, 54))
    assert found.wet_load.m_as("g / dm ** 2") == pytest.approx(8)
    assert found.dry_load.m_as("g / dm ** 2") == pytest.approx(4)
    assert found.water.m_as("gram") == pytest.approx(4)
    assert found.error == pytest.approx(math.sqrt(2) * 0.1 / math.sqrt(12) / 4)
    assert not found.coarse


def test_the_usual_packing_gives_a_band():
    """4 g on 100 cm², S = 2.6: 0.26 to 0.31 mm (mass balance, computed; the packing is common practice)."""
    band = coat_thickness_band(quantity(4, "g / dm ** 2"), 2.6)
    assert [mm(end) for end in band] == pytest.approx([0.2564, 0.3077], abs=5e-4)


def test_a_coarse_scale_is_said():
    """A scale of 1 g cannot weigh 4 g of glaze to a tenth."""
    assert coat_of_tile(tile(50, 58, 54, step=1)).coarse
    assert coat_of_tile(tile(50, 58, 54, step=0.41)).coarse
    assert not coat_of_tile(tile(50, 58, 54, step=0.39)).coarse


@pytest.mark.parametrize("weights", [(50, 54, 58), (58, 50, 54), (50, 50, 50), (54, 58, 50)])
def test_weights_out_of_order_are_refused(weights):
    """Bare below dry below wet, or something was said amiss."""
    with pytest.raises(TileOutOfOrder, match="Bare below dry below wet"):
        coat_of_tile(tile(*weights))


def test_the_water_that_the_tile_drew():
    """4 g dry at 1.45, S = 2.6, bring 3.93 g of water (98.3 to 100 dry, computed); the rest was drawn."""
    assert water_drawn(grams(4), grams(5), 1.45, 2.6).m_as("gram") == pytest.approx(5 - 4 * 0.983, abs=2e-3)


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
