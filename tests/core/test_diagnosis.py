"""The table of next steps: complete, no doubles, density before flow, one question when signs conflict."""

from __future__ import annotations

import pytest

from benchvoice.calculator.diagnosis import (
    COLUMNS,
    FlowState,
    GravityState,
    NextStep,
    NotOneAnswer,
    Sign,
    cases,
    check_table,
    diagnose,
    flow_state,
    gravity_state,
    parse_rules,
    rules,
)
from benchvoice.calculator.flow import Verdict
from benchvoice.calculator.sources import Known
from benchvoice.calculator.tables import BadTable, table_text

LOW, IN, HIGH, NO_GRAVITY = GravityState
THIN, RIGHT, THICK, NO_FLOW = FlowState


def test_every_combination_has_exactly_one_answer():
    """All 160 combinations are answered, each by one line, with a reason and a source."""
    assert len(set(cases())) == 4 * 4 * 10
    for case in cases():
        (match,) = [rule for rule in rules() if rule.answers(case)]
        answer = diagnose(case[0], case[1], [case[2]])
        assert answer == match.answer
        assert answer.reason
        assert answer.source.text


def test_density_before_flow():
    """Nothing touches flow or dip while the gravity is off the target (mailing list, seen at source)."""
    about_density = {NextStep.MEASURE_GRAVITY, NextStep.ADD_WATER, NextStep.RAISE_GRAVITY}
    for gravity, flow, sign in cases():
        step = diagnose(gravity, flow, [sign]).step
        assert gravity is IN or step.is_question or step in about_density, (gravity, flow, sign)
        if step in (NextStep.ADD_FLOCCULANT, NextStep.ADD_DEFLOCCULANT):
            assert (gravity, flow) in ((IN, THIN), (IN, THICK))


# (gravity, flow, signs, step): common practice, no source, unless the table's line says more.
ANSWERS = [
    (NO_GRAVITY, THICK, [Sign.CRACKS], NextStep.MEASURE_GRAVITY),
    (HIGH, THICK, [], NextStep.ADD_WATER),
    (HIGH, NO_FLOW, [Sign.CRACKS], NextStep.ADD_WATER),
    (LOW, THIN, [], NextStep.RAISE_GRAVITY),
    (LOW, NO_FLOW, [Sign.TOO_THIN], NextStep.RAISE_GRAVITY),
    (IN, NO_FLOW, [], NextStep.MEASURE_FLOW),
    (IN, THIN, [], NextStep.ADD_FLOCCULANT),
    (IN, THIN, [Sign.RUNS], NextStep.ADD_FLOCCULANT),
    (IN, THICK, [], NextStep.ADD_DEFLOCCULANT),
    (IN, RIGHT, [], NextStep.READY),
    (IN, RIGHT, [Sign.TOO_THIN], NextStep.DIP_LONGER),
    (IN, RIGHT, [Sign.TOO_THICK], NextStep.DIP_SHORTER),
    (IN, RIGHT, [Sign.CRAWLS], NextStep.CLEAN_TILE),
    (IN, RIGHT, [Sign.PINHOLES], NextStep.DAMP_TILE),
    # conflicting signs: one question, nothing done to the bucket
    (HIGH, THIN, [], NextStep.ASK_STIRRED),
    (LOW, THICK, [], NextStep.ASK_STIRRED),
    (HIGH, THICK, [Sign.TOO_THIN], NextStep.ASK_DIP_TIME),
    (LOW, THIN, [Sign.TOO_THICK], NextStep.ASK_DIP_TIME),
    (IN, THICK, [Sign.RUNS], NextStep.ASK_SINCE_STIRRING),
    (IN, THIN, [Sign.CRACKS], NextStep.ASK_SECOND_COAT),
    (IN, RIGHT, [Sign.TOO_THIN, Sign.TOO_THICK], NextStep.ASK_WORST_SIGN),
    (IN, RIGHT, [Sign.CRACKS, Sign.PINHOLES], NextStep.ASK_WORST_SIGN),
    # several signs that agree, and signs that do not matter yet
    (IN, RIGHT, [Sign.CRACKS, Sign.TOO_THICK], NextStep.DIP_SHORTER),
    (HIGH, THICK, [Sign.CRACKS, Sign.PINHOLES], NextStep.ADD_WATER),
    (NO_GRAVITY, RIGHT, [Sign.TOO_THIN, Sign.TOO_THICK], NextStep.MEASURE_GRAVITY),
    (IN, RIGHT, [Sign.NONE, Sign.CRAWLS, Sign.CRAWLS], NextStep.CLEAN_TILE),
]


@pytest.mark.parametrize(("gravity", "flow", "signs", "step"), ANSWERS)
def test_next_step(gravity, flow, signs, step):
    """One step, or one question, for what was measured and seen."""
    assert diagnose(gravity, flow, signs).step is step


def test_the_step_never_depends_on_the_order_of_the_signs():
    """Two signs give the same step either way round."""
    for a in Sign:
        for b in Sign:
            assert diagnose(IN, RIGHT, [a, b]).step is diagnose(IN, RIGHT, [b, a]).step


@pytest.mark.parametrize(
    ("gravity", "state"),
    [(1.43, LOW), (1.44, IN), (1.45, IN), (1.46, IN), (1.461, HIGH), (None, NO_GRAVITY)],
)
def test_gravity_against_its_target(gravity, state):
    """Both ends belong to the target."""
    assert gravity_state(gravity, 1.44, 1.46) is state


@pytest.mark.parametrize(
    ("verdict", "state"),
    [(Verdict.THIN, THIN), (Verdict.RIGHT, RIGHT), (Verdict.THICK, THICK), (None, NO_FLOW)],
)
def test_flow_as_the_table_names_it(verdict, state):
    """The verdict of the cup is the table's word for it."""
    assert flow_state(verdict) is state


def test_the_checker_finds_a_gap_and_a_double():
    """Without its first line the table has gaps; with a line twice it has doubles."""
    with pytest.raises(NotOneAnswer, match="got none"):
        check_table(rules()[1:])
    with pytest.raises(NotOneAnswer, match="unknown, thin, none"):
        check_table([*rules(), rules()[0]])


def test_a_table_with_a_gap_is_not_taken():
    """Reading a table checks it."""
    text = "\n".join(
        line for line in table_text("diagnosis").splitlines() if not line.startswith("in,right,runs")
    )
    with pytest.raises(NotOneAnswer, match="in, right, runs"):
        parse_rules(text)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("heavy,*,*,ready,x,y,from memory", "for gravity; got 'heavy'"),
        ("*,*,none|odd,ready,x,y,from memory", "for sign; got 'odd'"),
        ("*,*,*,pray,x,y,from memory", "for step; got 'pray'"),
        ("*,*,*,ready,,y,from memory", "a reason is wanted"),
        ("*,*,*,ready,x,,from memory", "a source is wanted"),
    ],
)
def test_a_bad_line_is_refused(line, reason):
    """A word that the table does not have, or a missing reason or source, is refused with its line."""
    with pytest.raises(BadTable, match=reason):
        parse_rules(",".join(COLUMNS) + "\n" + line)


def test_every_step_but_one_is_in_the_table():
    """No step is named that no case leads to; the question between signs is asked by the code."""
    assert set(NextStep) - {rule.answer.step for rule in rules()} == {NextStep.ASK_WORST_SIGN}


def test_practice_without_a_source_says_so():
    """A line whose source is the plain statement is known as just that."""
    for rule in rules():
        bare = rule.answer.source.text == Known.PRACTICE
        assert bare is (rule.answer.source.known is Known.PRACTICE)
