"""Numbers, and the ways people say them, made without any help from the code that is being tested.

Whole numbers are worded by num2words (a reference library); what it does not know (figures run together,
figure by figure, "double four") is put together here from a table of ten digits, by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import cache

from hypothesis import settings
from hypothesis import strategies as st
from num2words import num2words

# A busy machine is slow and still right; speed has tests of its own.
settings.register_profile("bench", deadline=None)
settings.load_profile("bench")

FIGURES = ("oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")

weights = st.integers(0, 999_999).map(lambda tenths: Decimal(tenths) / 10)
"""Weights to a tenth of a gram, up to 99,999.9."""
gravities = st.integers(500, 3000).map(lambda thousandths: Decimal(thousandths) / 1000)
"""Gravities to a thousandth, from petrol to lead glass."""

OTHER_WORDS = (
    "banana", "grams", "please", "glaze", "um", "the", "[unk]", "of", "percent", "bucket", "no", "litres", "",
)  # fmt: skip
"""Words that no number is made of."""
TYPED = (
    "142",
    "1,420",
    "142.5",
    ".5",
    "1/2",
    "½",
    "2½",
    "-3",
    "0",
    "1,42",
    "007",
    "1.2.3",
    "--",
    "9g",
    "1e5",
)
NUMBER_VOCABULARY = (
    *FIGURES, "zero", "nought", "naught", "o", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen",
    "sixteen", "seventeen", "eighteen", "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy",
    "eighty", "ninety", "hundred", "thousand", "point", "dot", "minus", "negative", "and", "a", "an", "half",
    "quarter", "quarters", "third", "thirds", "eighths", "double", "triple", "forty-two", "twenty-one",
)  # fmt: skip
UNIT_VOCABULARY = (
    "grams", "g", "kilo", "kilos", "pounds", "ounces", "litre", "litres", "mils", "ml", "pint", "us", "fluid",
    "minute", "minutes", "seconds", "hour", "of", "degrees", "celsius", "percent", "drops", "per", "inches",
)  # fmt: skip

number_phrases = st.lists(st.sampled_from(NUMBER_VOCABULARY + TYPED + OTHER_WORDS), max_size=10)
"""Any words of the vocabulary in any order."""
amount_phrases = st.lists(st.sampled_from(NUMBER_VOCABULARY + TYPED + UNIT_VOCABULARY), max_size=12)
refused_words = st.lists(st.sampled_from(OTHER_WORDS), min_size=1, max_size=3)


@cache
def cardinal(number: int) -> str:
    """Word a number by num2words, hyphens and commas left out: "one thousand and five"."""
    return str(num2words(number)).replace("-", " ").replace(",", "")


def figures(number: int) -> str:
    """Word a number figure by figure: "one oh five"."""
    return " ".join(FIGURES[int(figure)] for figure in str(number))


def _two(number: int) -> str | None:
    """Word the last two figures of a pair: "forty two", "oh five"; none for 00."""
    return cardinal(number) if number >= 10 else f"oh {FIGURES[number]}" if number else None


def _pair(number: int) -> Iterator[str]:
    """Run figures together: "one forty two", "fourteen twenty"; not after a round ten."""
    before, after = divmod(number, 100)
    if 0 < before < 100 and (before < 20 or before % 10) and (two := _two(after)):
        yield f"{cardinal(before)} {two}"
    if before >= 100 and before % 10 and before < 10_000 and (two := _two(after)):
        yield f"{cardinal(before // 10)} thousand {FIGURES[before % 10]} {two}"


def _hundreds(number: int) -> Iterator[str]:
    """Count in hundreds: "fourteen hundred and sixty"."""
    before, after = divmod(number, 100)
    if 10 <= before < 100 and (before < 20 or before % 10):
        tail = cardinal(after) if after else ""
        yield f"{cardinal(before)} hundred {tail}".strip()
        if after:
            yield f"{cardinal(before)} hundred and {tail}"


def _doubled(number: int) -> Iterator[str]:
    """Say "double four" for a figure that comes twice running, once."""
    text = str(number)
    for at, figure in enumerate(text[:-1]):
        if figure == text[at + 1]:
            yield " ".join(
                [*(FIGURES[int(f)] for f in text[:at]), "double", FIGURES[int(figure)]]
                + [FIGURES[int(f)] for f in text[at + 2 :]]
            )


def forms(number: int) -> set[str]:
    """Return every common way to say a whole number above nought."""
    full = cardinal(number)
    said = {full, full.replace(" and ", " "), *_pair(number), *_hundreds(number)}
    said |= {f"a {text[4:]}" for text in set(said) if text.startswith(("one hundred", "one thousand"))}
    if number > 9:
        said.add(figures(number).replace("oh", "zero"))
    if number > 99 or number % 10:
        said.add(figures(number))
    return said | set(_doubled(number))
