"""How the flow of one bucket changes while it stands, from its own standings.

Slightly soluble materials dissolve and flow changes; which, and how fast, was not found published. So there
is no figure here but this bucket's own, and without one the answer is to measure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from benchvoice.calculator.limits import TooFew
from benchvoice.calculator.quantities import Quantity, above_zero, within

WEEK = timedelta(weeks=1)


@dataclass(frozen=True, slots=True)
class Stand:
    """One standing of a bucket: the draining time before and after, in one cup, at one gravity."""

    standing: timedelta
    before: Quantity
    """[s]"""
    after: Quantity
    """[s], after stirring as before"""


@dataclass(frozen=True, slots=True)
class Thickening:
    """How a bucket's flow changes while it stands."""

    per_week: float
    """ln(after/before) in a week [1/week]; above 0 when it thickens."""
    spread: float | None
    """Standard uncertainty of that [1/week]; None from one standing."""
    longest: timedelta
    """Longest standing among them."""


@dataclass(frozen=True, slots=True)
class ExpectedFlow:
    """How much slower a bucket may drain after standing."""

    ratio: float
    """Time after over time before [-]."""
    least: float | None
    """Two standard uncertainties below [-]; None from one standing."""
    most: float | None
    """Two standard uncertainties above [-]; None from one standing."""
    beyond: bool
    """True for more than twice the longest standing seen: a guess."""


def thickening(stands: Sequence[Stand]) -> Thickening:
    """Return how a bucket's flow changes while it stands, from its own standings.

    ::

        r = Σ w·y / Σ w²,   y = ln(after/before),   w = weeks

    stands   one or more, each of more than no time
    returns  [1/week]  with its standard uncertainty (None from one)
    raises   TooFew; NotAboveZero; OutOfRange
    source   least squares through the origin (computed from the formula); that flow changes with age: a
             ceramics professor's mailing-list note of 1997 (seen at source), how fast is not published

    >>> from benchvoice.calculator.quantities import seconds
    >>> thickening([Stand(timedelta(weeks=2), seconds(40), seconds(44))]).per_week
    0.0477
    """
    if not stands:
        raise TooFew("standings", 0, 1)
    points = [_stand_point(stand) for stand in stands]
    squares = sum(w * w for w, _ in points)
    rate = sum(w * y for w, y in points) / squares
    rest = sum((y - rate * w) ** 2 for w, y in points)
    spread = math.sqrt(rest / (len(points) - 1) / squares) if len(points) > 1 else None
    return Thickening(rate, spread, max(stand.standing for stand in stands))


def _stand_point(stand: Stand) -> tuple[float, float]:
    before, after = (above_zero(t, "second", of="a draining time") for t in (stand.before, stand.after))
    return within(stand.standing / WEEK, 1e-3, 520, of="a standing", unit="weeks"), math.log(after / before)


def flow_after_standing(found: Thickening, standing: timedelta) -> ExpectedFlow:
    """Return how much longer a bucket may drain after a standing: exp(r·w).

    >>> found = Thickening(0.0477, None, timedelta(weeks=2))
    >>> flow_after_standing(found, timedelta(weeks=4)).ratio
    1.21
    """
    w = within(standing / WEEK, 0, 520, of="the standing", unit="weeks")
    ends = [None, None] if found.spread is None else [found.per_week + d * found.spread for d in (-2, 2)]
    least, most = (None if r is None else math.exp(r * w) for r in ends)
    return ExpectedFlow(math.exp(found.per_week * w), least, most, standing > 2 * found.longest)
