"""The density of water, from which the volume of any cup follows.

Weights in air are taken as they are shown. The lift of the air makes 100 grams of water read 0.1 gram
light and a gravity of 1.45 read 0.0005 high, far below what a bench scale or a brimming cup can tell.
"""

from __future__ import annotations

from benchvoice.calculator.quantities import UNITS, Quantity, celsius, magnitude, within

ROOM = celsius(20)
"""The temperature taken when nobody has said one."""


def water_density(temperature: Quantity = ROOM) -> Quantity:
    """Return the density of pure water at the pressure of the air.

    With t the temperature, in kilograms a cubic metre::

        ρ = a5·(1 − (t + a1)²·(t + a2) / (a3·(t + a4)))

    temperature  [°C]     of the water, 0 to 40
    returns      [kg/m³]
    raises       OutOfRange below 0 °C or above 40 °C; NotThatKind when it is no temperature
    limits       air-free water; air dissolved in it takes off 0.003 kg/m³
    source       M. Tanaka, G. Girard, R. Davis, A. Peuto, N. Bignell, "Recommended table for the density
                 of water between 0 °C and 40 °C", Metrologia 38 (2001) 301-309 (abstract and first page
                 seen at source; coefficients second-hand, from public code that agrees with itself)

    >>> water_density(celsius(25))
    <Quantity(997.047, 'kilogram / metre ** 3')>
    """
    t = within(magnitude(temperature, "degree_Celsius", of=_OF), 0.0, 40.0, of=_OF, unit="degrees Celsius")
    loss = (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881))
    return UNITS.Quantity(999.974950 * (1 - loss), "kilogram / metre ** 3")


_OF = "the temperature of the water"
