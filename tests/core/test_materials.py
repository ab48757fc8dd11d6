"""Materials: the published densities, the rule for mixtures, and what is said of an unknown name."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import OutOfRange
from benchvoice.calculator.materials import (
    NoMaterials,
    catalogue,
    find_material,
    mixture_gravity,
    near_names,
    parse_materials,
    recipe_gravity,
)
from benchvoice.calculator.sources import Known
from benchvoice.calculator.tables import BadTable

HEAD = "name,synonyms,density,low,high,hazards,source,known\n"

# (parts, expected, tolerance): the harmonic rule worked by hand (computed from the formula).
MIXTURES = [
    ([(40, 2.60), (30, 2.65), (20, 2.71), (10, 2.60)], 2.63632, 1e-4),
    ([(40, 2.60), (30, 2.65), (20, 2.71), (10, 2.60), (10, 4.6)], 2.74277, 1e-4),
    ([(100, 2.6363), (8, 6.95), (1, 4.13)], 2.7718, 1e-3),  # never 2.967, which the plain mean gives
    ([(7, 2.5)], 2.5, 1e-12),
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


@pytest.mark.parametrize(("parts", "expected", "tolerance"), MIXTURES)
def test_mixture_gravity(parts, expected, tolerance):
    """Volumes add, so the mixture is the harmonic mean."""
    assert mixture_gravity(parts) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(("name", "density"), SECOND_READINGS)
def test_densities_agree_with_a_second_published_table(name, density):
    """Each density is within 3 % of another published table."""
    assert find_material(name).gravity == pytest.approx(density, rel=0.03)


@given(
    st.lists(st.tuples(st.floats(0.1, 1e4), st.floats(1.6, 9)), min_size=1, max_size=12), st.floats(0.01, 100)
)
def test_mixture_lies_between_its_parts_and_does_not_mind_the_scale(parts, factor):
    """The mixture is between the lightest and the heaviest part, and the same for a batch of any size."""
    mixed = mixture_gravity(parts)
    assert min(s for _, s in parts) - 1e-9 <= mixed <= max(s for _, s in parts) + 1e-9
    assert mixture_gravity([(w * factor, s) for w, s in parts]) == pytest.approx(mixed, rel=1e-9)


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


@pytest.mark.parametrize("gravity", [0, 1.0, 11, float("nan")])
def test_a_gravity_no_powder_has_is_refused(gravity):
    """A density that no powder has is refused."""
    with pytest.raises(ValueError, match="gravity"):
        mixture_gravity([(1, gravity)])


def test_nothing_has_no_gravity_and_less_than_nothing_is_refused():
    """No weight at all, or a negative one, is refused."""
    with pytest.raises(NoMaterials):
        mixture_gravity([(0, 2.6)])
    with pytest.raises(OutOfRange):
        mixture_gravity([(-1, 2.6), (3, 2.6)])


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
