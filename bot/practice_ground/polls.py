"""Polls that were open when the practice ground was closed: its next Discord knows none of them.

As ``simulated``, which it belongs to, this leans on ``Env.backend`` of simcord 3.2.1: no public way
gives a message the id it had, and by that id the bot knows its poll.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from simcord.backend.models.message import Poll, PollAnswer

if TYPE_CHECKING:
    from bot.practice_ground.simulated import Ground


@dataclass(frozen=True)
class StandingPoll:
    """A poll as it stood: ``voters`` by answer, which are numbered from 1."""

    channel_id: int
    message_id: int
    question: str
    answers: tuple[str, ...]
    closes_at: datetime
    voters: Mapping[int, Collection[int]]


def put_back(ground: "Ground", poll: StandingPoll) -> bool:
    """Have a poll stand again before the bot of a new ground looks for it; False without its room.

    Whether a member may vote for several is known only where one did.
    """
    if poll.channel_id not in {channel.id for channel in ground.channels.values()}:
        return False
    backend = ground.env.backend
    every = [member for voters in poll.voters.values() for member in voters]
    message = backend.create_message(
        poll.channel_id,
        backend.bot_user.id,
        poll=Poll(
            question=poll.question,
            answers=[PollAnswer(number, text) for number, text in enumerate(poll.answers, start=1)],
            expiry=poll.closes_at.isoformat(),
            allow_multiselect=len(every) > len(set(every)),
            votes={answer: set(voters) for answer, voters in poll.voters.items()},
        ),
        broadcast=False,
    )
    messages = backend.messages[poll.channel_id]
    del messages[message.id]
    message.id = poll.message_id
    messages[message.id] = message
    return True
