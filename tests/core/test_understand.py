"""What is said against what is meant, refusals as carefully as the rest."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.meaning import phrases
from benchvoice.meaning.tidy import words_of
from benchvoice.messages import SILENCE, UNCLEAR, UNKNOWN_WORD, Amount, Expectation, Meaning, Slot, Words

WEIGH = Expectation(("weight", "gravity", "calibrate", "finish"))
CONFIRM = Expectation(("yes", "no"))
TARGET = Expectation(("target", "target_range", "gravity", "usual", "unknown"))
CONTENTS = Expectation(("volume", "weight", "length", "unknown"))
WATER = Expectation(("done", "added", "weight", "volume", "none_added"))
TIME = Expectation(("duration",))
NAME = Expectation(("called", "name_given"))
BUCKETS = Expectation(
    ("choose_bucket", "new_bucket", "list_buckets"), {"bucket": ("Tide Green", "tide", "Number Two", "seven")}
)


def understand(said: str, expected: Expectation, typed: bool = False) -> Meaning:
    """Return what is meant by words at a step."""
    return phrases.understand(Words(said, typed=typed), expected)


def plain(slots: dict[str, Slot]) -> dict[str, str]:
    """Return slots as text: an amount with its unit, without the words that it came from."""
    return {name: _plain(value) for name, value in slots.items()}


def _plain(value: Slot) -> str:
    if isinstance(value, Amount):
        return f"{value.value.normalize():f} {value.unit or ''}".strip()
    return f"{value.normalize():f}" if isinstance(value, Decimal) else value


SPOKEN = [
    # a weight, in every form that a scale is read
    ("one forty two", WEIGH, "weight", "142"),
    ("one four two", WEIGH, "weight", "142"),
    ("one hundred and forty two", WEIGH, "weight", "142"),
    ("one hundred forty two", WEIGH, "weight", "142"),
    ("a hundred and forty two grams", WEIGH, "weight", "142 gram"),
    ("one forty two point five", WEIGH, "weight", "142.5"),
    ("one four two point five grams", WEIGH, "weight", "142.5 gram"),
    ("one oh five", WEIGH, "weight", "105"),
    ("double four", WEIGH, "weight", "44"),
    ("one thirty", WEIGH, "weight", "130"),
    ("fourteen twenty", WEIGH, "weight", "1420"),
    ("two kilos four hundred", WEIGH, "weight", "2400 gram"),
    ("half a kilo", WEIGH, "weight", "0.5 kilogram"),
    ("minus five grams", WEIGH, "weight", "-5 gram"),
    ("nought point five", WEIGH, "weight", "0.5"),
    ("nine and a half", WEIGH, "weight", "9.5"),
    ("the scale says one forty two", WEIGH, "weight", "142"),
    ("it weighs one forty two grams", WEIGH, "weight", "142 gram"),
    ("um it's one forty two please", WEIGH, "weight", "142"),
    ("okay so that's one forty two", WEIGH, "weight", "142"),
    ("i've got one forty two", WEIGH, "weight", "142"),
    ("it's about one forty two", WEIGH, "weight", "142"),
    ("yes one forty two", WEIGH, "weight", "142"),
    ("i make it one forty two", WEIGH, "weight", "142"),
    ("weight one forty two", WEIGH, "weight", "142"),
    # what else a number can be: the step decides
    ("one thirty", TIME, "duration", "90 second"),
    ("one minute thirty", TIME, "duration", "90 second"),
    ("1:30", TIME, "duration", "90 second"),
    ("90s", TIME, "duration", "90 second"),
    ("half an hour", TIME, "duration", "0.5 hour"),
    ("a minute and a half", TIME, "duration", "1.5 minute"),
    ("it took forty two seconds", TIME, "duration", "42 second"),
    ("ten litres", CONTENTS, "volume", "10 litre"),
    ("ten", CONTENTS, "volume", "10"),
    ("twelve kilos", CONTENTS, "weight", "12 kilogram"),
    ("twenty eight centimetres", CONTENTS, "length", "28 centimetre"),
    ("two and a half litres", CONTENTS, "volume", "2.5 litre"),
    ("added four hundred grams", WATER, "added", "400 gram"),
    ("i've added four hundred grams of water", WATER, "added", "400 gram"),
    ("four hundred", WATER, "weight", "400"),
    ("i took off three hundred grams of water", WATER, "took_off", "300 gram"),
    ("took three hundred grams off", WATER, "took_off", "300 gram"),
    ("removed half a litre of water", WATER, "took_off", "0.5 litre"),
    # corrections in one turn
    ("no one thirty nine", WEIGH, "correction", "139"),
    ("no one thirty nine", CONFIRM, "correction", "139"),
    ("no no one thirty nine", CONFIRM, "correction", "139"),
    ("no i said one forty three", WEIGH, "correction", "143"),
    ("i said one forty three", WEIGH, "correction", "143"),
    ("no it's one forty three grams", WEIGH, "correction", "143 gram"),
    ("sorry one thirty nine", WEIGH, "correction", "139"),
    ("i mean one thirty nine", WEIGH, "correction", "139"),
    ("make that one thirty nine please", WEIGH, "correction", "139"),
    ("correction one forty three", WEIGH, "correction", "143"),
    ("oops one thirty nine", WEIGH, "correction", "139"),
    ("it should be one thirty nine", WEIGH, "correction", "139"),
    ("no one minute thirty", TIME, "correction", "90 second"),
]


@pytest.mark.parametrize(("said", "expected", "kind", "amount"), SPOKEN)
def test_amounts_are_understood(said: str, expected: Expectation, kind: str, amount: str) -> None:
    """Spoken amounts have their exact value, with the unit if one was said."""
    meaning = understand(said, expected)
    assert (meaning.kind, plain(dict(meaning.slots))) == (kind, {"amount": amount})


@pytest.mark.parametrize(
    ("said", "expected", "kind", "slots"),
    [
        ("one point four two", TARGET, "gravity", {"number": "1.42"}),
        ("gravity one point four two", WEIGH, "gravity", {"number": "1.42"}),
        ("specific gravity of one point four two", WEIGH, "gravity", {"number": "1.42"}),
        ("gravity one forty two", WEIGH, "gravity", {"number": "1.42"}),
        ("target one point four two", TARGET, "target", {"number": "1.42"}),
        ("one point four to one point four five", TARGET, "target_range", {"low": "1.4", "high": "1.45"}),
        ("one forty to one forty five", TARGET, "target_range", {"low": "1.4", "high": "1.45"}),
        (
            "target one point four two to one point four five",
            TARGET,
            "target",
            {"low": "1.42", "high": "1.45"},
        ),
        (
            "between one point four and one point four five",
            TARGET,
            "target_range",
            {"low": "1.4", "high": "1.45"},
        ),
        ("not one forty two but one thirty nine", WEIGH, "correction", {"wrong": "142", "amount": "139"}),
        ("not one forty two one thirty nine", WEIGH, "correction", {"wrong": "142", "amount": "139"}),
        ("one thirty nine not one forty two", WEIGH, "correction", {"wrong": "142", "amount": "139"}),
        ("no one thirty nine not one forty two", WEIGH, "correction", {"wrong": "142", "amount": "139"}),
        ("tide green", BUCKETS, "choose_bucket", {"bucket": "Tide Green"}),
        ("the tide green bucket please", BUCKETS, "choose_bucket", {"bucket": "Tide Green"}),
        ("bucket tide", BUCKETS, "choose_bucket", {"bucket": "tide"}),
        ("use number two", BUCKETS, "choose_bucket", {"bucket": "Number Two"}),
        ("seven", BUCKETS, "choose_bucket", {"bucket": "seven"}),
        ("new bucket called sea mist", BUCKETS, "new_bucket", {"name": "sea mist"}),
        ("new bucket", BUCKETS, "new_bucket", {}),
        ("sea mist", NAME, "name_given", {"name": "sea mist"}),
        ("it's called sea mist", NAME, "called", {"name": "sea mist"}),
    ],
)
def test_slots_are_filled(said: str, expected: Expectation, kind: str, slots: dict[str, str]) -> None:
    """Gravities, ranges and names land in the slots of their names."""
    meaning = understand(said, expected)
    assert (meaning.kind, plain(dict(meaning.slots))) == (kind, slots)


PLAIN = {
    "yes": ["yes", "yep", "yeah", "correct", "okay", "go ahead", "yes please"],
    "no": ["no", "nope", "no thank you", "that's wrong"],
    "done": ["done", "all done", "i have", "ready", "finished", "next", "okay done"],
    "unknown": ["i don't know", "not sure", "no idea"],
    "skip": ["skip", "skip it", "not now"],
    "none_added": ["nothing", "i added nothing", "added nothing", "took off nothing", "none"],
    "settle": ["take water off", "take some water off", "let it settle"],
    "add_dry": ["add dry", "add more powder"],
    "tared": ["tared", "i have tared it", "it is tared"],
    "not_tared": ["not tared", "it's not tared", "with the cup"],
    "help": ["help", "help me", "what do i do now"],
    "options": ["options", "what can i say"],
    "repeat": ["repeat", "say that again", "again please", "pardon"],
    "go_back": ["go back", "back"],
    "undo": ["undo", "undo that", "scratch that", "take that back"],
    "cancel": ["cancel", "cancel that"],
    "stop": ["stop", "stop talking", "be quiet"],
    "pause": ["pause", "wait", "hold on", "hang on"],
    "continue_": ["continue", "carry on", "resume"],
    "standby": ["standby", "stand by"],
    "goodbye": ["goodbye", "good bye", "that's all"],
    "where": ["where are we", "where am i"],
    "so_far": ["so far", "what have we got so far", "summary"],
    "slower": ["slower", "slow down please"],
    "faster": ["faster", "speed up"],
    "louder": ["louder", "speak up"],
    "quieter": ["quieter", "turn it down"],
    "terse": ["be brief", "short answers", "terse mode"],
    "beginner": ["beginner mode", "explain more"],
    "calibrate": ["calibrate the cup", "calibrate"],
    "weigh": ["weigh the cup", "check the bucket", "weigh again", "take a reading"],
    "list_buckets": ["list the buckets", "which buckets are there"],
    "start": ["begin", "let's begin", "start a session"],
    "how_much": ["how much", "how much water", "how much water do i add"],
}


@pytest.mark.parametrize(
    ("said", "kind"), [(said, kind) for kind, several in PLAIN.items() for said in several]
)
@pytest.mark.parametrize("expected", [WEIGH, CONFIRM, BUCKETS], ids=["weigh", "confirm", "buckets"])
def test_commands_are_understood_at_every_step(said: str, kind: str, expected: Expectation) -> None:
    """A command is understood whether or not the step takes it, so that the bench can answer "not now"."""
    meaning = understand(said, expected)
    assert (meaning.kind, dict(meaning.slots)) == (kind, {})


@pytest.mark.parametrize(
    ("said", "kind", "amount"),
    [
        ("142", "weight", "142"),
        ("142g", "weight", "142 gram"),
        ("142 g", "weight", "142 gram"),
        ("142.5 grams", "weight", "142.5 gram"),
        ("142.5g.", "weight", "142.5 gram"),
        ("1.42", "weight", "1.42"),
        (".5", "weight", "0.5"),
        ("+5", "weight", "5"),
        ("-5 g", "weight", "-5 gram"),
        ("1,420", "weight", "1420"),
        ("1,420 g", "weight", "1420 gram"),
        ("1.42 kg", "weight", "1.42 kilogram"),
        ("It's 142!", "weight", "142"),
        ("The scale says: 142.", "weight", "142"),
        ("ONE FORTY-TWO", "weight", "142"),
        ("its 142", "weight", "142"),
        ("No, 139!", "correction", "139"),
        ("no, 139", "correction", "139"),
        ("Sorry, 139", "correction", "139"),
        ("I mean 139", "correction", "139"),
        ("I mean 139 g", "correction", "139 gram"),
        ("make that 139", "correction", "139"),
        ("that’s 142", "weight", "142"),
        ("(142)", "weight", "142"),
        ("one, four, two", "weight", "142"),
        ("2½ kg", "weight", "2.5 kilogram"),
    ],
)
def test_typed_amounts_are_understood(said: str, kind: str, amount: str) -> None:
    """Figures, unit signs, capitals and punctuation are taken as they are typed."""
    meaning = understand(said, WEIGH, typed=True)
    assert (meaning.kind, plain(dict(meaning.slots))) == (kind, {"amount": amount})


def test_a_typed_correction_may_name_the_wrong_number() -> None:
    """Not 142, 139 puts 139 in the place of 142."""
    meaning = understand("Not 142, 139", WEIGH, typed=True)
    assert (meaning.kind, plain(dict(meaning.slots))) == ("correction", {"wrong": "142", "amount": "139"})


@pytest.mark.parametrize(
    ("said", "expected", "understood", "stopped_at"),
    [
        ("banana", WEIGH, "", "banana"),
        ("one hundred bananas", WEIGH, "one hundred", "bananas"),
        ("the scale says bananas", WEIGH, "the scale says", "bananas"),
        ("one hundred and", WEIGH, "one hundred and", ""),
        ("one point", WEIGH, "one point", ""),
        ("one oh", WEIGH, "one oh", ""),
        ("target", TARGET, "target", ""),
        ("between one point four and", TARGET, "between one point four and", ""),
        ("forty twelve", WEIGH, "forty", "twelve"),
        ("sixty fifteen", WEIGH, "sixty", "fifteen"),
        ("hundred and five", WEIGH, "", "hundred"),
        ("one forty two one forty two", WEIGH, "one forty two", "one"),
        ("target one point four two one point four five", TARGET, "target one point four two one", "point"),
        ("1,42", WEIGH, "", "1,42"),
        ("14..2", WEIGH, "", "14..2"),
        ("142 grams 139 grams", WEIGH, "142 grams", "139"),
        ("one forty two grams one thirty nine", WEIGH, "one forty two grams", "one"),
        ("yes no", CONFIRM, "yes", "no"),
        ("help one forty two", WEIGH, "help", "one"),
        ("purple haze", BUCKETS, "", "purple"),
        ("-", WEIGH, "", "-"),
    ],
)
def test_what_fits_nothing_is_unclear(
    said: str, expected: Expectation, understood: str, stopped_at: str
) -> None:
    """A sentence that fits nothing tells how far it could be followed; it is never guessed."""
    meaning = understand(said, expected)
    assert meaning.kind == UNCLEAR
    assert (meaning.slots["understood"], meaning.slots["stopped_at"]) == (understood, stopped_at)
    assert bool(meaning.slots["figures"]) == bool(re.search("one|forty|sixty|five|[0-9]", said))


@pytest.mark.parametrize("said", ["", " ", "...", "?!"])
def test_nothing_said_is_silence(said: str) -> None:
    """Silence, or nothing but punctuation, is silence."""
    assert understand(said, WEIGH).kind == SILENCE


@pytest.mark.parametrize(
    ("said", "understood"),
    [
        ("one [unk] two", "one"),
        ("[unk] one forty two", ""),
        ("one forty two [unk]", "one forty two"),
        ("[unk]", ""),
        ("stop [unk]", "stop"),
        ("no [unk] one thirty nine", "no"),
    ],
)
def test_noise_makes_a_sentence_unclear(said: str, understood: str) -> None:
    """Nothing is done on words with sound between, before or after them that is no word."""
    meaning = understand(said, WEIGH)
    assert (meaning.kind, meaning.slots["understood"]) == (UNCLEAR, understood)
    assert meaning.slots["stopped_at"] == UNKNOWN_WORD


def test_a_typed_sign_for_noise_around_a_command_is_of_no_account() -> None:
    """Whoever types has made no noise; inside a number it is unclear all the same."""
    assert understand("[unk] one forty two [unk]", WEIGH, typed=True).kind == "weight"
    assert understand("one [unk] two", WEIGH, typed=True).kind == UNCLEAR


@pytest.mark.parametrize(
    ("said", "expected", "kind", "first", "second"),
    [
        ("fifteen fifteen", WEIGH, "weight", "one thousand five hundred and fifteen", "fifteen"),
        ("no fifteen fifteen", WEIGH, "correction", "one thousand five hundred and fifteen", "fifteen"),
        (
            "two kilos fifty",
            WEIGH,
            "weight",
            "two thousand and fifty grams",
            "two thousand five hundred grams",
        ),
        ("one thirty seconds", TIME, "duration", "one hundred and thirty seconds", "ninety seconds"),
        ("no two mils", WEIGH, "correction", "two millilitres", "two millimetres"),
    ],
)
def test_a_number_with_two_readings_never_passes(
    said: str, expected: Expectation, kind: str, first: str, second: str
) -> None:
    """Both readings are told, in words; none is chosen."""
    meaning = understand(said, expected)
    assert meaning.kind == "ambiguous"
    assert meaning.slots["wanted"] == kind
    assert {meaning.slots["first"], meaning.slots["second"]} == {first, second}


def test_a_new_name_swallows_no_command() -> None:
    """Where any words could be a name, what may be said at every step still means what it says."""
    for said in ("help", "cancel", "go back", "stop", "where are we"):
        assert understand(said, NAME).kind != "name_given"
    assert understand("mystery word", WEIGH).kind == UNCLEAR


@pytest.mark.parametrize("kind", ["new_recipe", "new_bucket", "name_given", "called", "new_material"])
@pytest.mark.parametrize(
    "name",
    ["done", "yes", "ready", "finish", "new bucket", "five", "one forty two grams", "cancel that", "exactly"],
)
def test_what_is_said_to_the_bench_is_no_name(kind: str, name: str) -> None:
    """An answer, a command or a number names nothing, whatever is to be named; which, is told."""
    before = {"new_recipe": "new recipe called", "new_bucket": "new bucket called", "name_given": "call it"}
    said = f"{before.get(kind, 'new material called' if kind == 'new_material' else 'called')} {name}"
    meaning = understand(said, Expectation((kind,)), typed=True)
    assert (meaning.kind, meaning.slots) == ("no_name", {"name": name, "wanted": kind})


@pytest.mark.parametrize(
    "name", ["tenmoku", "cream", "jelly", "dry creek", "one more blue", "glaze five", "settler"]
)
def test_any_other_words_are_a_name(name: str) -> None:
    """A name may hold words of commands, and be a word by which the flow is told."""
    meaning = understand(f"new recipe called {name}", Expectation(("new_recipe",)), typed=True)
    assert (meaning.kind, meaning.slots) == ("new_recipe", {"name": name})


def test_a_timer_may_be_called_anything() -> None:
    """A timer for the settling is called settle, though that is also an answer."""
    meaning = understand("set a timer called settle for ten minutes", WEIGH, typed=True)
    assert (meaning.kind, meaning.slots["name"]) == ("timer_start", "settle")


def test_the_step_decides_before_anything_else() -> None:
    """The kinds that are expected come first, in their order."""
    assert understand("ten", Expectation(("volume", "weight"))).kind == "volume"
    assert understand("ten", Expectation(("weight", "volume"))).kind == "weight"
    assert understand("that's one forty two", WEIGH).kind == "weight"
    assert understand("that's one forty two", CONFIRM).kind == "correction"


def test_the_words_travel_with_the_meaning() -> None:
    """What was heard, with its confidence, is part of the meaning."""
    words = Words("one forty two", confidence=0.8, alternatives=("one forty",))
    assert phrases.understand(words, WEIGH).words is words


@given(st.text(max_size=60))
def test_any_text_at_all_has_a_meaning(text: str) -> None:
    """Whatever is typed, there is an answer and no exception."""
    meaning = understand(text, WEIGH, typed=True)
    assert meaning.kind
    assert (meaning.kind == SILENCE) == (not words_of(text))


VOCABULARY = sorted(phrases.vocabulary() | {UNKNOWN_WORD, "banana", "142", "1,42"})


@given(st.lists(st.sampled_from(VOCABULARY), min_size=1, max_size=8).map(" ".join))
def test_any_words_of_the_bench_have_a_meaning(text: str) -> None:
    """However the words fall, none is acted on with noise in it, and what is unclear says where."""
    meaning = understand(text, WEIGH)
    if UNKNOWN_WORD in text:
        assert meaning.kind == UNCLEAR
    if meaning.kind == UNCLEAR:
        left = f"{meaning.slots['understood']} {meaning.slots['stopped_at']}".split()
        assert left == list(words_of(text)[: len(left)])
