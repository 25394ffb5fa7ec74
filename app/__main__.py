"""The command line: `python -m app serve | score FILE | advise FILE | backup | restore [NAME] | warm`.

`score` and `advise` read a JSON file (or `-`) and print one JSON object; a bad input prints one line naming the field
and exits 2. A file ending in `.jsonl` is answered line by line; a bad line gets `{"error": "…"}` and the rest goes on.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app import __version__, contract
from app.errors import InputError, RecoupError
from app.settings import TABLE, SettingRow, Settings, from_environment

if TYPE_CHECKING:
    from app.storage.folder_lock import FolderLock

BAD_INPUT = 2


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(prog="python -m app", description="Recoup")
    top.add_argument("--version", action="version", version=f"Recoup {__version__}")
    verbs = top.add_subparsers(dest="verb", required=True)
    _serve_flags(verbs.add_parser("serve", help="start the server"))
    for verb, text in (("score", "score a program as called"), ("advise", "the best trained next pass")):
        verbs.add_parser(verb, help=text).add_argument(
            "file", help="JSON file, .jsonl file, or - for standard input"
        )
    for verb, text in (
        ("backup", "copy the database now"),
        ("restore", "bring a copy back; alone: list them"),
    ):
        _data_dir(verbs.add_parser(verb, help=text))
    verbs.choices["restore"].add_argument("name", nargs="?", help="which copy")
    verbs.add_parser("warm", help="compile what must be compiled")
    return top


def _serve_flags(serve: argparse.ArgumentParser) -> None:
    explained = {row.name: row for row in TABLE if row.group == "machine"}
    serve.add_argument("--port", type=int, help=_help(explained["port"]))
    serve.add_argument("--host", help=_help(explained["host"]))
    serve.add_argument("--lan", action="store_true", default=None, help=_help(explained["lan"]))
    serve.add_argument("--workers", type=int, help=_help(explained["workers"]))
    serve.add_argument("--address", help=_help(explained["address"]))
    serve.add_argument("--no-browser", dest="open_browser", action="store_false", default=None)
    _data_dir(serve)


def _data_dir(verb: argparse.ArgumentParser) -> None:
    row = next(row for row in TABLE if row.name == "data_dir")
    verb.add_argument("--data-dir", type=lambda text: Path(text).resolve(), help=_help(row))


def _help(row: SettingRow) -> str:
    return f"{row.help} (or {row.variable})"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb; the exit code."""
    given = parser().parse_args(arguments)
    try:
        return _run(given)
    except RecoupError as error:
        print(str(error), file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        return 130


def _run(given: argparse.Namespace) -> int:
    if given.verb == "serve":
        return _serve(given)
    if given.verb == "warm":
        return warm()
    if given.verb in ("backup", "restore"):
        return _copies(given)
    return _answer_file(given.verb, given.file)


def _serve(given: argparse.Namespace) -> int:
    from app.storage.folder_lock import FolderLock, Taken
    from app.web.server import already_running

    names = ("port", "host", "lan", "open_browser", "data_dir", "workers", "address")
    settings = from_environment(**{name: getattr(given, name) for name in names})
    lock = FolderLock(settings.data_dir)
    try:
        lock.take()
    except Taken as taken:
        return already_running(taken.holder.process, taken.holder.address, settings)
    try:
        return _serve_alone(settings, lock)
    finally:
        lock.free()


def _serve_alone(settings: Settings, lock: FolderLock) -> int:
    from app.main import create_app, prepare
    from app.web.server import serve
    from app.web.workers import serve_together

    if settings.workers > 1 or settings.address:
        return serve_together(create_app, prepare, settings, lock)
    app = create_app(settings)
    app.state.folder_lock = lock
    return serve(app, settings)


def _copies(given: argparse.Namespace) -> int:
    from app import copies

    settings = from_environment(data_dir=given.data_dir)
    if given.verb == "backup":
        return copies.backup(settings)
    return copies.restore(settings, given.name) if given.name else copies.listed(settings)


def _answer_file(verb: str, file: str) -> int:
    if file.endswith(".jsonl"):
        return _answer_lines(verb, _lines(file))
    text = sys.stdin.read() if file == "-" else "".join(_lines(file))
    print(contract.written(contract.answer(verb, text)))
    return 0


def _lines(file: str) -> Iterator[str]:
    try:
        with open(file, encoding="utf-8") as opened:
            yield from opened
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            "file", f"cannot read {file!r} ({error}); expected a JSON file in UTF-8, or -"
        ) from error


def _answer_lines(verb: str, lines: Iterator[str]) -> int:
    for line in lines:
        if not line.strip():
            continue
        try:
            answered = contract.answer(verb, line)
        except RecoupError as error:
            answered = {"error": str(error)}
        print(contract.written(answered), flush=True)
    return 0


def warm() -> int:
    """Compile the planner's loops, so that the first answer is fast."""
    from app import engine

    engine.warm()
    return 0


if __name__ == "__main__":
    sys.exit(main())
