"""Random potters: whatever is said in whatever order, the bench answers and its memory stays whole."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import pytest

from benchvoice import replies
from benchvoice.dialogue.advance import TABLE, advance, begin, expected
from benchvoice.dialogue.batches import Stage, open_batch
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.journal.rows import to_row
from benchvoice.meaning import phrases
from benchvoice.messages import Entry, Expectation, Heard, Record, Reply, Words

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
TURNS = 400
SENSIBLE = 0.8
"""How often a potter says something that the step takes, and a weight that can be."""


def said(dice: random.Random, scene: Scene) -> str:
    """Return a sentence: mostly one that the step takes, now and then any other."""
    takes = expected(scene)
    usable = [kind for kind in takes.kinds if kind in phrases.kinds()]
    kind = dice.choice(usable if usable and dice.random() < SENSIBLE else phrases.kinds())
    if kind == "weight" and dice.random() < SENSIBLE:
        return f"{dice.choice((100, 100, 100, *range(130, 170)))} grams"
    if scene.state.name == "PAUSED":
        return "continue"
    try:
        return phrases.sample(kind, dice, Expectation((kind,), takes.names))
    except ValueError:  # it needs a name, and there is none yet
        return "help"


def worded(answers: tuple[Reply, ...]) -> None:
    """See that every reply has words, both ways, for ear and eye, and no digit for the ear."""
    for reply in answers:
        for wording in ("full", "terse"):
            sentence = replies.sentence(reply, wording)
            assert sentence.spoken
            assert not any(sign.isdigit() for sign in sentence.spoken), (reply, sentence.spoken)


@pytest.mark.parametrize("seed", range(12))
def test_a_random_potter(seed: int) -> None:
    """No turn ends in an exception; every reply has words; every entry can be written; no key comes twice."""
    dice, now = random.Random(seed), START
    scene, answers, _ = begin(Scene("wander", READY, Bench()), now)
    worded(answers)
    keys: set[str] = set()
    for _ in range(TURNS):
        now += timedelta(seconds=dice.choice((2, 20, 300)))
        words = Words(said(dice, scene), confidence=dice.choice((0.3, 0.95, 0.99)))
        scene, answers, effects = advance(scene, Heard(phrases.understand(words, expected(scene))), now)
        worded(answers)
        for effect in effects:
            if isinstance(effect, Record):
                assert effect.entry.key not in keys
                keys.add(effect.entry.key)
                to_row(effect.entry)
        if scene.state.name == "END":
            scene, _, _ = begin(Scene(f"wander{len(keys)}", READY, scene.bench), now)
    assert len(keys) > 5


@pytest.mark.parametrize("seed", range(6))
def test_cancel_leads_home_from_anywhere(seed: int) -> None:
    """Wherever a random potter has got to, "cancel", said twice at most, leads to the first question."""
    dice, now = random.Random(100 + seed), START
    scene, _, _ = begin(Scene("home", READY, Bench()), now)
    for _ in range(60):
        now += timedelta(seconds=20)
        words = Words(said(dice, scene), typed=True)
        scene, _, _ = advance(scene, Heard(phrases.understand(words, expected(scene))), now)
        home = scene
        for _ in range(3):
            if home.state.name in ("READY", "PAUSED", "END"):
                break
            meaning = phrases.understand(Words("cancel", typed=True), expected(home))
            home, _, _ = advance(home, Heard(meaning), now)
        assert home.state.name in ("READY", "PAUSED", "END"), home.state.name


@pytest.mark.parametrize("seed", range(6))
def test_undo_takes_back_what_was_written(seed: int) -> None:
    """After "undo" the bench remembers exactly what it did before the last deed."""
    dice, now = random.Random(200 + seed), START
    scene, _, _ = begin(Scene("undo", READY, Bench()), now)
    undone = 0
    for _ in range(200):
        now += timedelta(seconds=20)
        before = _work(scene.bench.entries)
        words = Words(said(dice, scene), typed=True)
        after, _, effects = advance(scene, Heard(phrases.understand(words, expected(scene))), now)
        wrote = [e.entry for e in effects if isinstance(e, Record)]
        if wrote and after.state.name != "END" and all(_is_deed(entry) for entry in wrote):
            meaning = phrases.understand(Words("undo", typed=True), expected(after))
            back, _, _ = advance(after, Heard(meaning), now)
            if meaning.kind == "undo" and after.state.name != "PAUSED":
                assert _work(back.bench.entries) == before, (words.text, scene.state.name)
                undone += 1
        scene = after if after.state.name != "END" else scene
    assert undone > 1


def _is_deed(entry: Entry) -> bool:
    return entry.undoes is None and entry.kind not in LASTING


def _work(entries: tuple[Entry, ...]) -> tuple[str, ...]:
    return tuple(entry.key for entry in entries if entry.kind not in LASTING)


LASTING = frozenset({"setting", "timer", "undo", "opened"})


def test_the_walk_sees_most_of_the_table() -> None:
    """The random potters of these tests between them reach most states."""
    seen = set()
    for seed in range(10):
        dice, now = random.Random(300 + seed), START
        scene, _, _ = begin(Scene("see", READY, Bench()), now)
        for _ in range(300):
            now += timedelta(seconds=20)
            words = Words(said(dice, scene), typed=True)
            after, _, _ = advance(scene, Heard(phrases.understand(words, expected(scene))), now)
            seen.add(after.state)
            scene = after if after.state.name != "END" else scene
    assert len(seen) > 0.6 * len(TABLE.states())


BATCH = ("new recipe called tide", "feldspar 50", "quartz 30", "kaolin 20", "done", "make a batch")
PLANNED = (*BATCH, "two kilos dry", "1.45")
AT_A_BATCH = (
    *("exactly", "done", "undo", "go back", "make it bigger", "leave it", "yes", "no", "kaolin first"),
    *("that was quartz", "that was feldspar", "that was moon dust", "this is quartz", "this is talc"),
    *("i swapped feldspar and quartz", "cancel", "make a batch", "no, 500", "my scale shows tenths"),
)
FACTORS = (0.1, 0.5, 0.99, 1, 1, 1, 1.01, 1.05, 1.5, 2, 10)


def weight_said(dice: random.Random, scene: Scene) -> str:
    """Return a weight: that of a line that is missing, of all that is in, or near it; or any."""
    batch = open_batch(scene.bench)
    missing = [mass for _, mass in batch.missing()] if batch else []
    likely = [*missing, batch.total_in if batch else 1.0, dice.choice((1, 400, 600, 1000))]
    return f"{dice.choice(likely) * dice.choice(FACTORS):.1f}"


@pytest.mark.parametrize("seed", range(8))
def test_a_random_potter_at_a_batch(seed: int) -> None:
    """However a batch goes wrong, the step is the one that its weights call for."""
    dice, scene = random.Random(400 + seed), Scene("batch", READY, Bench())
    for number in range(140):
        start = (*PLANNED, dice.choice(("i tare each time", "let it add up")))
        say = weight_said(dice, scene) if dice.random() < 0.5 else dice.choice(AT_A_BATCH)
        words = Words(start[number] if number < len(start) else say, typed=True)
        scene, answers, _ = advance(scene, Heard(phrases.understand(words, expected(scene))), START)
        worded(answers)
        batch = open_batch(scene.bench)
        if batch is not None and scene.state.name in STAGES:
            assert STAGES[scene.state.name] is batch.stage(), words.text


STAGES = {"BATCH_WEIGH": Stage.WEIGH, "BATCH_OVER": Stage.OVER, "BATCH_WATER": Stage.WATER}
