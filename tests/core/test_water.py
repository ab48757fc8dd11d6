"""The density of water against the recommended table, a reference library and other formulas."""

from __future__ import annotations

import gsw
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.limits import NotThatKind, OutOfRange
from benchvoice.calculator.quantities import celsius, grams, quantity
from benchvoice.calculator.water import ROOM, water_density

# °C, kg/m³, tolerance.
TABLED = [
    # Tanaka et al., Metrologia 38 (2001) 301-309: the greatest density (seen at source, abstract).
    (3.983035, 999.97495, 0.0001),
    # The same formula (computed from the formula, by a separate script).
    (5, 999.9668, 0.001),
    (10, 999.7027, 0.001),
    (15, 999.1026, 0.001),
    (18, 998.5984, 0.001),
    (20, 998.2067, 0.001),
    (22, 997.7730, 0.001),
    (25, 997.0470, 0.001),
    (28, 996.2353, 0.001),
    (30, 995.6488, 0.001),
    (35, 994.0326, 0.001),
    # IAPWS-95 at 101325 Pa (computed with two general libraries, chemicals 1.5.2 and CoolProp 8.0.0, alike).
    (0.01, 999.8438, 0.002),
    (4, 999.9749, 0.002),
    (5, 999.9666, 0.002),
    (15, 999.1026, 0.002),
    (20, 998.20715, 0.002),
    (25, 997.04764, 0.002),
    (30, 995.6495, 0.002),
    (35, 994.0333, 0.002),
    (40, 992.2164, 0.002),
    # Bettin and Spieweck's refit of Kell to ITS-90, IP Standard Methods 1998, App. G (seen at source).
    (20, 998.2031, 0.01),
]


@pytest.mark.parametrize(("degrees", "density", "tolerance"), TABLED)
def test_tabled_densities(degrees: float, density: float, tolerance: float) -> None:
    """The formula gives the published figures."""
    assert _density(degrees) == pytest.approx(density, abs=tolerance)


@given(st.floats(0, 40))
def test_densities_of_the_thermodynamic_equation_of_seawater(degrees: float) -> None:
    """A reference library (TEOS-10, with no salt) agrees to 0.0025 kg/m³ at any bench temperature."""
    library = float(gsw.rho(0, gsw.CT_from_t(0, degrees, 0), 0))

    assert _density(degrees) == pytest.approx(library, abs=0.0025)


# G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105, Eq. 16, t taken as IPTS-68 (coefficients second-hand).
@given(st.floats(0, 40))
def test_densities_of_kells_formula(degrees: float) -> None:
    """The older formula differs by less than 0.01 kg/m³."""
    t = degrees
    above = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )

    assert _density(degrees) == pytest.approx(above / (1 + 16.879850e-3 * t), abs=0.01)


@given(st.floats(4.0, 39.9))
def test_warmer_water_is_lighter(degrees: float) -> None:
    """Above four degrees the density only falls."""
    assert _density(degrees + 0.1) < _density(degrees)


def test_room_is_twenty_degrees() -> None:
    """With no temperature said, the water is at 20 °C."""
    assert water_density() == water_density(celsius(20)) == water_density(ROOM)


def test_fahrenheit_will_do() -> None:
    """60 °F is 15.5556 °C: 999.0170 kg/m³ (computed from the formula, by a separate script)."""
    density = water_density(quantity(60, "degree_Fahrenheit")).m_as("kilogram / metre ** 3")

    assert density == pytest.approx(999.0170, abs=0.001)


@pytest.mark.parametrize("degrees", [-0.1, 40.1, 100])
def test_ice_and_hot_water_are_refused(degrees: float) -> None:
    """Outside 0 to 40 °C the formula does not hold."""
    with pytest.raises(OutOfRange, match="from 0 to 40 degrees Celsius"):
        water_density(celsius(degrees))


@pytest.mark.parametrize("wrong", [20.0, grams(20)])
def test_only_a_temperature_will_do(wrong: object) -> None:
    """A bare number might be Fahrenheit: it is refused, as is a weight."""
    with pytest.raises(NotThatKind):
        water_density(wrong)  # type: ignore[arg-type]


# The lift of the air, 1.2 kg/m³, on weights of 8000 kg/m³: formula of OIML D 28 (from memory).
@pytest.mark.parametrize(("density", "true"), [(998.2, 100.1053), (1450, 100.0678)])
def test_the_lift_of_the_air_is_too_small_to_reckon_with(density: float, true: float) -> None:
    """100 g of water is 0.1 g heavier than it reads; a gravity from two weighings is out by 0.0005."""
    assert 100 * _lifted(density) == pytest.approx(true, abs=0.001)
    assert 1.45 * _lifted(998.2) / _lifted(1450) == pytest.approx(1.45054, abs=0.00002)


def _lifted(density: float) -> float:
    """Return the true mass over what a scale in air reads."""
    return (1 - 1.2 / 8000) / (1 - 1.2 / density)


def _density(degrees: float) -> float:
    """Return the density at a temperature in bare numbers."""
    return water_density(celsius(degrees)).m_as("kilogram / metre ** 3")
