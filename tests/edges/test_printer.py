"""Printed lines, exactly as they come out."""

import io
import subprocess
import sys
from pathlib import Path

import pytest

from benchvoice.messages import Sentence, SetVoice
from benchvoice.voice.printer import Printer
from benchvoice.voice.together import Together


def printed(*sentences: Sentence) -> str:
    """Return what a printer writes for these."""
    stream = io.StringIO()
    printer = Printer(stream)
    for sentence in sentences:
        printer.say(sentence)
    return stream.getvalue()


def test_a_reply_is_one_line() -> None:
    """The printed form, not the spoken one."""
    assert printed(Sentence("one four two grams", "142 g")) == "bench: 142 g\n"


def test_what_was_heard_is_one_line() -> None:
    """Words as they were heard."""
    stream = io.StringIO()
    Printer(stream).heard("one forty two")
    assert stream.getvalue() == "heard: one forty two\n"


def test_several_lines_each_say_who() -> None:
    """A screen reader that comes in late still knows who speaks; empty lines are left out."""
    assert printed(Sentence("", "Cup 1\n\nCup 2")) == "bench: Cup 1\nbench: Cup 2\n"


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("listening", "tone: listening\n"),
        ("heard", ""),
        ("not understood", "tone: not understood\n"),
        ("timer due", "tone: timer due\n"),
        ("microphone lost", "tone: microphone lost\n"),
    ],
)
def test_a_tone_has_a_printed_word(name: str, line: str) -> None:
    """Never a sound alone; but for "heard", whose line is what was heard."""
    stream = io.StringIO()
    Printer(stream).tone(name)
    assert stream.getvalue() == line


def test_tones_can_be_left_out() -> None:
    """Who types needs no word for listening."""
    stream = io.StringIO()
    Printer(stream, printed_tones=("timer due",)).tone("listening")
    assert stream.getvalue() == ""


def test_an_unknown_tone_is_a_defect() -> None:
    """As for every speaker."""
    with pytest.raises(KeyError):
        Printer(io.StringIO()).tone("birdsong")


@pytest.mark.parametrize("sign", ["\x1b[31m", "\a", "\r", "\b", "\x9b2J", "\u202e"])
def test_nothing_acts_on_the_terminal(sign: str) -> None:
    """Signs that move the cursor, colour or turn the text round do not come out."""
    line = printed(Sentence("", f"tide{sign}green"))
    assert line.startswith("bench: tide")
    assert line.removesuffix("\n").isprintable()


def test_every_line_is_out_at_once(tmp_path: Path) -> None:
    """Through a pipe, before the program ends: the line is there although the process was killed."""
    script = tmp_path / "line.py"
    script.write_text(
        "import os\n"
        "from benchvoice.messages import Sentence\n"
        "from benchvoice.voice.printer import Printer\n"
        "Printer().say(Sentence('', '142 g'))\n"
        "os.kill(os.getpid(), 9)\n"
    )
    done = subprocess.run(
        [sys.executable, str(script)],
        env={"PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True,
        timeout=30,
        check=False,
    )
    assert done.stdout == b"bench: 142 g\n"


def test_a_terminal_that_cannot_show_a_sign() -> None:
    """A question mark, not an error."""
    raw = io.BytesIO()
    printer = Printer(io.TextIOWrapper(raw, encoding="ascii", errors="strict"))
    printer.say(Sentence("", "10 × 2"))
    assert raw.getvalue() == b"bench: 10 ? 2\n"


def test_change_and_close_leave_the_stream_open() -> None:
    """Print has no rate; the stream belongs to whoever opened it."""
    stream = io.StringIO()
    printer = Printer(stream)
    printer.change(SetVoice(rate=300, muted=True))
    printer.close()
    printer.say(Sentence("", "142 g"))
    assert stream.getvalue() == "bench: 142 g\n"


def test_together_says_the_same_in_order() -> None:
    """Two printers on one stream: the first first."""
    stream = io.StringIO()
    both = Together(Printer(stream), Printer(stream, printed_tones=()))
    both.say(Sentence("", "142 g"))
    both.heard("yes")
    both.tone("timer due")
    both.change(SetVoice(volume=0.5))
    both.close()
    assert stream.getvalue() == "bench: 142 g\nbench: 142 g\nheard: yes\nheard: yes\ntone: timer due\n"
