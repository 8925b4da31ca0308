"""Where polls meet Discord: posting one, looking at it, who voted for what, ending it."""

from datetime import timedelta
from typing import Literal

import discord

from bot.commands.polls.cards import left_out_words
from bot.services.polls.service import PollDraft
from shared import limits
from storage.polls import Poll

LOOKED_THROUGH = 50  # messages, for a poll that was posted just before a crash
SKEW = timedelta(minutes=1)  # between our clock and Discord's
QUIET = discord.AllowedMentions.none()

Sight = Literal["open", "finalised", "gone"]


class PollMessages:
    """Polls on Discord; errors are Discord's own (``discord.HTTPException``) unless said."""

    def __init__(self, client: discord.Client) -> None:
        self._client = client

    async def post(self, poll: Poll, draft: PollDraft) -> int:
        """Post a kept poll to its channel; the id of its message."""
        shown = discord.Poll(poll.question, timedelta(hours=draft.hours), multiple=draft.several)
        for label in poll.answers:
            shown.add_answer(text=label)
        sent = await self._channel(poll).send(
            content=left_out_words(draft.left_out) or None,
            poll=shown,
            allowed_mentions=QUIET,
            nonce=f"poll.{poll.id}",
        )
        return sent.id

    async def see(self, poll: Poll) -> Sight:
        """Whether a poll is open, finalised, or gone from the chat."""
        assert poll.message_id is not None
        try:
            message = await self._channel(poll).fetch_message(poll.message_id)
        except discord.NotFound:
            return "gone"
        if message.poll is None:
            return "gone"
        return "finalised" if message.poll.is_finalised() else "open"

    async def voters(self, poll: Poll) -> dict[int, set[int]]:
        """Who voted for which answer by now."""
        return {
            answer: await self._voters_of(poll, answer)
            for answer in range(1, len(poll.answers) + 1)
        }

    async def end(self, poll: Poll) -> None:
        """End a poll before its time; one that has ended already stays ended."""
        assert poll.message_id is not None
        await self._channel(poll).get_partial_message(poll.message_id).end_poll()

    async def find(self, poll: Poll) -> int | None:
        """The message of a poll that was posted but not noted down, or None."""
        me = self._client.user
        async for message in self._channel(poll).history(limit=LOOKED_THROUGH):
            if message.created_at < poll.created_at - SKEW:
                break
            shown = message.poll
            if shown is None or me is None or message.author.id != me.id:
                continue
            if _as_kept(shown) == (poll.question, poll.answers):
                return message.id
        return None

    def _channel(self, poll: Poll) -> discord.PartialMessageable:
        return self._client.get_partial_messageable(poll.channel_id, guild_id=poll.community_id)

    async def _voters_of(self, poll: Poll, answer: int) -> set[int]:
        """All pages.

        Not by ``PollAnswer.voters``, which stops at a count that is no more than an estimate
        while a poll is open.
        """
        assert poll.message_id is not None
        found: set[int] = set()
        after: int | None = None
        while True:
            page = await self._client.http.get_poll_answer_voters(
                poll.channel_id, poll.message_id, answer, after=after, limit=limits.VOTERS
            )
            users = {int(user["id"]) for user in page["users"]}
            if len(users) < limits.VOTERS or users <= found:
                return found | users
            found |= users
            after = max(users)


def _as_kept(shown: discord.Poll) -> tuple[str, tuple[str, ...]]:
    return shown.question, tuple(answer.text or "" for answer in shown.answers)
