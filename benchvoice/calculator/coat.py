"""The coat on a test tile: how much, how thick, and what it shows.

Grams of dry glaze on a square decimetre need only the scale and say most; a thickness from them needs the
solids' gravity and a guess of how closely the grains pack. How long to dip is in ``dip_law``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from benchvoice.calculator.content import dry_fraction
from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.quantities import (
    Quantity,
    Weighing,
    above_zero,
    grams,
    magnitude,
    millimetres,
    quantity,
    within,
)

PACKING = (0.5, 0.6)
"""Share of a dry coat that is grains; the rest is pores (common practice, no source)."""
LOAD = "gram / decimetre ** 2"
"""The unit of a coat by weight."""
SLOW_RATIO = 1.5
"""A tile that takes this many times the usual drying is slow (common practice, no source)."""


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
    coarse: bool
    """True when the step of the scale is more than a tenth of the coat: too coarse to say."""


@dataclass(frozen=True, slots=True)
class DryLoad:
    """The dry coat alone."""

    load: Quantity
    """Dry glaze [g/dm²]."""
    error: float
    """What the scale's step may add to or take from it, as a share [-]."""
    coarse: bool
    """True when the step of the scale is more than a tenth of the coat: too coarse to say."""


def dipped_area(width: Quantity, depth: Quantity, thickness: Quantity) -> Quantity:
    """Return the area that is glazed when a flat tile is dipped to a depth: both faces and three edges.

    ::

        A = 2·w·d + 2·d·t + w·t

    width      [cm]  w, along the edge that goes in first, more than 0
    depth      [cm]  d, how far it goes in, more than 0
    thickness  [cm]  t, more than 0
    returns    [dm²]
    source     surface of a box without its top and what is above the line (computed from the formula)

    >>> from benchvoice.calculator.quantities import centimetres
    >>> dipped_area(centimetres(5), centimetres(10), centimetres(1))
    <Quantity(1.25, 'decimetre ** 2')>
    """
    lengths = (
        (width, "the tile's width"),
        (depth, "the depth of the dip"),
        (thickness, "the tile's thickness"),
    )
    w, d, t = (above_zero(length, "decimetre", of=of) for length, of in lengths)
    return quantity(2 * w * d + 2 * d * t + w * t, "decimetre ** 2")


def dry_load(bare: Weighing, dry: Weighing, area: Quantity) -> DryLoad:
    """Return the dry coat from a tile weighed bare and dry.

    ::

        dry load = (dry - bare)/area

    bare     before the dip
    dry      when the coat is dry, more than bare
    area     [area]    glazed, more than 0
    returns  [g/dm²]   and the share that two steps of the scale may hide
    raises   NotAboveZero
    limits   bisque that is not dry again weighs more than its coat
    source   definition (computed from the formula); the step as in JCGM 100:2008, F.2.2.1 (from memory)

    >>> step = grams(0.1)
    >>> dry_load(Weighing(grams(50), step), Weighing(grams(54), step), quantity(100, "cm ** 2")).load
    <Quantity(4.0, 'gram / decimetre ** 2')>
    """
    coat = above_zero(dry.mass - bare.mass, "gram", of="the dry coat")
    error = math.hypot(*(magnitude(w.uncertainty, "gram") for w in (bare, dry))) / coat
    coarse = magnitude(dry.step, "gram") > 0.1 * coat
    return DryLoad(
        quantity(coat / above_zero(area, "decimetre ** 2", of="the glazed area"), LOAD), error, coarse
    )


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
    dried = dry_load(tile.bare, tile.dry, tile.area)
    return Coat(
        quantity((wet - bare) / area, LOAD),
        dried.load,
        grams(wet - dry),
        dried.error,
        dried.coarse,
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


def coat_thickness_band(load: Quantity, solids: float) -> tuple[Quantity, Quantity]:
    """Return the least and the greatest thickness of a dry coat, by how closely its grains usually pack.

    >>> thin, thick = coat_thickness_band(quantity(4, "gram / decimetre ** 2"), 2.6)
    >>> thin, thick
    (<Quantity(0.2564, 'millimetre')>, <Quantity(0.3077, 'millimetre')>)
    """
    loose, close = PACKING
    return coat_thickness(load, solids, close), coat_thickness(load, solids, loose)


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

    >>> from benchvoice.calculator.quantities import seconds
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
