"""Numbers are said so that they are heard as themselves."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from benchvoice.meaning.amounts import hear_amount
from benchvoice.meaning.numbers import readings
from benchvoice.meaning.spelling import say, say_amount, say_digits, say_gravity, say_unit
from benchvoice.meaning.units import UNITS
from benchvoice.messages import Amount
from tests.strategies import gravities, weights


def heard(phrase: str) -> list[Decimal | Fraction]:
    """Return the values of all readings."""
    return [reading.value for reading in readings(phrase)]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("142.5", "one hundred and forty two point five"),
        ("0", "zero"),
        ("0.5", "zero point five"),
        ("1005", "one thousand and five"),
        ("2400", "two thousand four hundred"),
        ("2400.0", "two thousand four hundred"),
        ("-18", "minus eighteen"),
        ("999999", "nine hundred and ninety nine thousand nine hundred and ninety nine"),
        ("1E+3", "one thousand"),
    ],
)
def test_numbers_as_a_british_ear_wants_them(value: str, words: str) -> None:
    """Numbers are said in full, with "and" (common usage, no source)."""
    assert say(Decimal(value)) == words


@given(weights)
def test_whole_numbers_as_num2words_says_them(weight: Decimal) -> None:
    """Whole numbers are said as by num2words, a reference library, less its hyphens and commas."""
    assert say(int(weight)) == num2words(int(weight)).replace("-", " ").replace(",", "")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("142.5", "one, four, two, point, five"),
        ("1420", "one, four, two, zero"),
        ("24150", "two, four; one, five, zero"),
        ("0.05", "zero, point, zero, five"),
        ("-2.5", "minus, two, point, five"),
    ],
)
def test_figures_are_read_back_one_by_one(value: str, words: str) -> None:
    """Figures come with a pause after each, at most four in a row."""
    assert say_digits(Decimal(value)) == words


@pytest.mark.parametrize(
    ("value", "places", "words"),
    [
        ("1.42", 2, "one point four two"),
        ("1.4", 2, "one point four zero"),
        ("1", 2, "one point zero zero"),
        ("1.425", 2, "one point four two five"),
        ("1.5", 3, "one point five zero zero"),
        ("1", 0, "one"),
    ],
)
def test_gravity_keeps_its_zeros(value: str, places: int, words: str) -> None:
    """A gravity is said to as many places as it is known, and no figure is dropped."""
    assert say_gravity(Decimal(value), places) == words


@given(weights)
def test_every_weight_is_heard_as_said(weight: Decimal) -> None:
    """A weight said in words or in figures is heard as itself and as nothing else."""
    assert heard(say(weight)) == [weight]
    assert heard(say_digits(weight)) == [weight]


@pytest.mark.parametrize("thousands", range(100))
def test_weights_across_the_range_are_heard_as_said(thousands: int) -> None:
    """A walk through all weights up to 99,999.9 by steps of 9.7 leaves none out of reach."""
    for tenths in range(thousands * 10_000, (thousands + 1) * 10_000, 97):
        weight = Decimal(tenths) / 10
        assert heard(say(weight)) == [weight]
        assert heard(say_digits(weight)) == [weight]


def test_every_gravity_is_heard_as_said() -> None:
    """Every gravity from 0.500 to 3.000 by thousandths, in words, in figures, with and without zeros."""
    for thousandths in range(500, 3001):
        gravity = Decimal(thousandths) / 1000
        for words in (say(gravity), say_digits(gravity), say_gravity(gravity), say_gravity(gravity, 3)):
            assert heard(words) == [gravity]


@given(gravities, st.integers(0, 5))
def test_gravity_has_at_least_its_places(gravity: Decimal, places: int) -> None:
    """Asked for so many places, that many are said."""
    assert len(say_gravity(gravity, places).partition(" point ")[2].split()) >= places


@given(st.integers(0, 999), st.sampled_from([(1, 3), (2, 3), (1, 6), (5, 6)]))
def test_thirds_and_sixths_are_heard_as_said(whole: int, part: tuple[int, int]) -> None:
    """What no decimal holds is said as a fraction."""
    value = whole + Fraction(*part)
    assert heard(say(value)) == [value]


def test_the_longest_number_is_heard_as_said() -> None:
    """The number with the most words there are is still one."""
    value = Decimal("-777778.777777")
    assert heard(say(value)) == heard(say_digits(value)) == [value]


@given(weights.filter(lambda each: each > 0))
def test_negative_numbers_are_heard_as_said(weight: Decimal) -> None:
    """The sign is said and heard."""
    assert heard(say(-weight)) == heard(say_digits(-weight)) == [-weight]


@pytest.mark.parametrize(
    "value", [Decimal("NaN"), Decimal("Infinity"), 1_000_000, Decimal("0.1234567"), Fraction(1, 7)]
)
def test_what_cannot_be_spoken_is_refused(value: Decimal | Fraction | int) -> None:
    """A number without a short spoken form is refused, with a next step."""
    with pytest.raises(ValueError, match=r"(wanted|spoken), got"):
        say(value)


def test_thirds_have_no_figures() -> None:
    """A third cannot be read back figure by figure."""
    with pytest.raises(ValueError, match="round it first"):
        say_digits(Fraction(1, 3))


@pytest.mark.parametrize("value", [1.5, True, "142"])
def test_inexact_numbers_are_refused(value: object) -> None:
    """A binary fraction would be said with all its noise, so it is refused."""
    with pytest.raises(TypeError, match="exact number"):
        say(value)  # type: ignore[arg-type]


@pytest.mark.parametrize("unit", sorted(UNITS))
@pytest.mark.parametrize("value", ["1", "2", "142.5"])
def test_every_unit_is_heard_as_said(unit: str, value: str) -> None:
    """An amount said aloud is heard as itself."""
    amounts = hear_amount(say_amount(Amount(Decimal(value), unit)))
    assert isinstance(amounts, tuple)
    assert [(each.value, each.unit) for each in amounts] == [(Decimal(value), unit)]


def test_units_are_words_never_signs() -> None:
    """A sign would be read out as a letter, so every unit is spelled out."""
    for unit in UNITS:
        assert all(len(word) > 2 or word in ("US",) for word in say_unit(unit).split())


def test_bare_amount_is_said_as_a_number() -> None:
    """An amount without a unit is just its number."""
    assert say_amount(Amount(Decimal("142.5"))) == "one hundred and forty two point five"
