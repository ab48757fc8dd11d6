"""What the coat asks of the calculator: a tile's loads and thickness, the bucket's dip law, the verdict."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from benchvoice.calculator import coat as coats
from benchvoice.calculator import dip_law
from benchvoice.calculator.diagnosis import Sign
from benchvoice.calculator.dip_law import DipCaution, DipLaw, NextDip
from benchvoice.calculator.limits import OutOfRange
from benchvoice.calculator.quantities import (
    Quantity,
    Weighing,
    centimetres,
    grams,
    magnitude,
    millimetres,
    quantity,
    seconds,
)
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.target import USUAL_SOLIDS, solids_gravity
from benchvoice.messages import Entry

USUAL_DRYING_S = 40.0
"""A tile of a bucket without earlier tiles is expected to dry in about this time [s]; common practice."""
ALIKE = 0.02
"""Tiles dipped at a gravity further off than this say nothing of the bucket as it is now (our choice)."""
TOO_WIDE = 3.0
"""Where the longest dip is more than this many times the best guess, no interval is told (our choice)."""
ROUNDING = 0.24
"""The ends of an interval are rounded outward to half seconds [s]."""
CLOSE = 1.0
"""An interval of a second or less is not told: no hand dips closer [s] (our choice)."""
GAUGE, WEIGHT = "gauge", "weight"


@dataclass(frozen=True, slots=True)
class CoatWork:
    """A tile under way."""

    dip_s: float | None = None
    """How long it was in [s]; None when nobody knows."""
    out_at: datetime | None = None
    """When it came out."""
    drying_s: float | None = None
    """From then until the shine was gone [s]."""
    bare_g: float | None = None
    """Weight before the dip [g]; None when it is not weighed."""
    wet_g: float | None = None
    """Weight just after it [g]."""
    dry_g: float | None = None
    """Weight when the coat is dry [g]."""
    step_g: float = 1.0
    """Step of the scale, as the finest weight that was said shows it [g]."""
    depth_cm: float | None = None
    """How deep the tile was dipped [cm], or how long the glazed face is."""
    width_cm: float | None = None
    """How wide it is [cm]."""


# ---- one tile -----------------------------------------------------------------------------


def tile_area(work: CoatWork, thickness_cm: float | None) -> Quantity:
    """Return the glazed area: both faces and three edges, or one face when there is no thickness."""
    assert work.depth_cm is not None
    assert work.width_cm is not None
    depth, width = centimetres(work.depth_cm), centimetres(work.width_cm)
    if thickness_cm is None:
        return quantity(work.depth_cm * work.width_cm / 100, "decimetre ** 2")
    return coats.dipped_area(width, depth, centimetres(thickness_cm))


def weighed_facts(work: CoatWork, area: Quantity, solids: float) -> dict[str, object]:
    """Return the coat by weight: loads [g/dm²], water [g], thickness from close to loose packing [mm]."""
    assert work.bare_g is not None
    assert work.dry_g is not None
    load = coats.dry_load(_weighing(work, work.bare_g), _weighing(work, work.dry_g), area)
    thick, thin = (magnitude(coats.coat_thickness(load.load, solids, p), "millimetre") for p in coats.PACKING)
    facts: dict[str, object] = {
        "area_dm2": round(magnitude(area, "decimetre ** 2"), 4),
        "dry_g_dm2": round(magnitude(load.load, coats.LOAD), 4),
        "coarse": load.coarse,
        "thin_mm": round(thin, 4),
        "thick_mm": round(thick, 4),
        "coat_mm": round((thin + thick) / 2, 4),
        "how": WEIGHT,
    }
    return facts if work.wet_g is None else {**facts, **_wet_facts(work, area)}


def _wet_facts(work: CoatWork, area: Quantity) -> dict[str, object]:
    assert work.bare_g is not None
    assert work.wet_g is not None
    assert work.dry_g is not None
    bare, wet, dry = (_weighing(work, g) for g in (work.bare_g, work.wet_g, work.dry_g))
    found = coats.coat_of_tile(coats.Tile(bare, wet, dry, area))
    return {
        "wet_g_dm2": round(magnitude(found.wet_load, coats.LOAD), 4),
        "water_g": round(magnitude(found.water, "gram"), 4),
    }


def _weighing(work: CoatWork, mass_g: float) -> Weighing:
    return Weighing(grams(mass_g), grams(work.step_g))


def drawn_g(scene: Scene, work: CoatWork) -> float | None:
    """Return the water that the tile drew out of the bucket [g]; None without gravity or wet weight."""
    gravity = gravity_now(scene)
    if gravity is None or work.wet_g is None or work.dry_g is None or work.bare_g is None:
        return None
    dry, water = grams(work.dry_g - work.bare_g), grams(work.wet_g - work.dry_g)
    return magnitude(coats.water_drawn(dry, water, gravity, solids_of(scene)), "gram")


def tile_facts(scene: Scene, work: CoatWork, coat: Mapping[str, object]) -> dict[str, object]:
    """Return the facts of a tile's entry."""
    weights = {"bare_g": work.bare_g, "wet_g": work.wet_g, "dry_g": work.dry_g}
    return {
        "dip_s": None if work.dip_s is None else round(work.dip_s, 2),
        "drying_s": None if work.drying_s is None else round(work.drying_s, 1),
        "gravity": gravity_now(scene),
        **{name: grams_ for name, grams_ in weights.items() if grams_ is not None},
        **coat,
    }


def gravity_now(scene: Scene) -> float | None:
    """Return the gravity read since the bucket was opened, or None."""
    if scene.bucket is None:
        return None
    since = scene.bench.since("opened", scene.bucket)
    last = next((e for e in reversed(since) if e.kind == "reading"), None)
    return None if last is None else number(last, "gravity")


def solids_of(scene: Scene) -> float:
    """Return the gravity of the bucket's solids, a usual one when its recipe is not known."""
    return USUAL_SOLIDS if scene.bucket is None else solids_gravity(scene)


# ---- the bucket's tiles ----------------------------------------------------------------------


def tiles(scene: Scene) -> tuple[Entry, ...]:
    """Return the tiles of the open bucket at a gravity like the present one, oldest first."""
    if scene.bucket is None:
        return ()
    now = gravity_now(scene)
    found = [e for e in scene.bench.entries if e.kind == "tile" and e.bucket == scene.bucket]
    return tuple(e for e in found if _alike(e.facts.get("gravity"), now))


def _alike(then: object, now: float | None) -> bool:
    return then is None or now is None or abs(float(str(then)) - now) <= ALIKE


def law(scene: Scene) -> DipLaw | None:
    """Return the dip law of this bucket's tiles, all measured as the newest was; None without any."""
    found = [e for e in tiles(scene) if e.facts.get("dip_s") and e.facts.get("coat_mm")]
    alike = [e for e in found if e.facts["how"] == found[-1].facts["how"]]
    points = [(seconds(number(e, "dip_s")), millimetres(number(e, "coat_mm"))) for e in alike]
    return dip_law.fit_dip_law(points) if points else None


def wanted_mm(scene: Scene) -> float | None:
    """Return the coat that this bucket is to give [mm], or None when it was not said."""
    entry = None if scene.bucket is None else scene.bench.last("wanted_coat", scene.bucket)
    return None if entry is None else number(entry, "mm")


def usual_drying_s(scene: Scene) -> float:
    """Return how long a tile of this bucket usually takes to dry [s]."""
    times = [number(e, "drying_s") for e in tiles(scene) if e.facts.get("drying_s")]
    return median(times) if times else USUAL_DRYING_S


def verdict(scene: Scene, facts: Mapping[str, object]) -> Sign:
    """Return what a tile's figures show: slow to dry, too thin, too thick, or nothing wrong."""
    drying, wanted, coat = facts["drying_s"], wanted_mm(scene), facts.get("coat_mm")
    return coats.tile_sign(
        Sign.NONE,
        seconds(float(str(drying))) if drying else None,
        seconds(usual_drying_s(scene)),
        coat=None if coat is None or wanted is None else float(str(coat)) / wanted,
    )


@dataclass(frozen=True, slots=True)
class DipAdvice:
    """How long to dip next, in figures that a hand can keep to."""

    wanted_mm: float
    time_s: float | None
    """None when no single dip gives that coat."""
    least_s: float | None = None
    most_s: float | None = None
    """None when the tiles do not bound it closely."""
    tiles: int = 0
    far: bool = False
    """True when it is far from the dips that were tried."""

    @property
    def key(self) -> str:
        """The reply that says it."""
        if self.time_s is None:
            return "next_dip_too_long"
        if self.tiles == 1:
            return "next_dip_one_tile"
        if self.most_s is not None and self.least_s is not None and self.most_s - self.least_s <= CLOSE:
            return "next_dip_sure"
        return "next_dip_open" if self.most_s is None else "next_dip"


def next_dip(scene: Scene) -> DipAdvice | None:
    """Return how long to dip for the coat wanted; None when no tile or no wish says anything."""
    found, wanted = law(scene), wanted_mm(scene)
    if found is None or wanted is None:
        return None
    try:
        return _for_a_hand(found, wanted, dip_law.next_dip(found, millimetres(wanted)))
    except OutOfRange:
        return DipAdvice(wanted, None, tiles=found.tiles)


def _for_a_hand(found: DipLaw, wanted: float, dip: NextDip) -> DipAdvice:
    time, most = magnitude(dip.time, "second"), None if dip.most is None else magnitude(dip.most, "second")
    if most is not None and most > TOO_WIDE * time:
        most = None
    return DipAdvice(
        wanted,
        in_halves(time),
        None if dip.least is None else in_halves(magnitude(dip.least, "second") - ROUNDING),
        None if most is None else in_halves(most + ROUNDING),
        found.tiles,
        DipCaution.BEYOND_TILES in dip.cautions,
    )


def in_halves(time_s: float) -> float:
    """Return a time as a hand keeps it [s]: half seconds up to ten, whole ones above, never nothing.

    >>> in_halves(3.9), in_halves(0.1), in_halves(12.4)
    (4.0, 0.5, 12.0)
    """
    return max(round(2 * time_s) / 2, 0.5) if time_s < 10 else float(round(time_s))
