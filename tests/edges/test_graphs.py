"""Graphs as vosk reads them, the folder they are kept in, and pronunciations.

A small reader of OpenFst's binary form (its layout from OpenFst's ``fst.h`` and
``vector-fst.h``, from memory; that vosk loads the same bytes is the outside check, in
``test_recogniser``) walks the graph and lists what it accepts.
"""

from __future__ import annotations

import multiprocessing
import os
import shutil
import struct
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchvoice.ears.graphs import Graph, Tuning, build_graph, filler_graph, place
from benchvoice.ears.lexicon import Lexicon, phones_from_ipa, read_lexicon, spell
from benchvoice.ears.model_folder import CHECKOUT, OURS, check_model
from benchvoice.ears.workshop import KEEP_SECONDS, Workshop
from benchvoice.errors import ModelError
from benchvoice.messages import UNKNOWN_WORD, WordNetwork
from tests.edges.nets import network_of

BENCH = CHECKOUT / OURS
PHONES = ("SIL", *(f"{phone}_{place}" for phone in ("A", "B", "C") for place in "BEIS"))
TRANSITIONS = {name: (2 * number + 1, 2 * number + 2) for number, name in enumerate(PHONES)}
ENTERING = {enter: name for name, (_, enter) in TRANSITIONS.items()}
SPELLINGS = {
    "ab": (("A", "B"),),
    "abc": (("A", "B", "C"),),
    "c": (("C",), ("C", "B")),
    "cab": (("C", "A", "B"),),
}

Arc = tuple[int, int, float, int]


def _parse(data: bytes) -> tuple[int, dict[int, float], list[list[Arc]]]:
    """Return start, final costs and arcs (in, out, cost, to) of each state."""
    (magic,) = struct.unpack_from("<i", data)
    assert magic == 2125659606
    at, names = 4, []
    for _ in range(2):
        (length,) = struct.unpack_from("<i", data, at)
        names.append(data[at + 4 : at + 4 + length].decode())
        at += 4 + length
    assert names == ["vector", "standard"]
    _version, _flags, _properties, start, states, arcs = struct.unpack_from("<iiQqqq", data, at)
    at += 40
    finals, leaving = {}, []
    for state in range(states):
        cost, count = struct.unpack_from("<fq", data, at)
        at += 12
        if cost != float("inf"):
            finals[state] = cost
        leaving.append([struct.unpack_from("<iifi", data, at + 16 * i) for i in range(count)])
        at += 16 * count
    assert at == len(data)
    assert sum(map(len, leaving)) == arcs
    return start, finals, leaving


def _accepted(graph: Graph, longest: int) -> set[tuple[tuple[str, ...], str]]:
    """Return (phones, words) of every way through a graph, silence and filler left out."""
    start, finals, leaving = _parse(graph.fst)
    found, waiting = set(), [(start, (), ())]
    while waiting:
        state, phones, words = waiting.pop()
        if state in finals:
            found.add((phones, " ".join(words)))
        for label, word, _, end in leaving[state]:
            name = ENTERING.get(label, "")
            skip = end == state or name == "SIL" or (word and graph.words[word - 1] == UNKNOWN_WORD)
            if skip or len(words) > longest:
                continue
            more = (graph.words[word - 1],) if word else ()
            waiting.append((end, (*phones, name) if name else phones, (*words, *more)))
    return found


def _graph(network: WordNetwork) -> Graph:
    return build_graph(network, SPELLINGS, TRANSITIONS)


def test_accepts_the_network_and_nothing_else() -> None:
    """Every sentence of the network is in the graph, spelled right, and no other."""
    found = _accepted(_graph(network_of("ab", "ab c", "cab abc")), longest=4)

    assert found == {
        ((), ""),
        (("A_B", "B_E"), "ab"),
        (("A_B", "B_E", "C_S"), "ab c"),
        (("A_B", "B_E", "C_B", "B_E"), "ab c"),
        (("C_B", "A_I", "B_E", "A_B", "B_I", "C_E"), "cab abc"),
    }


@given(st.lists(st.lists(st.sampled_from(sorted(SPELLINGS)), min_size=1, max_size=4), min_size=1, max_size=6))
def test_sharing_endings_changes_nothing(phrases: list[list[str]]) -> None:
    """Whatever the phrases, the graph's sentences are the phrases."""
    sentences = {" ".join(words) for words in phrases}

    found = {words for _, words in _accepted(_graph(network_of(*sentences)), longest=5)}

    assert found - {""} == sentences


def test_words_are_dearer_where_there_is_more_choice() -> None:
    """The cost of a word grows with the number of words it was chosen from."""
    tuning = Tuning(word=0.0, choice=1.0)
    few, many = (
        build_graph(network_of(*words), SPELLINGS, TRANSITIONS, tuning)
        for words in (("ab",), ("ab", "abc", "cab"))
    )

    assert _dearest(few) == pytest.approx(0.0)
    assert _dearest(many) == pytest.approx(1.0986, abs=1e-4)  # ln 3


def _dearest(graph: Graph) -> float:
    _, _, leaving = _parse(graph.fst)
    known = len(graph.words)  # the last one is the filler
    return max(cost for arcs in leaving for _, word, cost, _ in arcs if 0 < word < known)


def test_staying_in_a_phone_is_free() -> None:
    """Each phone can be held: a loop with its own transition and no cost."""
    _, _, leaving = _parse(_graph(network_of("ab")).fst)
    loops = {
        (label, cost) for state, arcs in enumerate(leaving) for label, _, cost, end in arcs if end == state
    }
    staying = {(stay, 0.0) for stay, _ in TRANSITIONS.values()}

    assert {(TRANSITIONS[name][0], 0.0) for name in ("SIL", "A_B", "B_E")} <= loops <= staying


def test_no_loop_without_sound() -> None:
    """No way leads from a state back to it without a phone: the decoder would never come out."""
    _, _, leaving = _parse(_graph(network_of("ab c", "cab", "abc")).fst)
    silent = [[end for label, _, _, end in arcs if label == 0] for arcs in leaving]
    state_of = [0] * len(silent)

    def visit(state: int) -> None:
        assert state_of[state] != 1, "a loop without sound"
        if state_of[state] == 0:
            state_of[state] = 1
            for end in silent[state]:
                visit(end)
            state_of[state] = 2

    for state in range(len(silent)):
        visit(state)


def test_filler_alone() -> None:
    """The graph of filler alone writes only the word for it."""
    graph = filler_graph(TRANSITIONS)

    assert graph.words == (UNKNOWN_WORD,)


def test_symbols() -> None:
    """``words.txt`` numbers the words from 1, nothing being 0."""
    assert _graph(network_of("ab c")).symbols().splitlines()[:4] == ["<eps> 0", "ab 1", "c 2", "[unk] 3"]


@pytest.mark.parametrize(
    ("phones", "placed"),
    [
        (("A",), ("A_S",)),
        (("A", "B"), ("A_B", "B_E")),
        (("A", "B", "C", "A"), ("A_B", "B_I", "C_I", "A_E")),
    ],
)
def test_place(phones: tuple[str, ...], placed: tuple[str, ...]) -> None:
    """Each phone is marked with its place in the word."""
    assert place(phones) == placed


# ---- the folder of made graphs ----------------------------------------------------------


def _workshop(cache: Path) -> Workshop:
    return Workshop(check_model(BENCH), cache)


def test_made_once(tmp_path: Path) -> None:
    """The same network has the same folder, made once; another has another."""
    workshop = _workshop(tmp_path)
    first = workshop.folder(network_of("yes", "no"))
    age = (first / "graph" / "HCLG.fst").stat().st_mtime_ns

    assert _workshop(tmp_path).folder(network_of("yes", "no")) == first
    assert (first / "graph" / "HCLG.fst").stat().st_mtime_ns == age
    assert workshop.folder(network_of("yes")) != first
    assert workshop.folder(None) != first


def test_tuning_makes_another(tmp_path: Path) -> None:
    """Other prices make another graph."""
    network = network_of("yes")
    cheaper = Workshop(check_model(BENCH), tmp_path, Tuning(filler=0.0))

    assert cheaper.folder(network) != _workshop(tmp_path).folder(network)


def test_changed_model_makes_another(tmp_path: Path) -> None:
    """A graph of a model that was replaced is not used any more."""
    model = shutil.copytree(BENCH, tmp_path / "model")
    before = Workshop(check_model(model), tmp_path / "cache").folder(network_of("yes"))
    os.utime(model / "am" / "final.mdl", (1, 1))

    assert Workshop(check_model(model), tmp_path / "cache").folder(network_of("yes")) != before


def _make(cache: str, _: int) -> str:
    return str(_workshop(Path(cache)).folder(network_of("yes", "no", "one forty two")))


def test_two_programs_at_once(tmp_path: Path) -> None:
    """Several programs that make the same graph at once all get it, whole, and leave no drafts."""
    with multiprocessing.get_context("spawn").Pool(3) as pool:
        folders = set(pool.starmap(_make, [(str(tmp_path), number) for number in range(6)]))

    assert len(folders) == 1
    assert [folder.name for folder in tmp_path.iterdir()] == [Path(folders.pop()).name]


def test_cache_cannot_be_written(tmp_path: Path) -> None:
    """A cache folder that cannot be made is said to be so."""
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(ModelError, match="cannot be written"):
        _workshop(tmp_path / "file" / "cache").folder(network_of("yes"))


def test_old_graphs_are_forgotten(tmp_path: Path) -> None:
    """What was not used for a month goes; what was stays."""
    workshop = _workshop(tmp_path)
    old, new = workshop.folder(network_of("yes")), workshop.folder(network_of("no"))
    long_ago = time.time() - KEEP_SECONDS - 60
    os.utime(old, (long_ago, long_ago))

    workshop.forget_old()

    assert not old.exists()
    assert new.exists()
    assert (BENCH / "am" / "final.mdl").exists()


# ---- pronunciations ------------------------------------------------------------------------


def _lexicon() -> Lexicon:
    return _workshop(Path("unused")).lexicon


def test_listed_word() -> None:
    """A word of the list has the list's pronunciation (Carnegie Mellon pronouncing dictionary)."""
    assert _lexicon().pronounce(["two"]) == {"two": (("T", "UW"),)}


@pytest.mark.parametrize(
    ("word", "phones"),
    [
        # The sounds as an English dictionary gives them; from memory.
        ("blorple", "B L AO R P AH L"),
        ("zindle", "Z IH N D AH L"),
        ("quibbleshaw", "K W IH B AH L SH AO"),
    ],
)
def test_invented_word(word: str, phones: str) -> None:
    """A word that is in no list is sounded out by espeak-ng."""
    assert tuple(phones.split()) in _lexicon().pronounce([word])[word]


@pytest.mark.parametrize("word", ["!!!", "…"])
def test_unpronounceable(word: str) -> None:
    """What has no sound is refused, with what to do about it."""
    with pytest.raises(ModelError, match="sounded out") as caught:
        _lexicon().pronounce([word])

    assert "type it" in caught.value.next_step


@pytest.mark.slow
def test_sounding_out_agrees_with_the_list() -> None:
    """Most words of the list come out of espeak-ng as the list has them, give or take one phone."""
    lexicon = _lexicon()
    words = [word for word in list(lexicon.listed)[::37] if word.isalpha() and len(word) > 2]
    close = 0
    for word, sounds in zip(words, spell(words), strict=True):
        listed = lexicon.pronounce([word])[word]
        close += any(_distance(phones_from_ipa(one), way) <= 1 for one in sounds for way in listed)

    print(f"sounded out within one phone of the list: {close} of {len(words)}")
    assert close > 0.8 * len(words)


def _distance(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    row = list(range(len(other) + 1))
    for i, left in enumerate(one, 1):
        row, above = [i], row
        for j, right in enumerate(other, 1):
            row.append(min(row[-1] + 1, above[j] + 1, above[j - 1] + (left != right)))
    return row[-1]


def test_every_sounded_phone_is_the_models() -> None:
    """Whatever espeak-ng says, only phones that the model knows come out."""
    lexicon = _lexicon()
    ways = lexicon.pronounce(["łódź", "tenmoku", "chün", "naïve"])

    assert all(lexicon.phones.issuperset(way) for spoken in ways.values() for way in spoken)


def test_damaged_list(tmp_path: Path) -> None:
    """A list with a phone that the model does not know is refused when that word is needed."""
    (tmp_path / "lexicon.txt").write_text("yes Y EH Q\n")
    lexicon = read_lexicon(tmp_path / "lexicon.txt", frozenset({"Y", "EH", "S"}))

    with pytest.raises(ModelError, match="yes"):
        lexicon.pronounce(["yes"])
