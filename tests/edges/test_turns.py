"""When a turn is over, how loud it is, and how sure one may be: the pure parts of the ears."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.ears.confidence import Reading, confidence
from benchvoice.ears.turns import PATIENCE, Level, is_over, loudness

seconds = st.floats(0, 100, allow_nan=False)


@given(seconds, seconds, seconds, st.booleans())
def test_never_over_before_the_wait(changed: float, loud: float, waited: float, finished: bool) -> None:
    """However it sounds, a turn is not over while the words still change or somebody speaks."""
    now = max(changed, loud) + waited
    wait = PATIENCE.finished if finished else PATIENCE.unfinished

    if is_over(now, changed, loud, finished):
        assert now - loud >= wait or now - changed >= PATIENCE.loud_room


@given(seconds, seconds, st.booleans())
def test_always_over_in_the_end(changed: float, loud: float, finished: bool) -> None:
    """Every turn ends two seconds after its words stand still, whatever the noise."""
    now = changed + PATIENCE.loud_room + 0.01

    assert is_over(now, changed, min(loud, now), finished)


def _blocks(level: float, count: int) -> list[bytes]:
    dice = np.random.default_rng(3)
    return [dice.normal(0, level, 800).astype("<i2").tobytes() for _ in range(count)]


def _after(*stretches: tuple[float, int]) -> Level:
    level, end = Level(), 0.0
    for loud, count in stretches:
        for block in _blocks(loud, count):
            end += 0.05
            level.take(block, end)
    return level


@pytest.mark.parametrize("room", [0, 10, 100, 1000, 5000])
def test_steady_noise_is_never_loud(room: float) -> None:
    """A steady noise, however strong, is the room and not somebody speaking."""
    assert _after((room, 200)).last_loud < 0


@pytest.mark.parametrize(("room", "voice"), [(5, 200), (50, 500), (500, 2000), (500, 900), (2000, 3600)])
def test_a_voice_is_loud(room: float, voice: float) -> None:
    """Twice as loud as a steady noise is loud, and its end is told to a block."""
    level = _after((room, 40), (voice, 20), (room, 30))

    assert level.last_loud == pytest.approx(3.0)
    assert level.loud_share(2.01, 3.0) == 1.0
    assert level.loud_share(3.1, 4.5) == 0.0
    assert level.loud_share(90.0, 99.0) == 0.0


@pytest.mark.parametrize("before", [2, 6, 20])
def test_a_voice_that_begins_soon_is_loud_to_its_end(before: int) -> None:
    """A recording may begin a tenth of a second before the words: most of what was heard so far is voice."""
    level = _after((12, before), (1000, 60))

    assert level.last_loud == pytest.approx(0.05 * (before + 60))
    assert level.loud_share(0.05 * before + 0.01, level.last_loud) == 1.0


def test_a_mixer_that_is_switched_on_becomes_the_room() -> None:
    """A noise that begins and stays is loud at first, and the room some seconds later."""
    level = _after((12, 200), (1500, 200))

    assert 10.0 < level.last_loud < 15.0


@pytest.mark.parametrize(
    ("room", "voice", "decibels"), [(500, 1581, 10.0), (500, 890, 5.0), (15, 1500, 40.0)]
)
def test_how_far_above_the_room(room: float, voice: float, decibels: float) -> None:
    """Ten times the power is ten decibels; silence is none."""
    level = _after((room, 40), (voice, 20), (room, 10))

    assert level.above_room(2.0, 3.0) == pytest.approx(decibels, abs=0.3)
    assert level.above_room(0.0, 2.0) == 0.0


@given(st.binary(max_size=400))
def test_any_bytes_have_a_level(sound: bytes) -> None:
    """Any bytes have a level between silence and the loudest there is."""
    assert 0 <= loudness(sound) <= 32768


def test_loudness_of_a_known_sound() -> None:
    """A sine's root mean square is its peak divided by the square root of two."""
    sine = (10000 * np.sin(np.arange(16000) * 0.1)).astype("<i2").tobytes()

    assert loudness(sine) == pytest.approx(10000 / 2**0.5, rel=0.01)


def _reading(text: str, score: float) -> Reading:
    return Reading(text, score, 0.0, 1.0)


@given(
    st.lists(
        st.builds(_reading, st.sampled_from(["yes", "no", "one", "[unk]"]), st.floats(-1e4, 1e4)), min_size=1
    ),
    st.none() | st.floats(-1e4, 1e4),
)
def test_confidence_is_a_chance(readings: list[Reading], rival: float | None) -> None:
    """Whatever the scores, the result lies between 0 and 1."""
    assert 0.0 <= confidence(sorted(readings, key=lambda one: -one.score), rival) <= 1.0


def test_a_close_second_lowers_confidence() -> None:
    """The nearer the next reading, the less sure."""
    near, far = (confidence([_reading("yes", 10), _reading("no", second)], 11) for second in (9.9, 6.5))

    assert near < far


def test_a_bad_fit_lowers_confidence() -> None:
    """The better any sounds at all would fit than the words, the less sure."""
    good, bad = (confidence([_reading("yes", 10)], rival) for rival in (11.0, 40.0))

    assert bad < good


def test_filler_is_never_sure() -> None:
    """Words with a part that was not understood are not sure at all."""
    assert confidence([_reading("one [unk]", 10)], 11) == 0.0
