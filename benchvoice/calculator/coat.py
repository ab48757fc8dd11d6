"""The coat on a test tile: how much, how thick, and how long to dip the next one.

Grams of dry glaze on a square decimetre need only the scale and say most; a thickness from them needs the
solids' gravity and a guess of how closely the grains pack. A coat grows as the square root of the dip, as in
casting; the constant is fitted from this bucket's own tiles, since clay, bisque and glaze all enter it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from benchvoice.calculator.content import dry_fraction
from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.limits import Refusal, TooFew
from benchvoice.calculator.quantities import (
    Quantity,
    Weighing,
    above_zero,
    grams,
    magnitude,
    millimetres,
    quantity,
    seconds,
    within,
)

PACKING = (0.5, 0.6)
"""Share of a dry coat that is grains; the rest is pores (common practice, no source)."""
LOAD = "gram / decimetre ** 2"
"""The unit of a coat by weight."""
SLOW_RATIO = 1.5
"""A tile that takes this many times the usual drying is slow (common practice, no source)."""
STRETCH = 2.0
"""Beyond so many times the longest dip tried the law is not trusted: the pores fill (common practice)."""
LONGEST_DIP = 60.0
"""No dip lasts longer [s] (common practice)."""

# Student's t, 95 % both sides, by degrees of freedom from 1 (NIST/SEMATECH e-Handbook 1.3.6.7.2, memory).
_T95 = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)


@dataclass(eq=False)
class TileOutOfOrder(Refusal):
    """The three weights of a tile do not follow: bare least, wet most, dry between."""

    wanted_got = "Bare below dry below wet is wanted; got {bare:g}, {dry:g} and {wet:g} grams."
    mend = "Weigh the tile again, and say bare, wet and dry apart."

    bare: float
    """Before the dip [g]."""
    dry: float
    """After drying [g]."""
    wet: float
    """Just after the dip [g]."""


class CoatCaution(StrEnum):
    """What makes an answer about a coat doubtful."""

    COARSE_SCALE = "coarse scale"  # the step of the scale is more than a tenth of the coat
    ONE_TILE = "one tile"  # no interval can be given
    BEYOND_TILES = "beyond tiles"  # more than twice the longest, or under half the shortest, dip tried
    SCATTERED = "scattered"  # the tiles do not agree well enough to bound the dip from above


@dataclass(frozen=True, slots=True)
class Tile:
    """A test tile weighed three times on one scale."""

    bare: Weighing
    """Before the dip, dry and dusted."""
    wet: Weighing
    """Just after the dip, when it has stopped dripping."""
    dry: Weighing
    """When the coat is dry."""
    area: Quantity
    """Glazed, both faces and edges if they were dipped [area]."""


@dataclass(frozen=True, slots=True)
class Coat:
    """What a dip left on a tile."""

    wet_load: Quantity
    """Glaze and water together [g/dm²]."""
    dry_load: Quantity
    """Dry glaze [g/dm²]."""
    water: Quantity
    """Water that came with it and has dried off: in the coat and in the tile together [g]."""
    error: float
    """What the scale's step may add to or take from the dry load, as a share [-]."""
    cautions: tuple[CoatCaution, ...]


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
    cautions: tuple[CoatCaution, ...]


def coat_of_tile(tile: Tile) -> Coat:
    """Return the coat from a tile weighed bare, wet and dry.

    ::

        dry load = (dry - bare)/area,   wet load = (wet - bare)/area,   water = wet - dry

    tile     three weights and the glazed area, bare < dry < wet
    returns  [g/dm²]  both loads; [g] the water; the share that two steps of the scale may hide
    raises   TileOutOfOrder; NotAboveZero
    limits   the water in the coat and in the tile cannot be told apart by weighing: see water_drawn
    source   definition (computed from the formula); the step as in JCGM 100:2008, F.2.2.1 (from memory)

    >>> step = grams(0.01)
    >>> tile = Tile(*(Weighing(grams(g), step) for g in (50, 58, 54)), quantity(100, "cm ** 2"))
    >>> coat_of_tile(tile).dry_load
    <Quantity(4.0, 'gram / decimetre ** 2')>
    """
    bare, wet, dry = (above_zero(w.mass, "gram", of="the tile") for w in (tile.bare, tile.wet, tile.dry))
    if not bare < dry < wet:
        raise TileOutOfOrder(bare, dry, wet)
    area = above_zero(tile.area, "decimetre ** 2", of="the glazed area")
    error = math.hypot(*(magnitude(w.uncertainty, "gram") for w in (tile.bare, tile.dry))) / (dry - bare)
    coarse = magnitude(tile.dry.step, "gram") > 0.1 * (dry - bare)
    return Coat(
        quantity((wet - bare) / area, LOAD),
        quantity((dry - bare) / area, LOAD),
        grams(wet - dry),
        error,
        (CoatCaution.COARSE_SCALE,) if coarse else (),
    )


def water_drawn(dry_coat: Quantity, water: Quantity, gravity: float, solids: float) -> Quantity:
    """Return how much more water the tile took than the glaze it holds brought with it.

    ::

        drawn = water - dry·(1 - w)/w,   w = dry fraction of the slurry

    dry_coat  [gram]  dry glaze on the tile
    water     [gram]  that came with the dip
    gravity   [-]     of the bucket
    solids    [-]     gravity of the solids
    returns   [gram]  above 0: the bisque drew water out of the bucket, and the bucket thickens by it
    source    balance of mass (computed from the formula)

    >>> water_drawn(grams(4), grams(5), 1.45, 2.6)
    <Quantity(1.068, 'gram')>
    """
    w = dry_fraction(gravity, solids)
    dry = above_zero(dry_coat, "gram", of="the dry coat")
    return grams(above_zero(water, "gram", of="the water") - dry * (1 - w) / w)


def coat_thickness(load: Quantity, solids: float, packing: float = PACKING[0]) -> Quantity:
    """Return the thickness of a dry coat from its weight on an area.

    ::

        t = load / (S·φ)

    load     [g/dm²]  dry, more than 0
    solids   [-]      S, gravity of the solids, 1.5 to 7
    packing  [-]      φ, share of the coat that is grains, 0.3 to 0.8; usually 0.5 to 0.6
    returns  [mm]
    source   balance of mass (computed from the formula); the packing is common practice, no source

    >>> coat_thickness(quantity(4, "gram / decimetre ** 2"), 2.6, 0.5)
    <Quantity(0.3077, 'millimetre')>
    """
    areal = above_zero(load, "gram / millimetre ** 2", of="the coat")
    grain = within(solids, 1.5, 7, of="the gravity of the solids") / 1000
    return millimetres(areal / (grain * within(packing, 0.3, 0.8, of="the packing")))


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

    >>> law = fit_dip_law([(seconds(4), millimetres(0.8)), (seconds(9), millimetres(1.25))])
    >>> next_dip(law, millimetres(1.0)).time
    <Quantity(6.0, 'second')>
    """
    unit = str(law.k.units)
    k, coat = law.k.m, above_zero(wanted, unit, of="the coat wanted")
    t = within((coat / k) ** 2, 0, LONGEST_DIP, of="the dip", unit="seconds")
    if law.spread is None:
        return NextDip(seconds(t), None, None, (CoatCaution.ONE_TILE, *_beyond(law, t)))
    half = _student(law.tiles - 1) * magnitude(law.spread, unit)
    most = seconds((coat / (k - half)) ** 2) if half < k else None
    scattered = () if most is not None else (CoatCaution.SCATTERED,)
    return NextDip(seconds(t), seconds((coat / (k + half)) ** 2), most, (*scattered, *_beyond(law, t)))


def _student(freedom: int) -> float:
    return _T95[freedom - 1] if freedom <= len(_T95) else 1.96 + 2.4 / freedom


def _beyond(law: DipLaw, t: float) -> tuple[CoatCaution, ...]:
    low, high = magnitude(law.shortest, "second") / STRETCH, magnitude(law.longest, "second") * STRETCH
    return () if low <= t <= high else (CoatCaution.BEYOND_TILES,)


def tile_sign(
    seen: Sign, drying: Quantity | None = None, usual: Quantity | None = None, *, coat: float | None = None
) -> Sign:
    """Return the sign to go by: what was seen, else slow drying, else a coat off the one wanted.

    seen     what the potter saw on the tile; Sign.NONE when nothing
    drying   [second]  until the wet shine went; None when it was not timed
    usual    [second]  this bucket's own good drying; None when it has none
    coat     [-]       this coat over the one wanted; None when it was not weighed
    returns  the first that holds of: seen, slow to dry, too thin (below 0.8), too thick (above 1.25)
    source   common practice, no source

    >>> tile_sign(Sign.NONE, seconds(60), seconds(20))
    <Sign.SLOW_TO_DRY: 'slow to dry'>
    """
    if seen is not Sign.NONE:
        return seen
    if drying is not None and usual is not None and _is_slow(drying, usual):
        return Sign.SLOW_TO_DRY
    if coat is None or 0.8 <= within(coat, 0, 100, of="the coat over the one wanted") <= 1.25:
        return Sign.NONE
    return Sign.TOO_THIN if coat < 1 else Sign.TOO_THICK


def _is_slow(drying: Quantity, usual: Quantity) -> bool:
    took, takes = (above_zero(t, "second", of="the drying") for t in (drying, usual))
    return took > SLOW_RATIO * takes
