"""What the chat tests do again and again: ask, be refused, read a card."""

import re
from typing import Any

import discord
from discord import app_commands

from shared.errors import LeewardError
from tests.chat.conftest import Stage

QUIET = {"parse": []}
BARE_ZERO = re.compile(r"-0\.0\b")


async def answered(stage: Stage, who: Any, command: str, /, **options: Any) -> Any:
    """The one message a command answers with; an error fails the test."""
    result = await who.slash(stage.questions, command, **options)
    assert result.response is not None and not result.followups
    return result.response


async def card(stage: Stage, who: Any, command: str, /, **options: Any) -> discord.Embed:
    """The one embed a command answers with."""
    message = await answered(stage, who, command, **options)
    # An embed that is a picture and nothing else belongs to the card before it.
    embeds = [e for e in message.embeds if e.description or e.fields or not e.image.url]
    assert message.content == "" and len(embeds) == 1, message.content
    embed = embeds[0]
    assert not BARE_ZERO.search(f"{embed.title}{embed.description}")
    return embed


async def refused(stage: Stage, who: Any, command: str, /, **options: Any) -> str:
    """The sentence a command is refused with: for its member alone, and raised on purpose."""
    seen = stage.env.error_cursor
    message = await answered(stage, who, command, **options)
    raised = stage.env.errors[seen:]
    assert raised, f"not refused: {message.embeds}"
    for error in raised:
        cause = error.original if isinstance(error, app_commands.CommandInvokeError) else error
        assert isinstance(cause, LeewardError), repr(cause)
    assert message.ephemeral and not message.embeds
    assert "Traceback" not in message.content
    return message.content


def text(part: str | None) -> str:
    """A part of a card that must be there."""
    assert part is not None
    return part


def example_of(content: str) -> str:
    """The right example at the end of a refusal."""
    found = re.fullmatch(r".*\nFor example: `([^`]+)`", content, re.DOTALL)
    assert found, content
    return found[1]


async def ask_example(stage: Stage, who: Any, example: str) -> discord.Embed:
    """What an example answers: a question to /wind, or a whole command with its options."""
    if not example.startswith("/"):
        return await card(stage, who, "wind", question=example)
    name, _, rest = example[1:].partition(" ")
    parts = re.split(r" ?(\w+):", rest)[1:]
    return await card(stage, who, name, **dict(zip(parts[::2], parts[1::2], strict=True)))


async def suggested(
    stage: Stage, who: Any, command: str, option: str, typed: str, /, **filled: Any
) -> list[tuple[str, str]]:
    """The suggestions for what is typed, as (shown, value)."""
    found = await who.autocomplete(stage.questions, command, option, typed, **filled)
    return [(each["name"], each["value"]) for each in found]


def sent_mentions(stage: Stage) -> list[Any]:
    """``allowed_mentions`` of every message the bot has sent so far."""
    bodies = [request.json for request in stage.env.http_requests]
    found = [body.get("data", body) for body in bodies if isinstance(body, dict)]
    return [each.get("allowed_mentions") for each in found if "content" in each or "embeds" in each]
