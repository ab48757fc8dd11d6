"""Our small registry against pint's own thousand units and against legal definitions."""

from __future__ import annotations

import copy
import math
import pickle
import subprocess
import sys
from dataclasses import fields
from decimal import Decimal
from fractions import Fraction
from string import Formatter

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator import limits
from benchvoice.calculator.limits import (
    AmbiguousUnit,
    BelowZero,
    NotAboveZero,
    NotFinite,
    NotThatKind,
    OutOfRange,
    Refusal,
    UnknownUnit,
)
from benchvoice.calculator.quantities import (
    AMBIGUOUS,
    DEFINITIONS,
    Weighing,
    above_zero,
    celsius,
    centimetres,
    finite,
    grams,
    kilograms,
    litres,
    magnitude,
    millilitres,
    millimetres,
    not_negative,
    ounces,
    quantity,
    seconds,
    within,
)
from benchvoice.meaning.units import UNITS as SPOKEN_UNITS

# Our name, pint's name. Where pint has none the size is written out: a metric cup, spoon or nominal drop
# (nominal: common practice, no source).
NAMES = [
    ("gram", "gram"),
    ("kilogram", "kilogram"),
    ("milligram", "milligram"),
    ("g", "g"),
    ("kg", "kg"),
    ("pound", "pound"),
    ("lb", "lb"),
    ("ounce", "ounce"),
    ("oz", "oz"),
    ("grain", "grain"),
    ("litre", "litre"),
    ("millilitre", "millilitre"),
    ("mL", "mL"),
    ("ml", "ml"),
    ("L", "L"),
    ("imperial_gallon", "imperial_gallon"),
    ("imperial_quart", "imperial_quart"),
    ("imperial_pint", "imperial_pint"),
    ("imperial_fluid_ounce", "imperial_fluid_ounce"),
    ("imperial_fluid_dram", "imperial_fluid_drachm"),
    ("imperial_minim", "imperial_minim"),
    ("us_gallon", "gallon"),
    ("us_quart", "quart"),
    ("us_pint", "pint"),
    ("us_cup", "cup"),
    ("us_fluid_ounce", "fluid_ounce"),
    ("us_fluid_dram", "fluid_dram"),
    ("us_tablespoon", "tablespoon"),
    ("us_teaspoon", "teaspoon"),
    ("us_minim", "minim"),
    ("metric_cup", "0.25 litre"),
    ("metric_tablespoon", "0.015 litre"),
    ("metric_teaspoon", "0.005 litre"),
    ("nominal_drop", "0.00005 litre"),
    ("metre", "metre"),
    ("centimetre", "centimetre"),
    ("millimetre", "millimetre"),
    ("micrometre", "micrometre"),
    ("inch", "inch"),
    ("foot", "foot"),
    ("second", "second"),
    ("minute", "minute"),
    ("hour", "hour"),
    ("day", "day"),
    ("week", "week"),
    ("pascal", "pascal"),
    ("millipascal * second", "millipascal * second"),
    ("centipoise", "centipoise"),
    ("stokes", "stokes"),
    ("gram / litre", "gram / litre"),
    ("kilogram / metre ** 3", "kilogram / metre ** 3"),
    ("millimetre ** 2 / second", "millimetre ** 2 / second"),
    ("newton", "newton"),
]

# The legal sizes of the two kitchens, in millilitres or grams. Source: NIST Handbook 44, Appendix C, and the
# exact values that a private page of exact capacities derives from it (second-hand: the page was read).
LEGAL = [
    ("us_fluid_ounce", "millilitre", "29.5735295625"),
    ("us_pint", "millilitre", "473.176473"),
    ("us_gallon", "millilitre", "3785.411784"),
    ("us_fluid_dram", "millilitre", "3.6966911953125"),
    ("imperial_fluid_ounce", "millilitre", "28.4130625"),
    ("imperial_pint", "millilitre", "568.26125"),
    ("imperial_gallon", "millilitre", "4546.09"),
    ("ounce", "gram", "28.349523125"),
    ("pound", "gram", "453.59237"),
]

# The same from memory, for the rest: US spoons and cup, quarts, grain.
REMEMBERED = [
    ("us_teaspoon", "millilitre", "4.92892159375"),
    ("us_tablespoon", "millilitre", "14.78676478125"),
    ("us_cup", "millilitre", "236.5882365"),
    ("us_quart", "millilitre", "946.352946"),
    ("imperial_quart", "millilitre", "1136.5225"),
    ("grain", "gram", "0.06479891"),
    ("inch", "millimetre", "25.4"),
]


@pytest.fixture(scope="module")
def reference() -> pint.UnitRegistry:
    """Build the registry that comes with pint, with all its units."""
    return pint.UnitRegistry()


@pytest.mark.parametrize(("ours", "theirs"), NAMES)
def test_every_unit_has_the_size_that_pint_gives_it(
    reference: pint.UnitRegistry, ours: str, theirs: str
) -> None:
    """Each unit of ours, in base units, is the unit of the reference library."""
    want = reference.Quantity(1, theirs) if theirs[0].isalpha() else reference.Quantity(theirs)

    got = quantity(1, ours).to_base_units()
    want = want.to_base_units()
    si = got.to({"gram": "kilogram"}.get(str(got.units), got.units))

    assert {str(name): power for name, power in got.dimensionality.items()} == dict(want.dimensionality)
    assert si.to_base_units().magnitude * _kilograms(got) == pytest.approx(want.magnitude, rel=1e-14)


def _kilograms(value: pint.Quantity) -> float:
    """Return what turns our base, the gram, into the reference library's, the kilogram."""
    return 1000.0 ** -value.dimensionality.get("[mass]", 0)


def test_every_unit_defined_is_compared() -> None:
    """No unit of the registry escapes the comparison above, but temperature, which has its own."""
    names = {line.split(" = ")[0] for line in DEFINITIONS.splitlines() if " = " in line}
    defined = {name for name in names if not name.endswith("-")}
    compared = {part for ours, _ in NAMES for part in str(quantity(1, ours).units).split()}

    assert defined - compared == {"kelvin", "degree_Celsius", "degree_Fahrenheit", "radian", "poise"}


@pytest.mark.parametrize(("unit", "smaller", "size"), LEGAL + REMEMBERED)
def test_legal_sizes(unit: str, smaller: str, size: str) -> None:
    """The two kitchens have their legal sizes, to the last figure."""
    assert magnitude(quantity(1, unit), smaller) == pytest.approx(float(size), rel=1e-14)


@pytest.mark.parametrize(
    ("fahrenheit", "degrees"),
    # The two fixed points and where the scales cross (definition); a warm room (computed from the formula).
    [(32, 0), (212, 100), (-40, -40), (68, 20)],
)
def test_temperatures_read_from_a_thermometer(fahrenheit: float, degrees: float) -> None:
    """A reading in Fahrenheit is the Celsius that everyone knows."""
    got = magnitude(quantity(fahrenheit, "degree_Fahrenheit"), "degree_Celsius")

    assert got == pytest.approx(degrees, abs=1e-9)


def test_adding_two_temperatures_is_refused_by_the_library() -> None:
    """Twenty degrees and twenty degrees are not forty: a reading is not a step."""
    with pytest.raises(pint.OffsetUnitCalculusError):
        celsius(20) + celsius(20)


def test_celsius_is_kelvin_less_its_offset() -> None:
    """Nought degrees Celsius is 273.15 kelvin (definition)."""
    assert magnitude(celsius(0), "kelvin") == pytest.approx(273.15)


@pytest.mark.parametrize("name", sorted(AMBIGUOUS))
@pytest.mark.parametrize("ending", ["", "s"])
def test_a_name_with_two_sizes_is_refused_with_its_choices(name: str, ending: str) -> None:
    """A bare pint is refused, and each choice offered instead is a unit."""
    with pytest.raises(AmbiguousUnit) as refused:
        quantity(1, name + ending)

    sizes = {magnitude(quantity(1, choice), "millilitre") for choice in refused.value.choices.split(" or ")}
    assert len(sizes) == 2


def test_the_choices_are_whole_units() -> None:
    """Ounces to the pint are asked about with both pints, ready to be used."""
    with pytest.raises(AmbiguousUnit) as refused:
        quantity(29, "ounce / pint")

    assert refused.value.choices == "ounce / imperial_pint or ounce / us_pint"
    assert magnitude(quantity(1, "ounce / us_pint"), "gram / litre") == pytest.approx(59.9132, abs=0.001)


# What has no size of its own: a hydrometer's degrees, a share, a drop that somebody must count first.
SIZELESS = {"degree", "degree_Baume", "degree_Twaddell", "percent", "part", "drop"}


@pytest.mark.parametrize("name", sorted(set(SPOKEN_UNITS) - SIZELESS))
def test_every_unit_that_is_understood_can_be_reckoned_with(name: str) -> None:
    """What can be said is a unit here, or is asked about because it means two."""
    assert all(quantity(1, size).magnitude == 1 for size in _sizes(name))


def _sizes(name: str) -> list[str]:
    """Return the unit itself, or its choices when it is asked about."""
    try:
        quantity(1, name)
    except AmbiguousUnit as refused:
        return refused.choices.split(" or ")
    return [name]


@pytest.mark.parametrize(
    "name",
    [
        "furlong",
        "mug",
        "gramme-ish",
        "3 gram",
        "gram gram (",
        "",
        "g*",
        "12",
        "gram ** gram",
        "gram / / litre",
        "\x00",
    ],
)
def test_a_unit_that_no_bench_has_is_refused(name: str) -> None:
    """What the small registry does not hold is refused by our own error, with the name in it."""
    with pytest.raises(UnknownUnit) as refused:
        quantity(1, name)

    assert refused.value.got == name


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_endless_numbers_are_refused(bad: float) -> None:
    """No quantity holds NaN or infinity."""
    with pytest.raises(NotFinite):
        grams(bad)


@pytest.mark.parametrize("number", [142, 142.0, Decimal("142"), Fraction(142)])
def test_exact_numbers_are_taken(number: float | Decimal | Fraction) -> None:
    """Spoken amounts are exact decimals or fractions; they become floats here."""
    assert grams(number).magnitude == 142.0
    assert type(grams(number).magnitude) is float


@pytest.mark.parametrize(
    ("helper", "unit"),
    [
        (grams, "gram"),
        (kilograms, "kilogram"),
        (ounces, "ounce"),
        (litres, "litre"),
        (millilitres, "millilitre"),
        (seconds, "second"),
        (millimetres, "millimetre"),
        (centimetres, "centimetre"),
        (celsius, "degree_Celsius"),
    ],
)
def test_helpers_make_what_their_name_says(helper, unit: str) -> None:  # type: ignore[no-untyped-def]
    """Each helper is its unit, spelled short."""
    assert helper(2.5) == quantity(2.5, unit)


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        (litres(2), "gram"),
        (grams(2), "litre"),
        (seconds(2), "gram"),
        (ounces(2), "us_fluid_ounce"),
        (celsius(20), "gram"),
        (2.0, "gram"),
        ("2 g", "gram"),
        (None, "gram"),
    ],
)
def test_mixing_units_up_is_refused_in_our_words(value: object, unit: str) -> None:
    """A weight for a volume, a bare number for a weight: one error, saying what is wanted."""
    with pytest.raises(NotThatKind, match=f"in {unit} is wanted"):
        magnitude(value, unit, of="the slurry")  # type: ignore[arg-type]


def test_a_quantity_is_no_gravity() -> None:
    """A gravity is a plain number: a weight in its place is refused."""
    with pytest.raises(NotThatKind, match="plain numbers"):
        finite(grams(1.45), of="the gravity")  # type: ignore[arg-type]


def test_limits_say_the_value_and_the_limit() -> None:
    """Each check lets its own range pass and names the figure that it refuses."""
    assert within(2, 1, 3, of="it") == 2
    assert not_negative(grams(0), "gram") == 0
    with pytest.raises(OutOfRange, match=r"from 1 to 3 is wanted; got 3\.5"):
        within(3.5, 1, 3, of="it")
    with pytest.raises(NotAboveZero, match="got 0 gram"):
        above_zero(grams(0), "gram")
    with pytest.raises(BelowZero, match="got -1 gram"):
        not_negative(grams(-1), "gram")


@given(st.floats(1e-6, 1e6), st.sampled_from([unit for unit, _, _ in LEGAL + REMEMBERED]))
def test_there_and_back_is_where_it_was(value: float, unit: str) -> None:
    """A value taken to base units and back is itself."""
    assert quantity(value, unit).to_base_units().m_as(unit) == pytest.approx(value, rel=1e-12)


@given(st.floats(0.1, 1e5))
def test_quantities_survive_copying_and_pickling(value: float) -> None:
    """A quantity that was stored belongs to our registry again when it comes back."""
    weight = grams(value)

    assert pickle.loads(pickle.dumps(weight)) + weight == 2 * weight
    assert copy.deepcopy(weight) == weight


def test_refusals_survive_pickling() -> None:
    """An error that crosses a process keeps its facts and its sentence."""
    refused = OutOfRange("the gravity", 3.5, 1, 3)

    again = pickle.loads(pickle.dumps(refused))

    assert (str(again), again.facts) == (str(refused), refused.facts)


REFUSALS = [kind for kind in vars(limits).values() if isinstance(kind, type) and issubclass(kind, Refusal)]


@pytest.mark.parametrize("kind", [kind for kind in REFUSALS if kind is not Refusal])
def test_every_refusal_says_what_was_wanted_and_what_to_do(kind: type[Refusal]) -> None:
    """Both sentences are there, speak of nothing but the facts, and the facts have a meaning each."""
    named = [
        name for text in (kind.wanted_got, kind.mend) for _, name, _, _ in Formatter().parse(text) if name
    ]

    assert set(named) <= {field.name for field in fields(kind)}
    assert named, "a refusal without a fact in it"
    assert "wanted" in kind.wanted_got or "wants" in kind.wanted_got or "can" in kind.wanted_got
    assert kind.mend.endswith(".")
    assert not str(kind.__doc__).startswith(kind.__name__), "the docstring is dataclass's own"


# JCGM 100:2008 (the GUM), F.2.2.1: the standard uncertainty is 0.29 of the step (from memory).
@pytest.mark.parametrize("step", [1.0, 0.1, 5.0])
def test_a_scale_is_good_to_0_29_of_its_step(step: float) -> None:
    """The uncertainty of a figure on a scale is that of an even spread over one step."""
    assert Weighing(grams(145), grams(step)).uncertainty.magnitude == pytest.approx(0.29 * step, rel=0.01)


@pytest.mark.parametrize("step", [grams(0), grams(-1)])
def test_a_scale_without_a_step_is_refused(step: pint.Quantity) -> None:
    """A scale shows something: its step is more than nothing."""
    with pytest.raises(NotAboveZero):
        _ = Weighing(grams(145), step).uncertainty


def test_the_module_is_quick_to_start() -> None:
    """Our registry takes a hundredth of a second to build; pint's own takes ten times that."""
    code = (
        "import time, pint\n"
        "start = time.process_time()\n"
        "import benchvoice.calculator.quantities\n"
        "print(time.process_time() - start)\n"
    )

    taken = float(subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout)

    assert taken < 0.1
