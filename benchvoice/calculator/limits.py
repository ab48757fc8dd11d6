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
        super().__init__(self.wanted_got.format(**self.facts), self.mend.format(**self.facts))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), tuple(self.facts.values())

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

    wanted_got = "For {of} a value from {low:g} to {high:g}{unit} is wanted; got {got:g}."
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
    """The unit of the three figures with a space before it; empty for a gravity."""
