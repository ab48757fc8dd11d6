"""The wording files of the package, read once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files


@cache
def wordings() -> Mapping[str, Mapping[str, str]]:
    """Return every wording by key, from the package's wording files."""
    found: dict[str, Mapping[str, str]] = {}
    for file in sorted(files("benchvoice").joinpath("wording").iterdir(), key=lambda f: f.name):
        if file.name.endswith(".toml"):
            found.update(tomllib.loads(file.read_text("utf-8")))
    return found
