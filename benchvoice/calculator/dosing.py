"""Dosing by small steps: what one step is, what has gone in so far, and when to stop.

A dose is told three ways, since a percentage alone is ambiguous: grams out of the bottle, the additive as
supplied over the dry content, and its active share over the dry content. Density comes first: no dose while
the gravity is outside the target. Too much deflocculant thickens again, and more will not cure it;
``turn_of_curve`` sees that coming.

Two additives of one kind share one ceiling: half of what one may reach leaves half of what the other may.
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
    OTHER_KIND = "other kind"  # one that does the opposite has gone in: the two fight each other


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
    """What the sum would be, as supplied over dry, others of the kind counted in by their ceilings [%]."""
    ceiling: float
    """The most that is accepted [%]."""


@dataclass(eq=False)
class NotInOrder(Refusal):
    """Flow after each dose is wanted with the doses growing."""

    wanted_got = "Doses that grow are wanted; after {earlier:g} grams came {later:g}."
    mend = "Give the sums in the order they were added."

    earlier: float
    """The sum before [g]."""
    later: float
    """The smaller sum that came after it [g]."""


@dataclass(frozen=True, slots=True)
class Bottle:
    """What is in the dropper bottle: an additive as supplied, or thinned with water."""

    additive: Additive
    drop: DropSize
    """One drop out of this bottle."""
    share: float = 1.0
    """Share by weight of the as-supplied additive in the bottle, above 0 to 1 [-]."""


@dataclass(frozen=True, slots=True)
class Dose:
    """Something that went into the bucket."""

    bottle: Bottle
    mass: Quantity
    """Out of the bottle [g]."""


@dataclass(frozen=True, slots=True)
class DoseSum:
    """What has gone into the bucket of one additive."""

    stock: Quantity
    """Out of its bottles [g]."""
    supplied: Quantity
    """Of that, the additive as supplied [g]."""
    active: Quantity
    """Of that, what acts [g]."""
    drops: float
    """Out of its bottles, counted by the drop's weight [-]."""
    percent: float
    """As supplied over dry [%]."""
    percent_active: float
    """What acts over dry [%]."""


@dataclass(frozen=True, slots=True)
class Step:
    """The next dose: small enough to see what it does."""

    dose: Dose
    drops: float
    """The same in drops [-]."""
    after: DoseSum
    """What will have gone in of this additive with it."""
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


def running_sum(additive: Additive, dry: Quantity, doses: Iterable[Dose]) -> DoseSum:
    """Return what has gone in of one additive: drops, grams, and both percentages of the dry content.

    dry      [gram]  content of the bucket, more than 0
    doses    out of any bottles, weak or strong; those of other additives are passed over
    returns  the sum, all ways
    source   definition (computed from the formula)

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> bottle = Bottle(find_additive("sodium silicate"), nominal_drop(1.381))
    >>> done = running_sum(bottle.additive, grams(3000), [Dose(bottle, grams(3)), Dose(bottle, grams(3))])
    >>> round(done.percent, 3), round(done.percent_active, 4), round(done.drops, 1)
    (0.2, 0.0726, 86.9)
    """
    own = [
        (_out(d), _share(d.bottle), d.bottle.drop) for d in doses if d.bottle.additive.name == additive.name
    ]
    supplied, whole = sum(mass * share for mass, share, _ in own), above_zero(dry, "gram", of=_DRY)
    percent = 100 * supplied / whole
    return DoseSum(
        stock=grams(sum(mass for mass, _, _ in own)),
        supplied=grams(supplied),
        active=grams(supplied * additive.active),
        drops=sum(mass / magnitude(drop.mass, "gram") for mass, _, drop in own),
        percent=percent,
        percent_active=percent * additive.active,
    )


def _out(dose: Dose) -> float:
    return not_negative(dose.mass, "gram", of="a dose")


def _share(bottle: Bottle) -> float:
    return within(bottle.share, 1e-4, 1, of="the strength of the bottle")


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


def used_up(additive: Additive, dry: Quantity, doses: Sequence[Dose]) -> float:
    """Return how much of the ceiling is used by this additive and others of its kind: 1 is all of it.

    ::

        Σ percentᵢ / ceilingᵢ   over the additives of one kind

    source   common practice, no source; Pitelka's quarter of a per cent is for soda ash and silicate together

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> silicate, ash = (Bottle(find_additive(n), nominal_drop(1.0)) for n in ("silicate", "soda ash"))
    >>> round(used_up(silicate.additive, grams(1000), [Dose(silicate, grams(1)), Dose(ash, grams(1))]), 6)
    0.8
    """
    same = {dose.bottle.additive.name: dose.bottle.additive for dose in doses if _same_kind(dose, additive)}
    return sum(running_sum(each, dry, doses).percent / each.ceiling for each in same.values())


def _same_kind(dose: Dose, additive: Additive) -> bool:
    return dose.bottle.additive.kind is additive.kind


def next_step(bottle: Bottle, dry: Quantity, given: Sequence[Dose]) -> Step:
    """Return the next dose: the usual start first, then half of it each time, never past the ceiling.

    bottle   what is to be dosed
    dry      [gram]  content of the bucket
    given    every dose so far, of any additive
    returns  the step with what will have gone in after it, and the cautions that go with it
    raises   AboveCeiling when nothing is left below the ceiling
    source   common practice, no source: begin at 0.02 to 0.05 % and creep

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> step = next_step(Bottle(find_additive("sodium silicate"), nominal_drop(1.2), 0.5), grams(5000), [])
    >>> step.dose.mass, round(step.after.percent, 3)
    (<Quantity(2.0, 'gram')>, 0.02)
    """
    additive, used = bottle.additive, used_up(bottle.additive, dry, given)
    if (left := 1 - used) <= _NOTHING:
        raise AboveCeiling(additive.name, used * additive.ceiling, additive.ceiling)
    begun = running_sum(additive, dry, given).percent > 0
    percent = min(additive.start / (2 if begun else 1), left * additive.ceiling)
    return checked_dose(bottle, dry, given, grams(share_of_dry(dry, percent).m / _share(bottle)))


def checked_dose(bottle: Bottle, dry: Quantity, given: Sequence[Dose], mass: Quantity) -> Step:
    """Return a dose of the potter's own choosing as a step, or refuse it above the ceiling.

    mass     [gram]  out of the bottle, more than 0
    returns  the step; NEAR_CEILING among its cautions when the sum passes what is usual
    raises   AboveCeiling

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> bottle = Bottle(find_additive("sodium silicate"), nominal_drop(1.381))
    >>> checked_dose(bottle, grams(1000), [Dose(bottle, grams(1))], grams(1)).cautions[0]
    <DoseCaution.NEAR_CEILING: 'near ceiling'>
    """
    step, additive = step_of(bottle, dry, given, mass), bottle.additive
    if (used := used_up(additive, dry, [*given, step.dose])) > 1 + _NOTHING:
        raise AboveCeiling(additive.name, used * additive.ceiling, additive.ceiling)
    return step


def step_of(bottle: Bottle, dry: Quantity, given: Sequence[Dose], mass: Quantity) -> Step:
    """Return a dose that went in as a step, above the ceiling too: what is in the bucket is in it.

    mass     [gram]  out of the bottle, more than 0
    returns  the step; NEAR_CEILING among its cautions when the sum passes what is usual

    >>> from benchvoice.calculator.additives import find_additive
    >>> from benchvoice.calculator.drops import nominal_drop
    >>> bottle = Bottle(find_additive("sodium silicate"), nominal_drop(1.381))
    >>> round(step_of(bottle, grams(1000), [], grams(30)).after.percent, 3)
    3.0
    """
    drops = above_zero(mass, "gram", of="a dose") / magnitude(bottle.drop.mass, "gram")
    dose, additive = Dose(bottle, mass), bottle.additive
    return Step(dose, drops, running_sum(additive, dry, [*given, dose]), _cautions(dry, given, dose, drops))


def _cautions(dry: Quantity, given: Sequence[Dose], dose: Dose, drops: float) -> tuple[DoseCaution, ...]:
    additive = dose.bottle.additive
    found = {
        DoseCaution.NEAR_CEILING: used_up(additive, dry, [*given, dose])
        > additive.usual / additive.ceiling * (1 + _NOTHING),
        DoseCaution.DILUTE: drops < FEWEST_DROPS,
        DoseCaution.WEIGH: drops > MOST_DROPS,
        DoseCaution.NOMINAL_DROP: not dose.bottle.drop.weighed,
        DoseCaution.OTHER_KIND: any(_out(other) and not _same_kind(other, additive) for other in given),
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
    turned = doses[-1] > doses[best] and points[-1][1] > points[best][1] * (1 + tolerance)
    return Turn(turned, points[best][0], points[best][1])


_NOTHING = 1e-9  # what sums of decimal fractions leave over
_DRY = "the dry content"
