"""What a picture of a bucket is drawn from, and what it shows in words for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from benchvoice.dialogue.bench import number
from benchvoice.history.chronicle import Chronicle, tile_told, worded
from benchvoice.messages import Entry, Reply

FLOW_WORDS = ("water", "milk", "cream", "yogurt", "jelly")
"""From thin to thick; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Point:
    """A figure at a time."""

    at: datetime
    """In local time."""
    value: float


@dataclass(frozen=True, slots=True)
class Band:
    """A target and from when it held."""

    at: datetime
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Tile:
    """A tile that was looked at."""

    at: datetime
    told: str
    """What it showed."""
    right: bool


@dataclass(frozen=True, slots=True)
class Series:
    """Everything that the picture draws, each in the order of time."""

    gravity: tuple[Point, ...]
    good: tuple[Point, ...]
    targets: tuple[Band, ...]
    water: tuple[Point, ...]
    """Water added [g], below zero when taken off."""
    dry: tuple[Point, ...]
    """Dry batch added [g]."""
    drops: tuple[Point, ...]
    flow_s: tuple[Point, ...]
    """Draining times [s]."""
    flow_words: tuple[Point, ...]
    """Places in ``FLOW_WORDS``."""
    tiles: tuple[Tile, ...]

    def times(self) -> tuple[datetime, ...]:
        """Return every time that is drawn, in order."""
        points = (self.gravity, self.good, self.water, self.dry, self.drops, self.flow_s, self.flow_words)
        found = [point.at for each in points for point in each]
        found += [band.at for band in self.targets] + [tile.at for tile in self.tiles]
        return tuple(sorted(found))


def series(found: Chronicle) -> Series:
    """Return what is drawn of a chronicle."""
    return Series(
        gravity=_points(found, "reading", "shown"),
        good=tuple(point for point in _points(found, "good", "gravity") if point.value),
        targets=_targets(found),
        water=_points(found, "addition", "mass_g", "water"),
        dry=_points(found, "addition", "mass_g", "dry"),
        drops=_points(found, "dose", "drops"),
        flow_s=tuple(_point(found, e, "seconds") for e in _of(found, "flow") if "seconds" in e.facts),
        flow_words=tuple(_worded(found, e) for e in _of(found, "flow") if "word" in e.facts),
        tiles=tuple(_tile(found, entry) for entry in _of(found, "signs", "tile")),
    )


def _of(found: Chronicle, *kinds: str) -> Iterator[Entry]:
    """Yield the entries of these kinds in the order of time; a clock set back would draw loops."""
    yield from sorted((e for e in found.entries if e.kind in kinds), key=lambda entry: entry.at)


def _point(found: Chronicle, entry: Entry, fact: str) -> Point:
    return Point(entry.at.astimezone(found.zone), number(entry, fact))


def _points(found: Chronicle, kind: str, fact: str, what: str | None = None) -> tuple[Point, ...]:
    return tuple(_point(found, e, fact) for e in _of(found, kind) if what in (None, e.facts.get("what")))


def _worded(found: Chronicle, entry: Entry) -> Point:
    return Point(entry.at.astimezone(found.zone), FLOW_WORDS.index(str(entry.facts["word"])))


def _tile(found: Chronicle, entry: Entry) -> Tile:
    at = entry.at.astimezone(found.zone)
    if entry.kind == "tile":
        return Tile(at, tile_told(entry), entry.facts["verdict"] == "none")
    signs = entry.facts["signs"]
    assert isinstance(signs, list | tuple)
    return Tile(at, ", ".join(str(sign) for sign in signs) or worded("row_no_signs"), not signs)


def _targets(found: Chronicle) -> tuple[Band, ...]:
    return tuple(
        Band(e.at.astimezone(found.zone), number(e, "target_low"), number(e, "target_high"))
        for e in _of(found, "bucket", "target")
    )


# ---- in words ------------------------------------------------------------------------------------


def described(found: Chronicle) -> str:
    """Return what the picture shows, in sentences."""
    return " ".join(worded(reply.key, **reply.facts) for reply in _sentences(found))


def _sentences(found: Chronicle) -> Iterator[Reply]:
    drawn = series(found)
    yield _gravity(drawn)
    yield _target(drawn)
    yield from _masses("picture_water", [p.value for p in drawn.water if p.value > 0])
    yield from _masses("picture_water_off", [-p.value for p in drawn.water if p.value < 0])
    yield from _masses("picture_dry", [p.value for p in drawn.dry])
    if drawn.drops:
        total = round(sum(p.value for p in drawn.drops))
        yield Reply("picture_drops", {"count": len(drawn.drops), "drops": total})
    yield from _flow(drawn)
    if drawn.tiles:
        yield Reply("picture_tiles", {"count": len(drawn.tiles)})


def _gravity(drawn: Series) -> Reply:
    if not drawn.gravity:
        return Reply("picture_none")
    values = [point.value for point in drawn.gravity]
    facts = {"count": len(values), "low": min(values), "high": max(values), "now": values[-1]}
    return Reply(
        "picture_gravity", {**facts, "first": day(drawn.gravity[0].at), "last": day(drawn.gravity[-1].at)}
    )


def _target(drawn: Series) -> Reply:
    last = drawn.targets[-1]
    key = "picture_target" if len(drawn.targets) == 1 else "picture_target_changed"
    return Reply(key, {"low": last.low, "high": last.high, "since": day(last.at)})


def _masses(key: str, masses: list[float]) -> Iterator[Reply]:
    if masses:
        yield Reply(key, {"count": len(masses), "mass_g": sum(masses)})


def _flow(drawn: Series) -> Iterator[Reply]:
    if drawn.flow_s:
        yield Reply("picture_flow_time", {"count": len(drawn.flow_s), "seconds": drawn.flow_s[-1].value})
    if drawn.flow_words:
        word = FLOW_WORDS[round(drawn.flow_words[-1].value)]
        yield Reply("picture_flow_word", {"count": len(drawn.flow_words), "word": word})


MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip


def day(at: datetime) -> str:
    """Return a day in words, whatever the machine's language.

    >>> day(datetime(2026, 3, 2))
    '2 March 2026'
    """
    return f"{at.day} {MONTHS[at.month - 1]} {at.year}"
