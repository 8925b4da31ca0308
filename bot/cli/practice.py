"""``python -m bot try``: the real bot with the demo's kit on a simulated Discord."""

import tempfile
from pathlib import Path

from rich.console import Console

from bot.app import make_bot
from bot.equal.desk import equal_example
from bot.ground import Room, World, open_ground
from bot.kit.examples import examples
from bot.settings import Settings, load_kit
from shared.kit import Kit


def welcome(kit: Kit) -> str:
    """The first message of the practice ground: what to do, and what to try."""
    grade = kit.clubs[0].grades[-1].name
    return f"""**Welcome to the practice ground.** Nothing here leaves this machine.

Click into the message box, type `/wind`, choose it, and type into *question*:
`{examples(kit, "yards")[0]}`
The first suggestion is already the answer. Enter takes it, a second Enter sends it.

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
            Room(name="hole-notes", topic="The coach's notes for the cup"),
        ),
    )


async def practice(settings: Settings, *, port: int | None) -> None:
    """Open the practice ground and stay until Ctrl-C. Its database goes when it closes."""
    console = Console(highlight=False, soft_wrap=True)
    kit = load_kit(settings.kit)
    with tempfile.TemporaryDirectory(prefix="leeward-") as folder:
        url = settings.database or f"sqlite:///{Path(folder) / 'practice.sqlite3'}"
        own = settings.model_copy(update={"database": url})
        await open_ground(
            make_bot=lambda: make_bot(own),
            world=world(kit),
            announce=lambda line: console.print(line, markup=False),
            port=port,
        )
