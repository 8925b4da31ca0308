"""``python -m bot try``: the real bot with the demo's kit on a simulated Discord."""

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

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
from shared.kit import Kit
from shared.toml_file import FileProblemsError

if TYPE_CHECKING:
    from bot.practice_ground.simulated import Ground

NOTES = "hole-notes"
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


async def practice(settings: Settings, *, port: int | None) -> None:
    """Open the practice ground and stay until Ctrl-C. Its database goes when it closes."""
    console = Console(highlight=False, soft_wrap=True)
    kit = load_kit(settings.kit)
    with tempfile.TemporaryDirectory(prefix="leeward-") as folder:
        url = settings.database or f"sqlite:///{Path(folder) / 'practice.sqlite3'}"
        own = settings.model_copy(update={"database": url, "draw_in_thread": True})
        await open_ground(
            make_bot=lambda: make_bot(own),
            world=world(kit),
            announce=lambda line: console.print(line, markup=False),
            port=port,
            on_open=lambda ground: _prepared(ground, kit),
        )


async def _prepared(ground: "Ground", kit: Kit) -> None:
    """The demo's cup with an invented season; a kit that can't play it goes without."""
    if await ground.as_bot(_publish_demo(ground, kit)):
        await share_and_ask(ground)


async def _publish_demo(ground: "Ground", kit: Kit) -> bool:
    """Load the demo's cup, publish its first holes, play its season; False if it can't be read."""
    text = (DEMO / "cup.toml").read_text(encoding="utf-8")
    try:
        event = read_event(text, file="cup.toml", kit=kit)
    except FileProblemsError:
        return False
    notes = ground.bot.get_cog("NotesCog")
    assert isinstance(notes, NotesCog)
    community = ground.guild.id
    await notes.notes.book.load(community, event, author=COACH)
    await notes.notes.roles.set_notes_channel(community, ground.channels[NOTES].id)
    for number in PUBLISHED:
        await notes.notes.publish(community, number, member_id=ground.members["Rosalind"].id)
    await notes.publisher.deliver()
    await play_season(ground, event.name)
    return True
