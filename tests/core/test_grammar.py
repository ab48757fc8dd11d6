"""Phrase files: what they are read into, and how their mistakes are told.

The forms are those of W3C SRGS 1.0, ABNF form (appendix D; from memory).
"""

import pytest

from benchvoice.meaning.abnf import parse
from benchvoice.meaning.grammar import (
    Choice,
    GrammarMistake,
    Node,
    Reference,
    Repeat,
    Sequence,
    Tag,
    Word,
    join,
)

HEADER = "#ABNF 1.0 UTF-8;\n"


def tree(text: str) -> Node:
    """Return the tree of a rule with this text."""
    return parse(f"{HEADER}$a = {text};", "a.gram").rules["a"].tree


A, B, C = Word("a"), Word("b"), Word("c")


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("a", A),
        ("a b", Sequence((A, B))),
        ("a | b c", Choice((A, Sequence((B, C))))),
        ("(a | b) c", Sequence((Choice((A, B)), C))),
        ("[a] b", Sequence((Repeat(A, 0, 1), B))),
        ("[a | b]", Repeat(Choice((A, B)), 0, 1)),
        ("a <2>", Repeat(A, 2, 2)),
        ("a <0-3>", Repeat(A, 0, 3)),
        ("(a b)<1-2> c", Sequence((Repeat(Sequence((A, B)), 1, 2), C))),
        ("$b c", Sequence((Reference("b"), C))),
        (
            "a {first} | b {the second}",
            Choice((Sequence((A, Tag("first"))), Sequence((B, Tag("the second"))))),
        ),
        ('"a b" c', Sequence((Sequence((A, B)), C))),
        ("A", A),
        ("don't", Word("don't")),
        ("a // b\n c", Sequence((A, C))),
        ("a /* b\n b */ c", Sequence((A, C))),
        ("((a))", A),
    ],
)
def test_a_rule_is_read_into_its_tree(text: str, meant: Node) -> None:
    """Every form of the subset becomes the tree that it stands for."""
    assert tree(text) == meant


@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ("$a = a;", 1, "first line"),
        (HEADER + "$a = a", 2, "';' is wanted here, not 'the end of the file'"),
        (HEADER + "\n\n$a = (a | b;", 4, "')' is wanted here, not ';'"),
        (HEADER + "$a = [a | b;", 2, "']' is wanted here, not ';'"),
        (HEADER + "$a = ;", 2, "words are wanted here, not ';'"),
        (HEADER + "$a = a | ;", 2, "words are wanted here, not ';'"),
        (HEADER + "$a = b;\n$a = c;", 3, "$a was already given in line 2"),
        (HEADER + "a = b;", 2, "a rule, meta or language is wanted here, not 'a'"),
        (HEADER + "public a = b;", 2, "the name of a rule is wanted here, not 'a'"),
        (HEADER + "$a = b <1->;", 2, "<1-> has no end"),
        (HEADER + "$a = b <3-2>;", 2, "<3-2> can never be said"),
        (HEADER + "$a = b <0>;", 2, "<0> can never be said"),
        (HEADER + "$a = b ? c;", 2, "'?' means nothing here"),
        (HEADER + "$a = {open b;", 2, "'{' means nothing here"),
        (HEADER + "meta always is help;", 2, "a text in quotes is wanted here, not 'always'"),
        (HEADER + "$a = $b;", 2, "$a needs $b, which is nowhere"),
        (HEADER + "$a = b $c;\n$c = d [$a];", 2, "$a contains itself"),
        (HEADER + 'meta "always" is "help";', 1, "help is no public rule"),
    ],
)
def test_a_mistake_is_told_with_file_line_and_reason(text: str, line: int, reason: str) -> None:
    """A mistake names its file and line and says what is wrong."""
    with pytest.raises(GrammarMistake) as caught:
        join([parse(text, "spoilt.gram")])
    assert str(caught.value).startswith(
        f"{'meta always' if 'no public' in reason else 'spoilt.gram'}, line {line}"
    )
    assert reason in str(caught.value)


def test_the_same_rule_in_two_files_is_refused() -> None:
    """Rules of all files share their names."""
    with pytest.raises(GrammarMistake, match=r"b\.gram, line 3: \$help is also in a\.gram"):
        join([parse(HEADER + "public $help = help;", "a.gram"), parse(HEADER + "\n$help = aid;", "b.gram")])


def test_files_refer_to_each_other_and_lists_add_up() -> None:
    """A rule may use one of another file; a list declared in several files is one list."""
    first = parse(HEADER + 'language en-GB;\nmeta "always" is "a";\npublic $a = $b;', "a.gram")
    second = parse(HEADER + 'meta "always" is "c";\nprivate $b = x;\npublic $c = y;', "b.gram")
    joined = join([first, second])
    assert joined.listed("always") == ("a", "c")
    assert joined.kinds() == ("a", "c")
    assert joined.listed("nothing of the kind") == ()


def test_politeness_stands_around_every_sentence() -> None:
    """The words of $before and $after may stand around each kind."""
    grammar = parse(HEADER + "public $a = a; $before = um; $after = please;", "a.gram")
    um, please = Repeat(Reference("before"), 0, 2), Repeat(Reference("after"), 0, 1)
    assert grammar.sentence("a") == Sequence((Sequence((um, Reference("a"))), please))


def test_rules_that_are_only_understood_are_not_heard() -> None:
    """What begins with also_ has nothing that the recogniser waits for."""
    grammar = parse(HEADER + "$also_to = two; $to = to;", "a.gram")
    assert grammar.heard("also_to") == Choice(())
    assert grammar.heard("to") == Word("to")
