"""Materials of a glaze: what they are called, how dense they are, which hazards they bring.

Density here is the true density of the grain [g/cm³], which at the bench is its gravity. A material that is
not in the table is taken as 2.6 and named, so that the potter hears of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

from benchvoice.calculator.content import mixture_gravity
from benchvoice.calculator.sources import PRACTICE, Source
from benchvoice.calculator.tables import Row, rows, table_text

COLUMNS = ("name", "synonyms", "density", "low", "high", "hazards", "source", "known")

ASSUMED_GRAVITY = 2.6
"""Gravity of the grains where nothing better is known."""
ASSUMED_BAND = (2.5, 2.7)
"""What the grains of an ordinary glaze without heavy oxides lie between; ±2.5 % of the dry near 1.45."""
ASSUMED_SOURCE = PRACTICE

USUALLY_ON_TOP = frozenset(
    {
        *("cobalt carbonate", "cobalt oxide", "copper carbonate", "copper oxide", "red iron oxide"),
        *("manganese dioxide", "chromium oxide", "nickel oxide", "vanadium pentoxide", "rutile"),
        *("titanium dioxide", "tin oxide", "zircon", "bentonite"),
    }
)
"""Colours, opacifiers and what keeps a glaze afloat: mostly given as parts over a base of a hundred."""
ON_TOP_SOURCE = PRACTICE

LIGHTEST, HEAVIEST = 1.5, 10.0
"""Beyond these no powder in a glaze is found; a figure outside is a slip of the tongue."""


@dataclass(frozen=True, slots=True)
class Material:
    """One material of the trade."""

    name: str
    synonyms: tuple[str, ...]
    gravity: float
    """True gravity of the grains, the value to use [-]."""
    low: float
    """The least that is found for it [-]."""
    high: float
    """The most that is found for it [-]."""
    hazards: tuple[str, ...]
    """Hazard classes, see ``safety``."""
    source: Source


@dataclass(frozen=True, slots=True)
class MixtureGravity:
    """The gravity of the dry mix, and what had to be assumed for it."""

    gravity: float
    """Of the grains together [-]."""
    low: float
    """With every material at the least found for it [-]."""
    high: float
    """With every material at the most found for it [-]."""
    assumed: tuple[str, ...]
    """Names that are not in the table and were taken as 2.6; empty when all are known."""


Catalogue = Mapping[str, Material]
"""Materials by every name and synonym, lower case."""


def parse_materials(text: str) -> dict[str, Material]:
    """Read the table of materials; refuses a name given twice and a density outside its own band."""
    found: dict[str, Material] = {}
    for row in rows("materials", text, COLUMNS):
        material = _material(row)
        for name in (material.name, *material.synonyms):
            if name in found:
                raise row.bad(f"a new name is wanted; {name} stands there already")
            found[name] = material
    return found


def _material(row: Row) -> Material:
    low, gravity, high = (row.number(column) for column in ("low", "density", "high"))
    if not LIGHTEST <= low <= gravity <= high <= HEAVIEST:
        raise row.bad(f"low ≤ density ≤ high is wanted; got {low:g}, {gravity:g}, {high:g}")
    return Material(
        row["name"], row.names("synonyms"), gravity, low, high, row.names("hazards"), row.source()
    )


@cache
def catalogue() -> Catalogue:
    """Return the package's own materials."""
    return parse_materials(table_text("materials"))


def find_material(name: str, known: Catalogue | None = None) -> Material | None:
    """Return the material of that name or synonym; None when it is not in the table.

    >>> find_material("China Clay").name
    'kaolin'
    """
    return (catalogue() if known is None else known).get(" ".join(name.lower().split()))


def is_usually_on_top(name: str) -> bool:
    """Tell whether a material is mostly added over a base of a hundred, by any of its names.

    >>> is_usually_on_top("iron oxide"), is_usually_on_top("quartz")
    (True, False)
    """
    found = find_material(name)
    return found is not None and found.name in USUALLY_ON_TOP


def near_names(name: str, known: Catalogue | None = None) -> tuple[str, ...]:
    """Return up to three names in the table that sound like this one, likeliest first.

    >>> near_names("koalin")
    ('kaolin',)
    """
    names = catalogue() if known is None else known
    return tuple(get_close_matches(name.lower(), names, n=3, cutoff=0.7))


def recipe_gravity(
    parts: Iterable[tuple[str, float]], own: Mapping[str, float] | None = None, known: Catalogue | None = None
) -> MixtureGravity:
    """Return the gravity of a dry mix by names, taking 2.6 for a name not in the table and saying so.

    parts    (name, weight in any one unit)
    own      gravities that the potter gave, by name; they come before the table
    returns  gravity, its band, and the names that were assumed
    raises   TooFew when there is no weight; OutOfRange
    source   volumes add, see ``content.mixture_gravity``

    >>> recipe_gravity([("quartz", 1), ("moon dust", 1)]).assumed
    ('moon dust',)
    """
    given = [(name, weight, _band(name, own or {}, known)) for name, weight in parts]
    low, middle, high = (mixture_gravity([(w, band[i]) for _, w, band in given]) for i in range(3))
    assumed = (n for n, _, _ in given if n not in (own or {}) and not find_material(n, known))
    return MixtureGravity(middle, low, high, tuple(assumed))


def _band(name: str, own: Mapping[str, float], known: Catalogue | None) -> tuple[float, float, float]:
    if name in own:
        return (own[name],) * 3
    if material := find_material(name, known):
        return material.low, material.gravity, material.high
    return ASSUMED_BAND[0], ASSUMED_GRAVITY, ASSUMED_BAND[1]
