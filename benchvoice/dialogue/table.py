"""The table: what may be meant in which state, what is done about it, where it leads.

A row is ``state, kind, guard, then, action``. The first row of the present state whose guard
holds is taken; rows of ``ANYWHERE`` answer what the state has no row for. Guards and actions are
named functions of a turn, so that the printed table reads as sentences.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from benchvoice.dialogue.scene import State, Turn

Guard = Callable[[Turn], bool]
Action = Callable[[Turn], Turn]


class Then(Enum):
    """Where a row leads when it is not to a named state."""

    STAYS = "stays"
    """The same state, nothing asked again."""
    AGAIN = "asks again"
    """The same state, its question asked again."""
    HELD = "as held"
    """To the state where the held meaning was said, which is then carried out there."""
    RETURNS = "returns"
    """To wherever the action went back to."""
    ON = "goes on"
    """To the next step of the routine that is under way, or out of it."""


WIDEST = 30
"""Columns of the printed table are not padded beyond this."""
ANYWHERE = State("anywhere", "", ())
OTHERWISE = "anything else"
"""Kind of the row that answers every kind without a row of its own."""


def always(_: Turn) -> bool:
    """Hold in every case."""
    return True


def nothing(turn: Turn) -> Turn:
    """Do nothing."""
    return turn


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    state: State
    kind: str
    guard: Guard
    then: State | Then
    action: Action


class Table:
    """Rows, ready to be asked."""

    def __init__(self, rows: Iterable[Row]) -> None:
        self.rows = tuple(rows)
        self._by_place: dict[tuple[State, str], list[Row]] = {}
        for row in self.rows:
            self._by_place.setdefault((row.state, row.kind), []).append(row)

    def candidates(self, state: State, kind: str) -> Iterator[Row]:
        """Yield the rows that may answer, in the order in which they are tried."""
        for place in ((state, kind), (ANYWHERE, kind), (state, OTHERWISE), (ANYWHERE, OTHERWISE)):
            yield from self._by_place.get(place, ())

    def row_for(self, turn: Turn) -> Row:
        """Return the row that answers a turn; a defect if there is none."""
        return next(r for r in self.candidates(turn.scene.state, turn.meaning.kind) if r.guard(turn))

    def kinds_taken(self, state: State) -> tuple[str, ...]:
        """Return the kinds that a state has rows of its own for, in the order of the rows."""
        return tuple(dict.fromkeys(r.kind for r in self.rows if r.state == state and r.kind != OTHERWISE))

    def states(self) -> tuple[State, ...]:
        """Return every state that is in the table or is led to."""
        found = [s for row in self.rows for s in (row.state, row.then) if isinstance(s, State)]
        return tuple(s for s in dict.fromkeys(found) if s is not ANYWHERE)

    def as_text(self) -> str:
        """Return the table as aligned lines, as it stands in DEVELOPERS.md.

        One line stands for all kinds that are treated alike, and the states stand together.
        """
        states = [*self.states(), ANYWHERE]
        alike: dict[tuple[str, ...], list[str]] = {}
        for row in sorted(self.rows, key=lambda row: states.index(row.state)):
            state, kind, *rest = _cells(row)
            alike.setdefault((state, *rest), []).append(kind)
        head = ("state", "what is meant", "if", "then", "what is done")
        lines = [head, *((state, ", ".join(kinds), *rest) for (state, *rest), kinds in alike.items())]
        widths = [min(max(len(line[i]) for line in lines), WIDEST) for i in range(4)]
        return "\n".join(
            " | ".join([*(cell.ljust(width) for cell, width in zip(line, widths, strict=False)), line[4]])
            for line in lines
        )


def _cells(row: Row) -> tuple[str, str, str, str, str]:
    """Return a row in words."""
    guard = "" if row.guard is always else _name(row.guard)
    then = row.then.name if isinstance(row.then, State) else row.then.value
    return row.state.name, row.kind, guard, then, "" if row.action is nothing else _name(row.action)


def _name(function: Guard | Action) -> str:
    return function.__name__.strip("_").replace("_", " ")
