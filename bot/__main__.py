"""The command line: ``python -m bot ask | try | run | load``, and what an operator needs."""

import argparse
import asyncio
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from rich.console import Console

from bot.cli.ask import ask, show
from bot.settings import Settings, load_kit, settings_from
from shared.errors import LeewardError
from shared.units import UNITS
from shared.wording import RIGHT_EXAMPLE, error_example, error_sentence, with_example

BAD_INPUT = 2
COMMANDS = "ask | try | run | load | check | status | backup | restore | copy | purge"
COMMAND_EXAMPLE = f'python -m bot ask "{RIGHT_EXAMPLE}"'


def main(arguments: list[str] | None = None) -> int:
    """Run one command; the exit status is 0, or 2 with one line on stderr for bad input."""
    options = _parser().parse_args(arguments)
    try:
        settings = settings_from()
        if options.kit is not None:
            settings = settings.model_copy(update={"kit": options.kit})
        return options.command(options, settings)
    except LeewardError as error:
        text = getattr(error, "detail", "") or error_sentence(
            error, getattr(options, "units", "yards")
        )
        _complain(with_example(text, error_example(error)))
        return BAD_INPUT


def _complain(text: str) -> None:
    """One line on stderr, whatever is in the text."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    Console(stderr=True, soft_wrap=True, markup=False, highlight=False).print(
        " ".join(line.split())
    )


class _Parser(argparse.ArgumentParser):
    """Says in one line what is wrong with a command, as everything else here does."""

    def error(self, message: str) -> NoReturn:
        _complain(f"{message[:1].upper()}{message[1:]}. For example: {COMMAND_EXAMPLE}")
        sys.exit(BAD_INPUT)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m bot", description="Leeward: how far to aim off, for this wind and this bag."
    )
    commands = parser.add_subparsers(required=True, metavar=COMMANDS)
    one = commands.add_parser(
        "ask", help='answer one question, such as "8.4 mph from 2, 5-iron, 165"'
    )
    one.add_argument("question")
    one.add_argument("--json", action="store_true", help="print one JSON object")
    one.add_argument("--units", choices=tuple(UNITS), default="yards")
    one.set_defaults(command=_ask)
    ground = commands.add_parser("try", help="open the practice ground: no account, no token")
    ground.add_argument("--port", type=int, default=None)
    ground.add_argument("--fresh", action="store_true", help="forget what was done there before")
    ground.set_defaults(command=_try)
    live = commands.add_parser("run", help="serve on Discord (DISCORD_TOKEN)")
    live.set_defaults(command=_run)
    book = commands.add_parser("load", help="take in an event's file (TOML), all or nothing")
    book.add_argument("file", type=Path)
    book.add_argument("--community", type=int, default=None, help="the server's id on Discord")
    stands = book.add_mutually_exclusive_group()
    stands.add_argument(
        "--keep",
        action="store_const",
        const=True,
        default=None,
        help="leave what is newer than the file, or missing from it, as it is",
    )
    stands.add_argument(
        "--replace", dest="keep", action="store_const", const=False, help="load it as it is"
    )
    book.set_defaults(command=_load)
    _operators(commands.add_parser)
    for each in (one, ground, live, book):
        each.add_argument("--kit", type=Path, default=None, help="a kit file (TOML)")
    return parser


def _operators(add: Callable[..., argparse.ArgumentParser]) -> None:
    checked = add("check", help="settings, token, kit, database, permissions")
    checked.add_argument("--client", type=int, default=None, help="the application's id: invite it")
    checked.add_argument("--kit", type=Path, default=None, help="a kit file (TOML)")
    checked.set_defaults(command=_check)
    status = add("status", help="version, size, rows, what waits")
    status.set_defaults(command=_status)
    backup = add("backup", help="write a verified backup; the bot may run")
    backup.add_argument("directory", type=Path)
    backup.add_argument("--keep", type=int, default=14, help="how many to keep there")
    backup.set_defaults(command=_backup)
    restore = add("restore", help="put a backup in place; the bot must be stopped")
    restore.add_argument("file", type=Path)
    restore.set_defaults(command=_restore)
    copied = add("copy", help="copy the database into an empty one")
    copied.add_argument("target", help="the other database's address")
    copied.set_defaults(command=_copy)
    purged = add("purge", help="delete everything of one community, for good")
    purged.add_argument("community", type=int, help="the server's id on Discord")
    purged.add_argument("--yes", action="store_true", help="delete it; else only count")
    purged.set_defaults(command=_purge)
    for each in (status, backup, restore, copied, purged):
        each.set_defaults(kit=None)


def _check(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_check

    return show_check(settings, options.client)


def _status(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_status

    return show_status(settings)


def _backup(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_backup

    return show_backup(settings, options.directory, options.keep)


def _restore(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_restore

    return show_restore(settings, options.file)


def _copy(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_copy

    return show_copy(settings, options.target)


def _purge(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.operate import show_purge

    return show_purge(settings, options.community, sure=options.yes)


def _ask(options: argparse.Namespace, settings: Settings) -> int:
    kit = load_kit(settings.kit)
    answer = ask(question=options.question, kit=kit, units=options.units)
    console = Console(highlight=False)
    if options.json:
        console.out(answer.model_dump_json(indent=2))
    else:
        show(answer, kit=kit, units=options.units, console=console)
    return 0


def _try(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.practice import practice  # the simulated Discord is an optional extra

    asyncio.run(practice(settings, port=options.port, fresh=options.fresh))
    return 0


def _run(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.logs import begin_log
    from bot.cli.run import run

    begin_log(settings)
    asyncio.run(run(settings))
    return 0


def _load(options: argparse.Namespace, settings: Settings) -> int:
    from bot.cli.load import load

    return asyncio.run(load(settings, options.file, options.community, options.keep))


if __name__ == "__main__":
    sys.exit(main())
