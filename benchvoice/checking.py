"""Tells what works on this machine, and what to do about the rest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from benchvoice.errors import BenchvoiceError


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that was looked at."""

    name: str
    works: bool
    told: str
    """What was found, or what is wrong and what to do."""
    needed: bool
    """False when benchvoice is of use without it."""

    def __str__(self) -> str:
        state = "works" if self.works else "missing" if self.needed else "missing, and can be done without"
        return f"{self.name}: {state}. {self.told}"


def everything(model: Path | None, data: Path | None) -> tuple[Part, ...]:
    """Look at every part, each on its own."""
    return (
        _looked_at("speech model", lambda: _model(model), needed=True),
        _looked_at("recogniser", lambda: _recogniser(model), needed=True),
        _looked_at("voice", _voice, needed=True),
        _looked_at("journal", lambda: _journal(data), needed=True),
        _looked_at("microphone", _microphone, needed=False),
        _looked_at("loudspeaker", _loudspeaker, needed=False),
    )


def _looked_at(name: str, look: Callable[[], str], *, needed: bool) -> Part:
    try:
        return Part(name, True, look(), needed)
    except BenchvoiceError as error:
        return Part(name, False, str(error), needed)


def _model(model: Path | None) -> str:
    from benchvoice.ears.model_folder import find_model

    return f"It is in {find_model(model).folder}."


def _recogniser(model: Path | None) -> str:
    from benchvoice.ears.engines import engine_for
    from benchvoice.ears.model_folder import find_model
    from benchvoice.messages import WordNetwork

    yes_or_no = WordNetwork(((0, "yes", 1), (0, "no", 1)), frozenset({1}))
    engine_for(find_model(model)).recogniser(yes_or_no, 16000)
    return "vosk loads the model."


def _voice() -> str:
    from benchvoice.voice.engine import Engine

    engine = Engine()
    try:
        sound = engine.render("One, four, two.", 160)
        return f"It spoke for {sound.seconds:.1f} seconds."
    finally:
        engine.close()


def _journal(data: Path | None) -> str:
    from benchvoice import building

    with building.open_journal(data) as journal:
        return f"{journal.count()} entries in {journal.path}. {journal.verify()}"


def _microphone() -> str:
    from benchvoice.ears.microphone import input_devices
    from benchvoice.errors import MicrophoneError

    found = input_devices()
    if not found:
        raise MicrophoneError("There is no microphone.", "Plug one in, or type: benchvoice chat.")
    return f"Found: {'; '.join(f'{one.number} {one.name}' for one in found)}."


def _loudspeaker() -> str:
    from benchvoice.voice.loudspeaker import Loudspeaker

    Loudspeaker().close()
    return "It can be opened."
