"""The commands of ``benchvoice``: talking (demo, chat, hear) and looking (journal, history, check)."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeAlias

from benchvoice import __version__
from benchvoice.errors import BenchvoiceError

Options = argparse.Namespace
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; every refusal is one sentence on standard error."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options) or 0)
    except BenchvoiceError as error:
        print(error, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("Stopped. Everything said before is written down.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        sys.stderr.close()  # whoever read our lines has gone; there is nobody left to tell
        return 1


# ---- talking ---------------------------------------------------------------------------


def _chat(options: Options) -> None:
    from benchvoice import building

    with building.open_journal(options.data) as journal:
        prompt = sys.stdin.isatty() and sys.stdout.isatty()
        building.chat(journal, sys.stdin, sys.stdout, prompt=prompt).run()


def _talk(options: Options) -> None:
    import signal

    from benchvoice import building, talking

    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # else the terminal would stay as it is now

    wishes = talking.Wishes(
        options.model,
        options.microphone,
        options.loudspeaker,
        options.push,
        options.call,
        options.record,
        options.big,
    )
    with (
        building.open_journal(options.data) as journal,
        talking.quiet_libraries(),
        talking.live(journal, wishes, sys.stdin, sys.stdout) as session,
    ):
        session.run()


def _hear(options: Options) -> int | None:
    from benchvoice import building

    if len(options.files) == 1 and options.files[0].is_dir():
        return _hear_again(options.files[0], options.model)
    with building.open_journal(options.data) as journal:
        _hear_files(journal, options.files, options.model, options.replies)
    return None


def _hear_again(folder: Path, model: Path | None) -> int:
    """Hear a session that was kept; it writes nothing into the journal."""
    from benchvoice import talking

    with (
        tempfile.TemporaryDirectory() as scratch,
        talking.kept(folder, model, Path(scratch), sys.stdout) as (session, ears),
    ):
        session.run()
    for then, now in ears.differences:
        print(f"differs: then {then or 'nothing'}, now {now or 'nothing'}")
    return 1 if ears.differences else 0


def _demo(options: Options) -> None:
    from benchvoice import building
    from benchvoice.bundled import demo_session

    replies = options.replies or Path("benchvoice-demo.wav")
    with tempfile.TemporaryDirectory() as scratch:
        folder = options.data or Path(scratch)
        with building.open_journal(folder) as journal:
            _hear_files(journal, demo_session(), options.model, replies)
    print(f"The replies are in {replies}.")


def _hear_files(journal: object, files: Sequence[Path], model: Path | None, replies: Path | None) -> None:
    from benchvoice import building
    from benchvoice.journal import Journal

    assert isinstance(journal, Journal)
    with building.listening(files, model) as ears:
        if replies is None:
            building.hear(journal, ears, sys.stdout).run()
            return
        with building.speaking_into(replies) as speaker:
            building.hear(journal, ears, sys.stdout, speaker).run()


# ---- looking ------------------------------------------------------------------------------


def _phrases(options: Options) -> None:
    from benchvoice.meaning import phrases

    for kind in phrases.kinds():
        if not options.kind or kind in options.kind:
            print(f"{kind}: {'; '.join(phrases.sentences_of(kind, options.most))}")


def _journal(options: Options) -> None:
    from benchvoice import building, listing

    with building.open_journal(options.data) as journal:
        if options.csv:
            _export(options.csv, journal.export_csv)
        if options.json:
            _export(options.json, journal.export_json)
        if not (options.csv or options.json):
            for line in listing.lines(journal.entries(bucket=options.bucket, limit=options.last)):
                print(line)


def _export(path: Path, export: Callable[..., None]) -> None:
    from benchvoice.errors import JournalError

    try:
        with path.open("x", encoding="utf-8", newline="") as stream:
            export(stream)
    except FileExistsError:
        raise JournalError(
            f"{path} is there already.", "Choose another name; nothing was overwritten."
        ) from None
    except OSError as error:
        raise JournalError(f"{path} cannot be written: {error.strerror}.", "Choose another place.") from error
    print(f"The journal is in {path}.")


def _history(options: Options) -> None:
    from benchvoice import building, history

    with building.open_journal(options.data) as journal:
        entries = journal.entries()
    for line in history.answer(entries, options.bucket, building.clock(), options.picture, options.page):
        print(line)


def _recipe(options: Options) -> None:
    from benchvoice import building, recipe_file

    own = recipe_file.densities(options.density)
    recipe = recipe_file.read(options.file, options.name)
    recipe = recipe_file.made_up_to_a_hundred(
        options.file, recipe, normalise=options.normalise, as_it_is=options.as_it_is
    )
    with building.open_journal(options.data) as journal:
        now = building.clock()
        journal.write_all(recipe_file.entries(recipe, own, journal.begin_session(now), now))
    for line in recipe_file.told(recipe, own):
        print(line)
    print("It is written down. To weigh it out, say: make a batch.")


def _routines(options: Options) -> int:
    from benchvoice import routine_files
    from benchvoice.journal import journal_path

    folder = routine_files.own_folder(journal_path(options.data))
    if options.check:
        print(f"{options.check} is in order: {routine_files.check(options.check).name}.")
        return 0
    if options.copy:
        print(
            f"Copied to {routine_files.copy(options.copy, folder)}. Edit it; it stands in the place of ours."
        )
        return 0
    found, refused = routine_files.all_routines(folder)
    for each in found:
        print(
            f"{each.routine.name}: {each.routine.about.full}"
            + (f" (yours, {each.where})" if each.own else "")
        )
    for error in refused:
        print(error, file=sys.stderr)
    return 1 if refused else 0


def _check(options: Options) -> int:
    from benchvoice import checking

    found = checking.everything(options.model, options.data)
    for part in found:
        print(part)
    return 0 if all(part.works for part in found if part.needed) else 1


# ---- the command line -------------------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="benchvoice",
        description="The voice at a potter's glaze bench. It works offline; nothing leaves this machine.",
    )
    parser.add_argument("--version", action="version", version=__version__)
    parser.add_argument("--data", type=Path, metavar="FOLDER", help="keep the journal in this folder")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_talking(commands)
    _add_looking(commands)
    _add_files(commands)
    _with_model(_command(commands, "check", _check, "tell what works here, and what to do about the rest"))
    return parser


def _add_talking(commands: Commands) -> None:
    demo = _command(commands, "demo", _demo, "hear a whole session on bundled sound; no sound card needed")
    _command(commands, "chat", _chat, "talk by typing; no sound needed")
    talk = _command(commands, "talk", _talk, "talk by voice at the bench; the keyboard works beside it")
    talk.add_argument("--microphone", metavar="NAME", help="a part of its name, or its number; remembered")
    talk.add_argument("--loudspeaker", metavar="NAME", help="a part of its name, or its number; remembered")
    talk.add_argument("--push", action="store_true", help="listen only after any key or a foot pedal")
    talk.add_argument("--call", action="store_true", help="stand by until called: bench, are you there")
    talk.add_argument("--big", action="store_true", help="show the number that matters in large type")
    talk.add_argument(
        "--record", type=Path, metavar="FOLDER", help="keep sound, words and turns in this folder"
    )
    _with_model(talk)
    hear = _command(commands, "hear", _hear, "talk by recordings, one after the other")
    hear.add_argument(
        "files", nargs="+", type=Path, metavar="FILE", help="WAV, FLAC or OGG; or a talk's record"
    )
    for command in (demo, hear):
        _with_model(command)
        command.add_argument("--replies", type=Path, metavar="WAV", help="speak the replies into this file")


def _add_looking(commands: Commands) -> None:
    phrases = _command(commands, "phrases", _phrases, "print what is understood")
    phrases.add_argument("kind", nargs="*", help="only these kinds")
    phrases.add_argument("--most", type=int, default=6, metavar="N", help="at most N sentences of each kind")
    journal = _command(commands, "journal", _journal, "list or export what was written down")
    journal.add_argument("--bucket", metavar="NAME", help="only this bucket")
    journal.add_argument("--last", type=int, metavar="N", help="only the last N entries")
    journal.add_argument("--csv", type=Path, metavar="FILE", help="export everything as CSV")
    journal.add_argument("--json", type=Path, metavar="FILE", help="export everything as JSON")
    history = _command(commands, "history", _history, "tell how a bucket has been")
    history.add_argument("bucket", nargs="?", metavar="BUCKET", help="one in full; else a line for each")
    history.add_argument("--picture", type=Path, metavar="FILE", help="draw it into this .png or .svg file")
    history.add_argument("--page", type=Path, metavar="FILE", help="make one .html page of it")


def _add_files(commands: Commands) -> None:
    recipe = _command(commands, "recipe", _recipe, "read a recipe from a file, check it and write it down")
    recipe.add_argument("file", type=Path, metavar="FILE", help="CSV or JSON")
    recipe.add_argument("--name", metavar="NAME", help="call it this")
    recipe.add_argument("--normalise", action="store_true", help="make a base that is not 100 up to 100")
    recipe.add_argument("--as-it-is", action="store_true", help="keep a base that is not 100 as it is")
    recipe.add_argument(
        "--density", action="append", default=[], metavar="MATERIAL=VALUE", help="of one not in the table"
    )
    routines = _command(commands, "routines", _routines, "list the routines, copy one to edit it, check one")
    routines.add_argument("--copy", metavar="NAME", help="copy it into the folder of your own, to be edited")
    routines.add_argument("--check", type=Path, metavar="FILE", help="say what is wrong in it, if anything")


def _command(
    commands: Commands,
    name: str,
    run: Callable[[Options], int | None],
    told: str,
) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=told, description=told[0].upper() + told[1:] + ".")
    command.set_defaults(run=run)
    return command


def _with_model(command: argparse.ArgumentParser) -> None:
    command.add_argument("--model", type=Path, metavar="FOLDER", help="a vosk model to use instead of ours")
