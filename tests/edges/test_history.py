"""A history for the eye: the lines, the picture and the page, the last one in a real browser too."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy
import pytest

from benchvoice import history
from benchvoice.cli import main
from benchvoice.errors import BenchvoiceError
from benchvoice.history import Chronicle
from benchvoice.history.series import described
from benchvoice.journal import Journal, journal_path
from benchvoice.messages import Entry
from tests.edges import harbour
from tests.edges.browser import Browser, needs_browser, opened

SVG = "{http://www.w3.org/2000/svg}"
HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
STRANGE = 'moss <b>&"1"'


@pytest.fixture(scope="module")
def grey() -> Chronicle:
    """Return the invented bucket's history."""
    return history.chronicle(harbour.entries(), harbour.BUCKET, harbour.NOW, harbour.ZONE)


@pytest.fixture(scope="module")
def svg(grey: Chronicle) -> bytes:
    """Return its picture."""
    return history.picture(grey, "svg")


@pytest.fixture(scope="module")
def page(grey: Chronicle) -> str:
    """Return its page."""
    return history.page(grey)


def begun(*happened: Entry, name: str = "moss") -> Chronicle:
    """Return the history of a bucket that has hardly begun."""
    bucket = Entry("b-1", "bucket", harbour.BEGUN, name, {"target_low": 1.4, "target_high": 1.45})
    return history.chronicle((bucket, *happened), name, harbour.NOW, harbour.ZONE)


def one_reading(name: str = "moss") -> Entry:
    """Return a single reading."""
    facts = {"gravity": 1.43, "shown": 1.43, "sigma": 0.01, "repeat": 0.01, "net_g": None}
    return Entry("b-2", "reading", harbour.BEGUN + timedelta(hours=1), name, facts)


# ---- lines -----------------------------------------------------------------------------------------


def test_the_lines_tell_everything_in_local_time(grey: Chronicle) -> None:
    """Heading, head, a line for each thing that happened, how it has been, when it was good."""
    lines = list(history.lines(grey))
    assert lines[0] == "Harbour grey, target 1.43 to 1.45."
    assert lines[1].split() == ["When", "What", "Figure", "Remark"]
    assert lines[2] == "2026-01-05 09:30  New bucket  Target 1.40 to 1.46"  # 08:30 UTC, an hour east
    told = {re.sub(r"\s{2,}", "|", line[18:]) for line in lines[2:-2]}
    assert {
        "Reading|Gravity 1.52|Above 1.46", "Water|1,100 g added", "Water|450 g taken off",
        "Dry batch|300 g added", "Drops|12 drops|Sodium silicate, 0.83 grams", "Flow|24.4 s",
        "Flow|Like yogurt|Too thick", "Tile|Pinholes|Damp the bisque first.",
        "Reading|Gravity 1.41|Below 1.43", "New target|1.43 to 1.45|Learned from good marks",
        "Contents|15.2 kg of glaze|Told in litres",
    } <= told  # fmt: skip
    assert len(lines) == 2 + len([e for e in harbour.entries() if e.kind != "opened"]) + 2
    assert lines[-1] == "Called good 3 times, between 1.43 and 1.45."


def test_the_drift_line_is_what_is_known_of_the_bucket(grey: Chronicle) -> None:
    """0.005 a week is the median of the slopes between waterings.

    By hand, rounded: 0.02/4, 0.05/9, 0.03/5, 0.03/7 and 0.02/4 a week.
    """
    line = list(history.lines(grey))[-2]
    assert line.startswith("Harbour grey: gravity 1.46, 4 weeks ago, rising 0.005 a week")
    assert "20 drops of sodium silicate so far" in line


def test_the_columns_stand_in_line_and_nothing_is_drawn(grey: Chronicle) -> None:
    """Each column begins at one place in every line; there is no sign but letters, figures and stops."""
    table = list(history.lines(grey))[1:-2]
    starts = [table[0].index(head) for head in ("When", "What", "Figure", "Remark")]
    for line in table[1:]:
        assert all(line[start - 2 : start] == "  " and line[start] != " " for start in starts[1:3])
        assert all(sign.isascii() and (sign.isalnum() or sign in " .,:-?") for sign in line), line


def test_a_kind_that_is_not_known_here_is_told_as_it_stands() -> None:
    """What another topic wrote about the bucket is not lost."""
    found = begun(Entry("b-2", "stirring", harbour.BEGUN, "moss", {"minutes": 3, "by": None}))
    assert [(row.what, row.figure) for row in found.rows][-1] == ("Stirring", "minutes 3")


TILES = [
    ({"dip_s": 3.0, "coat_mm": 0.8, "verdict": "none"}, "3 s in, Coat 0.8", "Looks right"),
    ({"dip_s": None, "drying_s": 90.0, "verdict": "slow to dry"}, "", "Slow to dry"),
]


@pytest.mark.parametrize(("facts", "figure", "remark"), TILES)
def test_a_tile_is_told_by_its_figures(facts: dict[str, object], figure: str, remark: str) -> None:
    """How long it was in and its coat, where they are known, and the verdict."""
    row = begun(Entry("b-2", "tile", harbour.BEGUN, "moss", facts)).rows[-1]
    assert row.figure.startswith(figure)
    assert row.remark == remark


def test_a_name_is_found_however_it_is_written() -> None:
    """Capitals and blanks do not matter."""
    found = history.chronicle(harbour.entries(), " Harbour   GREY ", harbour.NOW)
    assert found.bucket == harbour.BUCKET


def test_an_unknown_name_is_refused_with_those_known() -> None:
    """The refusal names the buckets."""
    with pytest.raises(BenchvoiceError, match=r"no bucket called sea\. Known are: harbour grey"):
        history.chronicle(harbour.entries(), "sea", harbour.NOW)


# ---- the picture ------------------------------------------------------------------------------------


def test_the_png_is_one(grey: Chronicle) -> None:
    """Signature and header as in PNG (ISO/IEC 15948, from memory); wide enough to be read."""
    png = history.picture(grey, "png")
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert png[12:16] == b"IHDR"
    assert int.from_bytes(png[16:20], "big") > 1000


def places(svg: ElementTree.Element, name: str) -> list[tuple[float, float]]:
    """Return where the marks of a line stand in the drawing."""
    group = next(each for each in svg.iter(f"{SVG}g") if each.get("id") == name)
    return [(float(use.get("x", "nan")), float(use.get("y", "nan"))) for use in group.iter(f"{SVG}use")]


DRAWN = [("readings", "reading", "shown", ""), ("water", "addition", "mass_g", "water"),
         ("dry batch", "addition", "mass_g", "dry"), ("drops", "dose", "drops", ""),
         ("flow", "flow", "seconds", "")]  # fmt: skip


@pytest.mark.parametrize(("name", "kind", "fact", "what"), DRAWN)
def test_what_is_drawn_is_what_was_written(svg: bytes, name: str, kind: str, fact: str, what: str) -> None:
    """The marks lie on one straight scale of time and one of figures, fitted here anew (numpy)."""
    written = [
        (entry.at.timestamp(), entry.facts[fact])
        for entry in harbour.entries()
        if entry.kind == kind and fact in entry.facts and what in ("", entry.facts.get("what"))
    ]
    every = ElementTree.fromstring(svg)
    marks = places(every, name)
    assert len(marks) == len(written)
    times = numpy.array(
        [t for t, _ in written] + [e.at.timestamp() for e in harbour.entries() if e.kind == "reading"]
    )
    across = numpy.array([x for x, _ in marks + places(every, "readings")])
    assert numpy.abs(across - numpy.polyval(numpy.polyfit(times, across, 1), times)).max() < 0.1
    if len(written) > 2:
        figures, up = numpy.array([float(str(v)) for _, v in written]), numpy.array([y for _, y in marks])
        scale = numpy.polyfit(figures, up, 1)
        assert scale[0] < 0  # more stands higher
        assert numpy.abs(up - numpy.polyval(scale, figures)).max() < 0.1


def test_the_svg_tells_what_it_shows(grey: Chronicle, svg: bytes) -> None:
    """It is an image with a title and a description, its words are text, and it fetches nothing."""
    drawn = ElementTree.fromstring(svg)
    assert drawn.get("role") == "img"
    assert [child.tag for child in drawn][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert drawn[0].text == "Harbour grey over time"
    assert drawn[1].text == described(grey)
    assert (drawn.get("aria-labelledby"), drawn.get("aria-describedby")) == (
        drawn[0].get("id"),
        drawn[1].get("id"),
    )
    words = {text.text for text in drawn.iter(f"{SVG}text")}
    assert {"gravity", "target", "reading", "good mark", "Pinholes", "cream"} <= words
    links = [each.get(href) for each in drawn.iter() for href in HREFS if each.get(href)]
    assert all(link.startswith("#") for link in links)
    assert not [each for each in drawn.iter() if each.tag in (f"{SVG}script", f"{SVG}image")]


def test_the_description_sums_up(grey: Chronicle) -> None:
    """Counts and sums, added up by hand from the invented entries."""
    assert described(grey) == (
        "9 readings of gravity from 5 January 2026 to 25 May 2026, between 1.41 and 1.52; the last is 1.46. "
        "The target has been 1.43 to 1.45 since 9 March 2026. 2,800 g of water added, in 3 additions. "
        "450 g of water taken off. 300 g of dry batch added. 20 drops given, in 2 doses. "
        "Flow by the cup, 3 times; the last took 25.1 s. Flow by word, 2 times; the last was like cream. "
        "3 tiles looked at."
    )


def test_the_same_history_gives_the_same_files(grey: Chronicle, svg: bytes, page: str) -> None:
    """Nothing in a file tells when or where it was made."""
    assert history.picture(grey, "svg") == svg
    assert history.page(grey) == page


@pytest.mark.parametrize("happened", [(), (one_reading(),)])
def test_a_bucket_that_has_hardly_begun_has_a_picture_too(happened: tuple[Entry, ...]) -> None:
    """No reading, and one."""
    found = begun(*happened)
    assert history.picture(found, "png")
    svg = ElementTree.fromstring(history.picture(found, "svg"))
    assert len(places(svg, "readings")) == len(happened) if happened else True
    assert described(found).startswith("1 reading of" if happened else "No gravity was read yet.")


def test_a_clock_set_back_draws_no_loop() -> None:
    """Marks stand in the order of time, whatever the order in which they were written down."""
    late = Entry("b-9", "reading", harbour.BEGUN + timedelta(days=400), "moss", one_reading().facts)
    svg = ElementTree.fromstring(history.picture(begun(late, one_reading()), "svg"))
    assert all(a[0] < b[0] for a, b in pairwise(places(svg, "readings")))


def test_without_matplotlib_it_says_what_to_install(tmp_path: Path) -> None:
    """A Python that cannot load matplotlib refuses the picture in one line; the other lines still come."""
    with Journal.open(journal_path(tmp_path)) as journal:
        journal.write_all(harbour.entries())
    hidden = (
        "import sys; sys.modules['matplotlib'] = None; "
        "from benchvoice.cli import main; sys.exit(main(sys.argv[1:]))"
    )
    told = subprocess.run(
        [sys.executable, "-c", hidden, "--data", tmp_path, "history", "--picture", tmp_path / "a.png"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert told.returncode == 1
    assert "pip install 'benchvoice[pictures]'" in told.stderr
    assert len(told.stderr.splitlines()) == 1
    lines = subprocess.run(
        [sys.executable, "-c", hidden, "--data", tmp_path, "history"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert lines.stdout.startswith("Harbour grey: ")


# ---- the command --------------------------------------------------------------------------------------


def test_the_command_prints_and_writes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines for all, lines for one, a picture and a page of the only bucket; nothing is overwritten."""
    with Journal.open(journal_path(tmp_path)) as journal:
        journal.write_all(harbour.entries())
    asked = ["--data", str(tmp_path), "history"]
    assert main(asked) == 0
    assert capsys.readouterr().out.startswith("Harbour grey: gravity 1.46")
    assert main([*asked, "harbour grey"]) == 0
    assert "1,100 g added" in capsys.readouterr().out
    svg, page = tmp_path / "a.svg", tmp_path / "a.html"
    assert main([*asked, "--picture", str(svg), "--page", str(page)]) == 0
    assert ElementTree.fromstring(svg.read_bytes()).tag == f"{SVG}svg"
    assert page.read_text("utf-8").startswith("<!DOCTYPE html>")
    before = svg.read_bytes()
    assert main([*asked, "--picture", str(svg)]) == 1
    assert "is there already" in capsys.readouterr().err
    assert svg.read_bytes() == before


REFUSED = [
    (harbour.entries(), None, "a.gif", "a .png or an .svg file; got a.gif"),
    (harbour.entries(), None, "missing/a.png", "cannot be written"),
    (harbour.entries(), "sea", "a.png", "no bucket called sea"),
    ((), None, "a.png", "There is none yet"),
    (
        (*harbour.entries(), Entry("x", "bucket", harbour.NOW, "moss", {})),
        None,
        "a.png",
        "Name one of: harbour grey, moss",
    ),
]


@pytest.mark.parametrize(("entries", "bucket", "file", "told"), REFUSED)
def test_what_cannot_be_drawn_is_refused(
    entries: tuple[Entry, ...], bucket: str | None, file: str, told: str, tmp_path: Path
) -> None:
    """Each refusal says what was wanted and what to do."""
    with pytest.raises(BenchvoiceError, match=re.escape(told)):
        list(history.answer(entries, bucket, harbour.NOW, picture_file=tmp_path / file))
    assert not (tmp_path / file).exists()


def test_no_bucket_at_all_is_said() -> None:
    """An empty journal has no history."""
    assert list(history.answer((), None, harbour.NOW)) == [
        "No bucket is known yet. Begin one by talking to the bench."
    ]


def test_old_drops_and_good_marks_are_remembered(tmp_path: Path) -> None:
    """A session recalls every dose and good mark, however many readings came after them."""
    reading = one_reading(harbour.BUCKET)
    later = [replace(reading, key=f"r-{n}", at=harbour.NOW + timedelta(days=n)) for n in range(100)]
    with Journal.open(journal_path(tmp_path)) as journal:
        journal.write_all((*harbour.entries(), *later))
        recalled = [entry.kind for entry in journal.recall()]
    assert (recalled.count("dose"), recalled.count("good")) == (2, 3)


# ---- the page ---------------------------------------------------------------------------------------------


class Tags(HTMLParser):
    """Every tag with its attributes, and the text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a tag."""
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Keep text."""
        self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Return the attributes of every such tag."""
        return [attributes for name, attributes in self.tags if name == tag]


def test_the_page_stands_alone(page: str) -> None:
    """No script, nothing fetched, a language, a policy that forbids both."""
    tags = Tags(page)
    assert tags.all("html") == [{"lang": "en-GB"}]
    assert not {name for name, _ in tags.tags} & {"script", "link", "img", "iframe", "object", "embed"}
    for name, attributes in tags.tags:
        for attribute, value in attributes.items():
            assert not attribute.startswith("on"), (name, attribute)
            if attribute in ("src", "href", "xlink:href", "srcset", "action", "data"):
                assert (value or "").startswith("#"), (name, attribute, value)
    policy = next(m for m in tags.all("meta") if m.get("http-equiv") == "Content-Security-Policy")
    assert policy["content"] == "default-src 'none'; style-src 'unsafe-inline'"
    assert "@import" not in "".join(tags.text)
    assert not re.search(r"url\((?!#)", page)


def test_no_two_parts_of_the_page_have_one_id(page: str) -> None:
    """An id is there once, or what points to it points astray."""
    ids = [attributes["id"] for _, attributes in Tags(page).tags if "id" in attributes]
    assert len(set(ids)) == len(ids)


def test_a_strange_name_does_no_harm() -> None:
    """A name is text, whatever signs it has."""
    page = history.page(begun(one_reading(STRANGE), name=STRANGE))
    tags = Tags(page)
    assert not tags.all("b")
    assert 'Moss <b>&"1"' in tags.text


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Yield a browser."""
    with opened() as found:
        yield found


@pytest.fixture
def seen(page: str, browser: Browser, tmp_path: Path) -> Browser:
    """Return the browser with the page open."""
    file = tmp_path / "harbour.html"
    file.write_text(page, "utf-8")
    browser.console()
    browser.open(file)
    return browser


def _value(node: dict[str, Any], name: str) -> Any:
    return node.get(name, {}).get("value")


def spoken_parts(seen: Browser) -> list[tuple[str, str, str, int | None]]:
    """Return role, name, description and level of what a screen reader is given."""
    nodes = [n for n in seen.ask_devtools("Accessibility.getFullAXTree")["nodes"] if not n["ignored"]]
    level = {
        n["nodeId"]: p["value"]["value"]
        for n in nodes
        for p in n.get("properties", ())
        if p["name"] == "level"
    }
    return [
        (_value(n, "role"), _value(n, "name") or "", _value(n, "description") or "", level.get(n["nodeId"]))
        for n in nodes
    ]


@needs_browser
def test_a_screen_reader_is_given_the_whole_page(seen: Browser, grey: Chronicle) -> None:
    """The accessibility tree of a real browser: headings, picture by name, table by caption and heads."""
    parts = spoken_parts(seen)
    assert [(name, level) for role, name, _, level in parts if role == "heading"] == [
        ("Harbour grey", 1), ("How it has been", 2), ("Picture", 2), ("Everything written down", 2),
    ]  # fmt: skip
    images = [(name, told) for role, name, told, _ in parts if role in ("image", "img")]
    assert len(images) == 1
    assert images[0][0] == "Harbour grey over time"
    assert images[0][1].startswith("Gravity over the band of its target")
    assert [name for role, name, _, _ in parts if role == "table"] == [
        "Harbour grey: 30 lines, oldest first, in local time."
    ]
    assert [name for role, name, _, _ in parts if role == "columnheader"] == [
        "When",
        "What",
        "Figure",
        "Remark",
    ]
    assert len([1 for role, *_ in parts if role == "rowheader"]) == len(grey.rows)
    assert described(grey) in [name for role, name, _, _ in parts if role == "StaticText"]
    assert [role for role, *_ in parts].count("main") == 1


@needs_browser
def test_the_browser_has_nothing_to_complain_of(seen: Browser) -> None:
    """Nothing on the console; nothing was asked for but the page; it is in standards mode and English."""
    assert seen.console() == []
    assert seen.run("return performance.getEntriesByType('resource').length") == 0
    assert seen.run("return document.compatMode") == "CSS1Compat"
    assert seen.run("return document.documentElement.lang") == "en-GB"
    assert seen.run("return document.scripts.length") == 0


CONTRASTS = """
const shades = c => c.match(/[\\d.]+/g).slice(0, 3).map(Number);
const silent = ['title', 'desc', 'style'];
const worded = e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
const parts = [...document.querySelectorAll('body *')].filter(e => worded(e) && !silent.includes(e.tagName));
return parts.map(e => {
    const style = getComputedStyle(e);
    return [e.textContent.trim(), shades(e instanceof SVGElement ? style.fill : style.color),
            parseFloat(style.fontSize)];
});
"""


def luminance(shades: list[float]) -> float:
    """Return the relative luminance of a colour (WCAG 2.2, definition; from memory)."""
    linear = [s / 255 / 12.92 if s / 255 <= 0.04045 else ((s / 255 + 0.055) / 1.055) ** 2.4 for s in shades]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@needs_browser
def test_every_word_stands_out_from_the_page(seen: Browser) -> None:
    """All text, the picture's too, has a contrast of 4.5 and more on white (WCAG 2.2, 1.4.3; from memory)."""
    assert seen.run("return getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    found = seen.run(CONTRASTS)
    assert len(found) > 150
    for text, shades, _ in found:
        assert 1.05 / (luminance(shades) + 0.05) >= 4.5, text


@needs_browser
def test_the_page_fits_a_narrow_window(seen: Browser) -> None:
    """At 320 points only the picture scrolls sideways, by keyboard too (WCAG 2.2, 1.4.10; from memory)."""
    seen.ask_devtools(
        "Emulation.setDeviceMetricsOverride", width=320, height=800, deviceScaleFactor=1, mobile=False
    )
    try:
        assert seen.run("return document.documentElement.scrollWidth") <= 320
        assert seen.run("return document.querySelector('.wide').tabIndex") == 0
    finally:
        seen.ask_devtools("Emulation.clearDeviceMetricsOverride")


@needs_browser
def test_a_strange_name_is_text_in_a_browser_too(browser: Browser, tmp_path: Path) -> None:
    """The heading reads as the name was typed."""
    file = tmp_path / "strange.html"
    file.write_text(history.page(begun(one_reading(STRANGE), name=STRANGE)), "utf-8")
    browser.open(file)
    assert browser.run("return document.querySelector('h1').textContent") == 'Moss <b>&"1"'
    assert browser.run("return document.querySelectorAll('b').length") == 0
