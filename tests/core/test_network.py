"""The network of words: exactly the sentences of the rules, deterministic, and as small as can be."""

import itertools
import random
from collections import defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal

import pytest
from num2words import num2words

from benchvoice.dialogue.advance import TABLE
from benchvoice.meaning import phrases
from benchvoice.meaning.abnf import parse
from benchvoice.meaning.amounts import amounts_at
from benchvoice.meaning.grammar import Choice, Reference, Word
from benchvoice.meaning.grammar import Sequence as InTurn
from benchvoice.meaning.match import DIMENSION_OF
from benchvoice.meaning.network import Builder, acceptor
from benchvoice.meaning.numbers import readings
from benchvoice.meaning.samples import Sampler, sentences
from benchvoice.meaning.understand import AMBIGUOUS
from benchvoice.messages import Expectation, WordNetwork, Words

HEADER = "#ABNF 1.0 UTF-8;\n"

NAMES = {
    "bucket": (
        "tide green",
        "tide",
        "Sea Mist",
        "number two",
        *(f"{a} {b}" for a in "abcde" for b in "pqrs"),
    ),
    "recipe": ("winter ash", "liner"),
    "material": ("quartz", "china clay", "soda ash"),
    "timer": ("flow", "soak"),
    "routine": ("coat test",),
}
STEPS = {state.name: Expectation(TABLE.kinds_taken(state), NAMES) for state in TABLE.states()}
FEW = ("READY", "WEIGH", "ADD_WATER", "ASK_TARGET")


def paths(network: WordNetwork) -> Iterator[tuple[str, ...]]:
    """Yield every word sequence of a (small) network."""
    arcs = defaultdict(list)
    for start, word, end in network.arcs:
        arcs[start].append((word, end))
    waiting: list[tuple[tuple[str, ...], int]] = [((), 0)]
    while waiting:
        words, state = waiting.pop()
        if state in network.finals:
            yield words
        waiting += [((*words, word), end) for word, end in arcs[state]]


def walks(network: WordNetwork, dice: random.Random, count: int) -> Iterator[tuple[str, ...]]:
    """Yield word sequences of a network, at random; each ends sooner or later where it can."""
    arcs = defaultdict(list)
    for start, word, end in network.arcs:
        arcs[start].append((word, end))
    for _ in range(count):
        words: list[str] = []
        state = 0
        while not (state in network.finals and (not arcs[state] or dice.random() < 0.4)):
            word, state = dice.choice(arcs[state])
            words.append(word)
        yield tuple(words)


def least_states(network: WordNetwork) -> int:
    """Return how many states are needed, by Moore's partition refinement (1956; from memory)."""
    arcs = defaultdict(dict)
    for start, word, end in network.arcs:
        arcs[start][word] = end
    states = {0} | {end for _, _, end in network.arcs}
    block = {state: int(state in network.finals) for state in states}
    while True:
        shapes = {s: (block[s], frozenset((w, block[e]) for w, e in arcs[s].items())) for s in states}
        numbers = {shape: number for number, shape in enumerate(set(shapes.values()))}
        finer = {state: numbers[shapes[state]] for state in states}
        if len(numbers) == len(set(block.values())):
            return len(numbers)
        block = finer


SMALL = [
    "a",
    "a | b c | b d",
    "[a] [a] [a]",
    "(a | b)<1-3> c",
    "(a | a b | a b c) (c | b c | d)",
    "[a | b] ([a] c | b [c] d)<0-2>",
    "(a b | a)<2> | b a",
    "a {tag} | b",
]


@pytest.mark.parametrize("text", SMALL)
def test_the_network_holds_exactly_the_sentences(text: str) -> None:
    """The paths of a network are the sentences of its rule, none missing, none besides."""
    grammar = parse(f"{HEADER}$a = {text};", "a.gram")
    network = Builder(grammar).network(Reference("a"), {})
    assert set(paths(network)) == set(sentences(grammar, Reference("a"), {}))


@pytest.mark.parametrize("text", SMALL)
def test_a_small_network_is_deterministic_and_minimal(text: str) -> None:
    """No state has two arcs of the same word; no two states could be one."""
    check_shape(Builder(parse(f"{HEADER}$a = {text};", "a.gram")).network(Reference("a"), {}))


def check_shape(network: WordNetwork) -> None:
    """Assert that a network is deterministic, minimal, and starts in state 0 without empty arcs."""
    states = {0} | {state for start, _, end in network.arcs for state in (start, end)}
    assert states == set(range(len(states)))
    assert len({(start, word) for start, word, _ in network.arcs}) == len(network.arcs)
    assert all(network.vocabulary())
    assert network.finals <= states
    assert least_states(network) == len(states)


@pytest.mark.parametrize("expected", [STEPS[name] for name in FEW], ids=FEW)
def test_the_network_of_a_step_is_deterministic_and_minimal(expected: Expectation) -> None:
    """What holds for small networks holds for those of the bench."""
    check_shape(phrases.network(expected))


@pytest.mark.parametrize("expected", STEPS.values(), ids=STEPS.keys())
def test_the_network_of_a_step_is_small(expected: Expectation) -> None:
    """A graph of at most 20,000 arcs is made in good time."""
    assert len(phrases.network(expected).arcs) < 20_000


@pytest.mark.parametrize("expected", STEPS.values(), ids=STEPS.keys())
def test_whatever_the_network_hears_is_understood(expected: Expectation) -> None:
    """Every walk through the network of a step means something that the step or every step takes."""
    always = phrases.grammar().listed("always")
    for words in walks(phrases.network(expected), random.Random(7), 100):
        said = " ".join(words)
        meaning = phrases.understand(Words(said), expected)
        kind = meaning.text("wanted") if meaning.kind == AMBIGUOUS else meaning.kind
        assert kind in (*expected.kinds, *always), said


@pytest.mark.parametrize("rule", ["number", *DIMENSION_OF])
def test_the_network_of_numbers_hears_what_is_a_number(rule: str) -> None:
    """Every walk through the network of a number or an amount has an exact value."""
    network = Builder(phrases.grammar()).network(Reference(rule), {})
    for said in walks(network, random.Random(11), 400):
        assert has_value(rule, said), said


@pytest.mark.parametrize("rule", ["number", *DIMENSION_OF])
def test_samples_of_numbers_are_heard_and_have_a_value(rule: str) -> None:
    """Every sample of a number or an amount is on the network and has an exact value."""
    grammar, dice = phrases.grammar(), random.Random(13)
    hears, sampler = acceptor(Builder(grammar).network(Reference(rule), {})), Sampler(grammar, {})
    for _ in range(400):
        said = sampler.sample(Reference(rule), dice)
        assert hears(said), said
        assert has_value(rule, said), said


def has_value(rule: str, said: tuple[str, ...]) -> bool:
    """Tell whether all words together are a number, or an amount of the rule's dimension."""
    if rule == "number":
        return bool(readings(said))
    return any(end == len(said) for _, end in amounts_at(said, 0, DIMENSION_OF[rule]))


def numbers() -> WordNetwork:
    """Return the network of a number."""
    return Builder(phrases.grammar()).network(Reference("number"), {})


def test_every_whole_number_is_heard_as_it_is_spelt() -> None:
    """The usual spelling of 0 to 99,999 is on the network (spelling: num2words, British)."""
    hears = acceptor(numbers())
    for n in itertools.chain(range(2000), range(2000, 100_000, 197), (99_999,)):
        spelt = num2words(n, lang="en_GB").replace("-", " ").replace(",", "")
        assert hears(spelt.split()), spelt


@pytest.mark.parametrize("step", ["0.5", "0.25", "0.1", "0.01", "0.001"])
def test_decimals_are_heard_as_they_are_spelt(step: str) -> None:
    """Decimals of up to three places are on the network (spelling: num2words)."""
    hears, places = acceptor(numbers()), len(step) - 2
    for n in range(300):
        spelt = num2words(f"{n * float(step):.{places}f}", lang="en_GB").replace("-", " ")
        assert hears(spelt.split()), spelt


@pytest.mark.parametrize(
    "said",
    [
        "one forty two", "one four two", "one hundred and forty two", "a hundred and forty two",
        "one oh five", "fourteen twenty", "fourteen hundred", "fourteen hundred and twenty",
        "one four two oh", "double four", "one double four", "two thousand four hundred",
        "two and a half", "nine and a quarter", "three quarters", "half", "a half", "one half",
        "oh point five", "nought point five", "point five", "zero", "nought", "minus five",
        "one point oh five", "one point four two five", "one point forty two", "triple two",
        "ninety nine thousand nine hundred and ninety nine", "one forty two and a half",
        "one forty two point five",
    ],
)  # fmt: skip
def test_the_ways_to_say_a_number_are_heard(said: str) -> None:
    """The forms in which potters read a scale are on the network."""
    assert readings(said)
    assert acceptor(numbers())(said.split())


SPOKEN = [
    "one", "two", "ten", "thirty", "zero", "oh", "hundred", "thousand", "double", "triple", "point", "minus",
    "a", "and", "half", "quarter", "three", "quarters",
]  # fmt: skip


def test_the_network_and_the_numbers_agree_on_short_phrases() -> None:
    """Of all phrases of up to three number words, the network hears exactly those that are a number."""
    hears = acceptor(numbers())
    for said in itertools.chain.from_iterable(
        itertools.product(SPOKEN, repeat=length) for length in (1, 2, 3)
    ):
        assert hears(said) == is_plausible(said), said


def test_the_network_and_the_numbers_agree_on_spoilt_numbers() -> None:
    """A number with a word too many, too few or wrong is heard exactly when it is a number all the same."""
    hears, dice = acceptor(numbers()), random.Random(23)
    sampler = Sampler(phrases.grammar(), {})
    for _ in range(1500):
        said = list(sampler.sample(Reference("number"), dice))
        place = dice.randrange(len(said))
        said[place : place + dice.randint(0, 1)] = dice.sample(SPOKEN, dice.randint(0, 1))
        assert hears(said) == is_plausible(said), said


def is_plausible(said: Sequence[str]) -> bool:
    """Tell whether words are a number for the bench: below 100,000, three places at most, no thirds."""
    if "two quarters" in " ".join(said):  # a number, but nobody's way to say a half
        return False
    return any(
        isinstance(value, Decimal) and abs(value) < 100_000 and len(f"{value:f}".partition(".")[2]) <= 3
        for value in (reading.value for reading in readings(said))
    )


@pytest.mark.parametrize(
    "said",
    [
        "", "hundred", "hundred hundred", "one hundred hundred", "one thousand thousand", "point",
        "one point", "and a half", "forty twelve", "sixty fifteen", "one hundred and", "minus",
        "minus minus one", "oh", "one oh", "two thousand two thousand", "one point four two five oh",
        "half a", "one and two", "double", "oh oh five", "one two three four five six",
        "one hundred thousand", "a one", "ten hundred hundred",
    ],
)  # fmt: skip
def test_what_is_no_number_is_not_heard(said: str) -> None:
    """The network is as narrow as the numbers: it leads nowhere that no number goes."""
    assert not acceptor(numbers())(said.split())


def test_a_network_is_made_once() -> None:
    """The same expectation gives the same network, and another order of names does not."""
    expected = Expectation(("choose_bucket",), {"bucket": ("tide", "sea mist")})
    again = Expectation(("choose_bucket",), {"bucket": ("tide", "sea mist")})
    assert phrases.network(expected) is phrases.network(again)


def test_known_names_come_and_go() -> None:
    """A name is heard while it is known, and no longer."""
    with_name = phrases.network(Expectation(("choose_bucket",), {"bucket": ("Zebra Stripe",)}))
    without = phrases.network(Expectation(("choose_bucket",)))
    assert acceptor(with_name)(("use", "zebra", "stripe"))
    assert not acceptor(without)(("use", "zebra", "stripe"))
    assert "zebra" not in without.vocabulary()


def test_a_slot_without_names_leads_nowhere() -> None:
    """A rule that needs a name has no sentence while there is none."""
    grammar = parse(HEADER + 'meta "open" is "bucket"; $a = use $bucket | stop;', "a.gram")
    network = Builder(grammar).network(Reference("a"), {"bucket": Choice(())})
    assert set(paths(network)) == {("stop",)}
    named = Builder(grammar).network(Reference("a"), {"bucket": InTurn((Word("sea"), Word("mist")))})
    assert set(paths(named)) == {("stop",), ("use", "sea", "mist")}


def test_what_is_only_understood_is_not_heard() -> None:
    """A rule that begins with also_ adds nothing to the network."""
    grammar = parse(HEADER + "$a = up (to | $also_to); $also_to = two;", "a.gram")
    assert set(paths(Builder(grammar).network(Reference("a"), {}))) == {("up", "to")}
