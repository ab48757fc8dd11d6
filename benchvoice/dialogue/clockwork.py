"""What the timers' talk asks of the timers: which one is meant, for how long, under which name."""

from __future__ import annotations

from benchvoice.calculator.quantities import magnitude
from benchvoice.dialogue.said import as_quantity
from benchvoice.dialogue.scene import Scene, Turn
from benchvoice.messages import Amount
from benchvoice.timers import Timer, timers

LONGEST_S = 24 * 3600.0
"""No timer runs longer [s]: a day (our choice; a soak over night lies within)."""
UP_TO_19 = tuple(
    word
    for row in (
        "no one two three four five six seven eight nine",
        "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen",
    )
    for word in row.split()
)
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
ORDER = ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")


def live(scene: Scene) -> tuple[Timer, ...]:
    """Return the timers that are not stopped, in the order in which they were begun."""
    return timers(scene.bench.entries)


def ringing(turn: Turn) -> tuple[Timer, ...]:
    """Return the timers that ring now."""
    return tuple(timer for timer in live(turn.scene) if timer.rings(turn.now))


def name_said(turn: Turn) -> str | None:
    """Return the name of a timer that was said, or None."""
    slots = turn.meaning.slots
    return next((str(slots[slot]) for slot in NAME_SLOTS if slot in slots), None)


NAME_SLOTS = ("timer_called", "timer", "also_timer_name", "name")


def seconds_of(amount: Amount) -> float:
    """Return the time in an amount [s]; a bare number is seconds."""
    return magnitude(as_quantity(amount, "second"), "second", of="the timer")


def is_time(amount: Amount) -> bool:
    """Tell whether an amount is a time, or may be one."""
    return bool(as_quantity(amount, "second").check("[time]"))


def meant(turn: Turn) -> tuple[Timer, ...]:
    """Return the timers that are meant; all of them when it was not said which."""
    found, name = live(turn.scene), name_said(turn)
    if name is not None:
        return tuple(timer for timer in found if timer.name == name)
    if turn.meaning.has_amount():
        return tuple(timer for timer in found if timer.length == seconds_of(turn.amount))
    return found


def new_name(turn: Turn, seconds: float) -> str:
    """Return the name that was said, or one by the length that no other timer has."""
    said = name_said(turn)
    if said is not None:
        return said
    taken, name = {timer.name for timer in live(turn.scene)}, length_as_name(seconds)
    numbered = (f"{which} {name}" for which in ORDER)
    return name if name not in taken else next((n for n in numbered if n not in taken), f"last {name}")


def length_as_name(seconds: float) -> str:
    """Return a time as a timer is called by it, in words that can be said.

    >>> length_as_name(600), length_as_name(90), length_as_name(4800), length_as_name(0.5)
    ('ten minute', 'ninety second', 'one hour twenty', 'short')
    """
    whole = round(seconds)
    if whole <= 99:
        return f"{_in_words(whole)} second" if whole else "short"
    size = 3600 if whole >= 3600 else 60
    name, (count, rest) = "hour" if size == 3600 else "minute", divmod(whole, size)
    smaller = rest // (size // 60)
    return f"{_in_words(count)} {name}" + (f" {_in_words(smaller)}" if smaller else "")


def _in_words(number: int) -> str:
    """Return a whole number from 1 to 99 in words."""
    if number < 20:
        return UP_TO_19[number]
    ten, one = divmod(number, 10)
    return TENS[ten - 2] + (f" {UP_TO_19[one]}" if one else "")
