"""What happened to a bucket, row by row, worked out from its standing entries."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from benchvoice.dialogue import telling
from benchvoice.dialogue.bench import Bench, number
from benchvoice.dialogue.history import good_marks
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.target import target
from benchvoice.errors import PotterError
from benchvoice.messages import Entry, Reply
from benchvoice.replies import sentence

Facts = Mapping[str, object]

NOT_TOLD = frozenset({"opened", "closed", "setting", "timer", "caution", "cup", "bottle", "declined", "undo"})
"""Kinds that say nothing of how a bucket has been."""
WHAT = {
    "reading": "Reading", "flow": "Flow", "dose": "Drops", "good": "Good mark", "signs": "Tile",
    "contents": "Contents", "bucket": "New bucket", "target": "New target", "tile": "Tile coat",
    "wanted_coat": "Wanted coat",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One thing that happened."""

    at: datetime
    """When, in local time."""
    what: str
    figure: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Chronicle:
    """One bucket's history."""

    bucket: str
    entries: tuple[Entry, ...]
    """Its standing entries, in the order they were written down."""
    rows: tuple[Row, ...]
    target: tuple[float, float]
    told: str
    """How it has been, in the sentence that is spoken too."""
    good: str
    """When it was called good; empty when it never was."""
    now: datetime
    """When this was told, in local time."""
    zone: tzinfo | None
    """Zone of the times; None is this machine's own."""

    @property
    def title(self) -> str:
        """The bucket's name as a heading."""
        return self.bucket[:1].upper() + self.bucket[1:]


def chronicle(entries: Sequence[Entry], bucket: str, now: datetime, zone: tzinfo | None = None) -> Chronicle:
    """Return the history of a bucket; an unknown name is refused with those that are known."""
    name = _known(entries, bucket)
    own = tuple(entry for entry in entries if entry.bucket == name)
    scene = Scene("history", READY, Bench(own), bucket=name)
    told = sentence(telling.history(scene, now, at_work=False)).printed
    return Chronicle(
        name, own, tuple(_rows(scene, zone)), target(scene), told, _good(scene), now.astimezone(zone), zone
    )


def known_buckets(entries: Sequence[Entry]) -> tuple[str, ...]:
    """Return the names of all buckets."""
    return Bench(tuple(entries)).names()


def _known(entries: Sequence[Entry], bucket: str) -> str:
    names = known_buckets(entries)
    wanted = " ".join(bucket.casefold().split())
    found = next((name for name in names if name.casefold() == wanted), None)
    if found is None:
        known = (
            f"Known are: {', '.join(names)}."
            if names
            else "There is none yet; begin one by talking to the bench."
        )
        raise PotterError(f"There is no bucket called {bucket}.", known)
    return found


def _good(scene: Scene) -> str:
    marks = good_marks(scene.bench, scene.bucket)
    if not marks:
        return ""
    return worded("good_marks", marks=len(marks), low=min(marks), high=max(marks))


def worded(key: str, **facts: object) -> str:
    """Return a wording for the eye."""
    return sentence(Reply(key, facts)).printed


# ---- rows ------------------------------------------------------------------------------------


def _rows(scene: Scene, zone: tzinfo | None) -> Iterator[Row]:
    """Yield a row for each entry that tells something, with the target as it was then."""
    for place, entry in enumerate(scene.bench.entries):
        if entry.kind not in NOT_TOLD:
            then = Scene(scene.session, READY, Bench(scene.bench.entries[: place + 1]), bucket=scene.bucket)
            what, figure, remark = _cells(entry, target(then))
            yield Row(entry.at.astimezone(zone), what, figure, remark)


def _cells(entry: Entry, ends: tuple[float, float]) -> tuple[str, str, str]:
    cells = CELLS.get(entry.kind)
    if cells is None:
        return entry.kind.capitalize(), _plain(entry.facts), ""
    what = WHAT.get(entry.kind) or ("Water" if entry.facts["what"] == "water" else "Dry batch")
    return (what, *cells(entry, ends))


def _plain(facts: Facts) -> str:
    """Return the facts of a kind that is not known here, as they stand."""
    return ", ".join(f"{name} {value}" for name, value in facts.items() if value is not None)


def _reading(entry: Entry, ends: tuple[float, float]) -> tuple[str, str]:
    low, high = ends
    shown = number(entry, "shown")
    place = "row_below" if shown < low else "row_above" if shown > high else "row_in_range"
    return worded("row_reading", **entry.facts), worded(place, low=low, high=high)


def _addition(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    off = number(entry, "mass_g") < 0
    return worded("row_taken_off" if off else "row_added", **entry.facts), ""


def _dose(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    return worded("row_dose", **entry.facts), worded("row_additive", **entry.facts)


def _flow(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    verdict = entry.facts.get("verdict")
    key = "row_flow_time" if "seconds" in entry.facts else "row_flow_word"
    return worded(key, **entry.facts), "" if verdict is None else worded(f"row_flow_{verdict}")


def _signs(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    signs = entry.facts["signs"]
    step = sentence(Reply("next_step", entry.facts), "terse").printed
    return worded("row_signs" if signs else "row_no_signs", **entry.facts), step


def _good_mark(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    key = "row_good_flow" if entry.facts["gravity"] is None else "row_good"
    return worded(key, **entry.facts), ""


def _contents(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    return worded("row_contents", **entry.facts), worded(f"row_contents_{entry.facts['how']}")


def _tile(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    """Return how long the tile was in and what coat it has, as far as either is known."""
    known = [name for name in ("dip_s", "coat_mm") if entry.facts.get(name) is not None]
    return ", ".join(worded(f"row_tile_{name}", **entry.facts) for name in known), tile_told(entry)


def tile_told(entry: Entry) -> str:
    """Return the verdict on a tile's figures."""
    verdict = str(entry.facts["verdict"])
    return worded("row_no_signs") if verdict == "none" else worded("row_signs", signs=(verdict,))


def _wanted_coat(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    return worded("row_wanted_coat", **entry.facts), ""


def _target(entry: Entry, _: tuple[float, float]) -> tuple[str, str]:
    remark = next((f"row_{fact}" for fact in ("learned", "usual", "recipe") if entry.facts.get(fact)), "")
    key = "row_target" if entry.kind == "bucket" else "row_new_target"
    return worded(key, **entry.facts), worded(remark, **entry.facts) if remark else ""


CELLS: Mapping[str, Callable[[Entry, tuple[float, float]], tuple[str, str]]] = {
    "reading": _reading, "addition": _addition, "dose": _dose, "flow": _flow, "signs": _signs,
    "good": _good_mark, "contents": _contents, "bucket": _target, "target": _target, "tile": _tile,
    "wanted_coat": _wanted_coat,
}  # fmt: skip
