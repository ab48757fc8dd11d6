"""Where the sound that comes with benchvoice lies: in the wheel, or in the checkout beside it."""

from __future__ import annotations

from pathlib import Path

from benchvoice.errors import RecordingError

PACKAGE = Path(__file__).resolve().parent
PLACES = (PACKAGE / "_bundled" / "audio_fixtures", PACKAGE.parent / "audio_fixtures")


def demo_session() -> tuple[Path, ...]:
    """Return the recordings of the demo's potter, in the order in which they are said."""
    for place in PLACES:
        files = tuple(sorted((place / "demo").glob("*.wav")))
        if files:
            return files
    raise RecordingError(
        f"The recordings of the demo were not found in {PLACES[0]} or {PLACES[1]}.",
        "Install benchvoice again.",
    )
