"""Words against rules: every way in which they fit, and what the slots hold."""

from decimal import Decimal

import pytest

from benchvoice.meaning.abnf import parse
from benchvoice.meaning.match import Matcher, Slots
from benchvoice.meaning.openings import openings
from benchvoice.messages import Amount

GRAMMAR = parse(
    """#ABNF 1.0 UTF-8;
meta "open" is "bucket";
meta "never in names" is "please";
public $plain = a b | a b c;
public $maybe = [a] [b];
public $twice = a <2-3>;
public $hollow = ([a] [b]) <2>;
public $rounds = [a] <0-3> b;
public $thickness = it is $much ($runny | thick);
$much = very {lots} | a bit {little} | [quite];
$runny = thin {runny} | watery {runny};
public $between = between $low and $high;
$low = $number;
$high = $number;
public $weighing = it weighs $weight_amount;
public $lasting = it took $duration_amount;
public $which = use $bucket;
public $new = call it $name [please];
public $any = $number | $bucket;
public $lost = $also_lost;
$also_lost = never mind;
""",
    "test.gram",
)
NAMES = {"bucket": {("tide", "green"): "Tide Green", ("tide",): "Tide"}}


def match(kind: str, said: str) -> list[Slots]:
    """Return the slots of every way in which all words fit."""
    return Matcher(GRAMMAR, tuple(said.split()), NAMES).whole(kind)


@pytest.mark.parametrize(
    ("kind", "said", "slots"),
    [
        ("plain", "a b", [{}]),
        ("plain", "a b c", [{}]),
        ("plain", "a", []),
        ("plain", "a b c d", []),
        ("plain", "", []),
        ("maybe", "", [{}]),
        ("maybe", "b", [{}]),
        ("maybe", "b a", []),
        ("twice", "a", []),
        ("twice", "a a a", [{}]),
        ("twice", "a a a a", []),
        ("rounds", "a a b", [{}]),
        ("hollow", "", [{}]),
        ("hollow", "b a b a", []),
        ("thickness", "it is very thin", [{"much": "lots", "runny": "runny"}]),
        ("thickness", "it is a bit watery", [{"much": "little", "runny": "runny"}]),
        ("thickness", "it is quite thick", [{}]),
        ("between", "between one point four and one point four five", [{"low": "1.4", "high": "1.45"}]),
        ("which", "use tide green", [{"bucket": "Tide Green"}]),
        ("which", "use tide", [{"bucket": "Tide"}]),
        ("which", "use teal", []),
        ("new", "call it sea mist", [{"name": "sea mist"}]),
        ("new", "call it sea mist please", [{"name": "sea mist"}]),
        ("new", "call it please", []),
        ("new", "call it one two three four five", []),
        ("new", "call it sea [unk]", []),
        ("lost", "never mind", [{}]),
    ],
)
def test_words_fit_and_fill_the_slots(kind: str, said: str, slots: list[dict[str, str]]) -> None:
    """Words fit a rule as it is written; tags, names and numbers fill the slots."""
    found = [{name: str(value) for name, value in each} for each in match(kind, said)]
    assert found == slots


def test_amounts_keep_to_their_dimension() -> None:
    """A weight is in units of weight or bare; what else is said does not fit."""
    grams = [(("amount", Amount(Decimal(142), "gram", "one forty two grams")),)]
    assert match("weighing", "it weighs one forty two grams") == grams
    assert match("weighing", "it weighs 142") == [(("amount", Amount(Decimal(142), None, "142")),)]
    assert match("weighing", "it weighs two litres") == []


def test_the_kind_decides_what_a_bare_one_thirty_is() -> None:
    """One thirty is ninety seconds where a time is wanted and 130 where a weight is."""
    ((_, weight),) = match("weighing", "it weighs one thirty")[0]
    ((_, time),) = match("lasting", "it took one thirty")[0]
    assert isinstance(weight, Amount)
    assert isinstance(time, Amount)
    assert (weight.value, weight.unit) == (Decimal(130), None)
    assert (time.value, time.unit) in [(Decimal(90), "second"), (Decimal("1.5"), "minute")]


@pytest.mark.parametrize(
    ("kind", "said", "furthest", "unfinished"),
    [
        ("plain", "a x", 1, False),
        ("plain", "a", 1, True),
        ("between", "between one point four x", 4, False),
        ("between", "between one point four and", 5, True),
        ("weighing", "it weighs one hundred and", 4, True),
        ("weighing", "it weighs bananas", 2, False),
    ],
)
def test_how_far_the_words_could_be_followed(kind: str, said: str, furthest: int, unfinished: bool) -> None:
    """Where the words do not fit, the matcher tells how far they did, and whether more would have helped."""
    matcher = Matcher(GRAMMAR, tuple(said.split()), {})
    assert matcher.whole(kind) == []
    assert matcher.furthest == furthest
    assert matcher.is_unfinished() == unfinished


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("plain", {"a"}),
        ("maybe", {"a", "b"}),
        ("rounds", {"a", "b"}),
        ("thickness", {"it"}),
        ("any", {"$"}),
        ("lost", {"never"}),
    ],
)
def test_the_words_that_a_rule_can_begin_with(kind: str, words: set[str]) -> None:
    """What a rule begins with is told without trying it."""
    assert openings(GRAMMAR, GRAMMAR.rules[kind].tree) == words
