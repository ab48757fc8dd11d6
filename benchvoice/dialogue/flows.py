"""What the flow asks of the calculator: a reading, this bucket's own good one, the verdict."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from benchvoice.calculator import flow
from benchvoice.calculator.quantities import Quantity, celsius, magnitude, seconds
from benchvoice.dialogue.bench import number
from benchvoice.dialogue.scene import Scene
from benchvoice.messages import Entry

GOOD_WORDS = (flow.FlowWord.MILK, flow.FlowWord.CREAM)
"""A dipping glaze pours between milk and cream; common practice, no source."""
DRAIN_CUP = "drain cup"


@dataclass(frozen=True, slots=True)
class FlowWork:
    """A timing under way."""

    begun: datetime | None = None
    """When the cup began to drain; None while none drains."""
    times_s: tuple[float | None, ...] = ()
    """Repeats so far [s]; None for one that never ended."""
    temperature_c: float | None = None
    """Of the glaze [°C]; None when it was not measured."""


def facts_of(work: FlowWork, stood_s: float | None) -> dict[str, object]:
    """Return the facts of a drain reading's entry."""
    reading = _reading(work.times_s, work.temperature_c, stood_s)
    return {
        "seconds": round(magnitude(reading.time, "second"), 2),
        "spread_s": round(magnitude(reading.spread, "second"), 2),
        "times_s": _kept(work),
        "temperature_c": work.temperature_c,
        "stood_s": stood_s,
    }


def _kept(work: FlowWork) -> list[float | None]:
    """Return the repeats as they are written down and compared [s]."""
    return [None if time is None else round(time, 2) for time in work.times_s]


def blocked(work: FlowWork) -> bool:
    """Tell whether the last repeat was blocked."""
    times = [None if time is None else seconds(time) for time in work.times_s]
    return len(times) - 1 in flow.blocked_repeats(times)


def _reading(
    times_s: Sequence[float | None], temperature_c: float | None, stood_s: float | None
) -> flow.DrainReading:
    return flow.drain_reading(
        DRAIN_CUP,
        [None if time is None else seconds(time) for time in times_s],
        _maybe(temperature_c, celsius),
        _maybe(stood_s, seconds),
    )


def _maybe(value: float | None, unit: Callable[[float], Quantity]) -> Quantity | None:
    return None if value is None else unit(value)


def reading_of(entry: Entry) -> flow.DrainReading:
    """Return the drain reading of an entry."""
    times = entry.facts["times_s"]
    assert isinstance(times, list | tuple)
    temperature, stood = entry.facts["temperature_c"], entry.facts["stood_s"]
    return _reading(
        times,
        None if temperature is None else number(entry, "temperature_c"),
        None if stood is None else number(entry, "stood_s"),
    )


def good_flow(scene: Scene, *, timed: bool) -> Entry | None:
    """Return the flow that the potter last called good in this bucket, timed or in a word."""
    good = scene.bench.last("good", scene.bucket)
    if good is None:
        return None
    earlier = scene.bench.entries[: scene.bench.entries.index(good)]
    found = (e for e in reversed(earlier) if e.kind == "flow" and e.bucket == scene.bucket)
    return next((e for e in found if ("seconds" in e.facts) == timed), None)


def comparison(scene: Scene, work: FlowWork, stood_s: float | None) -> flow.FlowComparison | None:
    """Return a timed flow against this bucket's good one, or None when it has none."""
    good = good_flow(scene, timed=True)
    now = _reading(_kept(work), work.temperature_c, stood_s)
    return None if good is None else flow.compare(now, reading_of(good))


def word_verdict(scene: Scene, word: str) -> flow.Verdict:
    """Return the verdict on a word: against this bucket's good one, else against what dipping wants."""
    now = flow.FlowWord[word.upper()]
    good = good_flow(scene, timed=False)
    if good is not None:
        return flow.compare_words(now, flow.FlowWord[str(good.facts["word"]).upper()])
    if now in GOOD_WORDS:
        return flow.Verdict.RIGHT
    return flow.Verdict.THIN if now < min(GOOD_WORDS) else flow.Verdict.THICK


def last_flow_verdict(scene: Scene) -> flow.Verdict | None:
    """Return the verdict on the flow that was read last since the bucket was opened, or None."""
    found = [e for e in scene.bench.since("opened", scene.bucket) if e.kind == "flow"]
    verdict = found[-1].facts["verdict"] if found else None
    return None if verdict is None else flow.Verdict(str(verdict))
