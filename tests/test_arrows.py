"""Who may import whom: the table in DEVELOPERS.md, checked against every import in the package."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "benchvoice"
FORBIDDEN_IN_CORE = {"time", "random", "sounddevice", "vosk", "pyttsx3", "sqlite3", "socket", "subprocess"}
CORE = ("messages", "errors", "meaning", "dialogue", "calculator", "replies", "timers")


def allowed() -> dict[str, tuple[set[str], set[str]]]:
    """Return the table: for each room what it may import of ours, and of others."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    table = text.split("<!-- imports -->")[1].split("<!-- end of imports -->")[0]
    rows = [line.strip("|").split("|") for line in table.splitlines() if line.startswith("| `")]
    return {_names(row[0]).pop(): (_names(row[1]), _names(row[2])) for row in rows}


def _names(cell: str) -> set[str]:
    return {name.strip(" `") for name in cell.split(",")} - {"", "-"}


def room(file: Path) -> str:
    """Return the room that a file belongs to: its folder or its own name."""
    return file.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(file: Path) -> Iterator[str]:
    """Yield every module that a file imports, wherever in the file."""
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            if node.module == "benchvoice":
                yield from (f"benchvoice.{alias.name}" for alias in node.names)


FILES = sorted(file for file in PACKAGE.rglob("*.py") if "_bundled" not in file.parts)


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(PACKAGE)))
def test_imports_are_allowed(file: Path) -> None:
    """Each file imports only what the table allows its room."""
    here = room(file)
    if here == "__init__":
        return
    ours, others = allowed()[here]
    for name in imports(file):
        top, *rest = name.split(".")
        if top == "benchvoice":
            target = rest[0] if rest else here
            assert "anything" in ours or target in {here, *ours}, f"{file}: {name}"
        elif top not in sys.stdlib_module_names:
            assert top in others, f"{file}: {name}"


@pytest.mark.parametrize(
    "file", [f for f in FILES if room(f) in CORE], ids=lambda f: str(f.relative_to(PACKAGE))
)
def test_the_core_does_not_act(file: Path) -> None:
    """The core has no clock, no chance, no device, no open file, no print."""
    assert not FORBIDDEN_IN_CORE & {name.split(".")[0] for name in imports(file)} or _random_as_argument(file)
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Call):
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            assert called not in {"open", "print", "input", "now", "today", "utcnow"}, f"{file}: {called}"


def _random_as_argument(file: Path) -> bool:
    """Allow the one exception: a dice handed in as an argument needs its type's name."""
    text = file.read_text("utf-8")
    return "random.Random" in text and text.count("random.") == text.count("random.Random")


def test_no_room_is_missing_from_the_table() -> None:
    """Every room of the house stands in the table, and nothing else does."""
    assert {room(file) for file in FILES} - {"__init__"} == set(allowed())
