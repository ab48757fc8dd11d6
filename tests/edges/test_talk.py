"""The live loop's parts that need no sound: keys at a terminal, the large display, a record."""

from __future__ import annotations

import base64
import io
import json
import os
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image  # comes with matplotlib

from benchvoice import talking
from benchvoice.ears.microphone import MicrophoneError
from benchvoice.errors import BenchvoiceError, RecordingError
from benchvoice.journal import Journal
from benchvoice.live.ears import LiveEars, Manners
from benchvoice.live.keys import Keys
from benchvoice.live.page import Page
from benchvoice.live.record import Keeper, kept_turns
from benchvoice.messages import Closed, Sentence, WordNetwork, Words
from tests.edges.browser import Browser, needs_browser, opened

ROOT = Path(__file__).resolve().parents[2]
NOTHING = WordNetwork((), frozenset())
NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


# ---- keys -------------------------------------------------------------------------------


class Terminal:
    """Both ends of a terminal."""

    def __init__(self) -> None:
        self.ours, theirs = os.openpty()
        self.stream = os.fdopen(theirs, "r", encoding="utf-8")

    def strike(self, keys: str) -> None:
        """Strike keys, as fast as one after the other can be read."""
        os.write(self.ours, keys.encode())

    def close(self) -> None:
        """Close both ends."""
        self.stream.close()
        os.close(self.ours)


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    """Open a terminal."""
    pytest.importorskip("termios", reason="a terminal of POSIX is needed")
    with closing(Terminal()) as opened:
        yield opened


@pytest.mark.parametrize(
    ("struck", "line"),
    [
        ("one forty two\r", "one forty two"),
        ("one fourty\x7f\x7f\x7f\x7frty two\n", "one forty two"),
        ("wrong\x15right\n", "right"),
        ("größer\n", "größer"),
        ("\x7f\x7fa\n", "a"),
        ("\n", ""),
    ],
)
def test_a_line_is_put_together_from_keys(terminal: Terminal, struck: str, line: str) -> None:
    """Letters, the erase key and the end of the line do what a terminal does with them."""
    with Keys(terminal.stream, io.StringIO()) as keys:
        terminal.strike(struck)
        assert keys.line(2.0) == line


def test_every_key_is_noticed(terminal: Terminal) -> None:
    """A single key is seen before any line is finished; so is one that has no letter."""
    noticed = threading.Event()
    with Keys(terminal.stream, io.StringIO()) as keys:
        keys.struck = noticed.set
        for key in (" ", "b", "\x1b[24~"):
            noticed.clear()
            terminal.strike(key)
            assert noticed.wait(2.0)
            assert keys.pressed()
        assert not keys.pressed()
        assert keys.line() is None


def test_what_is_typed_is_shown(terminal: Terminal) -> None:
    """A terminal that hands over single keys does not show them; we do."""
    shown = io.StringIO()
    with Keys(terminal.stream, shown) as keys:
        terminal.strike("onw\x7fe\n")
        keys.line(2.0)
    assert shown.getvalue() == "onw\b \be\n"


def test_the_terminal_is_left_as_it_was(terminal: Terminal) -> None:
    """Afterwards the terminal shows what is typed again, and hands over lines."""
    termios = pytest.importorskip("termios")
    before = termios.tcgetattr(terminal.stream.fileno())
    with Keys(terminal.stream, io.StringIO()):
        assert termios.tcgetattr(terminal.stream.fileno()) != before
    assert termios.tcgetattr(terminal.stream.fileno()) == before


def test_the_end_of_the_text(terminal: Terminal) -> None:
    """The terminal's key for the end ends it; on a line with letters it does not."""
    with Keys(terminal.stream, io.StringIO()) as keys:
        terminal.strike("a\x04b\n\x04")
        assert keys.line(2.0) == "ab"
        assert keys.line(2.0) is None
        assert keys.over


def test_lines_from_a_pipe() -> None:
    """What is no terminal gives its lines, then its end."""
    with Keys(io.StringIO("one\ntwo")) as keys:
        assert [keys.line(2.0), keys.line(2.0), keys.line(2.0)] == ["one", "two", None]
        assert keys.over


# ---- ears without a microphone ------------------------------------------------------------


class Told:
    """A bell that writes down what it is told."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.stands_by = False

    def begin(self) -> None:
        """Begin."""

    def end(self) -> None:
        """End."""

    def let_go(self) -> None:
        """Let go."""
        self.said.append("let go")

    def tell(self, text: str) -> None:
        """Write down a sentence."""
        self.said.append(text)

    def sound(self, tone: str) -> None:
        """Write down a tone."""
        self.said.append(f"tone: {tone}")

    def typing_only(self, only: bool) -> None:
        """Write down the state."""
        self.said.append("typing only" if only else "listening")


def _no_microphone() -> None:
    raise MicrophoneError("No microphone was found.", "Plug one in, or carry on typing.")


def test_without_a_microphone_it_is_typed() -> None:
    """That there is no microphone is told once; lines are heard, and their end ends it."""
    bell = Told()
    with Keys(io.StringIO("One  Forty two\n\nyes\n")) as keys:
        ears = LiveEars(_no_microphone, keys, bell)  # type: ignore[arg-type]
        heard = [ears.hear(NOTHING, 5.0) for _ in range(3)]
    assert heard == [Words("one forty two", typed=True), Words("yes", typed=True), Closed()]
    assert bell.said == [
        "typing only",
        "tone: microphone lost",
        "No microphone was found. Plug one in, or carry on typing.",
    ]


def test_waits_no_longer_than_it_is_told() -> None:
    """With nothing typed it comes back in time, so that a timer can ring."""
    reading, writing = os.pipe()
    with os.fdopen(reading) as stream, Keys(stream) as keys:
        ears = LiveEars(_no_microphone, keys, Told(), Manners())  # type: ignore[arg-type]
        assert ears.hear(NOTHING, 0.3) is None
        os.close(writing)


def test_left_alone_it_stands_by() -> None:
    """A bench that is to be called stands by when nobody speaks, once."""
    bell = Told()
    reading, writing = os.pipe()
    with os.fdopen(reading) as stream, Keys(stream) as keys:
        ears = LiveEars(_no_microphone, keys, bell, Manners(left_alone=0.2))  # type: ignore[arg-type]
        assert ears.hear(NOTHING, 2.0) == Words("standby", typed=True)
        bell.stands_by = True
        assert ears.hear(NOTHING, 0.5) is None
        os.close(writing)


# ---- the large display -----------------------------------------------------------------


@pytest.fixture
def page() -> Iterator[Page]:
    """Serve a page."""
    with closing(Page()) as served:
        yield served


def _fetched(page: Page, path: str = "", host: str | None = None) -> str:
    request = urllib.request.Request(page.address + path, headers={"Host": host} if host else {})
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with opener.open(request, timeout=5) as answer:
        return str(answer.read().decode())


def test_shows_the_newest_number(page: Page) -> None:
    """The number stays until there is another; the sentences are those of the last answer."""
    page.state("listening")
    page.tone("heard")
    page.say(Sentence("", "152. The gravity is 1.52.", big="1.52"))
    page.say(Sentence("", "That is above your 1.40 to 1.45."))
    first = json.loads(_fetched(page, "now"))
    page.tone("heard")
    page.say(Sentence("", "One step back."))
    second = json.loads(_fetched(page, "now"))
    assert first == {
        "state": "LISTENING",
        "big": "1.52",
        "said": "152. The gravity is 1.52. That is above your 1.40 to 1.45.",
    }
    assert second == {"state": "LISTENING", "big": "1.52", "said": "One step back."}


def test_serves_this_machine_only(page: Page) -> None:
    """It is bound to the loopback address, and refuses to answer under any other name."""
    assert page.address.startswith("http://127.0.0.1:")
    for path, host in (("etc/passwd", None), ("now", "evil.example:80"), ("", "evil.example")):
        with pytest.raises(urllib.error.HTTPError, match="404") as refused:
            _fetched(page, path, host)
        refused.value.close()


def test_names_are_text_and_nothing_else(page: Page) -> None:
    """A bucket's name cannot become part of the page's code."""
    page.say(Sentence("", "New bucket, <script>x</script>.", big="<b>1</b>"))
    shown = _fetched(page)
    assert "<script>x" not in shown
    assert "&lt;b&gt;1" in shown


LAPTOP = {"width": 1280, "height": 720, "deviceScaleFactor": 1, "mobile": False}


@needs_browser
@pytest.mark.parametrize("big", ["1.52", "1,400 g", "15 minutes 30 seconds"])
def test_is_read_from_three_metres(page: Page, big: str) -> None:
    """In a browser the number fills the window in bright letters on black, and changes by itself."""
    with opened() as browser:
        browser.visit(page.address)
        browser.ask_devtools("Emulation.setDeviceMetricsOverride", **LAPTOP)
        page.state("listening")
        page.say(Sentence("", "It needs about 2,100 g of water. Add it, stir, and we weigh again.", big=big))
        _until_shown(browser, big)
        picture = _picture(browser)
        cut_off = browser.run(
            "return document.documentElement.scrollHeight > innerHeight ||"
            " document.documentElement.scrollWidth > innerWidth"
        )
        keep = os.environ.get("BENCHVOICE_PICTURES")
    if keep:
        (Path(keep) / f"big-{len(big)}.png").write_bytes(picture)
    pixels = _pixels(picture)
    rows, columns = _extent(pixels, (255, 255, 0), below=pixels.shape[0] // 6)
    white = _extent(pixels, (255, 255, 255), below=pixels.shape[0] // 2)
    assert not cut_off
    assert white[0] > 0.04 * pixels.shape[0], "the sentence is large too"
    # as large as can be: from side to side, or as high as there is room
    assert rows > 0.3 * pixels.shape[0] or columns > 0.75 * pixels.shape[1]
    dark = (pixels.max(axis=2) < 40).mean()
    assert dark > 0.4, "bright on black"


def _until_shown(browser: Browser, text: str) -> None:
    for _ in range(50):
        if browser.run("return document.getElementById('big').textContent") == text:
            time.sleep(0.5)  # the next look fits the letters to the window
            return
        time.sleep(0.1)
    raise AssertionError("the page did not look again")


def _picture(browser: Browser) -> bytes:
    return base64.b64decode(browser.ask_devtools("Page.captureScreenshot")["data"])


def _pixels(picture: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(picture)).convert("RGB"))


def _extent(pixels: np.ndarray, colour: tuple[int, int, int], below: int) -> tuple[int, int]:
    """Return how many rows and columns the pixels of a colour span, below some row."""
    found = (abs(pixels[below:].astype("i4") - colour).max(axis=2) < 40).nonzero()
    return int(np.ptp(found[0])) + 1, int(np.ptp(found[1])) + 1


# ---- a record of typed turns ---------------------------------------------------------------


def test_typed_turns_are_kept_and_replayed(tmp_path: Path) -> None:
    """A typed session is kept without any sound, and comes out the same again."""
    out, again = io.StringIO(), io.StringIO()
    record = tmp_path / "record"
    typed = io.StringIO("new bucket called tide green\nusual\nfive minute timer\ngoodbye\n")
    os.environ["PULSE_SERVER"] = "none"
    try:
        with Journal.open(tmp_path / "j.sqlite") as journal:
            wishes = talking.Wishes(record=record)
            with talking.quiet_libraries(), talking.live(journal, wishes, typed, out) as session:
                session.run()
    finally:
        del os.environ["PULSE_SERVER"]
    with talking.kept(record, None, tmp_path, again) as (session, ears):
        session.run()
    assert ears.differences == []
    said = [line for line in out.getvalue().splitlines() if line.startswith("bench: ")]
    told = [line for line in again.getvalue().splitlines() if line.startswith("bench: ")]
    assert [line for line in said if line in told] == told
    assert "bench: New bucket, tide green." in told


def test_a_record_wants_a_new_folder(tmp_path: Path) -> None:
    """A record never writes over another one."""
    with pytest.raises(RecordingError, match="is there already"):
        Keeper(tmp_path)


def test_a_full_disk_ends_the_record_and_not_the_session() -> None:
    """/dev/full refuses every byte: that is told once, and nothing is raised."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    told: list[str] = []
    folder = Path("/tmp") / f"benchvoice-full-{os.getpid()}"
    keeper = Keeper(folder)
    keeper._turns.close()
    keeper._turns = open("/dev/full", "w")  # noqa: PTH123, SIM115 (it is the device that is wanted)
    keeper.failed = told.append
    keeper.turn(None)
    keeper.turn(None)
    assert told == ["The record breaks off here: No space left on device. The session goes on."]
    with pytest.raises(OSError, match="No space"):
        keeper._turns.close()
    for file in folder.iterdir():
        file.unlink()
    folder.rmdir()


def test_what_is_no_record(tmp_path: Path) -> None:
    """A folder without turns is refused in a sentence."""
    with pytest.raises(BenchvoiceError, match="holds no record"):
        kept_turns(tmp_path)


def test_a_record_that_broke_off(tmp_path: Path) -> None:
    """Half a line at the end, as a crash leaves it, is left out."""
    whole = {"frames": 0, "jumps": [], "clock": [NOON.isoformat()], "typed": "help"}
    (tmp_path / "turns.jsonl").write_text(json.dumps(whole) + '\n{"frames": 12, "ju', "utf-8")
    assert [turn.typed for turn in kept_turns(tmp_path)] == ["help"]


def test_without_the_sound_library(tmp_path: Path) -> None:
    """Without PortAudio the whole program is typed: its Python module fails here as it does then."""
    (tmp_path / "sounddevice.py").write_text('raise OSError("PortAudio library not found")\n')
    run = subprocess.run(
        [sys.executable, "-m", "benchvoice", "--data", str(tmp_path / "data"), "talk"],
        input="new bucket called tide green\ngoodbye\n",
        env=os.environ | {"PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    assert "The sound library PortAudio is missing. Install libportaudio2, or carry on typing." in run.stdout
    assert "bench: New bucket, tide green." in run.stdout
    assert run.stderr == ""
