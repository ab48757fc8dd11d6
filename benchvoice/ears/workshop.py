"""The folder of made graphs: for each network a small model folder that vosk can load.

Each is named by a hash of all that went into it, made under another name and then renamed, so
that a half-made one is never seen and two programs may make the same one at once. The acoustic
model is linked, not copied, where the system allows it.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import time
from collections.abc import Iterable
from dataclasses import astuple
from functools import cached_property
from pathlib import Path

from benchvoice.ears.graphs import TUNING, Graph, Transitions, Tuning, build_graph, filler_graph
from benchvoice.ears.lexicon import Lexicon, read_lexicon
from benchvoice.ears.model_folder import SpeechModel
from benchvoice.errors import ModelError
from benchvoice.messages import WordNetwork

FORM = "4"
"""Changes whenever graphs are made differently."""
KEEP_SECONDS = 30 * 24 * 3600.0
"""A graph that was not used for this long is thrown away."""

# Noise under a network with numbers in it fits so many readings alike that sorting them can take
# ten seconds; a narrow lattice, little memory and no sorting by phones keep it below a tenth of
# one. The turn is ended by ``turns``; vosk's own rules only stand behind it. Silence is phone 1.
DECODING = """\
--min-active=200
--max-active=4000
--beam=13.0
--lattice-beam=4.0
--max-mem=1000000
--phone-determinize=false
--acoustic-scale=1.0
--frame-subsampling-factor=3
--frames-per-chunk={chunk}
--endpoint.silence-phones=1
--endpoint.rule1.min-trailing-silence=5.0
--endpoint.rule2.min-trailing-silence=2.0
--endpoint.rule3.min-trailing-silence=2.5
--endpoint.rule4.min-trailing-silence=3.0
--endpoint.rule5.min-utterance-length=20.0
"""
CHUNK = 18
"""Frames of 10 ms that are taken at once while somebody speaks.

The more, the less each costs and the later the words come: with 36 they are there up to 0.76 s after the
end of speech, for 0.030 of real time on one core; with 18 up to 0.65 s, for 0.040; with 9 up to 0.63 s, for
0.058 (95th percentile of 45 phrases; filler's share is in it).
"""
FILLER_CHUNK = 150
"""The same for filler, which is heard in pauses."""


class Workshop:
    """Makes graphs for one of our models, and keeps them in a folder."""

    def __init__(self, model: SpeechModel, cache: Path | None = None, tuning: Tuning = TUNING) -> None:
        self.model, self.tuning = model, tuning
        self.cache = cache if cache is not None else _cache_folder()

    def folder(self, network: WordNetwork | None) -> Path:
        """Return a model folder for a network; for None, one that hears filler only."""
        made = self.cache / self._name(network)
        if made.is_dir():
            os.utime(made)
            return made
        return self._make(made, network)

    def forget_old(self) -> None:
        """Throw away graphs that were not used for a month."""
        for folder in self.cache.glob("*-*"):
            if time.time() - folder.stat().st_mtime > KEEP_SECONDS:
                shutil.rmtree(folder, ignore_errors=True)

    # ---- what goes into it ----------------------------------------------------------

    @cached_property
    def transitions(self) -> Transitions:
        """The numbers of each phone's two transitions."""
        rows = (line.split() for line in _text(self.model.folder / "transitions.txt").splitlines())
        try:
            return {name: (int(stay), int(enter)) for name, stay, enter in rows}
        except ValueError as error:
            raise ModelError("The speech model's transitions.txt is damaged.", "Install it again.") from error

    @cached_property
    def lexicon(self) -> Lexicon:
        """The pronunciations."""
        phones = frozenset(name.partition("_")[0] for name in self.transitions) - {"SIL"}
        return read_lexicon(self.model.folder / "lexicon.txt", phones)

    def _name(self, network: WordNetwork | None) -> str:
        about = hashlib.sha256(repr((FORM, DECODING, astuple(self.tuning), self._fingerprint)).encode())
        if network is not None:
            about.update(repr((network.arcs, sorted(network.finals), network.costs)).encode())
        about.update(repr((CHUNK, FILLER_CHUNK)).encode())
        return f"{'filler' if network is None else 'words'}-{about.hexdigest()[:24]}"

    @cached_property
    def _fingerprint(self) -> tuple[object, ...]:
        """What tells one model from another: where its files are, their sizes and ages."""
        files = (self.model.folder / name for name in ("am/final.mdl", "lexicon.txt", "transitions.txt"))
        return tuple((str(file), file.stat().st_size, file.stat().st_mtime_ns) for file in files)

    # ---- making it ---------------------------------------------------------------------

    def _make(self, made: Path, network: WordNetwork | None) -> Path:
        try:
            self.cache.mkdir(parents=True, exist_ok=True)
            draft = Path(tempfile.mkdtemp(prefix="making", dir=self.cache))
            self._fill(draft, self._graph(network), FILLER_CHUNK if network is None else CHUNK)
            return _rename(draft, made)
        except OSError as error:
            raise ModelError(
                f"The folder {self.cache} cannot be written: {error.strerror}.",
                "Make room there, or set XDG_CACHE_HOME to another folder.",
            ) from error

    def _graph(self, network: WordNetwork | None) -> Graph:
        rarity = self.lexicon.rarity()
        if network is None:
            return filler_graph(self.transitions, rarity)
        spellings = self.lexicon.pronounce(network.vocabulary())
        return build_graph(network, spellings, self.transitions, self.tuning, rarity)

    def _fill(self, folder: Path, graph: Graph, chunk: int) -> None:
        for part in ("am", "conf", "graph/phones"):
            (folder / part).mkdir(parents=True)
        for file in sorted((self.model.folder / "am").iterdir()):
            _link(file, folder / "am" / file.name)
        shutil.copyfile(self.model.folder / "conf" / "mfcc.conf", folder / "conf" / "mfcc.conf")
        decoding = DECODING.format(chunk=chunk)
        (folder / "conf" / "model.conf").write_text(decoding, encoding="ascii", newline="\n")
        (folder / "graph" / "HCLG.fst").write_bytes(graph.fst)
        (folder / "graph" / "words.txt").write_text(graph.symbols(), encoding="utf-8", newline="\n")
        places = word_boundaries(self._phones())
        (folder / "graph" / "phones" / "word_boundary.int").write_text(places, encoding="ascii", newline="\n")

    def _phones(self) -> list[tuple[str, int]]:
        rows = (line.split() for line in _text(self.model.folder / "phones.txt").splitlines())
        return [(name, int(number)) for name, number in rows if number != "0" and name[0] != "#"]


def word_boundaries(phones: Iterable[tuple[str, int]]) -> str:
    r"""Return the text that tells Kaldi each phone's place in a word.

    >>> word_boundaries([("SIL", 1), ("AA_B", 2)])
    '1 nonword\n2 begin\n'
    """
    kinds = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}
    return "".join(f"{number} {kinds.get(name.partition('_')[2], 'nonword')}\n" for name, number in phones)


def _rename(draft: Path, made: Path) -> Path:
    try:
        draft.rename(made)
    except OSError:
        shutil.rmtree(draft, ignore_errors=True)
        if not made.is_dir():  # Otherwise another program was quicker: its graph is the same.
            raise
    return made


def _link(source: Path, target: Path) -> None:
    for way in (target.symlink_to, target.hardlink_to):
        try:
            return way(source)
        except (OSError, NotImplementedError):
            continue
    shutil.copyfile(source, target)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ModelError(f"The speech model's file {path} cannot be read.", "Install it again.") from error


def _cache_folder() -> Path:
    import platformdirs

    return Path(platformdirs.user_cache_dir("benchvoice", appauthor=False)) / "graphs"
