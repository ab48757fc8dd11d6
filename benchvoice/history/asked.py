"""What ``benchvoice history`` was asked for: lines, a picture in a file, a page in a file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import cast

from benchvoice.errors import PotterError, SetupError
from benchvoice.history.chronicle import chronicle, known_buckets
from benchvoice.history.page import page
from benchvoice.history.picture import Form, picture
from benchvoice.history.printed import lines, overview
from benchvoice.messages import Entry

FORMS = ("png", "svg")


def answer(
    entries: Sequence[Entry],
    bucket: str | None,
    now: datetime,
    picture_file: Path | None = None,
    page_file: Path | None = None,
) -> Iterator[str]:
    """Yield the lines to print; files are written on the way, and nothing is overwritten."""
    if picture_file is None and page_file is None:
        yield from overview(entries, now) if bucket is None else lines(chronicle(entries, bucket, now))
        return
    found = chronicle(entries, _one_bucket(entries, bucket), now)
    if picture_file is not None:
        _written(picture_file, picture(found, _form(picture_file)))
        yield f"The picture is in {picture_file}."
    if page_file is not None:
        _written(page_file, page(found).encode("utf-8"))
        yield f"The page is in {page_file}."


def _one_bucket(entries: Sequence[Entry], bucket: str | None) -> str:
    names = known_buckets(entries)
    if bucket is not None:
        return bucket
    if len(names) != 1:
        raise PotterError("A picture or page shows one bucket.", _which(names))
    return names[0]


def _which(names: Sequence[str]) -> str:
    return (
        f"Name one of: {', '.join(names)}."
        if names
        else "There is none yet; begin one by talking to the bench."
    )


def _form(path: Path) -> Form:
    form = path.suffix.removeprefix(".").lower()
    if form not in FORMS:
        raise PotterError(
            f"A picture is a .png or an .svg file; got {path.name}.", "Choose a name that ends so."
        )
    return cast(Form, form)


def _written(path: Path, content: bytes) -> None:
    try:
        with path.open("xb") as stream:
            stream.write(content)
    except FileExistsError:
        raise SetupError(
            f"{path} is there already.", "Choose another name; nothing was overwritten."
        ) from None
    except OSError as error:
        raise SetupError(f"{path} cannot be written: {error.strerror}.", "Choose another place.") from error
