"""A history as plain lines: columns aligned, no lines drawn, each cell tells its own unit.

A screen reader speaks such a line from left to right, so no cell may need its column's head to be understood.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from benchvoice.history.chronicle import Chronicle, Row, chronicle, known_buckets, worded
from benchvoice.messages import Entry

HEAD = ("When", "What", "Figure", "Remark")


def lines(found: Chronicle) -> Iterator[str]:
    """Yield the lines of one bucket: heading, table, and how it has been."""
    low, high = found.target
    yield worded("history_heading", bucket=found.bucket, low=low, high=high)
    yield from _aligned([HEAD, *(cells(row) for row in found.rows)])
    yield found.told
    if found.good:
        yield found.good


def overview(entries: Sequence[Entry], now: datetime) -> Iterator[str]:
    """Yield one line for each bucket, or one that says how to begin."""
    names = known_buckets(entries)
    if not names:
        yield worded("history_no_buckets")
    for name in names:
        yield chronicle(entries, name, now).told


def cells(row: Row) -> tuple[str, str, str, str]:
    """Return the cells of a row as text."""
    return f"{row.at:%Y-%m-%d %H:%M}", row.what, row.figure, row.remark


def _aligned(rows: Sequence[tuple[str, str, str, str]]) -> Iterator[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEAD))]
    for row in rows:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
