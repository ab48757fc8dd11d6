"""Batches: examples of scaling, mass conserved, rounding bounded, a bucket filled to its gravity."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchvoice.calculator.batch import (
    Batch,
    Portion,
    ScaleTooCoarse,
    fill_bucket,
    round_to_step,
    scale_to_base,
    scale_to_total,
)
from benchvoice.calculator.content import batch_gravity
from benchvoice.calculator.limits import NotAboveZero, NotThatKind
from benchvoice.calculator.quantities import grams, kilograms, litres, quantity
from benchvoice.calculator.recipe import Line, Recipe, normalised

TIDE = Recipe(
    "tide", (Line("feldspar", 70), Line("quartz", 30)), (Line("tin oxide", 8), Line("cobalt carbonate", 1))
)
KNOWN = ("feldspar", "quartz", "kaolin", "whiting", "tin oxide", "rutile")
LINES = st.dictionaries(st.sampled_from(KNOWN), st.floats(0.5, 100), min_size=1, max_size=5).map(
    lambda found: tuple(Line(name, amount) for name, amount in found.items())
)
RECIPES = st.builds(Recipe, st.just("any"), LINES, st.one_of(st.just(()), LINES))


def g(value):
    """Return the grams in a quantity."""
    return value.m_as("gram")


def test_additions_go_on_top_of_the_base():
    """Base 2000 g with 8 % and 1 %: 160 g and 20 g, 2180 g in all (definition, computed)."""
    batch = scale_to_base(TIDE, kilograms(2))
    assert batch.masses() == pytest.approx((1400, 600, 160, 20))
    assert g(batch.total) == pytest.approx(2180)


def test_scaling_to_a_total():
    """2000 g in all with 9 % over: base 1834.86, additions 146.79 and 18.35 (definition, computed)."""
    batch = scale_to_total(TIDE, grams(2000))
    assert g(batch.base) == pytest.approx(1834.862, abs=0.01)
    assert batch.masses()[2:] == pytest.approx((146.79, 18.35), abs=0.005)


def test_a_base_of_97_is_scaled_by_what_it_makes():
    """The base is shared out by its own sum, so 97 parts still weigh what was asked for."""
    batch = scale_to_base(Recipe("x", (Line("feldspar", 60), Line("quartz", 37))), grams(970))
    assert batch.masses() == pytest.approx((600, 370))


@given(RECIPES, st.floats(1, 50_000))
def test_batches_conserve_mass(recipe, total):
    """The portions weigh what was asked for, in the recipe's proportions, by either way in."""
    batch = scale_to_total(recipe, grams(total))
    assert sum(batch.masses()) == pytest.approx(total)
    assert g(batch.base) == pytest.approx(total / (1 + sum(n.amount for n in recipe.additions) / 100))
    again = scale_to_base(recipe, batch.base)
    assert again.masses() == pytest.approx(batch.masses())
    assert scale_to_total(normalised(recipe), grams(total)).masses() == pytest.approx(batch.masses())


@given(RECIPES, st.floats(500, 20_000), st.sampled_from([0.01, 0.1, 1.0, 5.0]))
def test_rounding_is_bounded_and_told(recipe, total, step):
    """No line moves by more than half a step, each is whole steps, and the worst share is the worst."""
    batch = scale_to_total(recipe, grams(total))
    assume(min(batch.masses()) > step / 2)
    found = round_to_step(batch, grams(step))
    shares = []
    for exact, shown in zip(batch.masses(), found.batch.masses(), strict=True):
        assert abs(shown - exact) <= step / 2 * (1 + 1e-9)
        assert shown / step == pytest.approx(round(shown / step), abs=1e-6)
        shares.append(abs(shown / exact - 1))
    assert abs(found.worst_error) == pytest.approx(max(shares))


def test_a_coarse_scale_is_named():
    """0.5 % of a 500 g batch is 2.5 g: a step of 1 g is 40 % of it (judgement: above 2 % is coarse)."""
    batch = scale_to_base(Recipe("x", (Line("base", 100),), (Line("cobalt carbonate", 0.5),)), grams(500))
    found = round_to_step(batch, grams(1))
    assert found.coarse == ("cobalt carbonate",)
    assert found.worst == "cobalt carbonate"
    assert found.worst_error == pytest.approx(0.2)
    assert round_to_step(batch, grams(0.06)).coarse == ("cobalt carbonate",)
    assert round_to_step(batch, grams(0.05)).coarse == ()


def test_a_line_that_would_round_to_nothing_is_refused():
    """0.3 g on a scale of 1 g cannot be weighed at all."""
    with pytest.raises(ScaleTooCoarse, match="cobalt"):
        round_to_step(Batch((Portion("cobalt carbonate", grams(0.3)),)), grams(1))


def test_filling_ten_litres_to_1_45():
    """S = 2.6: 731.25 g/L dry (Harrison's table prints 731), and 98.3 g water to 100 g dry (computed)."""
    made = fill_bucket(Recipe("x", (Line("feldspar", 100),)), litres(10), 1.45)
    assert g(made.batch.total) == pytest.approx(7312.5)
    assert g(made.water) / g(made.batch.total) == pytest.approx(0.982906, abs=1e-5)


@given(RECIPES, st.floats(0.2, 100), st.floats(1.1, 1.8))
def test_a_filled_bucket_has_the_volume_and_the_gravity(recipe, volume, gravity):
    """Dry and water together weigh volume times gravity, and make that gravity when mixed."""
    made = fill_bucket(recipe, litres(volume), gravity)
    dry, water = made.batch.total, made.water
    assert g(dry) + g(water) == pytest.approx(1000 * volume * gravity)
    assert batch_gravity(dry, water, made.solids.gravity) == pytest.approx(gravity)
    assert g(made.water_band[0]) <= g(water) + 1e-6 <= g(made.water_band[1]) + 2e-6


def test_an_unknown_material_is_told_with_what_it_does_to_the_water():
    """Taken as 2.6, named, with a band of water; the potter's own density takes its place."""
    strange = Recipe("x", (Line("moon dust", 100),))
    made = fill_bucket(strange, litres(10), 1.45)
    assert made.solids.assumed == ("moon dust",)
    assert g(made.water_band[0]) < g(made.water) < g(made.water_band[1])
    known = fill_bucket(strange, litres(10), 1.45, own={"moon dust": 3.0})
    assert known.solids.assumed == ()
    assert known.solids.gravity == pytest.approx(3.0)


def test_wrong_values_are_refused():
    """Nothing, or a volume for a weight, is no batch."""
    with pytest.raises(NotAboveZero):
        scale_to_total(TIDE, grams(0))
    with pytest.raises(NotThatKind):
        scale_to_total(TIDE, litres(2))
    with pytest.raises(NotThatKind):
        fill_bucket(TIDE, quantity(2, "kilogram"), 1.45)
