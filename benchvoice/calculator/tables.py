"""The tables of the trade: read here, once, as text; every parser takes text, so tests pass a string."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from importlib.resources import files
from typing import TypeVar

from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.sources import Known, Source

_Choice = TypeVar("_Choice", bound=StrEnum)


@dataclass(eq=False)
class BadTable(Refusal):
    """A line of a table that cannot be read."""

    wanted_got = "In {table}, line {line}: {reason}."
    mend = "Mend that line."

    table: str
    """Which table, such as "materials"."""
    line: int
    """Line number, the heading being 1."""
    reason: str
    """What was wanted and what is there."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table, with what is needed to complain about it."""

    table: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def number(self, column: str) -> float:
        """Return a cell as a number."""
        try:
            return float(self[column])
        except ValueError:
            raise self.bad(f"a number is wanted for {column}; got {self[column]!r}") from None

    def names(self, column: str) -> tuple[str, ...]:
        """Return a cell that holds several names with `|` between them."""
        return tuple(name.strip() for name in self[column].split("|") if name.strip())

    def one_of(self, column: str, choices: type[_Choice]) -> _Choice:
        """Return a cell as a member of an enumeration of texts."""
        try:
            return choices(self[column])
        except ValueError:
            raise self.bad(
                f"one of {', '.join(choices)} is wanted for {column}; got {self[column]!r}"
            ) from None

    def some_of(self, column: str, choices: type[_Choice]) -> frozenset[_Choice]:
        """Return a cell of several members with `|` between them; `*` means all."""
        if self[column] == "*":
            return frozenset(choices)
        return frozenset(
            Row(self.table, self.line, {column: name}).one_of(column, choices) for name in self.names(column)
        )

    def source(self) -> Source:
        """Return the columns `source` and `known` as one value; a line without a source is refused."""
        if not self["source"]:
            raise self.bad("a source is wanted; got none")
        return Source(self["source"], self.one_of("known", Known))

    def bad(self, reason: str) -> BadTable:
        """Return the error that says what is wrong with this line."""
        return BadTable(self.table, self.line, reason)


def table_text(name: str) -> str:
    """Return the text of one of the package's own tables, such as "materials"."""
    return (files("benchvoice.calculator") / "data" / f"{name}.csv").read_text(encoding="utf-8")


def rows(table: str, text: str, columns: tuple[str, ...]) -> Iterator[Row]:
    r"""Yield the lines of a comma-separated text whose heading is exactly `columns`.

    >>> [row["name"] for row in rows("materials", "name,gravity\nquartz,2.65", ("name", "gravity"))]
    ['quartz']
    """
    reader = csv.DictReader(io.StringIO(text), strict=True, skipinitialspace=True)
    if tuple(reader.fieldnames or ()) != columns:
        raise BadTable(table, 1, f"the heading {','.join(columns)} is wanted; got {reader.fieldnames}")
    for cells in reader:
        if None in cells or None in cells.values():
            raise BadTable(table, reader.line_num, f"{len(columns)} cells are wanted; got more or fewer")
        yield Row(table, reader.line_num, {name: cell.strip() for name, cell in cells.items()})
