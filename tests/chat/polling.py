"""What the chat tests of polls do again and again: ask, vote, let time pass, restart."""

from typing import Any

import pytest
from discord import app_commands
from discord.ext import commands

from bot.app import Leeward
from bot.chat.background import Background
from bot.commands.polls.cog import PollCog
from shared.errors import LeewardError
from shared.keys import EventKey
from storage.played import Played
from storage.polls import Poll
from storage.results import Results
from tests.chat.booking import load_cup, only_message
from tests.chat.conftest import Stage

HOUR = 3600.0


async def cup_of(stage: Stage) -> Stage:
    """The demo's cup loaded, a notes channel named, the database's clock with the simulation's."""
    await load_cup(stage)
    await stage.coach.slash(stage.questions, "setup notes", channel=stage.notes)
    keep_time(stage)
    return stage


def keep_time(stage: Stage) -> None:
    """The database's clock goes with the simulated one."""
    services = stage.bot.services
    assert services is not None
    services.db._clock = stage.env.now


async def restart(stage: Stage) -> None:
    """A new bot on the same database, its clock that of the simulation before it is ready."""
    hook = Leeward.setup_hook

    async def setup(self: Leeward) -> None:
        await hook(self)
        assert self.services is not None
        self.services.db._clock = stage.env.now

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Leeward, "setup_hook", setup)
        await stage.restart()


def cog(stage: Stage) -> PollCog:
    found = stage.bot.get_cog("PollCog")
    assert isinstance(found, PollCog)
    return found


async def run(stage: Stage, command: str, who: Any = None, **options: Any) -> str:
    """What a command answers, to its member alone."""
    message = only_message(await (who or stage.coach).slash(stage.questions, command, **options))
    assert message.ephemeral
    return message.content


async def refused(stage: Stage, command: str, **options: Any) -> str:
    seen = stage.env.error_cursor
    said = await run(stage, command, **options)
    for error in stage.env.errors[seen:]:
        cause = error.original if isinstance(error, app_commands.CommandInvokeError) else error
        assert isinstance(cause, LeewardError), repr(cause)
    assert len(stage.env.errors) > seen
    return said


async def ask(stage: Stage, **options: Any) -> Any:
    """Open a poll on two days; its message."""
    given = {"question": "When do we meet?", "answers": "Saturday; Sunday; either"} | options
    await run(stage, "poll ask", **given)
    return poll_message(stage)


async def on_hole(stage: Stage, number: int = 1, **options: Any) -> Any:
    """Open a poll on a hole's lines; its message."""
    await run(stage, "poll hole", hole=number, **options)
    return poll_message(stage)


def poll_message(stage: Stage) -> Any:
    return [message for message in public(stage) if message.poll is not None][-1]


def public(stage: Stage) -> list[Any]:
    return [message for message in stage.questions.history() if not message.flags.ephemeral]


def outcomes(stage: Stage) -> list[Any]:
    """Every embed that stands in the questions channel."""
    return [embed for message in public(stage) for embed in message.embeds]


async def stored(stage: Stage, message: Any) -> Poll:
    poll = await cog(stage).service.polls.by_message(message.id)
    assert poll is not None
    return poll


async def counts(stage: Stage, message: Any) -> dict[int, int]:
    return (await cog(stage).service.polls.tally((await stored(stage, message)).id)).counts


async def later(stage: Stage, hours: float) -> None:
    """Let time pass in steps the simulation can hold.

    What looks about for other things than polls and messages every minute rests meanwhile: a
    thousand looks an hour are most of what such a step costs.
    """
    resting = [each for each in _of_others(stage.bot) if each.is_running]
    for each in resting:
        await each.stop()
    left = hours * HOUR
    while left > 0:
        step = min(left, 6 * HOUR)
        await stage.env.advance_time(step)
        left -= step
    for each in resting:
        each.start()
    await stage.env.settle()


def _of_others(bot: commands.Bot) -> list[Background]:
    names = {"TrustCog": "learn_anew", "UpkeepCog": "daily", "EventCog": "rounds"}
    cogs = {name: bot.get_cog(name) for name in names}
    return [getattr(cog, names[name]) for name, cog in cogs.items() if cog is not None]


def wire(stage: Stage, message: Any) -> Any:
    """A poll as the simulated Discord keeps it."""
    return stage.env.backend.get_message(message.channel.id, message.id).poll


def at_discord_only(stage: Stage, message: Any, answer: int, *members: Any) -> None:
    """Votes that Discord has and the bot was never told of."""
    votes = wire(stage, message).votes
    votes.setdefault(answer, set()).update(member.id for member in members)


async def log_results(stage: Stage, number: int, *rows: tuple[str, int, int]) -> None:
    """Results of lines as (letter, tries, holed)."""
    services = stage.bot.services
    assert services is not None
    key = EventKey.of("Windlass Cup").hole(number)
    at = 1
    for letter, tries, holed in rows:
        for attempt in range(tries):
            at += 1
            played = Played(
                hole_key=str(key),
                line_key=str(key.line(letter)),
                variant=letter,
                holed=attempt < holed,
            )
            await Results(services.db).add(
                stage.guild.id,
                played,
                member_id=stage.tamsin.id,
                author_name="Tamsin",
                interaction_id=at,
            )
