"""vosk, kept on a short rein: one fresh recogniser for each turn, narrowed to a network.

What vosk 0.3.45 does that a caller cannot mend afterwards is prevented here. A grammar that is
not JSON, or an empty one, ends the process; so does changing the grammar of a recogniser that
has begun. So a grammar is checked before vosk sees it, and never changed: the next turn gets a
new recogniser, which takes less than a millisecond. A path must be a ``str``; a language name
would make vosk look for a download, so none is ever given.
"""

from __future__ import annotations

import json
import re
from collections import OrderedDict
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Protocol

from benchvoice.ears.model_folder import SpeechModel
from benchvoice.ears.workshop import Workshop
from benchvoice.errors import ModelError
from benchvoice.messages import UNKNOWN_WORD, WordNetwork

ALTERNATIVES = 8
"""How many readings of a turn are asked for."""
KEPT = 8
"""How many networks stay loaded; each takes about 17 megabytes."""


class Engine(Protocol):
    """Makes recognisers."""

    def recogniser(self, network: WordNetwork, rate: int) -> Any:
        """Return a fresh recogniser for a network."""

    def rival(self, rate: int) -> Any | None:
        """Return one that hears nothing but filler, to compare with; None if there is none."""


def engine_for(model: SpeechModel, cache: Path | None = None) -> Engine:
    """Return the engine for a kind of model; graphs that nobody used for long are thrown away."""
    if model.kind != "bench":
        return WholeEngine(model)
    workshop = Workshop(model, cache)
    workshop.forget_old()
    return BenchEngine(workshop)


class BenchEngine:
    """Our model: a graph is made for every network."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop
        self._loaded: OrderedDict[WordNetwork | None, Any] = OrderedDict()

    def recogniser(self, network: WordNetwork, rate: int) -> Any:
        """Return a fresh recogniser for a network."""
        return _recogniser(self._model(network), rate)

    def rival(self, rate: int) -> Any | None:
        """Return one that hears nothing but filler."""
        return _recogniser(self._model(None), rate)

    def _model(self, network: WordNetwork | None) -> Any:
        if network not in self._loaded:
            self._loaded[network] = load(self._workshop.folder(network))
            while len(self._loaded) > KEPT:
                self._loaded.popitem(last=False)
        self._loaded.move_to_end(network)
        return self._loaded[network]


class WholeEngine:
    """Somebody else's vosk model: narrowed by a grammar where it allows that.

    vosk makes word pairs out of a grammar, not sentences: ``understand`` is the judge of what
    fits together.
    """

    def __init__(self, model: SpeechModel) -> None:
        self._narrows = model.kind == "grammar"
        self._model = load(model.folder)
        self._grammars: dict[WordNetwork, str] = {}

    def recogniser(self, network: WordNetwork, rate: int) -> Any:
        """Return a fresh recogniser for a network."""
        return _recogniser(self._model, rate, self._grammar(network) if self._narrows else None)

    def rival(self, rate: int) -> None:
        """Return nothing: such a model has no filler."""

    def knows(self, word: str) -> bool:
        """Return whether the model has this word."""
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def _grammar(self, network: WordNetwork) -> str:
        if network not in self._grammars:
            self._grammars[network] = grammar(phrases(network), self.knows)
        return self._grammars[network]


# ---- grammars ------------------------------------------------------------------

DECOYS = ("okay so", "hang on", "let me see", "what was that", "the", "it is", "and then", "so anyway")
"""What is said at the bench to nobody: rivals, so that it is not pressed into a number."""
_WORD = re.compile(r"[^\W\d_][^\W\d_'-]*")


def grammar(phrases: Iterable[str], knows: Any) -> str:
    """Return a grammar that vosk can take: known words only, never empty.

    A phrase with a word that the model does not have is left out whole; vosk would leave out
    the word and keep the rest, so that “a hundred zinc” would be heard as “a hundred”.
    """
    words = {word for phrase in phrases for word in phrase.split()}
    known = {word for word in words if _WORD.fullmatch(word) and knows(word)}
    kept = [phrase for phrase in phrases if known.issuperset(phrase.split()) and phrase.split()]
    if not kept:
        raise ModelError(
            "The speech model has none of the words that are expected now.",
            "It may be for another language; leave --model out to use the one that came with benchvoice.",
        )
    decoys = [decoy for decoy in DECOYS if all(map(knows, decoy.split()))]
    return json.dumps(list(dict.fromkeys([*kept, *decoys, UNKNOWN_WORD])), ensure_ascii=False)


def phrases(network: WordNetwork) -> list[str]:
    """Return phrases that between them hold every word of a network after every other it may follow."""
    leaving: dict[int, list[tuple[str, int]]] = {}
    for start, word, end in network.arcs:
        leaving.setdefault(start, []).append((word, end))
    pairs = {f"{word} {after}" for _, word, end in network.arcs for after, _ in leaving.get(end, [])}
    return [*sorted({word for word, _ in leaving.get(0, [])} | _last(network)), *sorted(pairs)]


def _last(network: WordNetwork) -> set[str]:
    return {word for _, word, end in network.arcs if end in network.finals}


# ---- vosk itself -----------------------------------------------------------------


def load(folder: Path) -> Any:
    """Load a model folder whose layout has been checked."""
    import vosk

    vosk.SetLogLevel(-2)
    try:
        return vosk.Model(str(folder))
    except Exception as error:  # vosk raises nothing more special
        raise ModelError(
            f"The speech model {folder} has the right files, but vosk cannot load it.",
            "One of them is damaged, or there is too little memory: unpack the model again.",
        ) from error


def _recogniser(model: Any, rate: int, grammar: str | None = None) -> Any:
    import vosk

    recogniser = vosk.KaldiRecognizer(model, rate, *([grammar] if grammar is not None else []))
    recogniser.SetWords(True)
    recogniser.SetMaxAlternatives(ALTERNATIVES)
    return recogniser


def readings(result: str) -> Iterator[dict[str, Any]]:
    """Yield the readings in a result, likeliest first."""
    found = json.loads(result)
    yield from found.get("alternatives", [found])
