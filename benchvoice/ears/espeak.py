"""Say how words sound, in the International Phonetic Alphabet: a program of its own.

    python espeak.py ACCENT...  <words, one a line  >sounds, one line a word

One column for each accent. It uses the espeak-ng library that the package ``espeakng_loader``
brings along, through the two calls of its C interface that set it up and spell a text.
"""

from __future__ import annotations

import ctypes
import os
import sys

_RETRIEVAL, _UTF8, _IPA = 1, 1, 0x02


def _library() -> ctypes.CDLL:
    import espeakng_loader

    data = str(espeakng_loader.get_data_path())
    os.environ["ESPEAK_DATA_PATH"] = data
    library = ctypes.CDLL(str(espeakng_loader.get_library_path()))
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    if library.espeak_Initialize(_RETRIEVAL, 0, data.encode(), 0) < 0:
        raise SystemExit("espeak-ng did not start")
    return library


def _sounds(library: ctypes.CDLL, word: str) -> str:
    text = ctypes.c_char_p(word.encode())
    parts = []
    while text.value:
        parts.append(library.espeak_TextToPhonemes(ctypes.byref(text), _UTF8, _IPA).decode())
    return "".join(parts)


def main(accents: list[str]) -> None:
    """Spell every line of the standard input."""
    words = sys.stdin.buffer.read().decode().splitlines()
    library, columns = _library(), []
    for accent in accents:
        library.espeak_SetVoiceByName(accent.encode())
        columns.append([_sounds(library, word) for word in words])
    lines = ("\t".join(row) for row in zip(*columns, strict=True))
    sys.stdout.buffer.write(("\n".join(lines) + "\n").encode())


if __name__ == "__main__":
    main(sys.argv[1:])
