"""The cup: from its fills to its entry, and back."""

from __future__ import annotations

from dataclasses import dataclass, replace

from benchvoice.calculator import cup as cups
from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.said import grams_said, step_said
from benchvoice.dialogue.scene import Turn
from benchvoice.messages import Entry


@dataclass(frozen=True, slots=True)
class CupWork:
    """A calibration under way."""

    empty_g: float | None = None
    """Weight of the empty cup [g]; None when the scale is tared with it."""
    fills_g: tuple[float, ...] = ()
    """Net weights of water to the mark [g]."""
    step_g: float = 1.0
    """Scale step, as the spoken decimals show it [g]."""


def with_fill(turn: Turn) -> CupWork:
    """Return the calibration with the fill that was said."""
    work = turn.scene.work(CupWork)
    net = grams_said(turn) - (work.empty_g or 0.0)
    return replace(work, fills_g=(*work.fills_g, net), step_g=min(work.step_g, step_said(turn)))


def checked_fills(work: CupWork) -> cups.Fills:
    """Return what the newest fill and those that agree with it say; refuses what no cup holds."""
    newest = work.fills_g[-1]
    return _fills([g for g in work.fills_g[:-1] if _fills([g, newest], work).agree] + [newest], work)


def _fills(fills_g: list[float], work: CupWork) -> cups.Fills:
    return cups.fills_of([grams(g) for g in fills_g], grams(work.step_g))


def difference(work: CupWork) -> float:
    """Return how far the newest fill lies from the one nearest to it [g]."""
    return min(abs(work.fills_g[-1] - g) for g in work.fills_g[:-1])


def calibrated(work: CupWork) -> dict[str, object]:
    """Return the facts of a calibrated cup."""
    fills = checked_fills(work)
    return {
        "name": "cup",
        "water_g": round(magnitude(fills.mean, "gram"), 4),
        "spread_g": round(magnitude(fills.spread, "gram"), 4),
        "fills": fills.count,
        "step_g": work.step_g,
        "empty_g": work.empty_g,
    }


def cup_of(entry: Entry) -> cups.Cup:
    """Return the calibrated cup of an entry."""
    empty = entry.facts["empty_g"]
    return cups.Cup(
        str(entry.facts["name"]),
        grams(number(entry, "water_g")),
        grams(number(entry, "spread_g")),
        int(number(entry, "fills")),
        grams(number(entry, "step_g")),
        empty is None,
        None if empty is None else grams(number(entry, "empty_g")),
    )
