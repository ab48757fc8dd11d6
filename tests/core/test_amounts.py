"""Amounts are heard with their unit, exactly, in all their meanings, or refused."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.meaning.amounts import AmountRefused, amounts_at, hear_amount
from benchvoice.messages import Amount
from tests.strategies import amount_phrases, forms, weights


def heard(phrase: str, dimension: str | None = None) -> list[str]:
    """Return what a phrase can mean, as text; nothing when it is refused."""
    found = hear_amount(phrase, dimension)
    amounts = found if isinstance(found, tuple) else ()
    return [f"{each.value} {each.unit}" if each.unit else str(each.value) for each in amounts]


# Common usage, no source; the sizes (1000 grams, 16 ounces, 60 seconds, 12 inches) are so by definition.
SAID = [
    ("one forty two grams", "142 gram"),
    ("one hundred and forty two point five grams", "142.5 gram"),
    ("142g", "142 gram"),
    ("142.5 g", "142.5 gram"),
    ("1,420g", "1420 gram"),
    ("five and a half litres", "5.5 litre"),
    ("half a litre", "0.5 litre"),
    ("half litre", "0.5 litre"),
    ("a half litre", "0.5 litre"),
    ("½ litre", "0.5 litre"),
    ("1½ litres", "1.5 litre"),
    ("a litre", "1 litre"),
    ("an hour", "1 hour"),
    ("a litre and a half", "1.5 litre"),
    ("two litres and a quarter", "2.25 litre"),
    ("a quarter of a litre", "0.25 litre"),
    ("three quarters of an hour", "0.75 hour"),
    ("half an hour", "0.5 hour"),
    ("a third of an hour", "20 minute"),
    ("two kilos four hundred", "2400 gram"),
    ("two kilos and four hundred grams", "2400 gram"),
    ("two kilos four hundred and fifty grams", "2450 gram"),
    ("two kilos one forty", "2140 gram"),
    ("a kilo and a half", "1.5 kilogram"),
    ("two kilos four hundred point five", "2400.5 gram"),
    ("2kg 400g", "2400 gram"),
    ("three litres two fifty", "3250 millilitre"),
    ("1 l 500 ml", "1500 millilitre"),
    ("three pounds four ounces", "52 ounce"),
    ("three pounds four", "52 ounce"),
    ("three pounds four and a half ounces", "52.5 ounce"),
    ("two foot six", "30 inch"),
    ("a minute and a half", "1.5 minute"),
    ("one minute thirty", "90 second"),
    ("a minute twenty", "80 second"),
    ("two minutes twenty seconds", "140 second"),
    ("two minutes and five seconds", "125 second"),
    ("one hour two minutes and three seconds", "3723 second"),
    ("an hour thirty", "90 minute"),
    ("one hour ten seconds", "3610 second"),
    ("1:30", "90 second"),
    ("ninety seconds", "90 second"),
    ("minus five degrees celsius", "-5 degree_Celsius"),
    ("two thousand one twenty five seconds", "2125 second"),
    ("twenty degrees", "20 degree"),
    ("twenty degrees centigrade", "20 degree_Celsius"),
    ("20°C", "20 degree_Celsius"),
    ("sixty eight fahrenheit", "68 degree_Fahrenheit"),
    ("forty five degrees baumé", "45 degree_Baume"),
    ("forty five baume", "45 degree_Baume"),
    ("eighty degrees twaddell", "80 degree_Twaddell"),
    ("six percent", "6 percent"),
    ("half a percent", "0.5 percent"),
    ("6%", "6 percent"),
    ("two parts", "2 part"),
    ("ten drops", "10 drop"),
    ("a drop", "1 drop"),
    ("two teaspoons", "2 teaspoon"),
    ("half a teaspoon", "0.5 teaspoon"),
    ("three tablespoons", "3 tablespoon"),
    ("a pint", "1 pint"),
    ("half a pint", "0.5 pint"),
    ("two imperial pints", "2 imperial_pint"),
    ("two us pints", "2 us_pint"),
    ("one american gallon", "1 us_gallon"),
    ("a british quart", "1 imperial_quart"),
    ("four fluid ounces", "4 fluid_ounce"),
    ("four ounces", "4 ounce"),
    ("fourteen forty grams per litre", "1440 gram / litre"),
    ("thirty two ounces to the pint", "32 ounce / pint"),
    ("three millimetres", "3 millimetre"),
    ("two days", "2 day"),
    ("one week", "1 week"),
    ("one forty two", "142"),
    ("point five", "0.5"),
]


@pytest.mark.parametrize(("phrase", "amount"), SAID)
def test_every_common_form_has_exactly_one_meaning(phrase: str, amount: str) -> None:
    """What potters say for an amount is that amount and no other."""
    assert heard(phrase) == [amount]


SYNONYMS = {
    "gram": "gram grams gramme grammes g",
    "kilogram": "kilo kilos kilogram kilograms kg",
    "ounce": "ounce ounces oz",
    "pound": "pound pounds lb lbs",
    "litre": "litre litres liter liters l",
    "millilitre": "millilitre millilitres milliliter milliliters ml cc",
    "second": "second seconds sec secs",
    "minute": "minute minutes min mins",
    "hour": "hour hours hr hrs",
    "day": "day days",
    "week": "week weeks",
    "millimetre": "millimetre millimetres millimeter mm",
    "centimetre": "centimetre centimetres centimeter cm",
    "inch": "inch inches",
    "quart": "quart quarts",
    "gallon": "gallon gallons",
    "teaspoon": "teaspoon teaspoons tsp",
    "tablespoon": "tablespoon tablespoons tbsp",
    "drop": "drop drops",
    "percent": "percent %",
    "part": "part parts",
}


@pytest.mark.parametrize(
    ("unit", "word"), [(unit, word) for unit in SYNONYMS for word in SYNONYMS[unit].split()]
)
def test_every_word_for_a_unit_is_known(unit: str, word: str) -> None:
    """Each name a unit goes by means that unit, in the singular and the plural alike."""
    assert heard(f"two point five {word}") == [f"2.5 {unit}"]


AMBIGUOUS = [
    ("two kilos fifty", ["2050 gram", "2500 gram"]),
    ("two kilos five", ["2005 gram", "2500 gram"]),
    ("two litres and fifty", ["2050 millilitre", "2500 millilitre"]),
    ("one thirty seconds", ["130 second", "90 second"]),
    ("five thirty minutes", ["530 minute", "330 minute", "330 second"]),
    ("two mils", ["2 millilitre", "2 millimetre"]),
    ("fifteen fifteen grams", ["1515 gram", "15 gram"]),
    ("a hundred and a half grams", ["100.5 gram", "150 gram"]),
    ("two kilos one hundred and a half", ["2100.5 gram", "2150 gram"]),
    ("two oh seven minutes", ["207 minute", "127 minute", "127 second"]),
]


@pytest.mark.parametrize(("phrase", "amounts"), AMBIGUOUS)
def test_ambiguous_phrase_gives_every_meaning(phrase: str, amounts: list[str]) -> None:
    """A phrase that means two amounts is never taken for one of them."""
    assert heard(phrase) == amounts


REFUSED = [
    ("banana grams", "", "banana"),
    ("grams", "", "grams"),
    ("", "", None),
    ("two bananas", "two", "bananas"),
    ("one forty two grams of glaze", "one forty two grams", "of"),
    ("forty twelve grams", "forty", "twelve"),
    ("two point five kilos four hundred", "two point five kilos", "four"),
    ("one minute ninety", "one minute", "ninety"),
    ("one minute ninety seconds", "one minute", "ninety"),
    ("four hundred grams two kilos", "four hundred grams", "two"),
    ("two kilos two kilos", "two kilos two", "kilos"),
    ("two kilos three litres", "two kilos three", "litres"),
    ("three pounds sixteen ounces", "three pounds", "sixteen"),
    ("two kilos point five", "two kilos", "point"),
    ("one minute point five", "one minute", "point"),
    ("minus seventeen thirty seconds please", "minus seventeen thirty seconds", "please"),
    ("two thirds of a litre", "two", "thirds"),
    ("half a banana", "half", "a"),
    ("1:75", "", "1:75"),
    ("142x", "", "142x"),
]


@pytest.mark.parametrize(("phrase", "understood", "stopped_at"), REFUSED)
def test_refused_phrase_tells_how_far_it_got(phrase: str, understood: str, stopped_at: str | None) -> None:
    """What is no amount is refused as a value, with what was understood so far."""
    refused = hear_amount(phrase)
    assert isinstance(refused, AmountRefused)
    assert (refused.understood[0].words if refused.understood else "") == understood
    assert refused.stopped_at == stopped_at


UNFINISHED = ["half a", "two kilos and", "a", "one point", "two us", "an hour and", "three quarters of an"]


@pytest.mark.parametrize("phrase", UNFINISHED)
def test_unfinished_phrase_is_waited_for(phrase: str) -> None:
    """A phrase cut short in the middle of an amount is told from one that is wrong."""
    refused = hear_amount(phrase)
    assert isinstance(refused, AmountRefused)
    assert (refused.unfinished, refused.stopped_at) == (True, None)


def test_negative_figures_are_no_time() -> None:
    """A clock does not run below nought."""
    assert heard("minus seventeen thirty seconds") == ["-1730 second"]


BY_DIMENSION = [
    ("one thirty", "time", ["90 second"]),
    ("five oh five", "time", ["305 second"]),
    ("one thirty", "weight", ["130"]),
    ("one ninety", "time", ["190"]),
    ("ninety", "time", ["90"]),
    ("two mils", "volume", ["2 millilitre"]),
    ("two mils", "length", ["2 millimetre"]),
    ("two litres", "weight", []),
    ("two grams", "weight", ["2 gram"]),
]


@pytest.mark.parametrize(("phrase", "dimension", "amounts"), BY_DIMENSION)
def test_what_is_wanted_decides(phrase: str, dimension: str, amounts: list[str]) -> None:
    """Where a time is wanted "one thirty" is one; other dimensions than the wanted one are left out."""
    assert heard(phrase, dimension) == amounts


def test_unknown_dimension_is_a_defect() -> None:
    """A dimension that does not exist is the caller's mistake and is told with those that do."""
    with pytest.raises(ValueError, match=r"use one of .*weight"):
        hear_amount("two", "colour")


def test_amounts_inside_a_sentence_come_longest_first() -> None:
    """A grammar gets every alternative with the word after it."""
    found = list(amounts_at(["add", "two", "kilos", "four", "hundred", "grams", "please"], 1))
    assert found[0] == (Amount(Decimal(2400), "gram", "two kilos four hundred grams"), 6)
    assert [end for _, end in found] == [6, 5, 4, 4, 3, 2]


@given(weights)
def test_any_weight_with_its_unit_is_itself(weight: Decimal) -> None:
    """Typed weights keep their value and get their unit."""
    assert heard(f"{weight}g") == [f"{weight.normalize():f} gram"]


@given(st.integers(1, 99), st.integers(1, 999))
def test_kilos_and_grams_add_up(kilos: int, grams: int) -> None:
    """However the two are said, the sum is among what was heard, and alone when both units were said."""
    for large in sorted(forms(kilos)):
        for small in sorted(forms(grams)):
            total = f"{kilos * 1000 + grams} gram"
            assert total in heard(f"{large} kilos {small}")
            assert heard(f"{large} kilos and {small} grams").count(total) == 1


@given(st.integers(1, 59), st.integers(1, 59))
def test_minutes_and_seconds_add_up(minutes: int, seconds: int) -> None:
    """Minutes and seconds, with and without the last unit, are one number of seconds."""
    total = [f"{minutes * 60 + seconds} second"]
    assert heard(f"{minutes} minutes {seconds} seconds") == heard(f"{minutes} minutes {seconds}") == total
    assert heard(f"{minutes}:{seconds:02}") == total


@given(amount_phrases, st.sampled_from([None, "weight", "time", "volume"]))
def test_no_words_raise(words: list[str], dimension: str | None) -> None:
    """Any words in any order are an amount or refused; amounts come longest first, none twice."""
    found = list(amounts_at(words, 0, dimension))
    assert [end for _, end in found] == sorted((end for _, end in found), reverse=True)
    assert len(set(found)) == len(found)
    assert all(amount.words == " ".join(words[:end]) for amount, end in found)


@given(st.text())
def test_no_text_raises(text: str) -> None:
    """Any text at all is an amount or refused."""
    assert isinstance(hear_amount(text), tuple | AmountRefused)
