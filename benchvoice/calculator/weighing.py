"""Weighing a batch out: what the scale should show, what went wrong, and how to save the batch.

On a scale that is set to nothing between materials each line is weighed by itself; on one that is not, the
figures grow. A wrong amount is scooped out while it still lies on top, or else the whole batch is made bigger
until every line is right: nothing that is in the bucket can be taken out once it is mixed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations

from benchvoice.calculator.batch import Batch, Portion
from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude, not_negative

TOLERANCE = 0.01
"""A line within one in a hundred is right (common practice, no source)."""


class Mode(StrEnum):
    """How the scale is used."""

    TARED = "tared"  # set to nothing before each material
    CUMULATIVE = "cumulative"  # left to grow


class Weight(StrEnum):
    """How a line came out."""

    RIGHT = "right"
    SHORT = "short"
    OVER = "over"


class Slip(StrEnum):
    """What a wrong figure looks like."""

    NOT_TARED = "not tared"  # it is the running sum: the scale was not set to nothing
    WAS_TARED = "was tared"  # it is this line alone: the scale was set to nothing after all
    OTHER_LINE = "other line"  # it is the amount of another material
    TENFOLD = "tenfold"  # it is ten times too much or too little: a lost decimal point


@dataclass(eq=False)
class AllWeighed(Refusal):
    """There is no next line: the batch is weighed out."""

    wanted_got = "A batch with a line left is wanted; all {lines} are weighed."
    mend = "Go on to the water, or begin the batch again."

    lines: int
    """How many lines the batch has."""


@dataclass(eq=False)
class NothingWeighed(Refusal):
    """There is nothing to put right yet."""

    wanted_got = "At least one line weighed is wanted out of {lines}; got none."
    mend = "Weigh the first line."

    lines: int
    """How many lines the batch has."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A batch being weighed out: the plan, the scale, and what was weighed so far."""

    batch: Batch
    """Best rounded to the scale's step."""
    mode: Mode
    step: Quantity
    """The least change the scale shows; no line is asked to be closer [g]."""
    got: tuple[Quantity, ...] = ()
    """Each line's own amount as weighed, in the batch's order [g]."""

    @property
    def next_line(self) -> int:
        """Which line is next, the first being 0."""
        return len(self.got)

    def with_line(self, mass: Quantity) -> Sheet:
        """Return the sheet with the next line written down [g]."""
        _next(self)
        not_negative(mass, "gram", of="a weight")
        return replace(self, got=(*self.got, mass))


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line as it was weighed."""

    weight: Weight
    wanted: Quantity
    """This line's amount [g]."""
    got: Quantity
    """This line's amount on the scale [g]."""
    slip: Slip | None
    """What the wrong figure looks like; None when it is right or looks like nothing."""
    other: str | None
    """The material whose amount it is, for OTHER_LINE."""

    @property
    def difference(self) -> Quantity:
        """Got less wanted: above 0 is to be scooped out, below 0 to be added [g]."""
        return grams(magnitude(self.got, "gram") - magnitude(self.wanted, "gram"))


@dataclass(frozen=True, slots=True)
class Change:
    """What to do to one material."""

    material: str
    mass: Quantity
    """Above 0 to add, below 0 to scoop out [g]."""


@dataclass(frozen=True, slots=True)
class Rescue:
    """How the batch is put right."""

    changes: tuple[Change, ...]
    """Only materials that need something, in the batch's order."""
    batch: Batch
    """What it will be."""
    factor: float
    """Times the batch that was wanted; 1 when something is scooped out [-]."""


def _next(sheet: Sheet) -> float:
    """Return the plan's grams of the next line."""
    if sheet.next_line >= len(sheet.batch.portions):
        raise AllWeighed(len(sheet.batch.portions))
    return sheet.batch.masses()[sheet.next_line]


def _start(sheet: Sheet) -> float:
    """Return what the scale shows before the next line."""
    return 0.0 if sheet.mode is Mode.TARED else _sum(sheet)


def _sum(sheet: Sheet) -> float:
    return sum(magnitude(mass, "gram") for mass in sheet.got)


def expected_reading(sheet: Sheet) -> Quantity:
    """Return what the scale should show when the next line is right [gram].

    >>> plan = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> expected_reading(Sheet(plan, Mode.CUMULATIVE, grams(1), (grams(101),)))
    <Quantity(151.0, 'gram')>
    """
    return grams(_next(sheet) + _start(sheet))


def check_weighing(sheet: Sheet, reading: Quantity) -> Weighed:
    """Return whether the next line is right, short or over, and what a wrong figure looks like.

    reading  [gram]  what the scale shows, 0 or more
    returns  right within one in a hundred or one step of the scale
    raises   AllWeighed; BelowZero; NotThatKind
    source   common practice, no source

    >>> plan = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> check_weighing(Sheet(plan, Mode.TARED, grams(1), (grams(100),)), grams(150)).slip
    <Slip.NOT_TARED: 'not tared'>
    """
    wanted, shown = _next(sheet), not_negative(reading, "gram", of="the scale's figure")
    got = shown - _start(sheet)
    near = max(TOLERANCE * wanted, above_zero(sheet.step, "gram", of="the scale's step"))
    weight = _weight(got - wanted, near)
    slip, other = (None, None) if weight is Weight.RIGHT else _slip(sheet, shown, got)
    return Weighed(weight, grams(wanted), grams(got), slip, other)


def _weight(difference: float, near: float) -> Weight:
    if abs(difference) <= near * (1 + 1e-9):
        return Weight.RIGHT
    return Weight.OVER if difference > 0 else Weight.SHORT


def _slip(sheet: Sheet, shown: float, got: float) -> tuple[Slip | None, str | None]:
    """Return what a wrong figure looks like, the scale's own slips first."""
    wanted = _next(sheet)
    if sheet.mode is Mode.TARED and _alike(shown, _sum(sheet) + wanted):
        return Slip.NOT_TARED, None
    if sheet.mode is Mode.CUMULATIVE and _alike(shown, wanted):
        return Slip.WAS_TARED, None
    if _alike(got, 10 * wanted) or _alike(got, wanted / 10):
        return Slip.TENFOLD, None
    others = zip(sheet.batch.portions, sheet.batch.masses(), strict=True)
    other = next((portion.material for portion, mass in others if _alike(got, mass)), None)
    return (Slip.OTHER_LINE if other else None), other


def _alike(a: float, b: float) -> bool:
    return abs(a - b) <= TOLERANCE * b


def find_swap(sheet: Sheet) -> tuple[int, int] | None:
    """Return which two lines got each other's amounts; None when no two did.

    >>> plan = Batch((Portion("quartz", grams(300)), Portion("kaolin", grams(100))))
    >>> find_swap(Sheet(plan, Mode.TARED, grams(1), (grams(100), grams(300))))
    (0, 1)
    """
    pairs = list(zip(sheet.batch.masses(), _weights(sheet), strict=False))
    wrong = [i for i, (wanted, got) in enumerate(pairs) if not _alike(got, wanted)]
    swaps = (
        (i, j)
        for i, j in combinations(wrong, 2)
        if _alike(pairs[i][1], pairs[j][0]) and _alike(pairs[j][1], pairs[i][0])
    )
    return next(swaps, None)


def _weights(sheet: Sheet) -> list[float]:
    if not sheet.got:
        raise NothingWeighed(len(sheet.batch.portions))
    return [magnitude(mass, "gram") for mass in sheet.got]


def rescale(sheet: Sheet) -> Rescue:
    """Return how the whole batch is made bigger so that what is already in is right; nothing is taken out.

    ::

        f = max(1, gotᵢ/wantedᵢ),   addᵢ = f·wantedᵢ - gotᵢ

    returns  what to add of each (all of a line not yet weighed), what the batch becomes, by what factor
    raises   NothingWeighed
    source   proportions are kept (computed from the formula)

    >>> plan = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> found = rescale(Sheet(plan, Mode.TARED, grams(1), (grams(110),)))
    >>> found.factor, found.changes[0].mass
    (1.1, <Quantity(55.0, 'gram')>)
    """
    got = _weights(sheet)
    factor = max(1.0, *(g / wanted for g, wanted in zip(got, sheet.batch.masses(), strict=False)))
    portions = zip(sheet.batch.portions, sheet.batch.masses(), strict=True)
    bigger = Batch(tuple(Portion(p.material, grams(m * factor), p.is_addition) for p, m in portions))
    return Rescue(_changes(bigger, got), bigger, factor)


def scoop_out(sheet: Sheet) -> Rescue:
    """Return what to scoop out and what to add so that every line is as planned; only before it is mixed.

    returns  below 0 to scoop out, above 0 to add; the batch is the one that was wanted
    raises   NothingWeighed

    >>> plan = Batch((Portion("quartz", grams(300)), Portion("kaolin", grams(100))))
    >>> found = scoop_out(Sheet(plan, Mode.TARED, grams(1), (grams(100), grams(300))))
    >>> [round(change.mass.m) for change in found.changes]
    [200, -200]
    """
    return Rescue(_changes(sheet.batch, _weights(sheet)), sheet.batch, 1.0)


def _changes(batch: Batch, got: list[float]) -> tuple[Change, ...]:
    done = got + [0.0] * (len(batch.portions) - len(got))
    changes = ((p.material, w - d) for p, w, d in zip(batch.portions, batch.masses(), done, strict=True))
    return tuple(Change(material, grams(mass)) for material, mass in changes if abs(mass) > _NOTHING)


_NOTHING = 1e-9  # grams that sums of decimal fractions leave over
