"""A server on the wire with its people, and what the bot that serves it acknowledged."""

import random
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import discord
from sqlalchemy import func, or_, select

from bot.chat.respond import UNEXPECTED
from bot.settings import DEMO
from storage.database import Database
from storage.schema import outbox
from tests.chat.booking import fields_of
from tests.chat.wire import BotProcess, Wire, until_so
from tests.postgres import Server

GRADES = ("ash", "oak", "yew")
ROUNDS = ("Opening round", "Closing round")


@dataclass(frozen=True)
class Place:
    """Where databases are, of one kind; each is asked for once."""

    folder: Path
    server: Server | None

    def url(self) -> str:
        """A database that is not there yet, or the one that was lost."""
        if self.server is not None:
            return self.server.url(self.server.create())
        return f"sqlite:///{self.folder / 'leeward.db'}"

    def lose(self, url: str) -> None:
        """The disk is gone."""
        if self.server is not None:
            self.server.drop(url.rpartition("/")[2].partition("?")[0])
            return
        for file in self.folder.glob("leeward.db*"):
            file.unlink()


@dataclass
class Community:
    """A server with its people, and what the bot that serves it acknowledged."""

    wire: Wire
    bot: BotProcess
    guild: Any
    questions: Any
    notes: Any
    coach: Any
    members: list[Any]
    tried: set[int] = field(default_factory=set)  # interactions that log a result
    counted: set[int] = field(default_factory=set)  # those that were told "Counted"
    grades: dict[int, list[str]] = field(default_factory=dict)  # since the last acknowledged one
    published: set[int] = field(default_factory=set)
    rounds: list[str] = field(default_factory=lambda: [ROUNDS[0]])
    odd: list[str] = field(default_factory=list)

    async def told(self, result: Any) -> Any | None:
        """The last message of an answer; None where the bot died before."""
        answered = await self.bot.answered(result)
        if answered is None:
            return None
        messages = [each for each in (answered.response, *answered.followups) if each is not None]
        self.odd += [each.content for each in messages if each.content == UNEXPECTED]
        return messages[-1] if messages else answered

    async def log(self, member: Any, dice: random.Random) -> None:
        """Press a button of a note and fill in its form."""
        note = self.wire.messages(self.notes)[0]
        label = dice.choice(("Went in", "Missed"))
        opened = await member.click(note, label=label)
        if await self.told(opened) is None or opened.modal is None:
            return
        typed = fields_of(opened.modal) | {"line": "A", "wind": "9 mph from 3"}
        if label == "Missed":
            typed["outcome"] = f"{dice.randint(1, 4)} long"
        sent = await member.submit_modal(opened, typed)
        self.tried.add(sent._interaction.id)
        message = await self.told(sent)
        if message is not None and message.embeds[0].title.startswith("Counted: hole 2, line A"):
            self.counted.add(sent._interaction.id)

    async def set_bag(self, member: Any, dice: random.Random) -> None:
        """Another grade of the 6-iron."""
        grade = dice.choice(GRADES)
        asked = self.grades.setdefault(member.id, [""])
        asked.append(grade)
        sent = await member.slash(self.questions, "bag", club="6-iron", grade=grade)
        if await self.told(sent) is not None:
            self.grades[member.id] = [grade]

    async def vote(self, member: Any, dice: random.Random) -> None:
        """Vote, or vote otherwise."""
        (poll,) = self.polls()
        await member.vote(poll, answer=dice.randint(1, 3))

    async def publish(self, number: int) -> None:
        """One note more."""
        sent = await self.coach.slash(self.questions, "publish", hole=number)
        message = await self.told(sent)
        if message is not None and message.content.startswith("Published 1 of 1"):
            self.published.add(number)

    async def turn_round(self) -> None:
        """Have the other round played, which changes every note."""
        wanted = ROUNDS[1] if self.rounds[-1] == ROUNDS[0] else ROUNDS[0]
        self.rounds.append(wanted)
        sent = await self.coach.slash(self.questions, "event round", round=wanted)
        if await self.told(sent) is not None:
            self.rounds = [wanted]

    def polls(self) -> list[Any]:
        return [each for each in self.wire.messages(self.questions) if each._message.poll]

    def titles(self) -> list[str]:
        """Which notes stand, by their titles."""
        return [str(each.embeds[0].title) for each in self.wire.messages(self.notes)]


def community(wire: Wire, bot: BotProcess, *, id: int) -> Community:
    guild = wire.env.create_guild(f"Club {id % 97}", id=id)
    manager = discord.Permissions(manage_guild=True, manage_messages=True, send_messages=True)
    role = guild.create_role("Coach", permissions=manager)
    coach = guild.add_member(wire.env.create_user("rosalind"), roles=[role])
    members = [guild.add_member(wire.env.create_user(name)) for name in ("tamsin", "odile")]
    questions, notes = (guild.create_text_channel(name) for name in ("questions", "notes"))
    return Community(wire, bot, guild, questions, notes, coach, members)


async def prepare(here: Community) -> None:
    """The demo's cup loaded, hole 2 published, a poll on its lines, both members in Sail."""
    file = ("cup.toml", (DEMO / "cup.toml").read_bytes())
    ask = here.coach.slash
    assert await here.told(await ask(here.questions, "event load", file=file))
    assert await here.told(await ask(here.questions, "setup notes", channel=here.notes))
    await here.publish(2)
    assert await here.told(await ask(here.questions, "poll hole", hole=2))
    for member in here.members:
        sent = await member.slash(here.questions, "me division", division="Sail")
        assert await here.told(sent)
    assert here.published == {2} and len(here.polls()) == 1


async def none_waits(url: str) -> None:
    """Wait until everything is posted that is to be."""
    db = await Database.open(url)
    left = or_(outbox.c.state.in_(("waiting", "unmade")), outbox.c.stale > 0)
    waits = select(func.count()).select_from(outbox).where(left)

    async def none() -> bool:
        return not await db.read(lambda connection: connection.execute(waits).scalar())

    try:
        await until_so(none)
    finally:
        await db.close()


def said_on_note(here: Community) -> str:
    """What the first note tells, hole 2's."""
    return str(here.wire.messages(here.notes)[0].embeds[0].description)
