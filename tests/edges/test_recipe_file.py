"""The command that reads a recipe from a file: kept, asked about, or refused with file, line and reason."""

from __future__ import annotations

import pytest

from benchvoice.building import first_scene, open_journal
from benchvoice.cli import main
from benchvoice.dialogue.recipe_book import own_gravities, recipe_named

GOOD = "material,amount,kind\nFeldspar,40,base\nquartz,30,base\nkaolin,30,base\nrutile,4,addition\n"


@pytest.fixture
def read(tmp_path, capsys):
    """Return what reads a file of that name and text, and tells exit status, output and refusal."""

    def _read(name, text, *options):
        file = tmp_path / name
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        status = main(["--data", str(tmp_path / "data"), "recipe", str(file), *options])
        out, refusal = capsys.readouterr()
        return status, out, refusal.replace(str(tmp_path) + "/", "")

    return _read


def kept(tmp_path):
    """Return the bench as the next session recalls it."""
    from benchvoice.building import clock

    with open_journal(tmp_path / "data") as journal:
        return first_scene(journal, clock).bench


def test_a_recipe_is_kept_under_the_name_of_its_file(read, tmp_path):
    """CSV has no name of its own; what is kept is what the file says, in its order."""
    status, out, _ = read("winter_moss.csv", GOOD)
    assert status == 0
    assert "make a batch" in out
    found = recipe_named(kept(tmp_path), "winter moss")
    assert [(line.material, line.amount) for line in found.base] == [
        ("feldspar", 40),
        ("quartz", 30),
        ("kaolin", 30),
    ]
    assert [(line.material, line.amount) for line in found.additions] == [("rutile", 4)]


def test_json_names_itself_and_the_option_renames_it(read, tmp_path):
    """The name in the file counts, unless another is given."""
    text = '{"name": "Sea Mist", "base": {"feldspar": 100}}'
    read("a.json", text)
    read("a.json", text, "--name", "harbour")
    assert kept(tmp_path).names("recipe") == ("sea mist", "harbour")


def test_a_base_of_97_is_decided_by_the_potter(read, tmp_path):
    """97 is refused with two ways on; normalised, 40 of 97 is 41.237 (definition, computed)."""
    text = GOOD.replace("kaolin,30", "kaolin,27")
    status, _, refusal = read("r.csv", text)
    assert status == 1
    assert "the base makes 97, not 100" in refusal
    assert "--normalise" in refusal
    assert kept(tmp_path).names("recipe") == ()
    assert read("r.csv", text, "--normalise")[0] == 0
    assert recipe_named(kept(tmp_path), "r").base[0].amount == pytest.approx(41.237, abs=0.001)
    assert read("r.csv", text, "--as-it-is")[0] == 0
    assert recipe_named(kept(tmp_path), "r").base[0].amount == 40


def test_an_unknown_material_is_assumed_and_said_or_given(read, tmp_path):
    """A material that no table has is taken as 2.6, and that is said; a given density is kept."""
    text = "material,amount\nmoon dust,60\nkoalin,40\n"
    _, out, _ = read("r.csv", text)
    assert "moon dust is not in the table and is taken as 2.6" in out
    assert "Did you mean kaolin?" in out
    _, out, _ = read("r.csv", text, "--density", "moon dust=2.9")
    assert "moon dust is not" not in out
    assert own_gravities(kept(tmp_path)) == {"moon dust": 2.9}


REFUSED = [
    (
        "r.csv",
        "material,amount\nfeldspar,40\nquartz,-3\n",
        "r.csv, line 3: an amount above nothing is wanted",
    ),
    ("r.csv", "material,amount\nfeldspar,forty\n", "r.csv, line 2: a number is wanted; got 'forty'."),
    ("r.csv", "feldspar 40\n", "r.csv, line 1: the heading material,amount,kind is wanted"),
    ("r.csv", "", "r.csv, line 1: the heading material,amount,kind is wanted"),
    ("r.csv", "material,amount\nfeldspar,40\nfeldspar,60\n", "r.csv, line 3: a new material is wanted"),
    ("r.csv", b"\x89PNG\xff\x00", "r.csv is not text."),
    ("r.txt", GOOD, "r.txt: a file that ends in .csv or .json is wanted; got .txt."),
    ("r", GOOD, "r: a file that ends in .csv or .json is wanted; got no ending."),
    ("r.json", "{", "r.json, line 1: JSON is wanted"),
    ("r.json", "[]", "r.json, line 1: an object with name, base and additions is wanted"),
    ("r.json", '{"name": "x", "base": {"feldspar": -1}}', "got -1"),
    ("r.csv", b"x" * 1_000_001, "r.csv is too large for a recipe."),
]


@pytest.mark.parametrize(("name", "text", "refusal"), REFUSED)
def test_a_bad_file_is_refused_with_file_line_and_reason(read, tmp_path, name, text, refusal):
    """One sentence says where and what; nothing is written down."""
    status, out, said = read(name, text)
    assert (status, out) == (1, "")
    assert refusal in said
    assert kept(tmp_path).names("recipe") == ()


def test_a_file_that_is_not_there_is_refused(tmp_path, capsys):
    """A slip in the name is told as such."""
    assert main(["--data", str(tmp_path), "recipe", str(tmp_path / "none.csv")]) == 1
    assert "cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize("given", ["moon dust", "=2.7", "moon dust=heavy", "moon dust=0.3", "moon dust=nan"])
def test_a_density_that_is_none_is_refused(read, given):
    """A density wants a material and a number that a powder can have."""
    assert read("r.csv", GOOD, "--density", given)[0] == 1
