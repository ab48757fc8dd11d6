"""Which model is used, and what is said about folders that are none."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from benchvoice.ears.engines import engine_for
from benchvoice.ears.model_folder import CHECKOUT, OURS, check_model, find_model
from benchvoice.errors import ModelError

BENCH = CHECKOUT / OURS


def _whole_model(folder: Path, *graph: str) -> Path:
    """Make a folder with the layout of a vosk model; its contents are none."""
    for part in ("am", "conf", "graph"):
        (folder / part).mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"\0B<TransitionModel> ")
    for name in ("model.conf", "mfcc.conf"):
        (folder / "conf" / name).write_text("--sample-frequency=16000\n")
    for name in graph:
        (folder / "graph" / name).write_bytes(b"x")
    return folder


def test_ours() -> None:
    """The model in the checkout is found and is of our kind."""
    found = find_model(models=CHECKOUT)

    assert found.folder == BENCH.resolve()
    assert found.kind == "bench"


@pytest.mark.parametrize(
    ("graph", "kind"),
    [(("HCLr.fst", "Gr.fst", "disambig_tid.int"), "grammar"), (("HCLG.fst",), "fixed")],
)
def test_bigger_model_is_preferred(tmp_path: Path, graph: tuple[str, ...], kind: str) -> None:
    """A vosk model that was put into models/ is used instead of ours."""
    shutil.copytree(BENCH, tmp_path / OURS)
    bigger = _whole_model(tmp_path / "vosk-model-small-en", *graph)

    found = find_model(models=tmp_path)

    assert (found.folder, found.kind) == (bigger, kind)


def test_asked_for(tmp_path: Path) -> None:
    """A folder that is asked for is used whatever else there is."""
    _whole_model(tmp_path / "bigger", "HCLG.fst")

    assert find_model(BENCH, models=tmp_path).folder == BENCH.resolve()


def test_other_folders_are_passed_over(tmp_path: Path) -> None:
    """Folders in models/ that do not mean to be a model, and archives, are no models."""
    shutil.copytree(BENCH, tmp_path / OURS)
    (tmp_path / "recipe").mkdir()
    (tmp_path / "vosk-model-small-en-us-0.15.zip").write_bytes(b"PK")

    assert find_model(models=tmp_path).folder == (tmp_path / OURS).resolve()


def _without(*names: str) -> dict[str, bytes | None]:
    return dict.fromkeys(names)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        (_without("am/final.mdl"), "final.mdl"),
        ({"am/final.mdl": b""}, "is empty"),
        ({"am/final.mdl": b"version https://git-lfs.github.com/spec/v1\n"}, "is not an acoustic model"),
        (_without("conf/mfcc.conf"), "mfcc.conf"),
        (_without("conf/model.conf"), "model.conf"),
        (_without("graph/Gr.fst"), "Gr.fst"),
        (_without("graph/disambig_tid.int"), "disambig_tid.int"),
        (_without("graph/HCLr.fst"), "HCLG.fst"),
        ({"graph/Gr.fst": b""}, "is empty"),
    ],
)
def test_broken(tmp_path: Path, changes: dict[str, bytes | None], says: str) -> None:
    """Each thing that a model may lack is named, with a next step."""
    folder = _whole_model(tmp_path / "model", "HCLr.fst", "Gr.fst", "disambig_tid.int")
    for name, content in changes.items():
        (folder / name).unlink()
        if content is not None:
            (folder / name).write_bytes(content)

    with pytest.raises(ModelError, match="speech model") as caught:
        check_model(folder)

    assert says in caught.value.what
    assert caught.value.next_step


@pytest.mark.parametrize("name", ["lexicon.txt", "am/final.mdl", "conf/mfcc.conf", "transitions.txt"])
def test_ours_broken(tmp_path: Path, name: str) -> None:
    """Our own model without one of its files is refused by the name of that file."""
    folder = shutil.copytree(BENCH, tmp_path / "model")
    (folder / name).unlink()

    with pytest.raises(ModelError, match=Path(name).name):
        check_model(folder)


def test_missing(tmp_path: Path) -> None:
    """A folder that is not there is said to be so."""
    with pytest.raises(ModelError, match="There is no speech model folder"):
        check_model(tmp_path / "nowhere")


def test_archive(tmp_path: Path) -> None:
    """An archive is to be unpacked first."""
    (tmp_path / "model.zip").write_bytes(b"PK")

    with pytest.raises(ModelError, match="Unpack it first"):
        check_model(tmp_path / "model.zip")


def test_one_level_too_high(tmp_path: Path) -> None:
    """The folder around a model leads to the model in it."""
    inner = _whole_model(tmp_path / "outer" / "inner", "HCLG.fst")

    with pytest.raises(ModelError, match="Did you mean") as caught:
        check_model(tmp_path / "outer")

    assert str(inner) in caught.value.next_step


def test_not_a_model_at_all(tmp_path: Path) -> None:
    """An empty folder is no model."""
    with pytest.raises(ModelError, match="has no folder am"):
        check_model(tmp_path)


def test_first_form(tmp_path: Path) -> None:
    """A model of vosk's first, flat form is told from one that is broken."""
    (tmp_path / "final.mdl").write_bytes(b"\0B")

    with pytest.raises(ModelError, match="first form"):
        check_model(tmp_path)


def test_none_anywhere(tmp_path: Path) -> None:
    """Without any model there is a way on: typing."""
    if find_model().folder.name == "model":
        pytest.skip("a model is bundled with this installation")
    with pytest.raises(ModelError, match="typing works without"):
        find_model(models=tmp_path)


def test_right_files_wrong_contents(tmp_path: Path) -> None:
    """What looks like a model and is none is refused when vosk loads it; the process lives on."""
    folder = _whole_model(tmp_path / "model", "HCLG.fst")
    code = (
        "import sys; from pathlib import Path\n"
        "from benchvoice.ears.engines import engine_for\n"
        "from benchvoice.ears.model_folder import check_model\n"
        "from benchvoice.errors import ModelError\n"
        "try: engine_for(check_model(Path(sys.argv[1])))\n"
        "except ModelError as error: print('refused:', error)\n"
    )

    run = subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, timeout=60, check=False
    )

    assert run.returncode == 0, run.stderr
    assert "refused: The speech model" in run.stdout
    assert "Traceback" not in run.stderr


@pytest.mark.parametrize("name", ["with space", "töpferei"])
def test_unusual_folder_names(tmp_path: Path, name: str) -> None:
    """A model in a folder with a space or an umlaut in its name loads."""
    if os.name == "nt":
        pytest.skip("vosk cannot open such a path on Windows (vosk-api issue 1072, second-hand)")
    folder = shutil.copytree(BENCH, tmp_path / name)

    assert engine_for(check_model(folder), tmp_path / "cache").rival(16000) is not None
