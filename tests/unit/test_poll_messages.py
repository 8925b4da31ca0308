"""Who voted for what, page by page; and which message says that a poll has closed."""

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any, cast

import discord
import pytest

from bot.chat.permissions import POLL, lacking
from bot.commands.polls.cog import result_of
from bot.commands.polls.poll_messages import PollMessages
from storage.polls import Poll

CHANNEL, MESSAGE = 2**60 + 5, 2**60 + 9


def poll() -> Poll:
    at = datetime(2031, 3, 9, 18, 30, tzinfo=UTC)
    return Poll(
        id=3,
        community_id=2**60 + 1,
        channel_id=CHANNEL,
        message_id=MESSAGE,
        hole_key=None,
        question="When?",
        answers=("Saturday", "Sunday"),
        closes_at=at,
        state="open",
        ended=None,
        told=None,
        created_at=at,
        closed_at=None,
    )


class Pages:
    """Discord's list of voters: at most ``limit`` of those after ``after``, by their number."""

    def __init__(self, voters: dict[int, list[int]], *, deaf: bool = False) -> None:
        self.voters, self.deaf, self.asked = voters, deaf, list[tuple[int, int | None]]()

    async def get_poll_answer_voters(
        self, channel: int, message: int, answer: int, *, after: int | None, limit: int
    ) -> dict[str, Any]:
        assert (channel, message) == (CHANNEL, MESSAGE) and limit <= 100
        self.asked.append((answer, after))
        start = 0 if after is None or self.deaf else after
        page = [each for each in self.voters[answer] if each > start][:limit]
        return {"users": [{"id": str(each)} for each in page]}


def messages(pages: Pages) -> PollMessages:
    return PollMessages(cast(discord.Client, SimpleNamespace(http=pages)))


@pytest.mark.parametrize(("many", "requests"), [(99, 1), (100, 2), (250, 3)])
async def test_all_pages_of_voters_are_read(many: int, requests: int) -> None:
    pages = Pages({1: list(range(1001, 1001 + many)), 2: [7, 1003]})
    assert await messages(pages).voters(poll()) == {1: set(range(1001, 1001 + many)), 2: {7, 1003}}
    assert len([answer for answer, _ in pages.asked if answer == 1]) == requests


async def test_a_list_that_goes_in_circles_ends() -> None:
    pages = Pages({1: list(range(1, 301)), 2: []}, deaf=True)
    assert await messages(pages).voters(poll()) == {1: set(range(1, 101)), 2: set()}


def test_what_is_lacking_is_named_and_a_thread_asks_for_its_own_permission() -> None:
    held = discord.Permissions(view_channel=True, send_messages=True, embed_links=True)
    assert lacking(held, POLL) == ["send_polls", "read_message_history"]
    assert lacking(held, POLL, in_thread=True) == [
        "send_messages_in_threads",
        "send_polls",
        "read_message_history",
    ]
    held.update(send_polls=True, read_message_history=True)
    assert lacking(held, POLL) == []


def test_a_result_message_names_its_poll_and_no_other_message_does() -> None:
    assert result_of(message(46, MESSAGE)) == MESSAGE
    assert result_of(message(46, None)) is None
    assert result_of(message(19, MESSAGE)) is None  # a reply


def message(kind: int, refers_to: int | None) -> discord.Message:
    """A message as Discord sends it, read by the library."""
    payload: dict[str, Any] = {
        "id": str(MESSAGE + 4),
        "type": kind,
        "channel_id": str(CHANNEL),
        "author": {"id": "77", "username": "leeward", "discriminator": "0", "avatar": None},
        "content": "",
        "timestamp": "2031-03-09T20:30:00+00:00",
        "edited_timestamp": None,
        "tts": False,
        "mention_everyone": False,
        "mentions": [],
        "mention_roles": [],
        "attachments": [],
        "embeds": [
            {"type": "poll_result", "fields": [{"name": "total_votes", "value": "3"}]},
        ],
        "pinned": False,
    }
    if refers_to is not None:
        payload["message_reference"] = {
            "channel_id": str(CHANNEL),
            "message_id": str(refers_to),
        }
    client = discord.Client(intents=discord.Intents.none())
    channel = client.get_partial_messageable(CHANNEL)
    return discord.Message(state=client._connection, channel=channel, data=cast(Any, payload))
