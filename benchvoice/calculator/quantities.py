"""Weights, volumes, times and lengths that carry their unit: the only unit registry of the program.

The registry is built from the text below, because a potter needs some fifty units and reading the
library's thousand takes longer than the whole program may take to start. A measure that means two sizes
is only known by its full name (`imperial_pint`, `us_pint`): the bare name is refused with the choices.

    >>> grams(1) + ounces(1)
    <Quantity(29.3495231, 'gram')>
    >>> magnitude(quantity(1, "imperial_pint"), "millilitre", of="slurry")
    568.26125
    >>> quantity(1, "pint")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    benchvoice.calculator.limits.AmbiguousUnit: A unit of one size is wanted; pint means more than one...
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any, SupportsFloat, TypeAlias

import pint

from benchvoice.calculator.limits import (
    AmbiguousUnit,
    BelowZero,
    NotAboveZero,
    NotFinite,
    NotThatKind,
    OutOfRange,
    UnknownUnit,
)

Quantity: TypeAlias = "pint.Quantity[float]"  # the library's class, always holding a float here

# One line a unit: name = size = symbol = further names. The inch, the pound, the imperial gallon and the
# US gallon are exact by definition; everything else in the two kitchens follows from them.
DEFINITIONS = """
micro- = 1e-6 = µ-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
kilo- = 1e3 = k-

gram = [mass] = g
metre = [length] = m = meter
second = [time] = s
kelvin = [temperature]; offset: 0 = K
radian = []

degree_Celsius = kelvin; offset: 273.15 = °C = celsius = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = °F = fahrenheit = degF

minute = 60 * second = min
hour = 60 * minute = h
day = 24 * hour = d
week = 7 * day

inch = 2.54 * centimetre = in
foot = 12 * inch = ft

litre = decimetre ** 3 = L = l = liter
newton = kilogram * metre / second ** 2 = N
pascal = newton / metre ** 2 = Pa
poise = 0.1 * pascal * second = P
stokes = centimetre ** 2 / second = St

pound = 453.59237 * gram = lb
ounce = pound / 16 = oz
grain = pound / 7000 = gr

imperial_gallon = 4.54609 * litre
imperial_quart = imperial_gallon / 4
imperial_pint = imperial_gallon / 8
imperial_fluid_ounce = imperial_pint / 20
imperial_fluid_dram = imperial_fluid_ounce / 8
imperial_minim = imperial_fluid_dram / 60

us_gallon = 231 * inch ** 3
us_quart = us_gallon / 4
us_pint = us_gallon / 8
us_cup = us_pint / 2
us_fluid_ounce = us_pint / 16
us_tablespoon = us_fluid_ounce / 2
us_teaspoon = us_fluid_ounce / 6
us_fluid_dram = us_fluid_ounce / 8
us_minim = us_fluid_dram / 60

metric_cup = 250 * millilitre
metric_tablespoon = 15 * millilitre
metric_teaspoon = 5 * millilitre
nominal_drop = 0.05 * millilitre
"""

# Bare names that mean more than one size, with the names that say which.
AMBIGUOUS = {
    "gallon": ("imperial_gallon", "us_gallon"),
    "quart": ("imperial_quart", "us_quart"),
    "pint": ("imperial_pint", "us_pint"),
    "cup": ("metric_cup", "us_cup"),
    "fluid_ounce": ("imperial_fluid_ounce", "us_fluid_ounce"),
    "fluid_dram": ("imperial_fluid_dram", "us_fluid_dram"),
    "minim": ("imperial_minim", "us_minim"),
    "tablespoon": ("metric_tablespoon", "us_tablespoon"),
    "teaspoon": ("metric_teaspoon", "us_teaspoon"),
}


# Names joined by × or ÷, each perhaps raised to a power. The library would read other text as a sum.
_UNIT_TEXT = re.compile(r"[^\W\d]\w*( (\*|/|\*\*) \w+)*|°[CF]")


def _registry() -> pint.UnitRegistry[Any]:
    """Build the registry from the text above and make it the one that unpickled quantities join."""
    units: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    units.load_definitions(DEFINITIONS.splitlines())
    pint.set_application_registry(units)  # type: ignore[no-untyped-call]
    return units


UNITS = _registry()


def quantity(value: SupportsFloat, unit: str) -> Quantity:
    """Return the value with its unit; refuses a unit that is unknown or means more than one size.

    >>> quantity(2, "us_pint").to("litre")
    <Quantity(0.946352946, 'litre')>
    """
    number = finite(value, of=unit)
    try:
        return UNITS.Quantity(number, _of_one_size(unit))
    except (pint.PintError, TypeError):
        raise UnknownUnit(unit) from None


def _of_one_size(unit: str) -> str:
    """Return the unit itself when it is names of units and each means one size."""
    if not _UNIT_TEXT.fullmatch(unit):
        raise UnknownUnit(unit)
    for name in re.findall(r"\w+", unit):
        if sizes := AMBIGUOUS.get(name.removesuffix("s")):
            raise AmbiguousUnit(unit, " or ".join(unit.replace(name, size) for size in sizes))
    return unit


def grams(value: SupportsFloat) -> Quantity:
    """Return a weight in grams."""
    return quantity(value, "gram")


def kilograms(value: SupportsFloat) -> Quantity:
    """Return a weight in kilograms."""
    return quantity(value, "kilogram")


def ounces(value: SupportsFloat) -> Quantity:
    """Return a weight in ounces (28.35 grams each), never fluid ounces."""
    return quantity(value, "ounce")


def litres(value: SupportsFloat) -> Quantity:
    """Return a volume in litres."""
    return quantity(value, "litre")


def millilitres(value: SupportsFloat) -> Quantity:
    """Return a volume in millilitres."""
    return quantity(value, "millilitre")


def seconds(value: SupportsFloat) -> Quantity:
    """Return a time in seconds."""
    return quantity(value, "second")


def millimetres(value: SupportsFloat) -> Quantity:
    """Return a length in millimetres."""
    return quantity(value, "millimetre")


def centimetres(value: SupportsFloat) -> Quantity:
    """Return a length in centimetres."""
    return quantity(value, "centimetre")


def celsius(value: SupportsFloat) -> Quantity:
    """Return a temperature read from a thermometer in degrees Celsius, not a step between two of them."""
    return quantity(value, "degree_Celsius")


def magnitude(value: Quantity, unit: str, *, of: str = "this") -> float:
    """Return the number of `unit` in a quantity; refuses a bare number and a quantity of another kind.

    >>> magnitude(ounces(2), "gram")
    56.69904625
    >>> magnitude(litres(2), "gram", of="slurry in the cup")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    benchvoice.calculator.limits.NotThatKind: For slurry in the cup a value in gram is wanted; got 2 litre...
    """
    if not isinstance(value, pint.Quantity):
        raise NotThatKind(of, unit, f"{value!r} without a unit")
    try:
        return finite(value.m_as(unit), of=of)
    except pint.DimensionalityError:
        raise NotThatKind(of, unit, f"{value:g}") from None


def above_zero(value: Quantity, unit: str, *, of: str = "this") -> float:
    """Return the number of `unit` in a quantity that must be more than nothing."""
    if (number := magnitude(value, unit, of=of)) <= 0:
        raise NotAboveZero(of, number, unit)
    return number


def not_negative(value: Quantity, unit: str, *, of: str = "this") -> float:
    """Return the number of `unit` in a quantity that may be nothing but not less."""
    if (number := magnitude(value, unit, of=of)) < 0:
        raise BelowZero(of, number, unit)
    return number


def within(value: float, low: float, high: float, *, of: str, unit: str = "") -> float:
    """Return the value itself when low <= value <= high; refused otherwise."""
    if not low <= finite(value, of=of) <= high:
        raise OutOfRange(of, value, low, high, unit)
    return value


def finite(value: SupportsFloat, *, of: str) -> float:
    """Return the value as an ordinary float; refuses a quantity (it belongs elsewhere), NaN and infinity."""
    if isinstance(value, pint.Quantity):
        raise NotThatKind(of, "plain numbers", f"{value:g}")
    if not math.isfinite(number := float(value)):
        raise NotFinite(of, number)
    return number


@dataclass(frozen=True, slots=True)
class Weighing:
    """What a scale showed, and the step in which it shows."""

    mass: Quantity
    """The figure shown [mass]."""
    step: Quantity
    """The least change the scale shows [mass]: 1 gram, 0.1 gram."""

    @property
    def uncertainty(self) -> Quantity:
        """The standard uncertainty that the step alone leaves in the figure [gram].

        The true weight lies anywhere in a step's width, each place as likely: step / √12.
        Source: JCGM 100:2008 (the GUM), F.2.2.1, u = 0.29 of the step (from memory).

        >>> Weighing(grams(145), grams(1)).uncertainty
        <Quantity(0.288675135, 'gram')>
        """
        return grams(above_zero(self.step, "gram", of="the scale's step") / math.sqrt(12))
