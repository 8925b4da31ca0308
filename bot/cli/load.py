"""``python -m bot load FILE``: take in an event's file as ``/event load`` does."""

from pathlib import Path

from rich.console import Console

from bot.services.book.against import against_lines
from bot.services.book.book import Book
from bot.services.book.changes import diff_lines
from bot.services.book.choices import Choices
from bot.services.book.made import Made
from bot.services.book.stored import communities
from bot.services.book.toml_in import read_event
from bot.services.kits.kept import KitRepository
from bot.services.members import Caddies
from bot.settings import Settings, load_kit, read_text
from shared.actor import Author
from shared.errors import InputError
from shared.text import visible
from shared.toml_file import FileProblemsError, render_problems
from storage.database import Database

AUTHOR = Author(None, "command line")
EXAMPLE = "python -m bot load bot/demo/cup.toml --community 1234567890"
ASK = (
    "Nothing was loaded: say --keep to leave these as they are, or --replace to load the file as "
    "it is.",
)
BAD_INPUT = 2
LARGEST_ID = 2**63  # Discord's ids are 64-bit, and databases keep them signed


async def load(
    settings: Settings, path: Path, community_id: int | None, keep: bool | None = None
) -> int:
    """Load a file and print what it changed; the exit status, 2 with every problem on stderr.

    Where something stands against the file, ``keep`` says whether it stays; with None nothing is
    loaded and it is named.

    Errors: InputError for a file or a community that isn't there, StorageError.
    """
    text = _text(path)
    kits = await Caddies.open(load_kit(settings.kit))
    db = await Database.open(settings.database)
    kits.keep(KitRepository(db).get)
    try:
        community = await _community(db, community_id)
        kit = (await kits.caddie(community)).kit
        event = read_event(text, file=path.name, kit=kit)
        book = Book(db=db, choices=Choices(db), kits=kits)
        made = Made.read(text)
        found = await book.against(community, event, made)
        if found and keep is None:
            told = Console(stderr=True, soft_wrap=True, markup=False, highlight=False)
            for line in (*against_lines(found), *ASK):
                told.print(visible(line))
            return BAD_INPUT
        diff = await book.load(community, event, author=AUTHOR, made=made, keep=bool(keep))
    except FileProblemsError as error:
        told = Console(stderr=True, soft_wrap=True, markup=False, highlight=False)
        told.print(visible(render_problems(error)))
        return BAD_INPUT
    finally:
        await db.close()
    said = Console(soft_wrap=True, markup=False, highlight=False)
    said.print(visible(f"{event.name}, community {community}, {db.where}"))
    for line in diff_lines(diff):
        said.print(visible(line))
    return 0


def _text(path: Path) -> str:
    try:
        return read_text(path)
    except FileProblemsError:
        raise
    except InputError as error:
        raise InputError(error.sentence, EXAMPLE, error.given) from error


async def _community(db: Database, given: int | None) -> int:
    """The community to load for: the one named, else the only one that has a book."""
    if given is not None and 0 <= given < LARGEST_ID:
        return given
    if given is not None:
        raise InputError("A community is named by its server's id, up to 19 digits.", EXAMPLE)
    found = await db.read(communities)
    if len(found) == 1:
        return found[0]
    which = f"they are {', '.join(map(str, found[:5]))}" if found else "none has a book yet"
    raise InputError(
        f"Say for which community with --community and its server's id; {which}.", EXAMPLE
    )
