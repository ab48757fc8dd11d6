"""What the calculator refuses, and the facts that each refusal carries.

    CalculatorError
    └── Refusal                 each child carries its facts as fields
        ├── NotThatKind         a quantity of another kind, or with no unit, or one too many
        ├── UnknownUnit         a unit name that the registry does not hold
        ├── AmbiguousUnit       a unit name that means more than one size (pint, gallon, teaspoon)
        ├── NotFinite           not a number, or without end
        ├── NotAboveZero        nothing, or less, where there must be something
        ├── BelowZero           less than nothing
        └── OutOfRange          outside the range in which the sum holds

The sentences here are for the eye; ``replies`` words them for the ear from the same fields.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, ClassVar

from benchvoice.errors import CalculatorError


@dataclass(eq=False)
class Refusal(CalculatorError):
    """A sum that cannot be done as asked; the fields of each child are its facts."""

    wanted_got: ClassVar[str]
    """What was wanted and what was got, with the fields by name."""
    mend: ClassVar[str]
    """What to do next, with the fields by name."""

    def __post_init__(self) -> None:
        super().__init__(self._worded(self.wanted_got), self._worded(self.mend))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), tuple(self.facts.values())

    def _worded(self, template: str) -> str:
        """Fill in the facts; an empty one leaves no gap."""
        return " ".join(template.format(**self.facts).split())

    @property
    def facts(self) -> dict[str, Any]:
        """Every field by name, in the order given."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


@dataclass(eq=False)
class NotThatKind(Refusal):
    """A quantity of the wrong kind: a volume where a weight belongs, or a number without a unit."""

    wanted_got = "For {of} a value in {wanted} is wanted; got {got}."
    mend = "Give it in {wanted}."

    of: str
    """What was being asked for, such as "slurry in the cup"."""
    wanted: str
    """A unit of the right kind."""
    got: str
    """What came instead, as text."""


@dataclass(eq=False)
class UnknownUnit(Refusal):
    """A unit name that the registry does not hold."""

    wanted_got = "A known unit is wanted; got {got}."
    mend = "Use grams, litres, ounces or seconds."

    got: str
    """The name as it came."""


@dataclass(eq=False)
class AmbiguousUnit(Refusal):
    """A unit name that means more than one size."""

    wanted_got = "A unit of one size is wanted; {got} means more than one."
    mend = "Say which: {choices}."

    got: str
    """The name as it came."""
    choices: str
    """The names that say which size, with "or" between them."""


@dataclass(eq=False)
class NotFinite(Refusal):
    """Not a number, or a number without end."""

    wanted_got = "For {of} an ordinary number is wanted; got {got}."
    mend = "Give the number again."

    of: str
    """What was being asked for."""
    got: float
    """The number as it came."""


@dataclass(eq=False)
class NotAboveZero(Refusal):
    """Nothing, or less than nothing, where there must be something."""

    wanted_got = "For {of} more than nothing is wanted; got {got:g} {unit}."
    mend = "Give it again."

    of: str
    """What was being asked for."""
    got: float
    """The value as it came, in `unit`."""
    unit: str
    """The unit of `got`."""


@dataclass(eq=False)
class BelowZero(Refusal):
    """Less than nothing where nothing is the least."""

    wanted_got = "For {of} nothing or more is wanted; got {got:g} {unit}."
    mend = "Give it again without the minus."

    of: str
    """What was being asked for."""
    got: float
    """The value as it came, in `unit`."""
    unit: str
    """The unit of `got`."""


@dataclass(eq=False)
class OutOfRange(Refusal):
    """A value outside the range in which the sum holds."""

    wanted_got = "For {of} a value from {low:g} to {high:g} {unit} is wanted; got {got:g}."
    mend = "Check it and give it again."

    of: str
    """What was being asked for."""
    got: float
    """The value as it came, in `unit`."""
    low: float
    """The least that is accepted, in `unit`."""
    high: float
    """The most that is accepted, in `unit`; infinity where there is no upper limit."""
    unit: str = ""
    """The unit of the three figures; empty for a gravity."""


@dataclass(eq=False)
class UnknownModulus(Refusal):
    """A Baumé modulus that no scale has."""

    wanted_got = "For the Baumé scale one of {choices} is wanted as its modulus; got {got:g}."
    mend = "Read the modulus on the hydrometer's paper."

    got: float
    """The modulus as it came."""
    choices: str
    """The moduli that are known, with commas."""


@dataclass(eq=False)
class NoSlurry(Refusal):
    """A gravity that no slurry has: at or below water's, or above what can still be stirred."""

    wanted_got = "For {of} a gravity above 1 and below {highest:g} is wanted; got {got:.4g}."
    mend = "Say it again, such as one point four five."

    of: str
    """What was being asked for: the gravity now, the target."""
    got: float
    """The gravity as it came."""
    highest: float
    """What it must stay below."""


@dataclass(eq=False)
class WaterCannotThicken(Refusal):
    """Water was to be added, but the target lies above the gravity now."""

    wanted_got = "To add water, a target at or below the present {now:.4g} is wanted; got {target:.4g}."
    mend = "Add dry or a thicker slurry, or let it settle and take clear water off."

    now: float
    """The gravity now."""
    target: float
    """The gravity wanted."""


@dataclass(eq=False)
class OnlyWaterThins(Refusal):
    """Something was to be added or taken off to thicken, but the target lies below the gravity now."""

    wanted_got = "To thicken, a target at or above the present {now:.4g} is wanted; got {target:.4g}."
    mend = "Add water instead."

    now: float
    """The gravity now."""
    target: float
    """The gravity wanted."""


@dataclass(eq=False)
class OutOfReach(Refusal):
    """The target lies at or beyond the gravity of what is to be added."""

    wanted_got = "A target of {target:.4g} wants something heavier than that; got {of} of {limit:.4g}."
    mend = "Choose a lower target, or something heavier to add."

    of: str
    """What is to be added: dry, slurry."""
    limit: float
    """Its gravity."""
    target: float
    """The gravity wanted."""


@dataclass(eq=False)
class LighterThanSlurry(Refusal):
    """A gravity of the solids that is not above the gravity of the slurry they make."""

    wanted_got = "Solids heavier than their slurry of {slurry:.4g} are wanted; got {solids:.4g}."
    mend = "Check both; the solids of most glazes are near 2.6."

    solids: float
    """The gravity of the solids."""
    slurry: float
    """The gravity of the slurry."""


@dataclass(eq=False)
class MoreThanThereIs(Refusal):
    """More water was to leave the slurry than it holds above its heaviest."""

    wanted_got = "Less than {limit:.5g} grams of water can leave this slurry; got {got:.5g} grams."
    mend = "Check the weight of the slurry and of the water."

    got: float
    """The water that was to leave [gram]."""
    limit: float
    """What can leave before nothing that flows is left [gram]."""


@dataclass(eq=False)
class TargetUpsideDown(Refusal):
    """A target whose low gravity is above its high one."""

    wanted_got = "A target from a lower to a higher gravity is wanted; got {low:.4g} to {high:.4g}."
    mend = "Say the lower one first."

    low: float
    """What came as the low gravity."""
    high: float
    """What came as the high gravity."""


@dataclass(eq=False)
class BelowWater(Refusal):
    """A cup of slurry that weighs less than the same cup of water."""

    wanted_got = "A weight above the {water:.5g} grams of water in this cup is wanted; got {net:.5g} grams."
    mend = "Fill to the mark, see that the scale is set right, and weigh again."

    net: float
    """The weight of the contents as it came [gram]."""
    water: float
    """The weight of water in the same cup [gram]."""
    otherwise: float | None = None
    """The gravity if the scale was in fact the other way (tared or not); None when that fits no better."""


@dataclass(eq=False)
class TooHeavy(Refusal):
    """A cup of slurry that weighs more than any slurry can."""

    wanted_got = "A weight below {limit:.5g} grams is wanted in this cup; got {net:.5g} grams."
    mend = "Weigh again, or say the figures one by one."

    net: float
    """The weight of the contents as it came [gram]."""
    limit: float
    """The weight at the highest gravity accepted [gram]."""
    otherwise: float | None = None
    """The gravity if the scale was in fact the other way (tared or not); None when that fits no better."""
    a_tenth: float | None = None
    """The gravity if a decimal point was lost; None when that fits no better."""


@dataclass(eq=False)
class EmptyCupUnknown(Refusal):
    """A cup that is not tared needs the weight of the empty cup."""

    wanted_got = "For the cup {name} the weight of the empty cup is wanted; got none."
    mend = "Weigh the empty cup, or set the scale to nothing with it on."

    name: str
    """The cup's name."""


@dataclass(eq=False)
class TooFew(Refusal):
    """Fewer values than the sum needs."""

    wanted_got = "For this {of} are wanted, {least} or more; got {got}."
    mend = "Take another."

    of: str
    """What was being asked for."""
    got: int
    """How many came."""
    least: int
    """How many are needed."""


@dataclass(eq=False)
class LiesAbove(Refusal):
    """Two figures the wrong way round: the part is greater than the whole."""

    wanted_got = "For {whole} more than {part} is wanted; got {whole_got:g} and {part_got:g} {unit}."
    mend = "Check both and give them again."

    whole: str
    """What should be the greater."""
    whole_got: float
    """Its value, in `unit`."""
    part: str
    """What should be the less."""
    part_got: float
    """Its value, in `unit`."""
    unit: str
    """The unit of both."""


@dataclass(eq=False)
class TooUnsure(Refusal):
    """A gravity so close to the target, for its uncertainty, that no addition is safe."""

    wanted_got = "A gravity clear of {target:.4g} is wanted; got {now:.4g}, give or take {uncertainty:.2g}."
    mend = "Stir, weigh again, and take a bigger cup or a finer scale if it stays so."

    now: float
    """The gravity now."""
    uncertainty: float
    """Its standard uncertainty."""
    target: float
    """The low gravity of the target."""


@dataclass(eq=False)
class OneWater(Refusal):
    """Readings that were all taken with the same water in the bucket tell nothing of its size."""

    wanted_got = "To find the bucket, readings before and after water was added are wanted; got {got} at one."
    mend = "Add a little water, stir, and weigh again."

    got: int
    """How many readings came."""
