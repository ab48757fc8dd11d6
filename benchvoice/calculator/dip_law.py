"""How long to dip: a coat grows as the square root of the time, as in casting.

The constant is fitted from this bucket's own tiles, since clay, bisque and glaze all enter it; it is good
until the pores fill. Coats may be thicknesses or weights on an area, but all of one kind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from benchvoice.calculator.limits import TooFew
from benchvoice.calculator.quantities import Quantity, above_zero, magnitude, quantity, seconds, within

STRETCH = 2.0
"""Beyond so many times the longest dip tried the law is not trusted: the pores fill (common practice)."""
LONGEST_DIP = 60.0
"""No dip lasts longer [s] (common practice)."""

# Student's t, 95 % both sides, by degrees of freedom from 1 (NIST/SEMATECH e-Handbook 1.3.6.7.2, memory).
T95 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


class DipCaution(StrEnum):
    """What makes the next dip doubtful."""

    ONE_TILE = "one tile"  # no interval can be given
    BEYOND_TILES = "beyond tiles"  # more than twice the longest, or under half the shortest, dip tried
    SCATTERED = "scattered"  # the tiles do not agree well enough to bound the dip from above


@dataclass(frozen=True, slots=True)
class DipLaw:
    """The law coat = k·√(t / 1 s), from this bucket's own tiles."""

    k: Quantity
    """The coat of a dip of one second, in the unit of the tiles' coats."""
    spread: Quantity | None
    """Standard uncertainty of k, in the same unit; None from one tile."""
    tiles: int
    shortest: Quantity
    """Shortest dip among the tiles [s]."""
    longest: Quantity
    """Longest dip among the tiles [s]."""


@dataclass(frozen=True, slots=True)
class NextDip:
    """How long to dip for the coat wanted."""

    time: Quantity
    """Best guess [s]."""
    least: Quantity | None
    """Shortest that the tiles allow, 95 in a hundred [s]; None from one tile."""
    most: Quantity | None
    """Longest that the tiles allow [s]; None from one tile or when they scatter too much to say."""
    cautions: tuple[DipCaution, ...]


def coat_after(coat: Quantity, dip: Quantity, other: Quantity) -> Quantity:
    """Return the coat of another dip time from one tile, by the square-root law.

    ::

        c = c₀·√(t/t₀)

    coat     [any]     c₀, thickness or load
    dip      [second]  t₀, more than 0
    other    [second]  t, more than 0
    returns  [as coat]
    limits   until the pores fill; thin walls load less (L. Katz, notes on glaze thickness, seen at source)
    source   cast law: Ceramics 8(1) 6, 2025, introduction (seen at source)

    >>> from benchvoice.calculator.quantities import millimetres
    >>> coat_after(millimetres(0.8), seconds(3), seconds(5))
    <Quantity(1.033, 'millimetre')>
    """
    t0, t = (above_zero(time, "second", of="a dip") for time in (dip, other))
    unit = str(coat.units)
    return quantity(above_zero(coat, unit, of="the coat") * math.sqrt(t / t0), unit)


def fit_dip_law(tiles: Sequence[tuple[Quantity, Quantity]]) -> DipLaw:
    """Return the square-root law that fits this bucket's tiles best; through nothing at no time.

    ::

        k = Σ c·√t / Σ t,   u(k) = √( Σ(c - k·√t)² / (n - 1) / Σ t )

    tiles    ([second] dip, [any one kind] coat), more than 0 each
    returns  k, its standard uncertainty (None from one tile), and the range of dips tried
    raises   TooFew; NotThatKind when the coats are of different kinds
    source   least squares through the origin (computed from the formula)

    >>> from benchvoice.calculator.quantities import millimetres
    >>> law = fit_dip_law([(seconds(4), millimetres(0.8)), (seconds(9), millimetres(1.2))])
    >>> round(law.k.m, 6), law.tiles
    (0.4, 2)
    """
    if not tiles:
        raise TooFew("tiles", 0, 1)
    unit = str(tiles[0][1].units)
    points = [(above_zero(t, "second", of="a dip"), above_zero(c, unit, of="a coat")) for t, c in tiles]
    times = [t for t, _ in points]
    k = sum(c * math.sqrt(t) for t, c in points) / sum(times)
    rest = sum((c - k * math.sqrt(t)) ** 2 for t, c in points)
    spread = math.sqrt(rest / (len(points) - 1) / sum(times)) if len(points) > 1 else None
    return DipLaw(
        quantity(k, unit),
        None if spread is None else quantity(spread, unit),
        len(points),
        seconds(min(times)),
        seconds(max(times)),
    )


def coat_expected(law: DipLaw, dip: Quantity) -> Quantity:
    """Return the coat that the law gives for a dip: k·√t.

    >>> from benchvoice.calculator.quantities import millimetres
    >>> law = fit_dip_law([(seconds(4), millimetres(0.8))])
    >>> coat_expected(law, seconds(9))
    <Quantity(1.2, 'millimetre')>
    """
    return quantity(law.k.m * math.sqrt(above_zero(dip, "second", of="a dip")), str(law.k.units))


def next_dip(law: DipLaw, wanted: Quantity) -> NextDip:
    """Return how long to dip for the coat wanted, with the interval that the tiles allow.

    ::

        t = (c/k)²,   from (c/(k + τ·u))² to (c/(k - τ·u))²,   τ = Student's t for 95 % and n - 1

    law      from fit_dip_law
    wanted   [as the tiles' coats]  more than 0
    returns  [second]  with the cautions that go with it
    raises   NotThatKind; OutOfRange when the dip would last longer than a minute
    source   JCGM 100:2008, G.3 (from memory)

    >>> from benchvoice.calculator.quantities import millimetres
    >>> law = fit_dip_law([(seconds(4), millimetres(0.8)), (seconds(9), millimetres(1.25))])
    >>> next_dip(law, millimetres(1.0)).time
    <Quantity(6.0, 'second')>
    """
    unit = str(law.k.units)
    k, coat = law.k.m, above_zero(wanted, unit, of="the coat wanted")
    t = within((coat / k) ** 2, 0, LONGEST_DIP, of="the dip", unit="seconds")
    if law.spread is None:
        return NextDip(seconds(t), None, None, (DipCaution.ONE_TILE, *_beyond(law, t)))
    half = _student(law.tiles - 1) * magnitude(law.spread, unit)
    most = seconds((coat / (k - half)) ** 2) if half < k else None
    scattered = () if most is not None else (DipCaution.SCATTERED,)
    return NextDip(seconds(t), seconds((coat / (k + half)) ** 2), most, (*scattered, *_beyond(law, t)))


def _student(freedom: int) -> float:
    return T95[freedom - 1] if freedom <= len(T95) else 1.96 + 2.4 / freedom


def _beyond(law: DipLaw, t: float) -> tuple[DipCaution, ...]:
    low, high = magnitude(law.shortest, "second") / STRETCH, magnitude(law.longest, "second") * STRETCH
    return () if low <= t <= high else (DipCaution.BEYOND_TILES,)
