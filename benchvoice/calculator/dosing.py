"""Dosing by small steps: what one step is, what has gone in so far, and when to stop.

A dose is told three ways, since a percentage alone is ambiguous: grams out of the bottle, the additive as
supplied over the dry content, and its active share over the dry content. Density comes first: no dose while
the gravity is outside the target. Too much deflocculant thickens again, and more will not cure it;
``turn_of_curve`` sees that coming.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from benchvoice.calculator.additives import Additive
from benchvoice.calculator.drops import DropSize
from benchvoice.calculator.flow import LEAST_TOLERANCE
from benchvoice.calculator.limits import Refusal, TooFew
from benchvoice.calculator.quantities import Quantity, above_zero, grams, magnitude, not_negative, within
from benchvoice.calculator.slurry import slurry_gravity

FEWEST_DROPS, MOST_DROPS = 2, 100
"""A step below or above these is not counted in drops (common practice)."""


class DoseCaution(StrEnum):
    """What is said along with a step."""

    NEAR_CEILING = "near ceiling"  # above what is usual: the ceiling is not far
    DILUTE = "dilute"  # a step is less than two drops: dilute, or weigh
    WEIGH = "weigh"  # a step is too many drops to count: weigh it
    NOMINAL_DROP = "nominal drop"  # the drop was never weighed: ±25 %


@dataclass(eq=False)
class GravityFirst(Refusal):
    """The gravity is outside the target: additives come after water."""

    wanted_got = "A gravity from {low:g} to {high:g} is wanted before any drops; got {now:g}."
    mend = "Bring the gravity into the target first."

    now: float
    """The gravity now [-]."""
    low: float
    """Low end of the target [-]."""
    high: float
    """High end of the target [-]."""


@dataclass(eq=False)
class AboveCeiling(Refusal):
    """A dose that would bring the sum above the ceiling."""

    wanted_got = "At most {ceiling:g} % of {additive} on the dry is wanted; this makes {percent:.3g} %."
    mend = "Stop here and test a tile; the fault lies elsewhere."

    additive: str
    percent: float
    """What the sum would be, as supplied over dry [%]."""
    ceiling: float
    """The most that is accepted [%]."""


@dataclass(eq=False)
class NotInOrder(Refusal):
    """Flow after each dose is wanted with the doses growing."""

    wanted_got = "Doses that grow are wanted; after {earlier:g} grams came {later:g}."
    mend = "Give the sums in the order they were added."

    earlier: float
    later: float


@dataclass(frozen=True, slots=True)
class Stock:
    """What is in the dropper bottle: an additive as supplied, or thinned with water."""

    additive: Additive
    share: float = 1.0
    """Share by weight of the as-supplied additive in the bottle, above 0 to 1 [-]."""


@dataclass(frozen=True, slots=True)
class DoseSum:
    """What has gone into the bucket of one additive."""

    stock: Quantity
    """Out of the bottle [g]."""
    supplied: Quantity
    """Of that, the additive as supplied [g]."""
    active: Quantity
    """Of that, what acts [g]."""
    drops: float
    """Out of the bottle, counted by the drop's weight [-]."""
    percent: float
    """As supplied over dry [%]."""
    percent_active: float
    """What acts over dry [%]."""


@dataclass(frozen=True, slots=True)
class Step:
    """The next dose: small enough to see what it does."""

    stock: Quantity
    """To take out of the bottle [g]."""
    drops: float
    """The same in drops [-]."""
    after: DoseSum
    """What will have gone in with it."""
    cautions: tuple[DoseCaution, ...]


@dataclass(frozen=True, slots=True)
class Turn:
    """What a row of doses and flows shows."""

    turned: bool
    """True when the last dose clearly thickened what earlier doses had thinned: stop."""
    best_dose: Quantity
    """The sum of doses at the thinnest flow so far [g]."""
    best_flow: float
    """That flow, in whatever the flows were given in; larger is thicker."""


def share_of_dry(dry: Quantity, percent: float) -> Quantity:
    """Return the weight that is so many per cent of the dry content.

    ::

        mass = dry · percent / 100

    dry      [gram]  more than 0
    percent  [%]     0 to 100
    returns  [gram]
    source   definition (computed from the formula)

    >>> share_of_dry(grams(3000), 0.2)
    <Quantity(6.0, 'gram')>
    """
    return grams(
        above_zero(dry, "gram", of=_DRY) * within(percent, 0, 100, of="a dose", unit="per cent") / 100
    )


def ceiling_of(additive: Additive, dry: Quantity) -> Quantity:
    """Return the most of an additive, as supplied, that this bucket takes [gram].

    >>> from benchvoice.calculator.additives import find_additive
    >>> ceiling_of(find_additive("sodium silicate"), grams(3000))
    <Quantity(7.5, 'gram')>
    """
    return share_of_dry(dry, additive.ceiling)


def running_sum(stock: Stock, dry: Quantity, doses: Iterable[Quantity], drop: DropSize) -> DoseSum:
    """Return what has gone in: drops, grams, and both percentages of the dry content.

    stock    what the doses were taken from
    dry      [gram]  content of the bucket, more than 0
    doses    [gram]  each out of the bottle, 0 or more
    drop     the weight of one drop of this stock
    returns  the sum, all ways

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> done = running_sum(Stock(find_additive("sodium silicate")), grams(3000), [grams(3), grams(3)],
    ...                    nominal_drop(1.381))
    >>> round(done.percent, 3), round(done.percent_active, 4), round(done.drops, 1)
    (0.2, 0.0726, 86.9)
    """
    share, total = _share(stock), sum(not_negative(dose, "gram", of="a dose") for dose in doses)
    whole, per_drop = above_zero(dry, "gram", of=_DRY), magnitude(drop.mass, "gram")
    supplied, active = total * share, total * share * stock.additive.active
    return DoseSum(
        grams(total),
        grams(supplied),
        grams(active),
        total / per_drop,
        100 * supplied / whole,
        100 * active / whole,
    )


def _share(stock: Stock) -> float:
    return within(stock.share, 1e-4, 1, of="the strength of the bottle")


def gravity_allows(now: float, low: float, high: float) -> None:
    """Refuse any dose while the gravity is outside the target: first density, then flow.

    now, low, high  [-]
    raises          GravityFirst when low <= now <= high does not hold; NoSlurry
    source          advice on a potters' mailing list: flow only when the density is right (seen at source)
    """
    for gravity, of in ((now, "the gravity now"), (low, "the low target"), (high, "the high target")):
        slurry_gravity(gravity, of=of)
    if not low <= now <= high:
        raise GravityFirst(now, low, high)


def next_step(stock: Stock, dry: Quantity, given: Sequence[Quantity], drop: DropSize) -> Step:
    """Return the next dose: the usual start first, then half of it each time, never past the ceiling.

    stock    the bottle
    dry      [gram]  content of the bucket
    given    [gram]  doses so far, out of bottles of this strength
    drop     the weight of one drop of this stock
    returns  the step with what will have gone in after it, and the cautions that go with it
    raises   AboveCeiling when nothing is left below the ceiling
    source   common practice, no source: begin at 0.02 to 0.05 % and creep

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> step = next_step(Stock(find_additive("sodium silicate"), 0.5), grams(5000), [], nominal_drop(1.2))
    >>> step.stock, round(step.after.percent, 3)
    (<Quantity(2.0, 'gram')>, 0.02)
    """
    additive = stock.additive
    percent = additive.start / (2 if any(magnitude(dose, "gram") for dose in given) else 1)
    wanted = share_of_dry(dry, percent).m_as("gram") / _share(stock)
    room = _room(stock, dry, given, drop)
    return checked_dose(stock, dry, given, grams(min(wanted, room)), drop)


def _room(stock: Stock, dry: Quantity, given: Sequence[Quantity], drop: DropSize) -> float:
    """Return how many grams of the stock are left below the ceiling; refuses when none are."""
    done = running_sum(stock, dry, given, drop)
    left = ceiling_of(stock.additive, dry).m_as("gram") - done.supplied.m_as("gram")
    if left <= _NOTHING * done.supplied.m_as("gram"):
        raise AboveCeiling(stock.additive.name, done.percent, stock.additive.ceiling)
    return left / _share(stock)


def checked_dose(
    stock: Stock, dry: Quantity, given: Sequence[Quantity], dose: Quantity, drop: DropSize
) -> Step:
    """Return a dose of the potter's own choosing as a step, or refuse it above the ceiling.

    dose     [gram]  out of the bottle, more than 0
    returns  the step; NEAR_CEILING among its cautions when the sum passes what is usual
    raises   AboveCeiling

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> bottle = Stock(find_additive("sodium silicate"))
    >>> checked_dose(bottle, grams(1000), [grams(1)], grams(1), nominal_drop(1.381)).cautions[0]
    <DoseCaution.NEAR_CEILING: 'near ceiling'>
    """
    out = above_zero(dose, "gram", of="a dose")
    after = running_sum(stock, dry, [*given, dose], drop)
    if after.percent > stock.additive.ceiling * (1 + _NOTHING):
        raise AboveCeiling(stock.additive.name, after.percent, stock.additive.ceiling)
    drops = out / magnitude(drop.mass, "gram")
    return Step(dose, drops, after, _cautions(stock, drops, after, drop))


def _cautions(stock: Stock, drops: float, after: DoseSum, drop: DropSize) -> tuple[DoseCaution, ...]:
    found = {
        DoseCaution.NEAR_CEILING: after.percent > stock.additive.usual * (1 + _NOTHING),
        DoseCaution.DILUTE: drops < FEWEST_DROPS,
        DoseCaution.WEIGH: drops > MOST_DROPS,
        DoseCaution.NOMINAL_DROP: not drop.weighed,
    }
    return tuple(caution for caution, holds in found.items() if holds)


def turn_of_curve(points: Sequence[tuple[Quantity, float]], tolerance: float = LEAST_TOLERANCE) -> Turn:
    """Return whether more deflocculant has begun to thicken the glaze: then stop, more cannot cure it.

    The flow falls with the dose, passes its least, and rises again; the turn is seen when the last flow
    stands above the least by more than the tolerance.

    points     ([gram] sum of doses, [-] flow: seconds of one cup, or a FlowWord; larger is thicker)
    tolerance  [-]  by which two flows must differ to count
    returns    whether it turned, and the dose and flow at the thinnest
    raises     NotInOrder when the doses do not grow; TooFew
    source     over-deflocculation: glossary "too much ... gelatinous" and a supplier's note (seen at source)

    >>> turn_of_curve([(grams(0), 60.0), (grams(1), 45.0), (grams(2), 40.0), (grams(3), 47.0)]).turned
    True
    """
    if not points:
        raise TooFew("flows after a dose", 0, 1)
    doses = [not_negative(dose, "gram", of="a sum of doses") for dose, _ in points]
    for earlier, later in pairwise(doses):
        if later < earlier:
            raise NotInOrder(earlier, later)
    best = min(range(len(points)), key=lambda i: points[i][1])
    last = points[-1][1]
    turned = doses[-1] > doses[best] and last > points[best][1] * (1 + tolerance)
    return Turn(turned, points[best][0], points[best][1])


_NOTHING = 1e-9  # what sums of decimal fractions leave over
_DRY = "the dry content"
