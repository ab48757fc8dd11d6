"""What to do next: gravity, flow and the tile's sign in, one single step or one single question out.

The table is data, one line for each answer; ``check_table`` sees that every combination has exactly one.
Density comes before flow, flow before the coat. Where the three speak against each other nothing is done to
the bucket: a question is asked, since most of these are a reading taken amiss.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from itertools import product

from benchvoice.calculator.flow import Verdict
from benchvoice.calculator.limits import Refusal
from benchvoice.calculator.slurry import slurry_gravity
from benchvoice.calculator.sources import PRACTICE, Source
from benchvoice.calculator.tables import Row, rows, table_text

COLUMNS = ("gravity", "flow", "sign", "step", "reason", "source", "known")


class GravityState(StrEnum):
    """The gravity against the target."""

    LOW = "low"
    IN = "in"
    HIGH = "high"
    UNKNOWN = "unknown"


class FlowState(StrEnum):
    """The flow against this bucket's own good one."""

    THIN = "thin"
    RIGHT = "right"
    THICK = "thick"
    UNKNOWN = "unknown"


class Sign(StrEnum):
    """What the tile shows."""

    NONE = "none"
    CRACKS = "cracks"  # while drying
    FLAKES = "flakes"
    CRAWLS = "crawls"
    RUNS = "runs"
    POWDERY = "powdery"
    PINHOLES = "pinholes"
    SLOW_TO_DRY = "slow to dry"
    TOO_THIN = "too thin"
    TOO_THICK = "too thick"


class NextStep(StrEnum):
    """The one thing to do next; those that begin with "ask" are questions."""

    MEASURE_GRAVITY = "measure gravity"
    ADD_WATER = "add water"
    RAISE_GRAVITY = "raise gravity"  # take clear water off, or add dry
    MEASURE_FLOW = "measure flow"
    ADD_FLOCCULANT = "add flocculant"
    ADD_DEFLOCCULANT = "add deflocculant"
    DIP_LONGER = "dip longer"
    DIP_SHORTER = "dip shorter"
    CLEAN_TILE = "clean tile"
    DAMP_TILE = "damp tile"
    DRY_TILE = "dry tile"
    CHECK_RECIPE = "check recipe"
    READY = "ready"
    ASK_STIRRED = "ask stirred"  # was it stirred to the bottom before it was weighed?
    ASK_DIP_TIME = "ask dip time"  # how long was the tile in?
    ASK_SECOND_COAT = "ask second coat"  # was it laid on a dry first coat?
    ASK_SINCE_STIRRING = "ask since stirring"  # how long had it stood before it was timed?
    ASK_WORST_SIGN = "ask worst sign"  # which of the signs is the worst?

    @property
    def is_question(self) -> bool:
        """True when it is answered by a word, not by a deed."""
        return self.value.startswith("ask ")


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """The one next step, and why."""

    step: NextStep
    reason: str
    """Key of the reason, for ``replies`` to word."""
    source: Source


Case = tuple[GravityState, FlowState, Sign]


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of the table: the cases it answers, and the answer."""

    line: int
    gravities: frozenset[GravityState]
    flows: frozenset[FlowState]
    signs: frozenset[Sign]
    answer: Diagnosis

    def answers(self, case: Case) -> bool:
        """Tell whether this line is the one for that case."""
        gravity, flow, sign = case
        return gravity in self.gravities and flow in self.flows and sign in self.signs


@dataclass(eq=False)
class NotOneAnswer(Refusal):
    """A case that the table answers never, or more than once."""

    wanted_got = "For {case} exactly one line of the table is wanted; got {lines}."
    mend = "Mend the table."

    case: str
    lines: str
    """Numbers of the lines that answer it; "none" when none does."""


def parse_rules(text: str) -> tuple[Rule, ...]:
    """Read the table and check that every combination has exactly one answer."""
    rules = tuple(_rule(row) for row in rows("diagnosis", text, COLUMNS))
    check_table(rules)
    return rules


def _rule(row: Row) -> Rule:
    if not row["reason"]:
        raise row.bad("a reason is wanted; got none")
    answer = Diagnosis(row.one_of("step", NextStep), row["reason"], row.source())
    return Rule(
        row.line,
        row.some_of("gravity", GravityState),
        row.some_of("flow", FlowState),
        row.some_of("sign", Sign),
        answer,
    )


def cases() -> tuple[Case, ...]:
    """Return every combination of gravity, flow and sign."""
    return tuple(product(GravityState, FlowState, Sign))


def check_table(rules: Sequence[Rule]) -> None:
    """Refuse a table in which some combination has no answer, or more than one."""
    for case in cases():
        lines = [rule.line for rule in rules if rule.answers(case)]
        if len(lines) != 1:
            raise NotOneAnswer(", ".join(case), ", ".join(map(str, lines)) or "none")


@cache
def rules() -> tuple[Rule, ...]:
    """Return the package's own table."""
    return parse_rules(table_text("diagnosis"))


def gravity_state(gravity: float | None, low: float, high: float) -> GravityState:
    """Return where a gravity stands against its target; both ends belong to the target.

    >>> gravity_state(1.52, 1.44, 1.46)
    <GravityState.HIGH: 'high'>
    """
    if gravity is None:
        return GravityState.UNKNOWN
    if slurry_gravity(gravity, of="the gravity") < low:
        return GravityState.LOW
    return GravityState.HIGH if gravity > high else GravityState.IN


def flow_state(verdict: Verdict | None) -> FlowState:
    """Return the flow as the table names it; None when it was not measured."""
    return FlowState.UNKNOWN if verdict is None else FlowState(verdict.value)


def diagnose(gravity: GravityState, flow: FlowState, signs: Iterable[Sign] = ()) -> Diagnosis:
    """Return the one next step; several signs that call for different steps make one question.

    gravity, flow  as measured, or unknown
    signs          seen on the tile; none when it looks right or was not dipped
    source         each answer carries its own

    >>> diagnose(GravityState.HIGH, FlowState.THICK, [Sign.CRACKS]).step
    <NextStep.ADD_WATER: 'add water'>
    >>> diagnose(GravityState.IN, FlowState.RIGHT, [Sign.TOO_THIN, Sign.TOO_THICK]).step
    <NextStep.ASK_WORST_SIGN: 'ask worst sign'>
    """
    seen = tuple(sign for sign in dict.fromkeys(signs) if sign is not Sign.NONE)
    answers = [_answer((gravity, flow, sign)) for sign in seen or (Sign.NONE,)]
    if len({answer.step for answer in answers}) == 1:
        return answers[0]
    return Diagnosis(NextStep.ASK_WORST_SIGN, "signs disagree", PRACTICE)


def _answer(case: Case) -> Diagnosis:
    return next(rule.answer for rule in rules() if rule.answers(case))
