"""Polls in words: a row of a note, and where a poll and its outcome stand."""

from bot.services.polls.outcome import Outcome, headline
from shared.text import plain, when
from storage.polls import Poll


def open_line(poll: Poll) -> str:
    """The line on a hole's note while its poll is open."""
    return f"**Poll** open, closes {when(poll.closes_at)}: [vote]({poll_link(poll)})"


def closed_line(outcome: Outcome, link: str) -> str:
    """The line on a hole's note once its poll has closed; ``link`` leads to the outcome."""
    return f"**Poll** {plain(headline(outcome))} · [outcome]({link})"


def poll_link(poll: Poll) -> str:
    """A link that jumps to the poll."""
    return message_link(poll.community_id, poll.channel_id, poll.message_id)


def message_link(community_id: int, channel_id: int, message_id: int | None) -> str:
    """A link that jumps to a message, or to its channel."""
    end = f"/{message_id}" if message_id else ""
    return f"https://discord.com/channels/{community_id}/{channel_id}{end}"
