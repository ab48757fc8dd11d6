"""Weighing a batch out: what the scale should show, what went wrong, and how to save the batch.

On a scale that is set to nothing between materials each line is weighed by itself; on one that is not, the
figures grow. A wrong amount is scooped out while it still lies on top, or else the whole batch is made bigger
until every line is right: nothing that is in the bucket can be taken out once it is mixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from benchvoice.calculator.batch import Batch, Portion
from benchvoice.calculator.limits import OutOfRange, TooFew
from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude, not_negative, within

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


def expected_reading(batch: Batch, line: int, mode: Mode, before: Quantity | None = None) -> Quantity:
    """Return what the scale should show when a line is right.

    batch    the batch, best rounded to the scale's step
    line     which portion, the first being 0
    before   [gram]  what the scale showed before this line, when it is left to grow; else the plan's sum
    returns  [gram]

    >>> batch = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> expected_reading(batch, 1, Mode.CUMULATIVE)
    <Quantity(150.0, 'gram')>
    """
    own = batch.masses()[_line(batch, line)]
    if mode is Mode.TARED:
        return grams(own)
    return grams(own + (sum(batch.masses()[:line]) if before is None else magnitude(before, "gram")))


def _line(batch: Batch, line: int) -> int:
    return int(within(line, 0, len(batch.portions) - 1, of="the line's place"))


def check_weighing(
    batch: Batch,
    line: int,
    reading: Quantity,
    mode: Mode,
    *,
    before: Quantity | None = None,
    step: Quantity | None = None,
) -> Weighed:
    """Return whether a line is right, short or over, and what a wrong figure looks like.

    reading  [gram]  what the scale shows, 0 or more
    before   [gram]  what it showed before this line, when it is left to grow; else the plan's sum
    step     [gram]  the least change the scale shows; a line is never asked to be closer than that
    returns  right within one in a hundred or one step
    source   common practice, no source

    >>> batch = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> check_weighing(batch, 1, grams(150), Mode.TARED).slip
    <Slip.NOT_TARED: 'not tared'>
    """
    wanted = batch.masses()[_line(batch, line)]
    shown = not_negative(reading, "gram", of="the scale's figure")
    start = (
        0.0 if mode is Mode.TARED else magnitude(expected_reading(batch, line, mode, before), "gram") - wanted
    )
    near = max(TOLERANCE * wanted, 0.0 if step is None else above_zero(step, "gram", of="the scale's step"))
    got = shown - start
    weight = _weight(got - wanted, near)
    slip, other = (None, None) if weight is Weight.RIGHT else _slip(batch, line, shown, got, mode)
    return Weighed(weight, grams(wanted), grams(got), slip, other)


def _weight(difference: float, near: float) -> Weight:
    if abs(difference) <= near * (1 + 1e-9):
        return Weight.RIGHT
    return Weight.OVER if difference > 0 else Weight.SHORT


def _slip(batch: Batch, line: int, shown: float, got: float, mode: Mode) -> tuple[Slip | None, str | None]:
    """Return what the figure looks like, the scale's own slips first."""
    masses = batch.masses()
    if mode is Mode.TARED and line and _alike(shown, sum(masses[: line + 1])):
        return Slip.NOT_TARED, None
    if mode is Mode.CUMULATIVE and line and _alike(shown, masses[line]):
        return Slip.WAS_TARED, None
    if _alike(got, 10 * masses[line]) or _alike(got, masses[line] / 10):
        return Slip.TENFOLD, None
    for portion, mass in zip(batch.portions, masses, strict=True):
        if _alike(got, mass):
            return Slip.OTHER_LINE, portion.material
    return None, None


def _alike(a: float, b: float) -> bool:
    return abs(a - b) <= TOLERANCE * b


def find_swap(batch: Batch, got: Sequence[Quantity]) -> tuple[int, int] | None:
    """Return which two lines got each other's amounts; None when no two did.

    got      [gram]  weighed so far, in the batch's order

    >>> batch = Batch((Portion("quartz", grams(300)), Portion("kaolin", grams(100))))
    >>> find_swap(batch, [grams(100), grams(300)])
    (0, 1)
    """
    wanted, found = batch.masses(), _weights(batch, got)
    wrong = [i for i in range(len(found)) if not _alike(found[i], wanted[i])]
    pairs = (
        (i, j)
        for i, j in combinations(wrong, 2)
        if _alike(found[i], wanted[j]) and _alike(found[j], wanted[i])
    )
    return next(pairs, None)


def _weights(batch: Batch, got: Sequence[Quantity]) -> list[float]:
    if not got:
        raise TooFew("weights", 0, 1)
    if len(got) > len(batch.portions):
        raise OutOfRange("the number of weights", len(got), 1, len(batch.portions))
    return [not_negative(mass, "gram", of="a weight") for mass in got]


def rescale(batch: Batch, got: Sequence[Quantity]) -> Rescue:
    """Return how the whole batch is made bigger so that what is already in is right; nothing is taken out.

    ::

        f = max(1, gotᵢ/wantedᵢ),   addᵢ = f·wantedᵢ - gotᵢ

    got      [gram]  weighed so far, in the batch's order; lines not yet weighed are added whole
    returns  what to add of each, what the batch becomes, and by what factor
    source   proportions are kept (computed from the formula)

    >>> batch = Batch((Portion("quartz", grams(100)), Portion("kaolin", grams(50))))
    >>> found = rescale(batch, [grams(110)])
    >>> found.factor, found.changes[0].mass
    (1.1, <Quantity(55.0, 'gram')>)
    """
    found = _weights(batch, got)
    factor = max(1.0, *(f / w for f, w in zip(found, batch.masses(), strict=False)))
    bigger = Batch(tuple(Portion(p.material, p.mass * factor, p.is_addition) for p in batch.portions))
    return Rescue(_changes(bigger, found), bigger, factor)


def scoop_out(batch: Batch, got: Sequence[Quantity]) -> Rescue:
    """Return what to scoop out and what to add so that every line is as planned; only before it is mixed.

    got      [gram]  weighed so far, in the batch's order
    returns  below 0 to scoop out, above 0 to add; the batch is the one that was wanted

    >>> batch = Batch((Portion("quartz", grams(300)), Portion("kaolin", grams(100))))
    >>> [round(change.mass.m) for change in scoop_out(batch, [grams(100), grams(300)]).changes]
    [200, -200]
    """
    return Rescue(_changes(batch, _weights(batch, got)), batch, 1.0)


def _changes(batch: Batch, found: list[float]) -> tuple[Change, ...]:
    done = found + [0.0] * (len(batch.portions) - len(found))
    changes = ((p.material, w - d) for p, w, d in zip(batch.portions, batch.masses(), done, strict=True))
    return tuple(Change(material, grams(mass)) for material, mass in changes if abs(mass) > 1e-9)
