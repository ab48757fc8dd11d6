"""The commands: ``benchvoice chat``, ``demo``, ``hear``, ``talk``, ``phrases``, ``journal``, ``check``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from benchvoice import __version__
from benchvoice.errors import BenchvoiceError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; every refusal is one sentence on standard error."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except BenchvoiceError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped. Everything said before is written down.", file=sys.stderr)
        return 130


def _chat(options: argparse.Namespace) -> int:
    from benchvoice import building

    with building.open_journal(options.data) as journal:
        prompt = building.is_terminal(sys.stdin)
        building.chat(journal, sys.stdin, sys.stdout, prompt=prompt).run()
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="benchvoice", description="The voice at a potter's glaze bench. Works offline; nothing leaves this machine."
    )
    parser.add_argument("--version", action="version", version=__version__)
    parser.add_argument("--data", type=Path, metavar="FOLDER", help="keep the journal in this folder")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    chat = commands.add_parser("chat", help="talk by typing; no sound needed")
    chat.set_defaults(run=_chat)
    return parser
