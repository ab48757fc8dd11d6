"""Making a solution up, to drip from: the caution, how much of it, and what to weigh together."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.calculator import solutions
from benchvoice.calculator.additives import Kind, find_additive
from benchvoice.calculator.quantities import Quantity, celsius, grams, magnitude
from benchvoice.calculator.safety import Action
from benchvoice.dialogue import doses
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.hazards import caution_anew
from benchvoice.dialogue.said import grams_said
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT
from benchvoice.dialogue.table import Row, always

SOLUTION_CAUTION = State("SOLUTION_CAUTION", "ask_understood", ("understood", "cancel"))
SOLUTION_SIZE = State("SOLUTION_SIZE", "ask_solution_size", ("two hundred and fifty grams", "cancel"))

COLD_ROOM_C = 10.0
"""The coldest place that a bottle is reckoned to stand in [°C] (our choice)."""


@dataclass(frozen=True, slots=True)
class SolutionWork:
    """A solution that is to be made."""

    additive: str = ""
    percent: float = 0.0
    """By weight, of the additive as supplied [%]."""


def begin_solution(turn: Turn) -> Turn:
    """Take which solution is wanted; one that cannot be made is refused before its size is asked."""
    work = SolutionWork(find_additive(turn.meaning.text("additive")).name, float(turn.amount.value))
    _made(work, grams(100))
    return turn.keep(work)


def say_solution_caution(turn: Turn) -> Turn:
    """Take which solution is wanted, and say what must be heard before it is weighed."""
    turn = begin_solution(turn)
    return caution_anew(turn, Action.DOSE, turn.scene.work(SolutionWork).additive)


def acknowledge_solution(turn: Turn) -> Turn:
    """Write down that the caution was heard."""
    return doses.acknowledged(turn, turn.scene.work(SolutionWork).additive)


def _made(work: SolutionWork, size: Quantity) -> solutions.Solution:
    if work.additive == doses.USUAL[Kind.FLOCCULANT]:
        return solutions.salt_solution(size, work.percent, celsius(COLD_ROOM_C))
    return solutions.solution(size, work.percent)


def say_solution(turn: Turn) -> Turn:
    """Say what to weigh together."""
    work = turn.scene.work(SolutionWork)
    made = _made(work, grams(grams_said(turn)))
    facts = {"solute_g": magnitude(made.solute, "gram"), "water_g": magnitude(made.water, "gram")}
    return turn.say("solution", additive=work.additive, percent=round(work.percent, 2), **facts)


def solution_caution_is_due(turn: Turn) -> bool:
    """Hold when the caution about what is to be dissolved must be heard first."""
    return doses.needs_caution(turn.scene, find_additive(turn.meaning.text("additive")))


def _solution_rows(state: State) -> tuple[Row, ...]:
    return (
        Row(state, "make_solution", doubtful_as_heard, CONFIRM, hold),
        Row(state, "make_solution", solution_caution_is_due, SOLUTION_CAUTION, say_solution_caution),
        Row(state, "make_solution", always, SOLUTION_SIZE, begin_solution),
    )


ROWS = (
    *(row for state in (READY, RIGHT, SOLUTION_SIZE) for row in _solution_rows(state)),
    Row(SOLUTION_CAUTION, "understood_it", always, SOLUTION_SIZE, acknowledge_solution),
    Row(SOLUTION_SIZE, "weight", doubtful_as_heard, CONFIRM, hold),
    Row(SOLUTION_SIZE, "weight", no_bucket_open, READY, say_solution),
    Row(SOLUTION_SIZE, "weight", always, RIGHT, say_solution),
)
