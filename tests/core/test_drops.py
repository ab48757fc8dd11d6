"""Drops: the pharmacopoeia's nominal one and the potter's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.drops import drops_in, mass_of_drops, nominal_drop, weighed_drop
from benchvoice.calculator.limits import OutOfRange
from benchvoice.calculator.quantities import grams


def test_a_drop_of_water_is_what_the_pharmacopoeia_says():
    """45 to 55 mg (USP 32 <1101>, seen at source); the nominal band holds that range."""
    drop = nominal_drop(0.998)
    one = drop.mass.m_as("gram")
    assert 0.045 <= one <= 0.055
    assert drop.band == pytest.approx(0.25)
    assert one * (1 - drop.band) <= 0.045
    assert one * (1 + drop.band) >= 0.055


@pytest.mark.parametrize("per_ml", [25, 20, 18])
def test_the_band_covers_what_droppers_were_found_to_give(per_ml):
    """18 to 22 (a pharmacy school's allowance) and 25 of water (a home test), both seen at source."""
    drop = nominal_drop(1.0)
    assert abs(1 / per_ml - 0.05) <= drop.band * 0.05 + 1e-12


def test_drops_in_six_grams_of_silicate():
    """6.0 g at 1.381 g/mL and 20 to the millilitre are 86.9 drops (computed from the nominal drop)."""
    assert drops_in(grams(6.0), nominal_drop(1.381)) == pytest.approx(86.9, abs=0.1)


def test_the_potters_own_drop():
    """40 drops of 2.76 g: 69 mg each; one drop in forty is most of what is unsure."""
    drop = weighed_drop(40, grams(2.76), grams(0.01))
    assert drop.mass.m_as("gram") == pytest.approx(0.069)
    assert drop.weighed
    assert drop.band == pytest.approx(0.025, abs=0.001)


def test_a_coarse_scale_leaves_the_drop_unsure():
    """2 g on a scale of 1 g: its 0.29 of a step (GUM, from memory) is fourteen in a hundred."""
    assert weighed_drop(40, grams(2), grams(1)).band == pytest.approx(0.147, abs=0.002)


@given(st.floats(0.01, 20), st.floats(0.8, 2.5))
def test_drops_and_grams_turn_round(mass, density):
    """Grams to drops and back are the same grams."""
    drop = nominal_drop(density)
    assert mass_of_drops(drops_in(grams(mass), drop), drop).m_as("gram") == pytest.approx(mass)


@pytest.mark.parametrize("density", [0.5, 5])
def test_a_density_no_additive_has_is_refused(density):
    """Beyond 0.7 to 3 g/mL it was misheard."""
    with pytest.raises(OutOfRange):
        nominal_drop(density)


def test_too_few_drops_are_refused():
    """Fewer than ten drops weigh too little to tell."""
    with pytest.raises(OutOfRange):
        weighed_drop(5, grams(0.3), grams(0.1))
