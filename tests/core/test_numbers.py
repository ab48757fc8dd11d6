"""Spoken and typed numbers are heard exactly, in all their readings, or refused."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from num2words import num2words

from benchvoice.meaning.number_words import pieces_of
from benchvoice.meaning.numbers import (
    NumberRefused,
    Reading,
    gravity_at,
    hear_number,
    is_unfinished,
    number_at,
    readings,
)
from tests.strategies import (
    NUMBER_VOCABULARY,
    cardinal,
    figures,
    forms,
    number_phrases,
    refused_words,
    weights,
)


def heard(phrase: str) -> list[str]:
    """Return the values of all readings, as text."""
    return [str(reading.value) for reading in readings(phrase)]


# How English-speaking people say numbers: common usage, no source.
SAID = [
    ("one forty two", "142"),
    ("a hundred and forty two", "142"),
    ("one hundred forty two", "142"),
    ("one four two", "142"),
    ("one hundred forty two point five", "142.5"),
    ("one forty two point five", "142.5"),
    ("one four two point five", "142.5"),
    ("a hundred and thirty nine point five", "139.5"),
    ("one point four two", "1.42"),
    ("one point forty two", "1.42"),
    ("one decimal four two", "1.42"),
    ("one point oh five", "1.05"),
    ("one point zero zero five", "1.005"),
    ("one point double five", "1.55"),
    ("one point four two zero", "1.420"),
    ("one oh five", "105"),
    ("one zero five", "105"),
    ("one four oh", "140"),
    ("one zero", "10"),
    ("double four", "44"),
    ("triple five", "555"),
    ("one double four", "144"),
    ("two double oh", "200"),
    ("treble one two", "1112"),
    ("five five", "55"),
    ("twelve hundred", "1200"),
    ("fourteen hundred and sixty", "1460"),
    ("twenty five hundred", "2500"),
    ("one thousand and five", "1005"),
    ("a thousand five hundred", "1500"),
    ("one thousand and four hundred", "1400"),
    ("ten thousand four hundred", "10400"),
    ("two thousand and one point oh five", "2001.05"),
    ("two thousand four fifty", "2450"),
    ("nine hundred and ninety nine thousand nine hundred and ninety nine", "999999"),
    ("one thirty", "130"),
    ("five thirty", "530"),
    ("six sixty", "660"),
    ("one ten", "110"),
    ("fourteen forty", "1440"),
    ("fourteen oh five", "1405"),
    ("twenty four fifty", "2450"),
    ("twenty two", "22"),
    ("forty-two", "42"),
    ("one hundred and forty-two", "142"),
    ("Forty Two.", "42"),
    ("one, four, two, point, five", "142.5"),
    ("three and a half", "3.5"),
    ("one forty two and a half", "142.5"),
    ("a half", "0.5"),
    ("half", "0.5"),
    ("one half", "0.5"),
    ("a quarter", "0.25"),
    ("three quarters", "0.75"),
    ("two and a quarter", "2.25"),
    ("two and three quarters", "2.75"),
    ("one hundred and three quarters", "100.75"),
    ("five eighths", "0.625"),
    ("a third", "1/3"),
    ("one and two thirds", "5/3"),
    ("minus two", "-2"),
    ("negative one point five", "-1.5"),
    ("minus a half", "-0.5"),
    ("zero", "0"),
    ("minus zero", "0"),
    ("nought point five", "0.5"),
    ("oh point five", "0.5"),
    ("point five", "0.5"),
    ("point four two", "0.42"),
    ("142", "142"),
    ("142.5", "142.5"),
    ("1,420", "1420"),
    ("1,420.5", "1420.5"),
    ("1.42", "1.42"),
    ("0.500", "0.500"),
    (".5", "0.5"),
    ("-2", "-2"),
    ("−2.5", "-2.5"),
    ("142.", "142"),
    ("1/2", "0.5"),
    ("3/2", "1.5"),
    ("1/3", "1/3"),
    ("2 1/2", "2.5"),
    ("½", "0.5"),
    ("2½", "2.5"),
    ("2 and a half", "2.5"),
    ("142 point 5", "142.5"),
    ("14 hundred", "1400"),
    ("2 thousand", "2000"),
]


@pytest.mark.parametrize(("phrase", "value"), SAID)
def test_every_common_form_has_exactly_one_value(phrase: str, value: str) -> None:
    """What people say for a number is that number and no other."""
    assert heard(phrase) == [value]


AMBIGUOUS = [
    ("fifteen fifteen", ["1515", "15"]),
    ("forty two forty two", ["4242", "42"]),
    ("ten ten", ["1010", "10"]),
    ("fifteen fifteen point five", ["1515.5", "15.5"]),
    ("one four two one four two", ["142142", "142"]),
    ("a hundred and a half", ["100.5", "150"]),
    ("two thousand and a quarter", ["2000.25", "2250"]),
]


@pytest.mark.parametrize(("phrase", "values"), AMBIGUOUS)
def test_ambiguous_phrase_gives_every_reading(phrase: str, values: list[str]) -> None:
    """A phrase that means two numbers is never taken for one of them."""
    assert heard(phrase) == values


# What was heard, how much of it is a number, and the word at which it stopped (None: the words ran out).
REFUSED = [
    ("", "", None),
    ("banana", "", "banana"),
    ("nine bananas", "nine", "bananas"),
    ("sixty fifteen", "sixty", "fifteen"),
    ("forty twelve", "forty", "twelve"),
    ("twenty hundred", "twenty", "hundred"),
    ("twenty twenty", "twenty", "twenty"),
    ("hundred hundred", "", "hundred"),
    ("hundred and five", "", "hundred"),
    ("thousand", "", "thousand"),
    ("one hundred hundred", "one hundred", "hundred"),
    ("two thousand thousand", "two thousand", "thousand"),
    ("point point", "", "point"),
    ("one point five point two", "one point five", "point"),
    ("point hundred", "", "point"),
    ("five zero zero hundred", "five zero zero", "hundred"),
    ("fifty five five", "fifty five", "five"),
    ("one forty two five", "one forty two", "five"),
    ("one four twenty", "one four", "twenty"),
    ("double oh seven", "", "double"),
    ("oh five", "", "oh"),
    ("oh", "", "oh"),
    ("twenty and five", "twenty", "and"),
    ("one hundred and and five", "one hundred", "and"),
    ("one point forty two five", "one point forty two", "five"),
    ("one point four hundred", "one point four", "hundred"),
    ("one point five and a half", "one point five", "and"),
    ("three quarter", "three", "quarter"),
    ("two half", "two", "half"),
    ("five quarters", "five", "quarters"),
    ("point one two three four five six seven", "point one two three four five six", "seven"),
    ("one thirds", "one", "thirds"),
    ("third", "", "third"),
    ("minus minus two", "", "minus"),
    ("two minus", "two", "minus"),
    ("one oh point five", "one", "oh"),
    ("1,42", "", "1,42"),
    ("1.2.3", "", "1.2.3"),
    ("007", "", "007"),
    ("20 5", "20", "5"),
    ("1 4 2", "1", "4"),
    ("142g", "", "142g"),
    ("1e5", "", "1e5"),
    ("1/0", "", "1/0"),
    ("2 3/2", "2", "3/2"),
    ("٣", "", "٣"),
    ("one . two", "one", "."),
    ("nine nine nine nine nine nine nine", "nine nine nine nine nine nine", "nine"),
    ("1234567", "", "1234567"),
]


@pytest.mark.parametrize(("phrase", "understood", "stopped_at"), REFUSED)
def test_refused_phrase_tells_how_far_it_got(phrase: str, understood: str, stopped_at: str | None) -> None:
    """What is no number is refused as a value, with what was understood so far."""
    refused = hear_number(phrase)
    assert isinstance(refused, NumberRefused)
    assert (refused.understood[0].text if refused.understood else "") == understood
    assert refused.stopped_at == stopped_at
    assert not refused.unfinished


UNFINISHED = [
    "one hundred and", "one point", "minus", "double", "one oh", "two and a", "two and three", "a",
    "one forty two point", "fourteen oh", "two thousand and a",
]  # fmt: skip


@pytest.mark.parametrize("phrase", UNFINISHED)
def test_unfinished_phrase_is_waited_for(phrase: str) -> None:
    """A phrase cut short in the middle of a number is told from one that is wrong."""
    refused = hear_number(phrase)
    assert isinstance(refused, NumberRefused)
    assert (refused.unfinished, refused.stopped_at) == (True, None)


@pytest.mark.parametrize("phrase", ["", "banana", "one forty two", "forty twelve", "hundred"])
def test_nothing_is_waited_for_in_vain(phrase: str) -> None:
    """A whole number, or nonsense, waits for no further word."""
    assert not is_unfinished(phrase)


@given(number_phrases, st.sampled_from(NUMBER_VOCABULARY))
def test_what_one_word_makes_a_number_is_waited_for(words: list[str], last: str) -> None:
    """If any word of the vocabulary would make it a number, it is unfinished; if it is one, it is not."""
    if not words or readings(words):
        assert not is_unfinished(words)
    elif readings((*words, last)):
        assert is_unfinished(words)


@given(st.integers(1, 99_999), st.data())
def test_a_number_is_unfinished_until_it_is_one(number: int, data: st.DataObject) -> None:
    """Each beginning of a number is a number, or waits for the rest."""
    phrase = data.draw(st.sampled_from(sorted(forms(number)))).split()
    for end in range(1, len(phrase)):
        assert readings(phrase[:end]) or is_unfinished(phrase[:end]), phrase[:end]


def test_sentence_of_a_refusal() -> None:
    """A refusal can be told in one sentence."""
    assert isinstance(refused := hear_number("hundred"), NumberRefused)
    assert refused.sentence() == 'I understood no number, then stopped at "hundred".'


def test_number_inside_a_sentence_offers_every_length_longest_first() -> None:
    """A grammar that looks for a number may take less of it."""
    found = [(str(value), end) for value, _, end in number_at("add one hundred and forty two grams", 1)]
    assert found == [("142", 6), ("140", 5), ("100", 3), ("1", 2)]


def test_no_number_ends_inside_a_word() -> None:
    """The word "142g" is an amount, and "forty-two" is 42, never 40."""
    assert list(number_at(("142g",))) == []
    assert [value for value, _, _ in number_at(("forty-two",))] == [42]


@pytest.mark.parametrize(
    ("phrase", "gravity"),
    [
        ("one point four two", "1.42"),
        ("one forty two", "1.42"),
        ("one four two", "1.42"),
        ("one oh five", "1.05"),
        ("fourteen twenty", "1.420"),
        ("one four two five", "1.425"),
        ("a hundred and forty two", "142"),
        ("142", "142"),
        ("nine fifty", "950"),
        ("one and a half", "1.5"),
        ("one zero", "10"),
    ],
)
def test_a_gravity_may_leave_out_its_point(phrase: str, gravity: str) -> None:
    """Where a gravity is wanted, figures run together are hundredths (common practice, no source)."""
    value, _, end = next(gravity_at(phrase))
    assert (str(value), end) == (gravity, len(phrase.split()))


def test_thirds_are_heard_but_not_offered_to_a_grammar() -> None:
    """No decimal holds a third, so a slot for a decimal does not get one."""
    assert readings("a third") == (Reading(Fraction(1, 3), "fraction", "a third"),)
    assert list(number_at("a third")) == []


def test_every_value_is_exact() -> None:
    """No value goes through binary floating point: a tenth is a tenth."""
    (reading,) = readings("point one")
    assert isinstance(reading.value, Decimal)
    assert reading.value == Fraction(1, 10)


def test_no_two_numbers_below_three_thousand_share_a_phrase() -> None:
    """Each way to say a number means that number; the only second reading is the same said twice."""
    meant: dict[str, set[int]] = defaultdict(set)
    for number in range(1, 3000):
        for phrase in forms(number):
            meant[phrase].add(number)
    for phrase, numbers in meant.items():
        found = readings(phrase)
        assert {each.value for each in found if each.rule != "said twice"} == numbers, phrase
        assert len(numbers) == 1, phrase


@given(st.integers(1, 99_999))
def test_forms_worded_by_others_are_heard(number: int) -> None:
    """Forms made with num2words mean the same number (reference library; its wording of "and" is British)."""
    for phrase in forms(number):
        assert number in [each.value for each in readings(phrase)], phrase


@pytest.mark.parametrize("language", ["en", "en_GB", "en_IN"])
@given(weight=weights.filter(lambda each: each < 100_000))
def test_decimals_worded_by_num2words_are_heard(language: str, weight: Decimal) -> None:
    """Decimals as num2words words them, in all its kinds of English, keep their value."""
    if weight == weight.to_integral_value():
        weight = Decimal(int(weight))
    assert [each.value for each in readings(num2words(weight, lang=language))] == [weight]


@pytest.mark.parametrize("year", [*range(1101, 2000), *range(2101, 2200)])
def test_years_worded_by_num2words_are_heard(year: int) -> None:
    """Figures run together as num2words says years: "fourteen twenty", "fourteen oh-five"."""
    assert year in [each.value for each in readings(num2words(year, to="year"))]


@given(st.integers(1, 999), st.integers(0, 999))
def test_any_whole_takes_any_places(whole: int, places: int) -> None:
    """Every way to say the whole can be followed by a point and figures."""
    for phrase in forms(whole):
        spoken = f"{phrase} point {figures(places) if places else 'zero'}"
        assert Decimal(f"{whole}.{places}") in [each.value for each in readings(spoken)]


@given(
    st.integers(1, 999),
    st.sampled_from([("a half", "0.5"), ("three quarters", "0.75"), ("a quarter", "0.25")]),
)
def test_any_whole_takes_a_fraction(whole: int, part: tuple[str, str]) -> None:
    """Every way to say the whole can be followed by "and a half"."""
    for phrase in forms(whole):
        assert whole + Decimal(part[1]) in [each.value for each in readings(f"{phrase} and {part[0]}")]


@given(number_phrases)
def test_no_words_raise(words: list[str]) -> None:
    """Any words in any order are a number or refused, and the two never mix."""
    found = hear_number(words)
    assert isinstance(found, NumberRefused) or (found and len({each.value for each in found}) == len(found))


@given(st.text())
def test_no_text_raises(text: str) -> None:
    """Any text at all is a number or refused."""
    assert isinstance(hear_number(text), tuple | NumberRefused)


@given(number_phrases, refused_words)
def test_refused_words_after_a_number_change_nothing(words: list[str], more: list[str]) -> None:
    """What was understood of a number is the number, whatever other words follow it."""
    found = readings(words)
    refused = hear_number((*words, *more))
    assert isinstance(refused, NumberRefused)
    if found:
        assert refused.understood == found
        assert refused.stopped_at == more[0]


@given(number_phrases)
@example(["point", "1,420"])
def test_longest_number_comes_first(words: list[str]) -> None:
    """The numbers that begin at a word come in order of length, and each is what its words alone are."""
    found = list(number_at(words))
    assert [end for _, _, end in found] == sorted((end for _, _, end in found), reverse=True)
    for value, rule, end in found:
        assert (value, rule) in [(each.value, each.rule) for each in readings(words[:end])]


def test_a_very_long_word_is_refused_at_once() -> None:
    """Rows of thousands of signs are no number, and take no time."""
    assert isinstance(hear_number("½" * 20_000), NumberRefused)
    assert isinstance(hear_number("one " * 20_000), NumberRefused)


def test_nothing_is_skipped() -> None:
    """A word of punctuation, or an empty one, is a word that was not understood."""
    assert [piece.kind for piece in pieces_of(("one", "...", "", "two"))] == ["d", "?", "?", "d"]


def test_the_reference_words_numbers_as_the_forms_need() -> None:
    """The reference says what the other tests build on (num2words 0.5.14, seen at source)."""
    assert cardinal(1005) == "one thousand and five"


@pytest.mark.parametrize("words", ["point 1,420", "one point 1,420", "point 4.2"])
def test_a_typed_number_with_a_sign_in_it_is_no_places(words: str) -> None:
    """Found by chance on 2026-11-25: it ended the parser with an exception."""
    assert readings(words) == ()
