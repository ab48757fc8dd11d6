"""Hydrometer scales against textbooks, handbook tables and each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.hydrometer import (
    MODULI,
    baume_to_gravity,
    gravity_to_baume,
    gravity_to_twaddell,
    hydrometer_reading,
    twaddell_to_gravity,
)
from benchvoice.calculator.limits import NotThatKind, OutOfRange, UnknownModulus
from benchvoice.calculator.quantities import grams

# degrees Baumé, modulus, gravity, tolerance
BAUME = [
    # computed with the library chemicals 1.5.2, Baume_heavy_to_SG
    (40, 145, 1.38095, 0.00001),
    # A Textbook of Assaying, p. 145 (seen at source)
    (32, 144.3, 1.285, 0.0005),
    # CRC Handbook, 51st ed., gives 66 degrees as 1.842 (second-hand: a mailing-list post)
    (66, 144.3, 1.842, 0.001),
    (66, 146.78, 1.8172, 0.0005),  # computed from the formula: the Gerlach scale, not the one of that table
    # the same on all scales (computed from the formula)
    (10, 145, 1.07407, 0.00001),
    (20, 145, 1.16000, 0.00001),
    (30, 145, 1.26087, 0.00001),
    (45, 145, 1.45000, 0.00001),
    (50, 145, 1.52632, 0.00001),
    (60, 145, 1.70588, 0.00001),
    (10, 144.3, 1.07446, 0.00001),
    (20, 144.3, 1.16090, 0.00001),
    (30, 144.3, 1.26247, 0.00001),
    (40, 144.3, 1.38351, 0.00001),
    (50, 144.3, 1.53022, 0.00001),
    (60, 144.3, 1.71174, 0.00001),
    (10, 144.32, 1.07445, 0.00001),
    (20, 144.32, 1.16088, 0.00001),
    (30, 144.32, 1.26242, 0.00001),
    (40, 144.32, 1.38344, 0.00001),
    (50, 144.32, 1.53011, 0.00001),
    (60, 144.32, 1.71157, 0.00001),
    (10, 146.78, 1.07311, 0.00001),
    (20, 146.78, 1.15775, 0.00001),
    (30, 146.78, 1.25689, 0.00001),
    (40, 146.78, 1.37460, 0.00001),
    (50, 146.78, 1.51664, 0.00001),
    (60, 146.78, 1.69140, 0.00001),
    # the old Dutch scale, 144 (second-hand: as for 146.78; computed from the formula)
    (24, 144, 1.2, 0.00001),
    # J. Towler, The Silver Sunbeam (1864), ch. 47 (seen at source); its modulus computed from its table
    (20, 152.04, 1.152, 0.0015),
    (40, 152.04, 1.357, 0.0005),
    (60, 152.04, 1.652, 0.0015),
    (66, 152.04, 1.767, 0.0015),
]

# degrees Twaddell, gravity
TWADDELL = [
    (25, 1.125),  # A Textbook of Assaying (seen at source)
    (0, 1.0),  # by definition, water
    (84, 1.42),  # and on: computed from the formula
    (90, 1.45),
    (104, 1.52),
]

moduli = st.sampled_from(sorted(MODULI))
gravities = st.floats(1.0, 3.0)


@pytest.mark.parametrize(("degrees", "modulus", "gravity", "tolerance"), BAUME)
def test_baume_tables(degrees: float, modulus: float, gravity: float, tolerance: float) -> None:
    """Each scale gives the gravities of its table."""
    assert baume_to_gravity(degrees, modulus) == pytest.approx(gravity, abs=tolerance)


@pytest.mark.parametrize(("degrees", "gravity"), TWADDELL)
def test_twaddell_tables(degrees: float, gravity: float) -> None:
    """A degree Twaddell is a two-hundredth of gravity."""
    assert twaddell_to_gravity(degrees) == pytest.approx(gravity, abs=1e-9)
    assert gravity_to_twaddell(gravity) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize(
    ("gravity", "baume", "twaddell"), [(1.45, 45.000, 90), (1.42, 42.887, 84), (1.52, 49.605, 104)]
)
def test_the_two_scales_side_by_side(gravity: float, baume: float, twaddell: float) -> None:
    """A gravity of 1.45 is 45 degrees Baumé (145) and 90 degrees Twaddell (computed from the formulas)."""
    assert gravity_to_baume(gravity, 145) == pytest.approx(baume, abs=0.0005)
    assert gravity_to_twaddell(gravity) == pytest.approx(twaddell, abs=1e-9)


@given(gravities, moduli)
def test_baume_and_back(gravity: float, modulus: float) -> None:
    """A gravity turned into degrees and back is itself, on every scale."""
    assert baume_to_gravity(gravity_to_baume(gravity, modulus), modulus) == pytest.approx(gravity, rel=1e-12)


@given(gravities)
def test_twaddell_and_back(gravity: float) -> None:
    """A gravity turned into degrees Twaddell and back is itself."""
    assert twaddell_to_gravity(gravity_to_twaddell(gravity)) == pytest.approx(gravity, rel=1e-12)


@given(st.floats(0, 90), moduli)
def test_more_degrees_are_a_higher_gravity(degrees: float, modulus: float) -> None:
    """Both scales rise with the gravity."""
    assert baume_to_gravity(degrees + 0.5, modulus) > baume_to_gravity(degrees, modulus)
    assert twaddell_to_gravity(degrees + 0.5) > twaddell_to_gravity(degrees)


@pytest.mark.parametrize("modulus", [0, 1, 140, 144.29, 150, 1450])
def test_a_modulus_that_no_scale_has_is_refused(modulus: float) -> None:
    """The refusal lists the scales that there are."""
    with pytest.raises(UnknownModulus, match=r"145, 144\.3"):
        baume_to_gravity(40, modulus)


def test_there_is_no_usual_modulus() -> None:
    """Without a modulus a reading in degrees Baumé means nothing."""
    with pytest.raises(TypeError):
        baume_to_gravity(40)  # type: ignore[call-arg]


@pytest.mark.parametrize("degrees", [145, 144, 97, -1, float("nan")])
def test_degrees_off_the_scale_are_refused(degrees: float) -> None:
    """At the modulus itself the gravity has no end; well before, no liquid is left."""
    with pytest.raises(ValueError, match="Baumé"):
        baume_to_gravity(degrees, 145)


@pytest.mark.parametrize("degrees", [-1, 401])
def test_twaddell_off_the_scale_is_refused(degrees: float) -> None:
    """Below water and above a gravity of 3 there is nothing to read."""
    with pytest.raises(OutOfRange):
        twaddell_to_gravity(degrees)


@pytest.mark.parametrize("gravity", [0.99, 3.01])
def test_gravities_off_the_scale_are_refused(gravity: float) -> None:
    """The scales are for liquids heavier than water."""
    with pytest.raises(OutOfRange):
        gravity_to_baume(gravity, 145)
    with pytest.raises(OutOfRange):
        gravity_to_twaddell(gravity)


def test_a_weight_is_no_reading() -> None:
    """Degrees are a plain number."""
    with pytest.raises(NotThatKind):
        baume_to_gravity(grams(40), 145)  # type: ignore[arg-type]


@pytest.mark.parametrize("in_slurry", [True, False])
def test_a_hydrometer_in_a_slurry_carries_a_caution(in_slurry: bool) -> None:
    """In a slurry it may stick; in a clear solution, such as sodium silicate, it does not."""
    assert hydrometer_reading(1.45, in_slurry=in_slurry).caution is in_slurry
