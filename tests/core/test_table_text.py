"""The dialogue as printed in DEVELOPERS.md is the dialogue."""

from __future__ import annotations

from pathlib import Path

from benchvoice.dialogue.advance import TABLE

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


def test_the_printed_table_is_the_table() -> None:
    """Print it anew with ``python -m benchvoice.dialogue`` when this fails."""
    text = DEVELOPERS.read_text("utf-8")
    printed = text.split("<!-- table -->\n```\n")[1].split("\n```\n<!-- end of table -->")[0]
    assert printed == "\n".join(line.rstrip() for line in TABLE.as_text().splitlines())
