"""Draining times of the potter's own cup: repeats, blocked holes, and the verdict against the good value."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.calculator.flow import (
    BLOCKED_RATIO,
    LEAST_TOLERANCE,
    CupsDiffer,
    FlowCaution,
    FlowWord,
    NoGoodTime,
    Verdict,
    blocked_repeats,
    compare,
    compare_words,
    cup_is_sound,
    drain_reading,
    is_creeping,
    verdict,
)
from benchvoice.calculator.limits import BelowZero, NotAboveZero, NotThatKind
from benchvoice.calculator.quantities import celsius, grams, seconds

TIMES = st.floats(5, 300)


def reading(*times, cup="blue cup", degrees=20, standing=15):
    """Return a reading from plain seconds; None is a repeat that never ended."""
    return drain_reading(
        cup, [None if t is None else seconds(t) for t in times], celsius(degrees), seconds(standing)
    )


def test_the_words_stand_in_order():
    """Water, milk, cream, yogurt: thinnest first (common practice, no source)."""
    assert FlowWord.WATER < FlowWord.MILK < FlowWord.CREAM < FlowWord.YOGURT


@pytest.mark.parametrize("now", FlowWord)
@pytest.mark.parametrize("good", FlowWord)
def test_words_compare_by_their_place(now, good):
    """A word before the good one is thin, after it thick, and itself right."""
    wanted = Verdict.RIGHT if now == good else Verdict.THIN if now < good else Verdict.THICK
    assert compare_words(now, good) is wanted


# (repeats, which are blocked)
BLOCKED = [
    ([40], ()),
    ([40, 41, 42], ()),
    ([40, 41, 80], (2,)),
    ([80, 41, 40], (0,)),
    ([None, 41, 40], (0,)),
    ([40, 62], (1,)),
    ([40, 59], ()),
    ([None], (0,)),
    ([], ()),
    ([40, None, 41, 90, None], (1, 3, 4)),
]


@pytest.mark.parametrize(("times", "blocked"), BLOCKED)
def test_a_blocked_cup_is_seen(times, blocked):
    """A repeat that never ends, or takes more than one and a half times the others, was blocked."""
    assert blocked_repeats([None if t is None else seconds(t) for t in times]) == blocked


def test_the_middle_of_the_good_repeats_counts():
    """The median of those that ended counts; the spread is half their range."""
    found = reading(40, 44, 41, 120)
    assert found.time.m_as("second") == pytest.approx(41)
    assert found.spread.m_as("second") == pytest.approx(2)
    assert found.cautions == (FlowCaution.BLOCKED,)


def test_one_repeat_is_taken_and_said_to_be_one():
    """A single time is taken with a guessed spread of five in a hundred, and the caution says so."""
    found = reading(60)
    assert found.spread.m_as("second") == pytest.approx(3)
    assert found.cautions == (FlowCaution.ONE_TIME,)


@pytest.mark.parametrize(
    ("times", "creeping"),
    [
        ([40, 43, 46], True),
        ([40, 43], False),
        ([40, 40.5, 41], False),
        ([46, 43, 40], False),
        ([40, 46, 43], False),
        ([40, 43, 43], False),
    ],
)
def test_a_glaze_that_sets_up_between_repeats_is_seen(times, creeping):
    """Three or more repeats, each longer than the last and five in a hundred in all, are creeping."""
    assert is_creeping([seconds(t) for t in times]) is creeping


@pytest.mark.parametrize("times", [[], [None], [None, None]])
def test_a_cup_that_never_drains_is_refused(times):
    """Without one full draining there is no reading."""
    with pytest.raises(NoGoodTime, match="Clean the hole"):
        reading(*times)


# (now, good, verdict): spreads of these are below five in a hundred, so the tolerance is 0.05.
VERDICTS = [
    ((40, 40.5, 41), (40, 40.5, 41), Verdict.RIGHT),
    ((42, 42, 42), (41, 41, 41), Verdict.RIGHT),
    ((36, 36, 36), (41, 41, 41), Verdict.THIN),
    ((47, 47, 47), (41, 41, 41), Verdict.THICK),
]


@pytest.mark.parametrize(("now", "good", "wanted"), VERDICTS)
def test_verdict_against_the_buckets_own_good_value(now, good, wanted):
    """The ratio to the bucket's own good time decides."""
    found = compare(reading(*now), reading(*good))
    assert found.verdict is wanted
    assert found.tolerance == pytest.approx(LEAST_TOLERANCE)
    assert found.cautions == ()


def test_a_wide_spread_widens_the_tolerance():
    """Repeats that scatter by 10 % either way cannot tell a difference of 10 %."""
    scattered, good = reading(40, 45, 49), reading(41, 41, 41)
    assert compare(scattered, good).verdict is Verdict.RIGHT
    assert compare(reading(45, 45, 45), good).verdict is Verdict.THICK


@pytest.mark.parametrize(
    ("other", "caution"),
    [
        ({"degrees": 24}, FlowCaution.TEMPERATURE),
        ({"degrees": 16}, FlowCaution.TEMPERATURE),
        ({"standing": 120}, FlowCaution.DELAY),
        ({"standing": 0}, FlowCaution.DELAY),
    ],
)
def test_readings_taken_otherwise_are_compared_with_a_caution(other, caution):
    """More than 3 °C apart, or twice the standing after stirring, is said along with the verdict."""
    assert compare(reading(40, 40, **other), reading(40, 40)).cautions == (caution,)


def test_a_reading_without_temperature_or_standing_is_compared_with_a_caution():
    """What was not measured cannot be compared, and that is said."""
    bare = drain_reading("blue cup", [seconds(40), seconds(40)])
    assert compare(bare, reading(40, 40)).cautions == (FlowCaution.UNMEASURED,)


def test_the_edges_of_a_comparison():
    """Three degrees, twice the standing and five in a hundred still count as one (common practice)."""
    edge = compare(reading(42, 42, degrees=23, standing=30), reading(40, 40))
    assert edge.cautions == ()
    assert edge.verdict is Verdict.RIGHT
    assert compare(reading(40, 40, standing=31), reading(40, 40)).cautions == (FlowCaution.DELAY,)
    assert compare(reading(40, 40, degrees=23.1), reading(40, 40)).cautions == (FlowCaution.TEMPERATURE,)


def test_two_cups_are_never_compared():
    """Seconds of one cup say nothing about seconds of another."""
    with pytest.raises(CupsDiffer, match="blue cup"):
        compare(reading(40, cup="red cup"), reading(40))


@given(TIMES, TIMES)
def test_verdicts_mirror_each_other(a, b):
    """What is thick against another is thin the other way round."""
    mirror = {Verdict.THIN: Verdict.THICK, Verdict.THICK: Verdict.THIN, Verdict.RIGHT: Verdict.RIGHT}
    there, back = verdict(a / b, 0.0501), verdict(b / a, 0.0501)
    near_the_edge = abs(max(a / b, b / a) - 1.0501) < 1e-9
    assert near_the_edge or mirror[there] is back


@given(st.lists(TIMES, min_size=1, max_size=7))
def test_the_reading_lies_among_its_repeats(times):
    """The time is within the repeats that were kept, and every repeat is either kept or blocked."""
    found = reading(*times)
    kept = [t.m_as("second") for t in found.kept]
    assert min(kept) <= found.time.m_as("second") <= max(kept)
    assert len(kept) + len(found.blocked) == len(times)


@given(st.lists(st.floats(40, 44), min_size=2, max_size=6), st.floats(1.2, 20), st.integers(0, 6))
def test_one_far_longer_repeat_never_moves_the_reading(times, factor, place):
    """A blocked repeat anywhere among steady ones is found and changes nothing."""
    longer = max(times) * BLOCKED_RATIO * factor
    found = reading(*times[:place], longer, *times[place:])
    assert found.blocked == (min(place, len(times)),)
    assert found.time.m_as("second") == pytest.approx(reading(*times).time.m_as("second"))


def test_a_worn_or_clogged_cup_is_seen_by_water():
    """Water drains a sound cup within five in a hundred of what it did (common practice, no source)."""
    assert cup_is_sound(seconds(20.9), seconds(20))
    assert not cup_is_sound(seconds(22), seconds(20))
    assert not cup_is_sound(seconds(18), seconds(20))


def test_wrong_kinds_are_refused():
    """Grams for a time, no time at all, or a negative standing are refused."""
    with pytest.raises(NotThatKind):
        drain_reading("cup", [grams(4)], celsius(20), seconds(15))
    with pytest.raises(NotAboveZero):
        reading(0)
    with pytest.raises(BelowZero):
        compare(reading(40, standing=-1), reading(40))
