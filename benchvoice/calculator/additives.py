"""The additives of a glaze bench, as they are supplied: what each does, how strong, and how much is too much.

The ceilings are of the as-supplied stuff over the dry content, and each carries where it comes from. The
doses of a glaze are mostly common practice; what is published is about casting slips, which take more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.sources import Known, Source
from benchvoice.calculator.tables import Row, rows, table_text

COLUMNS = (
    "name",
    "synonyms",
    "kind",
    "form",
    "density",
    "active_percent",
    "start_percent",
    "usual_percent",
    "ceiling_percent",
    "hazards",
    "doses_source",
    "doses_known",
    "strength_source",
    "strength_known",
)


class Kind(StrEnum):
    """What an additive does to the flow."""

    DEFLOCCULANT = "deflocculant"  # thinner
    FLOCCULANT = "flocculant"  # thicker


class Form(StrEnum):
    """How an additive comes; a powder is dissolved before it is dosed."""

    LIQUID = "liquid"
    POWDER = "powder"


@dataclass(eq=False)
class UnknownAdditive(Refusal):
    """An additive that is not in the table has no ceiling, so it is not dosed."""

    wanted_got = "A known additive is wanted: {choices}; got {got}."
    mend = "Name one of these."

    got: str
    """The name as it came."""
    choices: str
    """The names that are known."""


@dataclass(frozen=True, slots=True)
class Additive:
    """One additive, as it is supplied."""

    name: str
    synonyms: tuple[str, ...]
    kind: Kind
    form: Form
    density: float
    """As supplied [g/mL]; of a powder, its true density."""
    active: float
    """Share by weight that acts: solids of a silicate or dispersant, acid of vinegar [-]."""
    start: float
    """The first step, as supplied over dry [%]."""
    usual: float
    """What is seldom exceeded in a glaze, as supplied over dry [%]."""
    ceiling: float
    """The most that is ever dosed here, as supplied over dry [%]."""
    hazards: tuple[str, ...]
    """Hazard classes, see ``safety``; the label of the bottle comes before them."""
    doses: Source
    """Where start, usual and ceiling come from."""
    strength: Source
    """Where density and active share come from."""


def parse_additives(text: str) -> dict[str, Additive]:
    """Read the table of additives; refuses doses that do not rise from start to ceiling."""
    found: dict[str, Additive] = {}
    for row in rows("additives", text, COLUMNS):
        additive = _additive(row)
        for name in (additive.name, *additive.synonyms):
            if name in found:
                raise row.bad(f"a new name is wanted; {name} stands there already")
            found[name] = additive
    return found


def _additive(row: Row) -> Additive:
    start, usual, ceiling = (row.number(f"{column}_percent") for column in ("start", "usual", "ceiling"))
    if not 0 < start <= usual <= ceiling <= 5:
        raise row.bad(f"0 < start ≤ usual ≤ ceiling ≤ 5 is wanted; got {start:g}, {usual:g}, {ceiling:g}")
    return Additive(
        name=row["name"],
        synonyms=row.names("synonyms"),
        kind=row.one_of("kind", Kind),
        form=row.one_of("form", Form),
        density=row.number("density"),
        active=row.number("active_percent") / 100,
        start=start,
        usual=usual,
        ceiling=ceiling,
        hazards=row.names("hazards"),
        doses=Source(row["doses_source"], row.one_of("doses_known", Known)),
        strength=Source(row["strength_source"], row.one_of("strength_known", Known)),
    )


@cache
def additives() -> Mapping[str, Additive]:
    """Return the package's own additives by every name."""
    return parse_additives(table_text("additives"))


def find_additive(name: str) -> Additive:
    """Return the additive of that name; refuses one without a known ceiling.

    >>> find_additive("Epsom salts").kind
    <Kind.FLOCCULANT: 'flocculant'>
    """
    known = additives()
    try:
        return known[" ".join(name.lower().split())]
    except KeyError:
        raise UnknownAdditive(name, ", ".join(sorted({a.name for a in known.values()}))) from None
