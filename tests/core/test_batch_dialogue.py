"""Recipes and batches in conversation: restarts, undo, cautions, and how much the recogniser waits for."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from random import Random

import pytest

from benchvoice import replies
from benchvoice.calculator.materials import catalogue
from benchvoice.calculator.safety import Hazard, hazards_of
from benchvoice.dialogue.advance import TABLE, advance, expected
from benchvoice.dialogue.batch_steps import BATCH_ODD, BATCH_OVER, BATCH_SOAK, BATCH_WATER, BATCH_WEIGH
from benchvoice.dialogue.batches import Stage, open_batch
from benchvoice.dialogue.batching import BATCH_RECIPE, BATCH_SIZE
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.hazards import CAUTIONS
from benchvoice.dialogue.recipe_book import recipe_named
from benchvoice.dialogue.recipes import RECIPE_LINES
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.meaning import phrases
from benchvoice.messages import Heard, Words

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

RECIPE = ("new recipe called tide", "feldspar 50", "quartz 30", "kaolin 20", "done")
PLANNED = (*RECIPE, "make a batch", "two kilos dry", "1.45", "I tare each time")
WEIGHED = (*PLANNED, "1000", "600", "400")


class Talk:
    """A conversation with no edges: what was said last, and where it stands."""

    def __init__(self, *said: str, bench: Bench | None = None) -> None:
        self.scene = Scene("t", READY, bench or Bench())
        self.keys: list[str] = []
        for text in said:
            self(text)

    def __call__(self, text: str, confidence: float | None = None) -> list[str]:
        """Say something and return the keys of the replies."""
        words = Words(text, typed=confidence is None, confidence=confidence)
        meaning = phrases.understand(words, expected(self.scene))
        self.scene, answers, _ = advance(self.scene, Heard(meaning), NOW)
        for answer in answers:
            replies.sentence(answer)
        self.keys = [answer.key for answer in answers]
        return self.keys

    def restarted(self) -> Talk:
        """Return a new session over the same entries."""
        return Talk(bench=self.scene.bench)


@pytest.mark.parametrize("many", range(len(PLANNED), len(WEIGHED) + 1))
def test_a_restart_goes_on_where_it_stopped(many):
    """After any weighing a new session asks for the same line, or for the water."""
    before = Talk(*WEIGHED[:many])
    after = before.restarted()
    assert after("make a batch") == ["ask_batch_resume"]
    after("yes")
    assert (after.scene.state, after.scene.asking) == (before.scene.state, before.scene.asking)


def test_a_recipe_left_half_said_goes_on_too():
    """Dictation that was broken off is taken up with its lines."""
    after = Talk(*RECIPE[:3]).restarted()
    assert after("new recipe called tide") == ["recipe_gone_on", "ask_recipe_line"]
    after("kaolin 20")
    after("done")
    assert [line.amount for line in recipe_named(after.scene.bench, "tide").base] == [50, 30, 20]


MISHAPS = [
    ("1000", "1040", "done"),
    ("1040", "make it bigger", "1040"),
    ("1000", "600", "that was kaolin", "done", "600"),
    ("1000", "600", "i swapped feldspar and quartz", "done"),
    ("1005", "1605", "yes", "that was moon dust"),
    ("400", "yes", "this is quartz", "660", "leave it"),
    ("1100", "leave it", "exactly", "exactly", "done", "done"),
]


@pytest.mark.parametrize("said", MISHAPS)
def test_undo_leads_back_to_every_earlier_bench(said):
    """Step by step back, the batch is each time what it was before, and the question fits it.

    Weights of which nothing was written are forgotten first.
    """
    talk = Talk(*PLANNED)
    stood = [talk.scene]
    for text in said:
        talk(text)
        if talk.scene.bench != stood[-1].bench:
            stood.append(talk.scene)
    for earlier in reversed(stood[:-1]):
        stands = talk.scene.bench
        while talk.scene.bench == stands:
            assert "undone" in talk("undo")
        assert open_batch(talk.scene.bench) == open_batch(earlier.bench)
        talk("repeat")


def test_a_weighing_that_is_undone_is_to_be_scooped_out():
    """Taking back a weighing says what to scoop out; taking back a new weight for it does not."""
    assert "batch_scoop_undone" in Talk(*PLANNED, "1000")("undo")
    assert "batch_scoop_undone" not in Talk(*PLANNED, "1040", "1000")("undo")


def test_go_back_takes_a_weighing_out_too():
    """One step back from the next line says what was taken back."""
    talk = Talk(*PLANNED, "1000")
    assert talk("go back")[0] == "gone_back"
    assert open_batch(talk.scene.bench).total_in == 0


def test_a_weight_heard_badly_is_asked_about():
    """Below the confidence of sure enough nothing is written down before a yes."""
    talk = Talk(*PLANNED)
    assert talk("one thousand grams", 0.4) == ["ask_confirm"]
    assert open_batch(talk.scene.bench).total_in == 0
    talk("yes")
    assert open_batch(talk.scene.bench).total_in == 1000


def test_per_cent_heard_may_be_on_top():
    """Whoever is heard to say per cent is asked whether it is an addition: "add" may be lost."""
    talk = Talk(*RECIPE[:2])
    assert talk("rutile two percent", 0.97) == ["ask_on_top"]
    assert talk("yes") == ["recipe_addition", "ask_recipe_line"]
    assert talk("kaolin twenty", 0.97) == ["recipe_line", "ask_recipe_line"]
    assert talk("tin oxide five on top", 0.97) == ["recipe_addition", "ask_recipe_line"]


def test_a_bare_next_writes_nothing_down():
    """Next without a weight asks for it; nobody's silence weighs anything."""
    talk = Talk(*PLANNED)
    before = talk.scene.bench
    assert talk("next") == ["batch_tell_weight", "ask_batch_weigh"]
    assert talk.scene.bench == before


def test_dust_is_said_once_in_a_session_and_again_in_the_next():
    """The caution about dust comes before the first dry material of each session, and not again."""
    talk = Talk(*PLANNED)
    assert "safety_dust" in talk.keys
    assert "safety_dust" not in talk("1000")
    after = talk.restarted()
    after("make a batch")
    assert "safety_dust" in after("yes")


DANGEROUS = [Hazard.TOXIC, Hazard.LEAD, Hazard.CAUSTIC, Hazard.IRRITANT, Hazard.UNREAD_LABEL]


@pytest.mark.parametrize(
    "material", sorted({m.name for m in catalogue().values()} | {"sodium silicate", "soda ash", "moon dust"})
)
def test_each_class_of_hazard_is_said_before_its_material(material):
    """Just before a dangerous material is asked for, the caution of each of its classes is said."""
    talk = Talk("new recipe called x", "feldspar 100" if material != "feldspar" else "quartz 100")
    talk(f"add {material} 5")
    if talk.scene.state.name == "RECIPE_NEAR":
        talk("no")
    if talk.scene.state.name == "RECIPE_DENSITY":
        talk("I don't know")
    assert talk.scene.state == RECIPE_LINES
    for text in ("done", "make a batch", "two kilos dry", "usual", "I tare each time"):
        talk(text)
    said = talk("2000")
    wanted = {CAUTIONS[hazard] for hazard in hazards_of(material) if hazard in DANGEROUS}
    assert wanted <= set(said)
    assert set(said) & {CAUTIONS[hazard] for hazard in DANGEROUS} == wanted
    assert said[-1] == "ask_batch_weigh"


def test_a_new_batch_is_never_called_proven_for_food():
    """The last word about a new batch is that food use is not proven; the mixer is spoken of before."""
    talk = Talk(*WEIGHED)
    assert "safety_mixer" in talk("done")
    talk("done")
    assert "safety_food" in talk("yes")
    assert talk.scene.state.name == "CUP_EMPTY"


def test_nothing_is_ever_called_safe():
    """The word stands nowhere in what is said of materials, but in the name of the safety data sheet."""
    for name, entry in replies.wordings().items():
        if name.startswith(("safety_", "batch", "recipe", "ask_batch", "ask_recipe", "material")):
            for text in entry.values():
                rest = text.lower().replace("safety data sheet", "")
                assert not any(word in rest for word in ("safe", "harmless", "non-toxic", "food-proof")), name


@pytest.mark.parametrize(
    "state", [RECIPE_LINES, BATCH_SIZE, BATCH_WEIGH, BATCH_ODD, BATCH_OVER, BATCH_RECIPE, READY], ids=str
)
def test_a_step_waits_for_no_more_than_it_can_hear(state):
    """The network of a step stays below 20,000 arcs with every material of the table known."""
    scene = replace(Talk(*WEIGHED).scene, state=state)
    assert len(phrases.network(expected(scene)).arcs) < 20_000


def test_every_deed_of_a_batch_is_named_when_it_is_undone():
    """What an undo takes back has a name for the ear."""
    kinds = {"recipe", "recipe_line", "material", "batch", "weighed", "batch_change", "batch_water"}
    assert kinds | {"batch_closed"} <= set(replies.KINDS)


def test_what_the_scale_shows_is_waited_for_first():
    """At the scale a weight is the likeliest thing to be said."""
    assert TABLE.kinds_taken(BATCH_WEIGH)[0] == "weight"


def overheard(talk, dice):
    """Return something that might be said here: a weight near the plan, a mishap, a command, or anything."""
    batch = open_batch(talk.scene.bench)
    line = dice.choice(batch.missing() or (("", 100.0),))[1] if batch else 100.0
    total = batch.total_in if batch else 0.0
    weight = dice.choice([line, line, line, line * 1.2, line / 2, line * 10, line + total, 600, 0])
    mishap = f"that was {dice.choice(MATERIALS)}", f"i swapped {' and '.join(dice.sample(MATERIALS, 2))}"
    command = dice.choice(["undo", "go back", "no, 400", "yes", "no", "done", "leave it", "make it bigger"])
    kind = dice.choice(TABLE.kinds_taken(talk.scene.state) or ("help",))
    try:
        anything = phrases.sample(kind, dice, expected(talk.scene))
    except ValueError:  # a name is to be said, and none is known
        anything = "make a batch"
    return dice.choice(
        [f"{weight:.1f}", f"{weight:.1f}", f"{weight:.1f}", *mishap, command, command, anything]
    )


MATERIALS = ("feldspar", "quartz", "kaolin", "silica", "rutile")


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_said_the_question_fits_the_batch(seed):
    """Weights right and wrong, mishaps, undo: no question is asked that the entries do not lead to."""
    dice, talk = Random(seed), Talk(*PLANNED[:-1], "it adds up" if seed % 2 else "I tare each time")
    for _ in range(40):
        talk(overheard(talk, dice) if talk.scene.state != READY else "make a batch")
        if talk.scene.state in AT_STAGE:
            assert open_batch(talk.scene.bench).stage() is AT_STAGE[talk.scene.state]


AT_STAGE = {
    BATCH_WEIGH: Stage.WEIGH, BATCH_OVER: Stage.OVER, BATCH_WATER: Stage.WATER, BATCH_SOAK: Stage.SOAK
}  # fmt: skip


BAD = [
    (RECIPE, "make a batch of moon mist", "batch_no_such_recipe"),
    ((), "make a batch", "no_recipes"),
    ((*RECIPE, "make a batch"), "zero grams", "refused"),
    ((*RECIPE, "make a batch"), "fill a zero litre bucket to 1.45", "refused"),
    ((*RECIPE, "make a batch"), "2", "batch_which_unit"),
    ((*RECIPE, "make a batch"), "fill a ten litre bucket to 0.9", "refused"),
    ((*RECIPE, "make a batch"), "fill a ten litre bucket to 2.9", "refused"),
    ((*RECIPE, "make a batch", "two kilos dry in a two litre bucket"), "1.45", "batch_bucket_too_small"),
    ((*RECIPE, "make a batch", "1 gram"), "1.45", "refused"),
    (RECIPE[:2], "quartz minus 3", "recipe_above_nothing"),
    (RECIPE[:1], "done", "recipe_empty"),
    (RECIPE, "new recipe called tide", "recipe_named_already"),
    (PLANNED, "that was quartz", "batch_nothing_weighed"),
    (PLANNED, "this is rutile", "batch_not_in_recipe"),
    ((*PLANNED, "1000"), "this is feldspar", "batch_in_already"),
    ((*PLANNED, "1000"), "i swapped feldspar and quartz", "batch_not_both_weighed"),
    ((*PLANNED, "1000"), "that was rutile", "batch_stranger"),
    (PLANNED, "100", "batch_tenfold"),
    (PLANNED, "900", "batch_short"),
]


@pytest.mark.parametrize(("before", "said", "key"), BAD)
def test_what_is_wrong_is_said_in_one_sentence_with_a_next_step(before, said, key):
    """Each mistake has its own sentence, then the question is asked again."""
    talk = Talk(*before)
    keys = talk(said)
    assert keys[0] == key
    assert keys[-1] == talk.scene.state.ask
