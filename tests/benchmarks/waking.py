"""How often a bench that stands by is woken by what is not for it: ``python -m tests.benchmarks.waking``.

All recordings of the fixtures (numbers, commands, talk beside the bench; none of them calls it) and some
minutes of made noise are heard by the network of a bench that stands by. Printed: what it took for a call.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import soundfile

from benchvoice.dialogue.advance import expected
from benchvoice.dialogue.always import PAUSED
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.said import SURE_ENOUGH
from benchvoice.dialogue.scene import Scene
from benchvoice.ears.engines import engine_for
from benchvoice.ears.model_folder import find_model
from benchvoice.ears.playlist import Playlist
from benchvoice.ears.recogniser import SpeechEars
from benchvoice.meaning import phrases
from benchvoice.messages import Closed, Words
from tests.benchmarks.soak import noise
from tests.edges.soundcard import RATE

FIXTURES = Path(__file__).resolve().parents[2] / "audio_fixtures"
STANDING_BY = expected(Scene("t", PAUSED, Bench()))
OURS = ("continue", "carry on", "stop", "got it", "are you there")
"""What may rightly be heard; fixtures that say it are left out."""


def main() -> None:
    """Print what was taken for a call."""
    files = [file for file in sorted(FIXTURES.glob("*/*.wav")) if not _ours(file)]
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "noise.wav"
        soundfile.write(made, (1500 / 32768 * noise(300)).clip(-1, 1).astype(np.float32), RATE)
        for name, heard in (("speech", files), ("noise", [made])):
            _print(name, heard)


def _ours(file: Path) -> bool:
    return any(words in file.with_suffix(".txt").read_text("utf-8") for words in OURS)


def _print(name: str, files: list[Path]) -> None:
    ears = SpeechEars(engine_for(find_model()), Playlist(files))
    taken = []
    while not isinstance(words := ears.hear(phrases.network(STANDING_BY), None), Closed):
        if isinstance(words, Words) and (words.confidence or 0) >= SURE_ENOUGH:
            meaning = phrases.understand(words, STANDING_BY)
            taken += [words.text] if meaning.kind in ("attention", "continue_") else []
    print(f"{name}: {ears.position / 60:.1f} minutes in {len(files)} files; woken {len(taken)} times {taken}")


if __name__ == "__main__":
    main()
