"""A bucket's history from its entries: what is said of it, what it lost, and the range that was good."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from benchvoice import replies
from benchvoice.dialogue import drifting, telling
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.history import good_range
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.messages import Entry

START = datetime(2026, 1, 5, 9, tzinfo=UTC)
Happened = tuple[float, str, dict[str, object]]


def reading(days: float, gravity: float) -> Happened:
    """Return a reading so many days after the start."""
    facts = {"gravity": gravity, "shown": gravity, "sigma": 0.005, "repeat": 0.004, "net_g": None}
    return (days, "reading", facts)


def opened(days: float) -> Happened:
    """Return an opening."""
    return (days, "opened", {})


def water(days: float, mass_g: float) -> Happened:
    """Return an addition of water."""
    return (days, "addition", {"what": "water", "mass_g": mass_g})


def contents(days: float, mass_g: float, volume_l: float) -> Happened:
    """Return contents as told in litres."""
    return (days, "contents", {"mass_g": mass_g, "volume_l": volume_l, "spread": 0.1, "how": "litres"})


TARGET: Happened = (0, "bucket", {"target_low": 1.40, "target_high": 1.46})


def scene(*happened: Happened, bucket: str = "moss") -> Scene:
    """Return a scene over invented entries, written down in this order."""
    entries = tuple(
        Entry(f"t-{n}", kind, START + timedelta(days=days), bucket, facts)
        for n, (days, kind, facts) in enumerate((TARGET, *happened))
    )
    return Scene("t", READY, Bench(entries), bucket=bucket)


def told(found: Scene, days: float, *, at_work: bool = False, wording: str = "full") -> str:
    """Return the history as printed, so many days after the start."""
    reply = telling.history(found, START + timedelta(days=days), at_work=at_work)
    return replies.sentence(reply, wording).printed


def at_opening(found: Scene, days: float) -> list[str]:
    """Return what is said when the bucket is opened."""
    return [replies.sentence(r).printed for r in telling.on_opening(found, START + timedelta(days=days))]


# ---- the sentence -----------------------------------------------------------------------------------


def test_no_reading_is_said() -> None:
    """A bucket that was never read has no history, and opening it says nothing of drift."""
    assert told(scene(opened(0)), 3) == "Moss: no reading yet, so there is no history to tell."
    assert at_opening(scene(opened(0)), 3) == []


def test_one_reading_is_said() -> None:
    """One reading shows no drift; a week is the wait for a drift unknown."""
    found = scene(opened(0), reading(0.1, 1.43))
    assert told(found, 0.2) == (
        "Moss: gravity 1.43, drift not known from one reading, no drops so far, look again in 7 days."
    )
    twice = scene(opened(0), reading(0.1, 1.43), reading(0.2, 1.44))
    assert "drift not known yet" in told(twice, 0.3)
    assert at_opening(twice, 8)[0].startswith("How fast it dries is not known yet")
    assert at_opening(found, 8) == ["That was its only reading; today's will show how fast it dries."]
    assert at_opening(found, 0.5) == []


def test_the_drift_is_said_with_what_it_has_cost() -> None:
    """1.43 to 1.45 in two weeks is 0.01 a week; two more weeks make it 1.47.

    Balance of mass, by hand: a litre at 1.47 weighs 1470 g; water w that brings it to 1.45 has
    (1470 + w)/(1000 + w) = 1.45, so w = 20/0.45 = 44 g.
    """
    found = scene(opened(0), reading(0, 1.43), opened(14), reading(14, 1.45))
    assert told(found, 28) == (
        "Moss: gravity 1.45, 2 weeks ago, rising 0.01 a week, about 44 g of water probably lost since "
        "from each litre, no drops so far, look at it now."
    )
    assert "near 1.47 now" in at_opening(found, 29)[0]  # 1.4714, to what a cup can tell
    assert at_opening(found, 28) == [
        "By its drift it probably stands near 1.47 now: about 44 g of water gone from each litre."
    ]


def test_water_lost_from_the_whole_bucket_when_its_contents_are_known() -> None:
    """14.3 kg at 1.43 that rises to 1.45 lost E with (14300 - E)/(10000 - E) = 1.45: E = 200/0.45 = 444 g."""
    found = scene(opened(0), reading(0, 1.43), contents(0, 14300, 10), opened(14), reading(14, 1.45))
    lost = drifting.lately(found, START + timedelta(days=14), at_work=True).lost
    assert lost is not None
    assert not lost.foretold
    assert lost.mass_g == pytest.approx(14300, rel=0.01)
    assert lost.water_g == pytest.approx(444, rel=0.01)
    assert "about 440 g of water lost before you opened it" in told(found, 14, at_work=True)


def test_contents_told_today_go_before_those_told_then() -> None:
    """7250 g at 1.45, five litres: water back to 1.43 is 5000·0.02/0.43 = 233 g, whatever there was before.

    The 500 g added after the reading are no part of it.
    """
    found = scene(
        opened(0), reading(0, 1.43), contents(0, 14300, 10),
        opened(14), reading(14, 1.45), contents(14, 7250, 5), water(14.1, 500), reading(14.2, 1.409),
    )  # fmt: skip
    lost = drifting.lately(found, START + timedelta(days=14.3), at_work=True).lost
    assert lost is not None
    assert lost.water_g == pytest.approx(233, rel=0.03)


def test_what_was_lost_is_that_before_water_went_in() -> None:
    """After this opening's water the first reading still tells what was lost before it."""
    found = scene(
        opened(0), reading(0, 1.43), opened(14), reading(14, 1.45), water(14.1, 500), reading(14.2, 1.42)
    )
    lost = drifting.lately(found, START + timedelta(days=14.3), at_work=True).lost
    assert lost is not None
    assert lost.gravity == 1.45


@pytest.mark.parametrize("first", [water(14, 500), reading(14, 1.43), reading(14, 1.42), reading(14, 1.434)])
def test_nothing_lost_is_nothing_said(first: Happened) -> None:
    """Water before the first reading hides the loss; a gravity that stood or fell has none."""
    found = scene(opened(0), reading(0, 1.43), opened(14), first)
    assert drifting.lately(found, START + timedelta(days=14.1), at_work=True).lost is None


@pytest.mark.parametrize(("rise", "way"), [(0.011, "steady"), (0.013, "rises"), (-0.013, "falls")])
def test_a_drift_is_told_beyond_two_uncertainties(rise: float, way: str) -> None:
    """Two readings of 0.004 each: 2·0.004·√2 = 0.0113 of rise is where it begins to be one (by hand)."""
    found = scene(opened(0), reading(0, 1.43), reading(14, round(1.43 + rise, 4)))
    assert drifting.lately(found, START + timedelta(days=14), at_work=False).way == way


@pytest.mark.parametrize(("now", "told_of"), [(1.4345, False), (1.4355, True)])
def test_a_rise_of_five_thousandths_is_worth_telling(now: float, told_of: bool) -> None:
    """Half of what a gram on a cup of a hundred tells."""
    found = scene(opened(0), reading(0, 1.43), opened(14), reading(14, now))
    lost = drifting.lately(found, START + timedelta(days=14), at_work=True).lost
    assert (lost is not None) == told_of


def test_a_bucket_that_came_up_thinner_lost_nothing_though_its_contents_are_known() -> None:
    """Told contents do not make water out of a gravity that fell."""
    found = scene(opened(0), reading(0, 1.43), opened(14), reading(14, 1.41), contents(14, 14100, 10))
    assert drifting.lately(found, START + timedelta(days=14), at_work=True).lost is None


def test_water_in_another_bucket_is_no_water_in_this() -> None:
    """Readings of this bucket belong together although another was watered in between."""
    found = scene(opened(0), reading(0, 1.43), reading(14, 1.45))
    other = Entry("o-1", "addition", START + timedelta(days=7), "slate", {"what": "water", "mass_g": 400.0})
    entries = found.bench.entries
    mixed = replace(found, bench=Bench((*entries[:-1], other, entries[-1])))
    assert "rising 0.01 a week" in told(mixed, 14)


@pytest.mark.parametrize(
    ("gravity", "end"), [(1.40, "in 7 days"), (1.46, "in 7 days"), (1.47, "now"), (1.39, "now")]
)
def test_the_ends_of_the_target_belong_to_it(gravity: float, end: str) -> None:
    """Only beyond them a bucket is looked at now; asked at the instant of the reading no clock is wrong."""
    sentence = told(scene(opened(0), reading(0, gravity)), 0)
    assert sentence.endswith(f"{end}.")
    assert "clock" not in sentence


def test_ages_are_told_from_a_day_on() -> None:
    """Half a day is today, a day and a half has its age; so with the flow; and so when it is opened."""
    found = scene(opened(0), reading(0, 1.43), (0, "flow", {"word": "cream", "verdict": "right"}))
    assert "ago" not in told(found, 0.9)
    assert "gravity 1.43, 1 day ago" in told(found, 1.5)
    assert "last flow like cream, 1 day ago" in told(found, 1.5)
    assert at_opening(found, 1) == ["That was its only reading; today's will show how fast it dries."]


def test_an_addition_after_the_last_reading_is_said() -> None:
    """Then the gravity is that of before, nothing is foretold from it, and it is to be weighed now."""
    found = scene(opened(0), reading(0, 1.43), opened(14), reading(14, 1.47), water(14.1, 500))
    assert told(found, 21) == (
        "Moss: gravity 1.47 before the last addition, rising 0.02 a week, no drops so far, "
        "weigh it again now."
    )


def test_readings_that_scatter_are_no_drift() -> None:
    """Four readings up and down by what a cup tells: no clear drift, no water lost."""
    found = scene(opened(0), reading(0, 1.43), reading(7, 1.44), reading(14, 1.43), reading(21, 1.435))
    assert "no clear drift" in told(found, 22)
    assert at_opening(found, 30) == ["Its readings show no clear drift."]


def test_a_gravity_that_falls_is_said() -> None:
    """Nothing evaporates upwards: it was not stirred to the bottom, or it was watered unsaid."""
    found = scene(opened(0), reading(0, 1.46), reading(28, 1.42))
    assert "falling 0.01 a week" in told(found, 29)
    assert at_opening(found, 40) == [
        "It reads lower after standing, by 0.01 a week: stir longer, down to the bottom."
    ]


def test_a_clock_set_back_is_said() -> None:
    """Readings from before the clock was set back count no more, and both sentences say so."""
    found = scene(opened(0), reading(400, 1.43), reading(1, 1.42), reading(15, 1.44))
    assert "rising 0.01 a week" in told(found, 16)
    assert "the clock was set back, so only readings since then count" in told(found, 16)
    assert at_opening(found, 29)[0].startswith("The clock was set back")


def test_a_clock_behind_the_last_reading_foretells_nothing() -> None:
    """Now lies before the last reading: no time has passed that could be reckoned with."""
    found = scene(opened(0), reading(0, 1.43), reading(14, 1.45))
    assert at_opening(found, 10) == []
    sentence = told(found, 10)
    assert "probably lost" not in sentence
    assert "clock" in sentence


def test_off_target_is_looked_at_now() -> None:
    """A reading above the target needs no drift to be looked at."""
    assert told(scene(opened(0), reading(0, 1.50)), 1).endswith("look at it now.")


def test_drops_and_flow_are_summed_up() -> None:
    """Drops by additive, the newest flow in the form in which it was taken."""
    dose = {"mass_g": 0.5, "share": 1.0, "drop_g": None}
    found = scene(
        opened(0), reading(0, 1.43),
        (0.1, "dose", {**dose, "additive": "sodium silicate", "drops": 7.0}),
        (0.2, "dose", {**dose, "additive": "magnesium sulfate", "drops": 1.0}),
        (0.3, "dose", {**dose, "additive": "sodium silicate", "drops": 5.0}),
        (0.4, "flow", {"word": "cream", "verdict": "right"}),
    )  # fmt: skip
    assert "last flow like cream, 12 drops of sodium silicate, 1 drop of Epsom salt so far" in told(found, 1)
    timed = replace(
        found,
        bench=found.bench.with_entry(
            Entry("t-99", "flow", START + timedelta(days=1), "moss", {"seconds": 24.4, "verdict": None})
        ),
    )
    assert "last flow 24.4 s," in told(timed, 1.5)
    assert "last flow 24.4 s, 3 days ago," in told(timed, 4.5)


def test_it_is_spoken_in_words_and_briefly_when_wished() -> None:
    """For the ear no digits; the terse form says the same in fewer words.

    When to look again, by hand: (1.46 - 1.45)/(0.01 + 2·0.004/√2) = 0.64 weeks, four whole days.
    """
    found = scene(opened(0), reading(0, 1.43), opened(14), reading(14, 1.45))
    reply = telling.history(found, START + timedelta(days=14), at_work=False)
    spoken = replies.sentence(reply).spoken
    assert "gravity one point four five" in spoken
    assert "rising zero point zero one a week" in spoken
    assert not any(sign.isdigit() for sign in spoken)
    assert told(found, 14, wording="terse") == "Moss: 1.45, up 0.01 a week, no drops, again in 4 days."


@pytest.mark.parametrize("wording", ["full", "terse"])
def test_no_two_numbers_run_into_one_another(wording: str) -> None:
    """To the ear "1.46, four weeks ago" without its pause would be 1.464."""
    found = scene(opened(0), reading(0, 1.46), (0.1, "flow", {"seconds": 24.4, "verdict": None}))
    spoken = replies.sentence(
        telling.history(found, START + timedelta(weeks=4), at_work=False), wording
    ).spoken
    assert "one point four six, four weeks ago" in spoken
    assert "twenty four point four seconds, three weeks ago" in spoken


def test_other_buckets_are_left_alone() -> None:
    """What was read of one bucket says nothing of another."""
    found = scene(opened(0), reading(0, 1.43), reading(14, 1.45))
    assert (
        told(replace(found, bucket="slate"), 20) == "Slate: no reading yet, so there is no history to tell."
    )


# ---- the range that was good ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("marks", "wanted"),
    [
        ([], None),
        ([1.43, 1.42], None),
        ([1.43, None, 1.42], None),
        ([1.43, 1.41, 1.42], (1.41, 1.43)),
        ([1.43, 1.41, None, 1.44], (1.41, 1.44)),
        ([1.42, 1.42, 1.42], (1.41, 1.43)),
    ],
)
def test_the_good_range_is_from_the_least_to_the_most(
    marks: Sequence[float | None], wanted: tuple[float, float] | None
) -> None:
    """Three marks with a gravity make a range; marks all on one gravity are widened by 0.01 each way."""
    happened: list[Happened] = [(n, "good", {"gravity": mark}) for n, mark in enumerate(marks)]
    found = good_range(scene(*happened).bench, "moss")
    assert found == (None if wanted is None else pytest.approx(wanted))
