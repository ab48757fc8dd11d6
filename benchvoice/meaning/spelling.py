"""From exact numbers to words: for the ear, for reading back, for a gravity.

Whatever is said here, `numbers.readings` hears as exactly the same number, and as no other; but for six
figures that repeat themselves (142,142), which read out one by one may also be three figures said twice.

    >>> say(Decimal("142.5"))
    'one hundred and forty two point five'
    >>> say_digits(Decimal("142.5"))
    'one, four, two, point, five'
    >>> say_gravity(Decimal("1.4"))
    'one point four zero'
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from benchvoice.meaning.number_words import DIGITS, PARTS, TEENS, TENS
from benchvoice.meaning.number_worth import MOST_FIGURES, Number, exact
from benchvoice.meaning.units import UNITS
from benchvoice.messages import Amount

GROUP = 4
"""Most figures that are read back in one breath; a longer row is cut into threes."""
_PART_NAMES = {size: name for name, size in PARTS.items() if name != "fourth"}


def say(value: Number | int) -> str:
    """Return a number as it is spoken.

    value: a number below a million with at most six decimals, or one with a small common fraction
    Returns the words, without a unit.
    Raises ValueError for a number that has no short spoken form, TypeError for one that is not exact.

    >>> say(2400), say(Decimal("2001.05")), say(-2), say(Fraction(5, 3))
    ('two thousand four hundred', 'two thousand and one point zero five', 'minus two', 'one and two thirds')
    """
    number = _checked(value)
    if number < 0:
        return "minus " + say(-number)
    if isinstance(number, Fraction):
        return _say_fraction(number)
    whole, _, places = f"{number:f}".partition(".")
    return _cardinal(int(whole)) + _point(places.rstrip("0"))


def say_digits(value: Number | int) -> str:
    """Return a number figure by figure, with a comma's pause between figures, to be checked by ear.

    value: as for `say`, but no fraction such as a third
    Raises ValueError and TypeError as `say` does.

    >>> say_digits(1420), say_digits(Decimal("0.5")), say_digits(24150)
    ('one, four, two, zero', 'zero, point, five', 'two, four; one, five, zero')
    """
    number = _decimal(value)
    whole, _, places = f"{abs(number):f}".partition(".")
    words = [_row(whole)] + ([f"point, {_row(places.rstrip('0'))}"] if places.rstrip("0") else [])
    return ", ".join((["minus"] if number < 0 else []) + words)


def say_gravity(value: Number | int, places: int = 2) -> str:
    """Return a gravity with at least so many places, its last zeros kept; no figure is ever dropped.

    value: a gravity, as for `say_digits`
    places: the fewest figures to say after the point
    Raises ValueError and TypeError as `say` does.

    >>> say_gravity(Decimal("1.425")), say_gravity(Decimal("1.5"), places=3)
    ('one point four two five', 'one point five zero zero')
    """
    number = _decimal(value)
    whole, _, told = f"{number:f}".partition(".")
    return say(int(whole)) + _point(told.rstrip("0").ljust(places, "0"))


def say_unit(unit: str, value: Number | int = 2) -> str:
    """Return a unit as it is spoken after a value; never a sign, which engines read as a letter.

    Raises KeyError for a unit that is not in `units`.

    >>> say_unit("gram", 1), say_unit("us_pint")
    ('gram', 'US pints')
    """
    return UNITS[unit].one if value == 1 else UNITS[unit].many


def say_amount(amount: Amount) -> str:
    """Return an amount as it is spoken.

    >>> say_amount(Amount(Decimal("2400"), "gram"))
    'two thousand four hundred grams'
    """
    if amount.unit is None:
        return say(amount.value)
    return f"{say(amount.value)} {say_unit(amount.unit, amount.value)}"


def _checked(value: Number | int) -> Number:
    """Return an exact number that can be spoken."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal | Fraction):
        raise TypeError(f"An exact number is wanted, got {value!r}: make it a Decimal first.")
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"A number that can be spoken is wanted, got {value}: check how it was worked out.")
    number = exact(Fraction(value))
    if abs(number) >= 10**MOST_FIGURES:
        raise ValueError(f"A number below a million is wanted, got {value}: use a larger unit.")
    return number


def _decimal(value: Number | int) -> Decimal:
    number = _checked(value)
    if isinstance(number, Fraction):
        raise ValueError(f"At most {MOST_FIGURES} decimals can be spoken, got {value}: round it first.")
    return number


def _say_fraction(number: Fraction) -> str:
    whole, part = divmod(number, 1)
    name = _PART_NAMES.get(part.denominator)
    if name is None or part.numerator >= len(DIGITS):
        raise ValueError(f"At most {MOST_FIGURES} decimals can be spoken, got {number}: round it first.")
    spoken = f"{DIGITS[part.numerator]} {name}{'s' if part.numerator > 1 else ''}"
    return f"{_cardinal(whole)} and {spoken}" if whole else spoken


def _cardinal(number: int) -> str:
    """Return a whole number from 0 to 999,999 in words, with the British "and"."""
    thousands, rest = divmod(number, 1000)
    if not thousands:
        return _below_thousand(rest) if rest else DIGITS[0]
    link = " and " if 0 < rest < 100 else " "
    return f"{_below_thousand(thousands)} thousand{link}{_below_thousand(rest)}".rstrip()


def _below_thousand(number: int) -> str:
    hundreds, rest = divmod(number, 100)
    if not hundreds:
        return _below_hundred(rest)
    return f"{DIGITS[hundreds]} hundred" + (f" and {_below_hundred(rest)}" if rest else "")


def _below_hundred(number: int) -> str:
    if number < 20:
        return ("", *DIGITS[1:], *TEENS)[number]
    tens, ones = divmod(number, 10)
    return TENS[tens - 2] + (f" {DIGITS[ones]}" if ones else "")


def _point(places: str) -> str:
    return " ".join((" point", *(DIGITS[int(figure)] for figure in places))) if places else ""


def _row(figures: str) -> str:
    """Return figures with a pause after each, and a longer one between groups of three."""
    step = 3 if len(figures) > GROUP else GROUP
    first = len(figures) % step or step
    cuts = [0, *range(first, len(figures) + 1, step)]
    groups = [figures[start:end] for start, end in pairwise(cuts)]
    return "; ".join(", ".join(DIGITS[int(figure)] for figure in group) for group in groups)
