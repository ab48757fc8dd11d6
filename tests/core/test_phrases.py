"""The phrases of the bench as a whole: each kind says what it means, and one source serves four uses."""

import random
import time

import pytest

from benchvoice.meaning import phrases
from benchvoice.meaning.grammar import Reference
from benchvoice.meaning.network import Builder, acceptor
from benchvoice.meaning.number_words import NUMBER_WORDS
from benchvoice.meaning.understand import AMBIGUOUS
from benchvoice.messages import SILENCE, UNCLEAR, Expectation, Words

NAMES = {
    "bucket": ("tide green", "sea mist"),
    "recipe": ("winter ash",),
    "material": ("quartz", "china clay"),
    "timer": ("flow",),
    "routine": ("coat test",),
}
KINDS = phrases.kinds()
ALWAYS = phrases.grammar().listed("always")


def expecting(*kinds: str) -> Expectation:
    """Return an expectation of kinds with a few names known."""
    return Expectation(kinds, NAMES)


@pytest.mark.parametrize("kind", KINDS)
def test_every_sample_is_understood_as_its_kind(kind: str) -> None:
    """A sentence made from a kind means that kind where it is expected, or both readings are told."""
    dice, expected = random.Random(17), expecting(kind)
    for _ in range(60):
        said = phrases.sample(kind, dice, expected)
        meaning = phrases.understand(Words(said), expected)
        assert kind in (meaning.kind, meaning.slots.get("wanted")), said


@pytest.mark.parametrize("kind", KINDS)
def test_every_sample_is_on_the_network(kind: str) -> None:
    """A sentence made from a kind is heard where the kind is expected."""
    dice, expected = random.Random(19), expecting(kind)
    hears = acceptor(phrases.network(expected))
    for said in {phrases.sample(kind, dice, expected) for _ in range(12)}:
        assert hears(said.split()), said


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_shown(kind: str) -> None:
    """The help has short sentences of each kind, each of which is understood as that kind."""
    shown = phrases.sentences_of(kind)
    assert shown
    assert len(set(shown)) == len(shown) <= 12
    expected = Expectation((kind,), {slot: (phrases.grammar().meta[f"example {slot}"],) for slot in NAMES})
    for said in shown:
        assert phrases.understand(Words(said), expected).kind == kind, said


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind in ALWAYS])
def test_what_is_always_taken_is_on_every_network(kind: str) -> None:
    """The sentences of an always-kind are heard whatever is expected."""
    hears = acceptor(phrases.network(Expectation(("yes", "no"))))
    said = phrases.sentences_of(kind)[0]
    assert hears(said.split()), said


def test_the_standard_commands_are_taken_at_every_step() -> None:
    """The commands of ETSI ES 202 076 (from memory, tables not seen) are understood as they stand there."""
    kinds = {
        "help": "help", "options": "options", "repeat": "repeat", "go back": "go_back", "cancel": "cancel",
        "yes": "yes", "no": "no", "pause": "pause", "continue": "continue_", "stop": "stop",
        "standby": "standby", "goodbye": "goodbye",
    }  # fmt: skip
    for said, kind in kinds.items():
        assert phrases.understand(Words(said), Expectation(("weight", "yes", "no"))).kind == kind
        assert kind in (*ALWAYS, "yes", "no")


def test_yes_and_no_are_heard_only_where_they_are_expected() -> None:
    """A yes from the radio is no answer to a question that nobody asked."""
    hears = acceptor(phrases.network(Expectation(("weight",))))
    assert not hears(["yes"])
    assert not hears(["no"])
    assert hears(["no", "one", "thirty", "nine"])


def test_no_kind_has_the_name_of_an_outcome() -> None:
    """What is not understood has kinds of its own, with no phrases."""
    assert not {UNCLEAR, SILENCE, AMBIGUOUS} & set(KINDS)


def test_the_vocabulary_is_what_can_be_heard() -> None:
    """Every word of every phrase is in the vocabulary: in lower case, without figures or signs."""
    words = phrases.vocabulary()
    assert {"grams", "forty", "bucket", "celadon", "please", "oh"} <= words
    assert all(word.replace("'", "").isalpha() and word == word.lower() for word in words), words
    assert {
        word for kind in KINDS for said in phrases.sentences_of(kind) for word in said.split()
    } <= words | {word for names in NAMES.values() for name in names for word in name.split()}


def test_no_command_is_a_number() -> None:
    """No command of one word is part of a number, or a scale could give it."""
    one_word = {said for kind in KINDS for said in phrases.sentences_of(kind, 200) if " " not in said}
    examples = {phrases.grammar().meta["example count_amount"]}
    assert not (one_word - examples) & NUMBER_WORDS


def test_nothing_waited_for_sounds_exactly_like_a_number() -> None:
    """No word on a network is a number to the ear: "a timer for ten minutes" would be four ten minutes.

    "To" stands only where it cannot be left out and "two" fits nowhere. Any other such word can still be
    typed: it belongs into an $also_... rule.
    """
    sounds_like_a_number = {"too", "for", "fore", "won", "ate", "owe", "sicks", "tenth", "knot", "naught"}
    assert not phrases.vocabulary() & sounds_like_a_number
    assert "to" in phrases.vocabulary()


def test_the_same_dice_give_the_same_sentences() -> None:
    """Samples depend on the dice only."""
    first = [phrases.sample("weight", random.Random(3)) for _ in range(5)]
    assert first == [phrases.sample("weight", random.Random(3)) for _ in range(5)]


def test_a_sentence_that_needs_a_name_asks_for_names() -> None:
    """A sample with a name in it cannot be made while no name is known."""
    with pytest.raises(ValueError, match="hand over some names"):
        phrases.sample("choose_bucket", random.Random(1))


def test_the_vocabulary_of_names_is_broad() -> None:
    """A spoken name can be made of a hundred words and more, none of which is a number."""
    network = Builder(phrases.grammar()).network(Reference("name_word"), {})
    assert len(network.vocabulary()) > 100
    assert not network.vocabulary() & NUMBER_WORDS


@pytest.mark.parametrize(
    "kinds", [("weight", "gravity", "calibrate"), ("target", "target_range"), ("done", "added")]
)
def test_a_network_is_built_in_good_time(kinds: tuple[str, ...]) -> None:
    """From nothing, the network of a step takes well under a second of processor time."""
    started = time.process_time()
    builder = Builder(phrases.grammar())
    for kind in (*kinds, *ALWAYS):
        builder.network(phrases.grammar().sentence(kind), {})
    assert time.process_time() - started < 0.9


SENTENCES = [
    "one forty two", "the scale says one hundred and forty two point five grams please", "banana",
    "help", "no one thirty nine", "one hundred and", "target one point four two to one point four five",
    "okay so i have added four hundred grams of water", "one hundred bananas",
    "not one forty two one thirty nine",
]  # fmt: skip


@pytest.mark.parametrize("said", SENTENCES)
def test_a_sentence_is_understood_at_once(said: str) -> None:
    """A sentence takes a few milliseconds of processor time at worst."""
    expected = expecting("weight", "gravity", "yes", "no")
    phrases.understand(Words(said), expected)
    started = time.process_time()
    for _ in range(5):
        phrases.understand(Words(said), expected)
    assert (time.process_time() - started) / 5 < 0.015
