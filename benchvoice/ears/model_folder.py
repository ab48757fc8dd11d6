"""Where the speech model is, and whether it is one, before vosk sees it.

vosk tells every failure alike, and only its log on the error stream says more; so the folder
is looked at here. Looked for, in this order: the folder asked for; a bigger vosk model that
was put into ``models/``; the model that benchvoice brings. Nothing is ever fetched.

Three kinds of model:

    bench    ours: a graph is built for whatever is expected just now
    grammar  a vosk model whose words can be narrowed at run time (``HCLr.fst`` and ``Gr.fst``)
    fixed    a vosk model with one graph for everything (``HCLG.fst``): it hears free text
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from benchvoice.errors import ModelError

Kind = Literal["bench", "grammar", "fixed"]

PACKAGE = Path(__file__).resolve().parent.parent
BUNDLED = PACKAGE / "_bundled" / "model"
CHECKOUT = PACKAGE.parent / "models"
OURS = "bench"

_USE = "Give the folder of an unpacked vosk model, the one that holds am and conf."
_AGAIN = "Unpack or download the model again."


@dataclass(frozen=True, slots=True)
class SpeechModel:
    """A model folder whose layout has been checked."""

    folder: Path
    kind: Kind

    @property
    def acoustic(self) -> Path:
        """The file with the acoustic model."""
        return self.folder / "am" / "final.mdl"


def find_model(asked: Path | None = None, models: Path | None = None) -> SpeechModel:
    """Return the model to use; raise ``ModelError`` when there is none or it is broken.

    ``models`` is the folder for models; left out, the one next to the program and the one in
    the current folder are looked at.
    """
    if asked is not None:
        return check_model(asked)
    places = [models] if models is not None else [CHECKOUT, Path.cwd() / "models"]
    for folder in _bigger(places):
        return check_model(folder)
    for folder in (BUNDLED, *(place / OURS for place in places)):
        if folder.is_dir():
            return check_model(folder)
    raise ModelError(
        f"No speech model was found: neither in {BUNDLED} nor in {places[0] / OURS}.",
        "Install benchvoice again, or name a vosk model with --model; typing works without one.",
    )


def _bigger(places: list[Path]) -> Iterator[Path]:
    """Yield the folders in ``models/`` that mean to be a model, other than ours."""
    for place in places:
        if place.is_dir():
            for folder in sorted(place.iterdir()):
                if folder.is_dir() and folder.name != OURS and (folder / "am").is_dir():
                    yield folder


def check_model(folder: Path) -> SpeechModel:
    """Check the layout of a model folder and tell its kind."""
    _check_folder(folder)
    _check_file(folder / "am" / "final.mdl", b"\0B")
    _check_file(folder / "conf" / "model.conf" if not _is_ours(folder) else folder / "transitions.txt")
    _check_features(folder)
    return SpeechModel(folder.resolve(), _kind(folder))


def _is_ours(folder: Path) -> bool:
    return (folder / "transitions.txt").is_file() or (folder / "lexicon.txt").is_file()


def _kind(folder: Path) -> Kind:
    if _is_ours(folder):
        _check_file(folder / "lexicon.txt")
        return "bench"
    graph = folder / "graph"
    if (graph / "HCLr.fst").is_file():
        _check_file(graph / "Gr.fst")
        _check_file(graph / "disambig_tid.int")
        return "grammar"
    _check_file(graph / "HCLG.fst")
    return "fixed"


def _check_folder(folder: Path) -> None:
    if folder.is_file():
        unpack = (
            "Unpack it first, then give the folder." if folder.suffix in {".zip", ".gz", ".tar"} else _USE
        )
        raise ModelError(f"The speech model {folder} is a file, not a folder.", unpack)
    if not folder.is_dir():
        raise ModelError(f"There is no speech model folder {folder}.", "Check the path after --model.")
    if not (folder / "am").is_dir():
        raise ModelError(f"The folder {folder} is not a speech model: it has no folder am.", _hint(folder))


def _hint(folder: Path) -> str:
    """Return the next step for a folder without ``am``: often it is one level too high."""
    inner = next((one for one in sorted(folder.iterdir()) if (one / "am").is_dir()), None)
    if inner is not None:
        return f"Did you mean {inner}?"
    if (folder / "final.mdl").is_file():
        return "It is of vosk's first form, which is not supported; use a newer model."
    return _USE


def _check_features(folder: Path) -> None:
    conf = folder / "conf"
    if not any((conf / name).is_file() for name in ("mfcc.conf", "fbank.conf")):
        raise ModelError(f"The speech model {folder} has no conf/mfcc.conf.", _AGAIN)


def _check_file(path: Path, start: bytes = b"") -> None:
    if not path.is_file():
        raise ModelError(f"The speech model has no file {path}.", _AGAIN)
    try:
        with path.open("rb") as file:
            head = file.read(64)
    except OSError as error:
        raise ModelError(
            f"The speech model's file {path} cannot be read.", "Check its permissions."
        ) from error
    if not head:
        raise ModelError(f"The speech model's file {path} is empty.", _AGAIN)
    if not head.startswith(start):
        # A clone without the large files has small text files in their place.
        raise ModelError(f"The speech model's file {path} is not an acoustic model.", _AGAIN)
