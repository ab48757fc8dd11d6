"""Materials: the published densities, the rule for mixtures, and what is said of an unknown name."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import OutOfRange, TooFew
from benchvoice.calculator.materials import (
    catalogue,
    find_material,
    near_names,
    parse_materials,
    recipe_gravity,
)
from benchvoice.calculator.sources import Known
from benchvoice.calculator.tables import BadTable

HEAD = "name,synonyms,density,low,high,hazards,source,known\n"

# (parts, own gravities, expected): the harmonic rule worked by hand (computed from the formula).
RECIPES = [
    ([("feldspar", 40), ("quartz", 30), ("whiting", 20), ("kaolin", 10)], {}, 2.63632),
    ([("feldspar", 40), ("quartz", 30), ("whiting", 20), ("kaolin", 10), ("zircon", 10)], {}, 2.74277),
    (
        [("base", 100), ("tin oxide", 8), ("cobalt carbonate", 1)],
        {"base": 2.6363},
        2.7718,
    ),  # plain mean: 2.967
]


# Densities printed by sources other than the one the table cites, all seen at source: a groundwater
# textbook (A), mineral tables for log analysis (B), a table of rock minerals (C).
SECOND_READINGS = [
    ("quartz", 2.64),  # B
    ("potash feldspar", 2.55),  # C
    ("soda feldspar", 2.63),  # C
    ("calcium carbonate", 2.71),  # C
    ("dolomite", 2.87),  # C
    ("talc", 2.8),  # A
    ("red iron oxide", 5.18),  # C
    ("zircon", 4.50),  # B
]


@pytest.mark.parametrize(("parts", "own", "expected"), RECIPES)
def test_gravity_of_a_recipe_by_names(parts, own, expected):
    """Volumes add, so the mix is the harmonic mean of the densities in the table."""
    assert recipe_gravity(parts, own).gravity == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(("name", "density"), SECOND_READINGS)
def test_densities_agree_with_a_second_published_table(name, density):
    """Each density is within 3 % of another published table."""
    assert find_material(name).gravity == pytest.approx(density, rel=0.03)


@given(st.lists(st.sampled_from(sorted(catalogue())), min_size=1, max_size=10))
def test_the_band_holds_the_value(names):
    """Least, value and greatest stand in order for any mix of known materials, and nothing is assumed."""
    found = recipe_gravity((name, 1) for name in names)
    assert found.low <= found.gravity + 1e-12
    assert found.gravity <= found.high + 1e-12
    assert found.assumed == ()


@pytest.mark.parametrize(
    ("spoken", "name"),
    [("Whiting", "calcium carbonate"), ("china  clay", "kaolin"), ("FLINT", "quartz"), ("tin", "tin oxide")],
)
def test_trade_names_find_their_material(spoken, name):
    """A trade name in any case and spacing finds the material."""
    assert find_material(spoken).name == name


def test_an_unknown_material_is_taken_as_2_6_and_named():
    """Nothing is guessed in silence: the name is handed back, with the band 2.5 to 2.7."""
    found = recipe_gravity([("moon dust", 5)])
    assert (found.low, found.gravity, found.high) == pytest.approx((2.5, 2.6, 2.7))
    assert found.assumed == ("moon dust",)


def test_the_potters_own_density_comes_first():
    """A density that the potter gives is used, also for a name that is in the table."""
    found = recipe_gravity([("moon dust", 1), ("quartz", 1)], own={"moon dust": 3.0, "quartz": 3.0})
    assert found.gravity == pytest.approx(3.0)
    assert found.assumed == ()


def test_near_names_help_with_a_misheard_name():
    """A name one slip away is offered; nonsense offers nothing."""
    assert "wollastonite" in near_names("wolastonite")
    assert near_names("xyzzy") == ()
    assert len(near_names("oxide")) <= len(near_names("iron oxid")) == 3


def test_nothing_has_no_gravity_and_less_than_nothing_is_refused():
    """No weight at all, a negative one, or a gravity that no powder has is refused."""
    with pytest.raises(TooFew):
        recipe_gravity([("quartz", 0)])
    with pytest.raises(OutOfRange):
        recipe_gravity([("quartz", -1), ("kaolin", 3)])
    with pytest.raises(OutOfRange):
        recipe_gravity([("moon dust", 1)], own={"moon dust": 20})


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("quartz,,heavy,2,3,dust,x,from memory", "a number is wanted"),
        ("quartz,,2.65,2.7,2.8,dust,x,from memory", "low ≤ density ≤ high"),
        ("quartz,,2.65,2.6,2.8,dust,x", "8 cells"),
        ("quartz,,2.65,2.6,2.8,dust,x,certain", "one of seen at source, .* for known"),
        ("quartz,,2.65,2.6,2.8,dust,,from memory", "a source is wanted"),
        ("quartz,quartz,2.65,2.6,2.8,dust,x,from memory", "stands there already"),
    ],
)
def test_a_bad_line_is_refused_with_its_number_and_reason(line, reason):
    """A table that cannot be read names the line and says what was wanted."""
    with pytest.raises(BadTable, match=rf"line 2: .*{reason}"):
        parse_materials(HEAD + line)


def test_a_wrong_heading_is_refused():
    """The heading is part of the format."""
    with pytest.raises(BadTable, match="line 1: the heading"):
        parse_materials("name,density\nquartz,2.65")


def test_every_material_has_a_source_and_nothing_remembered_is_called_seen():
    """Every line cites something, and a bare reference value is always marked as from memory."""
    for material in catalogue().values():
        assert material.source.text
        if material.source.text.startswith("Reference value"):
            assert material.source.known is Known.MEMORY
