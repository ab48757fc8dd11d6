"""How a glaze flows: a word, or the seconds that the potter's own cup takes to drain; never a viscosity.

A glaze thins while it is stirred and sets up while it stands, and one number cannot tell both (ASTM D1200
leaves such liquids out). So a time is only ever held against this bucket's own good time: the same cup, near
the same temperature, as long after stirring. Several repeats are taken; their middle one counts and their
spread says how finely two times can be told apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from itertools import pairwise
from statistics import median

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import Quantity, above_zero, magnitude, not_negative, seconds

BLOCKED_RATIO = 1.5
"""A repeat this many times the middle of the others means something stuck in the hole (common practice)."""
LEAST_TOLERANCE = 0.05
"""Two times within five in a hundred are one and the same at a bench (common practice)."""
HAND_SPREAD = 0.3
"""What a thumb on a stopwatch adds to each time, either way [s] (common practice)."""
TEMPERATURE_STEP = 3.0
"""Beyond so many degrees Celsius between two readings the comparison is doubtful (common practice)."""
DELAY_RATIO = 2.0
"""Beyond so many times the standing after stirring the comparison is doubtful (common practice)."""


class FlowWord(IntEnum):
    """The trade's ordered words for how a glaze pours, thinnest first (common practice, no source)."""

    WATER = 1
    MILK = 2
    CREAM = 3
    YOGURT = 4


class Verdict(StrEnum):
    """How the flow stands against this bucket's own good value."""

    THIN = "thin"
    RIGHT = "right"
    THICK = "thick"


class FlowCaution(StrEnum):
    """What makes a comparison doubtful; each is said along with the verdict."""

    ONE_TIME = "one time"  # a single repeat: the spread is a guess
    BLOCKED = "blocked"  # a repeat was left out: clean the hole
    CREEPING = "creeping"  # each repeat longer than the one before: it sets up, or the hole is closing
    TEMPERATURE = "temperature"  # the two readings were taken too far apart in temperature
    DELAY = "delay"  # the glaze stood much longer, or shorter, after stirring
    UNMEASURED = "unmeasured"  # the temperature or the standing of one reading is not known


@dataclass(eq=False)
class NoGoodTime(Refusal):
    """Every repeat was blocked, or there was none."""

    wanted_got = "At least one full draining is wanted; got {blocked} blocked and no other."
    mend = "Clean the hole, sieve the glaze, and time it again."

    blocked: int
    """How many repeats never ended."""


@dataclass(eq=False)
class CupsDiffer(Refusal):
    """Two readings from two cups cannot be compared."""

    wanted_got = "A time from {wanted} is wanted; got one from {got}."
    mend = "Time it again with {wanted}."

    wanted: str
    """The cup of the good value."""
    got: str
    """The cup of the reading."""


@dataclass(frozen=True, slots=True)
class DrainReading:
    """The seconds that one cup of this glaze takes to drain."""

    cup: str
    """The potter's name for the cup."""
    time: Quantity
    """The middle one of the repeats that ended as they should [s]."""
    spread: Quantity
    """Half the way from the shortest to the longest of them, never below a thumb's own [s]."""
    kept: tuple[Quantity, ...]
    """The repeats that count, in the order taken [s]."""
    blocked: tuple[int, ...]
    """Which repeats were left out as blocked, the first being 0."""
    temperature: Quantity | None
    """Of the glaze [°C]; None when it was not measured."""
    since_stirring: Quantity | None
    """How long it stood between stirring and timing [s]; None when nobody noticed."""

    @property
    def cautions(self) -> tuple[FlowCaution, ...]:
        """What is doubtful about the reading by itself."""
        found = {
            FlowCaution.ONE_TIME: len(self.kept) == 1,
            FlowCaution.BLOCKED: bool(self.blocked),
            FlowCaution.CREEPING: is_creeping(self.kept),
        }
        return tuple(caution for caution, holds in found.items() if holds)


@dataclass(frozen=True, slots=True)
class FlowComparison:
    """A reading against the bucket's own good value."""

    verdict: Verdict
    ratio: float
    """Time now over good time [-]; above 1 is thicker."""
    tolerance: float
    """How far the ratio may be from 1 and still be right [-]."""
    cautions: tuple[FlowCaution, ...]
    """What makes the verdict doubtful; empty when nothing does."""


def drain_reading(
    cup: str,
    times: Sequence[Quantity | None],
    temperature: Quantity | None = None,
    since_stirring: Quantity | None = None,
) -> DrainReading:
    """Return the reading from repeats of one cup; a repeat of None is one that never ended.

    times           [second]  in the order taken
    temperature     [°C]      of the glaze
    since_stirring  [second]  from the last stirring to the timing
    returns         middle, spread and which repeats were left out as blocked
    raises          NoGoodTime when none is left

    >>> from benchvoice.calculator.quantities import celsius
    >>> reading = drain_reading("blue cup", [seconds(41), seconds(43), seconds(90)], celsius(20), seconds(15))
    >>> reading.time, reading.blocked
    (<Quantity(42.0, 'second')>, (2,))
    """
    blocked = blocked_repeats(times)
    kept = [t for i, t in enumerate(times) if t is not None and i not in blocked]
    if not kept:
        raise NoGoodTime(len(blocked))
    numbers = _numbers(kept)
    return DrainReading(
        cup,
        seconds(median(numbers)),
        seconds(_spread(numbers)),
        tuple(kept),
        blocked,
        temperature,
        since_stirring,
    )


def _spread(numbers: Sequence[float]) -> float:
    if len(numbers) == 1:
        return max(HAND_SPREAD, LEAST_TOLERANCE * numbers[0])
    return max(HAND_SPREAD, (max(numbers) - min(numbers)) / 2)


def _numbers(times: Sequence[Quantity]) -> list[float]:
    return [above_zero(t, "second", of="a draining time") for t in times]


def blocked_repeats(times: Sequence[Quantity | None]) -> tuple[int, ...]:
    """Return which repeats were blocked: those that never ended, and those far longer than the others.

    >>> blocked_repeats([seconds(40), None, seconds(42), seconds(75)])
    (1, 3)
    """
    ended = {i: above_zero(t, "second", of="a draining time") for i, t in enumerate(times) if t is not None}
    return tuple(i for i in range(len(times)) if i not in ended or _sticks_out(i, ended))


def _sticks_out(i: int, ended: dict[int, float]) -> bool:
    others = [t for j, t in ended.items() if j != i]
    return bool(others) and ended[i] > BLOCKED_RATIO * median(others)


def is_creeping(times: Sequence[Quantity]) -> bool:
    """Tell whether each of three or more repeats took clearly longer than the one before.

    Then the glaze is setting up between repeats, or the hole is slowly closing.

    >>> is_creeping([seconds(40), seconds(43), seconds(46)])
    True
    """
    numbers = _numbers(times)
    rising = all(later > earlier for earlier, later in pairwise(numbers))
    return len(numbers) >= 3 and rising and numbers[-1] > (1 + LEAST_TOLERANCE) * numbers[0]


def compare(now: DrainReading, good: DrainReading) -> FlowComparison:
    """Return how a reading stands against the bucket's own good one, with a tolerance from both spreads.

    ratio = time now / good time;  tolerance = √((spread/time)² + (good spread/good time)²), at least 0.05

    Thin below 1/(1 + tolerance), thick above 1 + tolerance: the same factor either way.

    raises   CupsDiffer when the two were not taken with one cup
    source   common practice, no source (the sum of two spreads as in JCGM 100:2008, 5.1.2, from memory)
    """
    if now.cup != good.cup:
        raise CupsDiffer(good.cup, now.cup)
    ratio = magnitude(now.time, "second") / magnitude(good.time, "second")
    tolerance = max(LEAST_TOLERANCE, math.hypot(_share(now), _share(good)))
    return FlowComparison(verdict(ratio, tolerance), ratio, tolerance, now.cautions + _doubts(now, good))


def _share(reading: DrainReading) -> float:
    return magnitude(reading.spread, "second") / magnitude(reading.time, "second")


def verdict(ratio: float, tolerance: float = LEAST_TOLERANCE) -> Verdict:
    """Return thin, right or thick for a ratio of times.

    >>> verdict(0.9), verdict(1.03), verdict(1.2)
    (<Verdict.THIN: 'thin'>, <Verdict.RIGHT: 'right'>, <Verdict.THICK: 'thick'>)
    """
    if ratio * (1 + tolerance) < 1:
        return Verdict.THIN
    return Verdict.THICK if ratio > 1 + tolerance else Verdict.RIGHT


def _doubts(now: DrainReading, good: DrainReading) -> tuple[FlowCaution, ...]:
    degrees = [magnitude(r.temperature, "degC") for r in (now, good) if r.temperature is not None]
    delays = [
        not_negative(r.since_stirring, "second", of="the standing")
        for r in (now, good)
        if r.since_stirring is not None
    ]
    found = {
        FlowCaution.TEMPERATURE: len(degrees) == 2 and max(degrees) - min(degrees) > TEMPERATURE_STEP,
        # A second's difference is nothing, however short the standing.
        FlowCaution.DELAY: len(delays) == 2 and max(delays) > DELAY_RATIO * max(min(delays), 1.0),
        FlowCaution.UNMEASURED: len(degrees) + len(delays) < 4,
    }
    return tuple(caution for caution, holds in found.items() if holds)


def compare_words(now: FlowWord, good: FlowWord) -> Verdict:
    """Return thin, right or thick for two words of the scale.

    >>> compare_words(FlowWord.YOGURT, FlowWord.CREAM)
    <Verdict.THICK: 'thick'>
    """
    if now == good:
        return Verdict.RIGHT
    return Verdict.THIN if now < good else Verdict.THICK


def cup_is_sound(water_now: Quantity, water_when_new: Quantity) -> bool:
    """Tell whether the cup still drains water as it did: worn and it is faster, clogged and it is slower.

    water_now, water_when_new  [second]  the same cup full of plain water at the same temperature
    returns                    True within five in a hundred, or within a thumb's 0.3 seconds twice
    source                     common practice, no source

    >>> cup_is_sound(seconds(11.0), seconds(10.0)), cup_is_sound(seconds(10.4), seconds(10.0))
    (False, True)
    """
    now, new = _numbers([water_now, water_when_new])
    return abs(now - new) <= max(LEAST_TOLERANCE * new, 2 * HAND_SPREAD)
