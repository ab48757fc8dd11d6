"""A bucket's history as a picture, PNG or SVG, with a title and a description inside the SVG."""

from __future__ import annotations

import io
from typing import Literal
from xml.etree import ElementTree

from benchvoice.errors import SetupError
from benchvoice.history.chronicle import Chronicle, worded
from benchvoice.history.series import described, series

Form = Literal["png", "svg"]

SVG = "http://www.w3.org/2000/svg"


def picture(found: Chronicle, form: Form) -> bytes:
    """Return the picture as the bytes of a file; an SVG says in its description what it shows."""
    drawn = _drawn(found, form)
    return _told(drawn, found, described(found)) if form == "svg" else drawn


def inline_picture(found: Chronicle) -> str:
    """Return the picture as an element of a page that says itself, in a caption, what it shows."""
    told = _told(_drawn(found, "svg"), found, worded("picture_how")).decode("utf-8")
    return told[told.index("<svg") :]


def _drawn(found: Chronicle, form: Form) -> bytes:
    """Return the drawing; without matplotlib it is refused with what to install."""
    stream = io.BytesIO()
    try:
        from benchvoice.history.drawing import draw
    except ImportError as missing:
        raise SetupError(
            f"Pictures need matplotlib, which cannot be loaded: {missing}.",
            "Install it with: pip install 'benchvoice[pictures]'.",
        ) from missing
    draw(series(found), title(found), stream, form)
    return stream.getvalue()


def title(found: Chronicle) -> str:
    """Return the picture's title."""
    return worded("picture_title", bucket=found.bucket)


def _told(drawn: bytes, found: Chronicle, description: str) -> bytes:
    """Return the SVG as an image with a name and a description, which a screen reader says in its place."""
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", "http://www.w3.org/1999/xlink")
    root = ElementTree.fromstring(drawn)
    for tag in ("metadata", "title"):
        for old in root.findall(f"{{{SVG}}}{tag}"):
            root.remove(old)
    root.insert(0, _element("desc", "picture-description", description))
    root.insert(0, _element("title", "picture-title", title(found)))
    root.set("role", "img")
    root.set("aria-labelledby", "picture-title")
    root.set("aria-describedby", "picture-description")
    return bytes(ElementTree.tostring(root, encoding="utf-8", xml_declaration=True))


def _element(tag: str, key: str, text: str) -> ElementTree.Element:
    element = ElementTree.Element(f"{{{SVG}}}{tag}", {"id": key})
    element.text = text
    return element
