"""``python -m bot try``: the real bot with the demo's kit on a simulated Discord."""

import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from platformdirs import user_data_path
from rich.console import Console

from bot.app import make_bot
from bot.cli.season import MEMBERS, play_season, share_and_ask
from bot.commands.notes.cog import NotesCog
from bot.practice_ground import Room, World, open_ground
from bot.services.book.toml_in import read_event
from bot.services.equivalents import equal_example
from bot.services.kits.examples import examples
from bot.settings import DEMO, Settings, load_kit
from shared.actor import Author
from shared.errors import StorageError
from shared.kit import Kit
from shared.toml_file import FileProblemsError
from storage.address import address_of
from storage.database import Database
from storage.lock import FileLock
from storage.polls import Polls

if TYPE_CHECKING:
    from bot.practice_ground.simulated import Ground

NOTES = "hole-notes"
KEPT = "practice-ground.sqlite3"
ANEW = "python -m bot try --fresh"
PUBLISHED = (1, 2, 3)
COACH = Author(None, "Rosalind")


SEASON = (
    "Two weeks of a season are invented: a dozen members' shots, a poll that is open here, a "
    "shared shot there. So `/compare`, `/table`, `/trust` and `/practice` have something to say; "
    "what you log counts on top."
)


def welcome(kit: Kit) -> str:
    """The first message of the practice ground: what to do, and what to try."""
    grade = kit.clubs[0].grades[-1].name
    return f"""**Welcome to the practice ground.** Nothing here leaves this machine.

Click into the message box, type `/wind`, choose it, and type into *question*:
`{examples(kit, "yards")[0]}`
The first suggestion is already the answer. Enter takes it, a second Enter sends it.

In #hole-notes the coach has published three holes: press **For me** there. {SEASON}

Then try
• `/bag grade:{grade}` to own other grades, and ask again
• `{equal_example(kit, "yards")}` for every club that reaches
• `/help` for everything that can be typed"""


def world(kit: Kit) -> World:
    """The invented community of the practice ground."""
    return World(
        guild="Saltmarsh Golfers",
        bot="Leeward",
        rooms=(
            Room(name="wind-questions", topic="Ask for the wind", welcome=welcome(kit)),
            Room(name=NOTES, topic="The coach's notes for the cup"),
        ),
        others=MEMBERS,
    )


async def practice(settings: Settings, *, port: int | None, fresh: bool = False) -> None:
    """Open the practice ground and stay until Ctrl-C.

    What was done there is kept for the next time, unless that is ``fresh``; a second one that is
    open at the same time begins anew and keeps nothing.
    """
    console = Console(highlight=False, soft_wrap=True)
    kit = load_kit(settings.kit)
    with ExitStack() as stack:
        url = settings.database or _kept_url(stack, fresh=fresh)
        own = settings.model_copy(update={"database": url, "one_process": True})
        await open_ground(
            make_bot=lambda: make_bot(own),
            world=world(kit),
            announce=lambda line: console.print(line, markup=False),
            port=port,
            on_open=lambda ground: prepare(ground, kit),
            before=lambda ground: put_polls_back(ground, url),
        )
        if KEPT in url:
            console.print(f"What you did is kept; {ANEW} begins anew.", markup=False)


def _kept_url(stack: ExitStack, *, fresh: bool) -> str:
    """The file of the last time, this one's alone while it is open; else one that goes."""
    path = user_data_path("leeward", appauthor=False, ensure_exists=True) / KEPT
    url = f"sqlite:///{path}"
    try:
        stack.enter_context(FileLock(address_of(url)))
    except StorageError:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="leeward-"))
        return f"sqlite:///{Path(folder) / 'another.sqlite3'}"
    if fresh:
        for each in path.parent.glob(f"{KEPT}*"):
            if each.suffix != ".lock":
                each.unlink()
    return url


async def put_polls_back(ground: "Ground", url: str) -> None:
    """Have the polls of the last time stand again, so that they end as they should."""
    from bot.practice_ground.polls import StandingPoll, put_back  # with the simulation, an extra

    db = await Database.open(url)
    try:
        polls = Polls(db)
        for poll in await polls.not_closed():
            if poll.community_id == ground.guild.id and poll.message_id is not None:
                stood = StandingPoll(
                    channel_id=poll.channel_id,
                    message_id=poll.message_id,
                    question=poll.question,
                    answers=poll.answers,
                    closes_at=poll.closes_at,
                    voters=await polls.voters(poll.id),
                )
                put_back(ground, stood)
    finally:
        await db.close()


async def prepare(ground: "Ground", kit: Kit) -> None:
    """The demo's cup with an invented season; a kit that can't play it goes without."""
    began = await ground.as_bot(_publish_demo(ground, kit))
    if began:
        await share_and_ask(ground)


async def _publish_demo(ground: "Ground", kit: Kit) -> bool:
    """Load the demo's cup, publish its first holes, play its season.

    False where the kit can't play it, and where all is there from the last time: then only the
    notes are posted, for the simulated channels begin empty.
    """
    text = (DEMO / "cup.toml").read_text(encoding="utf-8")
    try:
        event = read_event(text, file="cup.toml", kit=kit)
    except FileProblemsError:
        return False
    notes = ground.bot.get_cog("NotesCog")
    assert isinstance(notes, NotesCog)
    community = ground.guild.id
    before = await notes.notes.book.names(community)
    if not before:
        await notes.notes.book.load(community, event, author=COACH)
    await notes.notes.roles.set_notes_channel(community, ground.channels[NOTES].id)
    current, _ = await notes.notes.book.current(community)
    for number in PUBLISHED:
        if current.hole(number) is not None:
            await notes.notes.publish(community, number, member_id=ground.members["Rosalind"].id)
            await notes.publisher.deliver()
    if before:
        return False
    await play_season(ground, event.name)
    return True
