"""Every conversation in this folder, line by line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from benchvoice.messages import Words

FILES = sorted(Path(__file__).parent.glob("*.txt"))


README = Path(__file__).parents[2] / "README.md"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_conversation(file: Path, bench: Any) -> None:
    """The bench says exactly what the file says, and the journal holds what it says."""
    follow(file.read_text("utf-8"), file.name, bench)


def test_the_session_in_the_readme(bench: Any) -> None:
    """The session that the reader types along is what the bench says."""
    session = README.read_text("utf-8").split("<!-- session -->\n```\n")[1].split("\n```")[0]
    follow(session, "README.md", bench)


def follow(text: str, name: str, bench: Any) -> None:
    """Follow a conversation line by line."""
    heard = bench.printed()
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        who, _, said = line.partition(": ")
        where = f"{name}:{number}"
        if who == "bench":
            assert heard, f"{where}: the bench said nothing more, wanted {said!r}"
            assert heard.pop(0) == said, where
            continue
        if who != "journal":
            assert not heard, f"{where}: the bench also said {heard}"
        heard = _acted(bench, who, said, where, heard)
    assert not heard, f"{name}: at the end the bench also said {heard}"


def _acted(bench: Any, who: str, text: str, where: str, heard: list[str]) -> list[str]:
    if who == "potter":
        return bench.type(text)
    if who == "spoken":
        words, _, confidence = text.partition(" | ")
        return bench.hear(Words(words, confidence=float(confidence or 1)))
    if who == "journal":
        _check_journal(bench, text, where)
        return heard
    if who == "clock":
        bench.clock.move(text)
        return bench.due()
    if who == "session":
        return bench.reopen()
    pytest.fail(f"{where}: {who!r} is no speaker")


def _check_journal(bench: Any, text: str, where: str) -> None:
    kind, fact, *rest = text.split()
    entries = bench.journal.entries(kinds=[kind])
    if fact == "none":
        assert not entries, where
        return
    got = entries[-1].facts[fact]
    if isinstance(got, int | float):
        wanted, tolerance = float(rest[0]), float(rest[1]) if len(rest) > 1 else 1e-3
        assert abs(got - wanted) <= tolerance, f"{where}: {kind} {fact} is {got}"
    else:
        assert str(got) == " ".join(rest), f"{where}: {kind} {fact} is {got!r}"
