"""Solutions by weight, and the solubility of magnesium sulfate both ways it is quoted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import OutOfRange
from benchvoice.calculator.quantities import celsius, grams
from benchvoice.calculator.solutions import (
    ANHYDROUS,
    HEPTAHYDRATE,
    WillNotDissolve,
    heptahydrate_per_100,
    magnesium_sulfate_solubility,
    salt_solution,
    solution,
    stock_volume,
    water_to_dilute,
)
from benchvoice.calculator.sources import Known

# Standard atomic weights, abridged (IUPAC; from memory).
MG, S, O, H = 24.305, 32.06, 15.999, 1.008  # noqa: E741  (the chemist's letter)


def test_molar_masses_follow_from_the_atomic_weights():
    """MgSO4 and MgSO4·7H2O summed from the abridged IUPAC atomic weights (from memory)."""
    assert pytest.approx(MG + S + 4 * O, abs=0.02) == ANHYDROUS
    assert pytest.approx(MG + S + 4 * O + 7 * (2 * H + O), abs=0.02) == HEPTAHYDRATE


def test_crystals_to_a_hundred_grams_of_water():
    """25.1 mass per cent (CRC, from memory) is 105.8 g crystals to 100 g water (conversion computed)."""
    assert heptahydrate_per_100(25.1) == pytest.approx(105.8, abs=0.5)


# (°C, anhydrous g per 100 g water, crystals % of solution, crystals g per 100 g water): the same table of the
# CRC Handbook (from memory) converted by hand (computed).
CONVERTED = [
    (0, 22.2, 37.3, 59),
    (10, 27.7, 44.4, 80),
    (20, 33.5, 51.4, 106),
    (25, 35.7, 53.9, 117),
    (30, 39.3, 57.8, 137),
    (40, 44.7, 63.3, 172),
]


@pytest.mark.parametrize(("degrees", "anhydrous", "crystals", "per_100"), CONVERTED)
def test_both_ways_of_quoting_agree(degrees, anhydrous, crystals, per_100):
    """Anhydrous over water is 100·w/(100 - w) (CRC table introduction, seen at source); crystals fit."""
    found = magnesium_sulfate_solubility(celsius(degrees))
    w = found.anhydrous_percent
    assert 100 * w / (100 - w) == pytest.approx(anhydrous, abs=0.1)
    assert found.heptahydrate_percent == pytest.approx(crystals, abs=0.1)
    assert found.heptahydrate_per_100 == pytest.approx(per_100, abs=0.6)


# Values at 20 °C found in print, all seen: a survey's lowest and highest and its "3 mol per kg of water".
IN_PRINT = [("anhydrous", 35.6), ("anhydrous", 36.1), ("crystals", 113), ("crystals", 119)]


@pytest.mark.parametrize(("kind", "value"), IN_PRINT)
def test_values_in_print_lie_near_the_band(kind, value):
    """At 20 °C the published values are within 13 % of ours: the 10 % band is not too wide."""
    found = magnesium_sulfate_solubility(celsius(20))
    w = found.anhydrous_percent
    ours = 100 * w / (100 - w) if kind == "anhydrous" else found.heptahydrate_per_100
    assert ours == pytest.approx(value, rel=0.13)


def test_solubility_says_it_is_from_memory():
    """The row of the handbook was not read, and the value says so with its band."""
    found = magnesium_sulfate_solubility(celsius(20))
    assert found.source.known is Known.MEMORY
    assert found.band == pytest.approx(0.10)


@given(st.floats(0, 40), st.floats(0, 40))
def test_warmer_water_takes_more(a, b):
    """Solubility rises with temperature all through the table."""
    low, high = sorted((a, b))
    cold, warm = (magnesium_sulfate_solubility(celsius(t)).heptahydrate_per_100 for t in (low, high))
    assert cold <= warm + 1e-9


@pytest.mark.parametrize("degrees", [-1, 41])
def test_outside_the_table_is_refused(degrees):
    """The table runs from 0 to 40 °C."""
    with pytest.raises(OutOfRange):
        magnesium_sulfate_solubility(celsius(degrees))


def test_a_twenty_per_cent_stock_dissolves_anywhere_above_freezing():
    """20 % of crystals is far from saturated at any temperature of a workshop."""
    assert salt_solution(grams(500), 20, celsius(0)).solute.m_as("gram") == pytest.approx(100)


def test_a_stock_near_saturation_is_refused_with_the_most_that_dissolves():
    """45 % dissolves at 20 °C but not with something to spare."""
    with pytest.raises(WillNotDissolve, match="Make it 20 %"):
        salt_solution(grams(500), 45, celsius(20))


def test_stock_by_volume():
    """0.1 % of 2521.6 g from a stock of 20 g in 100 mL is 12.61 mL (definition, computed)."""
    assert stock_volume(grams(2521.6), 0.1, 20).m_as("millilitre") == pytest.approx(12.61, abs=0.02)


@given(st.floats(1, 5000), st.floats(0.1, 99))
def test_solutions_conserve_mass_and_have_the_strength_asked_for(total, percent):
    """Solute and water make the total, the strength is what was asked, and diluting gives the same water."""
    made = solution(grams(total), percent)
    solute, water = made.solute.m_as("gram"), made.water.m_as("gram")
    assert solute + water == pytest.approx(total)
    assert 100 * solute / total == pytest.approx(percent)
    assert water_to_dilute(made.solute, percent).m_as("gram") == pytest.approx(water, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("percent", [0, 100, -5, float("nan")])
def test_a_strength_that_is_none_is_refused(percent):
    """Nothing, all, or less than nothing is no solution."""
    with pytest.raises(ValueError, match="strength"):
        solution(grams(100), percent)
