"""Polls as people read them: the outcome, the lines on a hole's note, what is open."""

from collections.abc import Mapping, Sequence
from datetime import datetime

import discord

from bot.chat.message import SAND, SEA
from bot.chat.publisher import body_of
from bot.services.pictures.stored import with_bars
from bot.services.polls.bars import poll_bars
from bot.services.polls.duration import hours_words
from bot.services.polls.outcome import Outcome, Row, agreement, headline, results_words
from bot.services.polls.words import message_link, poll_link
from shared import limits
from shared.text import clipped, plain, when
from shared.wording import listed, plural
from storage.json import JsonObject
from storage.outbox import Message
from storage.polls import Ended, Poll, Tally

MOST_SHOWN = 10
ENDED = {"time": "Closed at its time", "early": "Ended early", "deleted": "Deleted"}
GRANTS = {
    "view_channel": "View Channel",
    "send_messages": "Send Messages",
    "send_messages_in_threads": "Send Messages in Threads",
    "send_polls": "Send Polls (Create Polls in newer settings)",
    "embed_links": "Embed Links",
    "read_message_history": "Read Message History",
}


class OutcomeBodies:
    """The messages about a poll that has closed, with their pictures as numbers."""

    def outcome(self, poll: Poll, outcome: Outcome, ended: Ended) -> JsonObject:
        """What a poll came to; its bars are drawn when it is posted."""
        bars = poll_bars(poll.question, outcome)
        return with_bars(body_of(outcome_embed(poll, outcome, ended), buttons=[]), bars)

    def deleted(self, poll: Poll, outcome: Outcome) -> JsonObject:
        """That a poll was deleted before it closed."""
        return body_of(deleted_embed(poll, outcome), buttons=[])

    def renamed(self, poll: Poll, names: Mapping[str, str]) -> JsonObject:
        """That lines in an open poll have other names now."""
        return body_of(renamed_embed(poll, names), buttons=[])


def outcome_embed(poll: Poll, outcome: Outcome, ended: str) -> discord.Embed:
    """What came of a poll that closed: the winner, the votes, and what the results say beside."""
    body = [plain(poll.question, limits.POLL_QUESTION), ""]
    body += [_row(row, outcome) for row in _ranked(outcome.rows)]
    said = [words for words in (results_words(outcome), agreement(outcome)) if words]
    if said:
        body += ["", *said]
    body += ["", f"{ENDED[ended]} · [the poll]({poll_link(poll)})"]
    title = clipped(plain(headline(outcome)), limits.TITLE)
    return discord.Embed(title=title, description="\n".join(body), colour=SEA)


def renamed_embed(poll: Poll, names: Mapping[str, str]) -> discord.Embed:
    """What stands under an open poll whose shared line a coach took in meanwhile."""
    said = listed([f"{old} is line {new} now" for old, new in names.items()], "and")
    body = f"Votes stay: [the poll]({poll_link(poll)}) can't be changed, its outcome says the new "
    body += f"{'letter' if len(names) == 1 else 'letters'}."
    return discord.Embed(title=f"In this poll {said}", description=body, colour=SEA)


def deleted_embed(poll: Poll, outcome: Outcome) -> discord.Embed:
    """What is said once when a poll was deleted before it closed."""
    body = [plain(poll.question, limits.POLL_QUESTION), ""]
    body += [f"**{row.votes}** {plain(row.label)}" for row in outcome.rows]
    body += ["", "These were the votes until then; a coach can open a new one with /poll."]
    title = "A poll was deleted before it closed, so it has no winner"
    return discord.Embed(title=title, description="\n".join(body), colour=SAND)


def shown_embed(polls: Sequence[tuple[Poll, Tally]]) -> discord.Embed:
    """The open polls of a community, the one that closes first on top."""
    if not polls:
        lines = ["A coach opens one with /poll hole or /poll ask."]
        return discord.Embed(title="No poll is open", description=lines[0], colour=SEA)
    lines: list[str] = []
    for poll, tally in polls[:MOST_SHOWN]:
        lines.append(f"[{plain(clipped(poll.question, 100))}]({poll_link(poll)})")
        lines.append(f"{plural(tally.voters, 'voter')} · closes {when(poll.closes_at)}")
    if len(polls) > MOST_SHOWN:
        lines.append(f"and {len(polls) - MOST_SHOWN} more")
    title = f"{plural(len(polls), 'poll')} open"
    return discord.Embed(title=title, description="\n".join(lines), colour=SEA)


def left_out_words(letters: Sequence[str]) -> str:
    """What a message says about lines that a poll has no room for; empty for none."""
    if not letters:
        return ""
    word = "line" if len(letters) == 1 else "lines"
    return f"A poll holds ten answers: without {word} {', '.join(letters)}."


def opened_words(poll: Poll, *, hours: int, left_out: Sequence[str]) -> str:
    """What a coach is told when a poll stands."""
    said = f"The poll is open for {hours_words(hours)}: {poll_link(poll)}"
    out = left_out_words(left_out)
    return f"{said}\n{out}" if out else said


def ended_words(poll: Poll, outcome: Message | None) -> str:
    """What a coach is told who ended a poll; ``outcome`` is the message about it."""
    if poll.ended == "deleted":
        return "This poll had been deleted, so it has no winner."
    if outcome is None or outcome.state != "posted":
        trouble = f" ({outcome.trouble})" if outcome and outcome.trouble else ""
        return f"The poll has ended, but its outcome is not posted yet{trouble}: {poll_link(poll)}"
    link = message_link(outcome.community_id, outcome.channel_id, outcome.message_id)
    return f"The poll has ended; this is its outcome: {link}"


def lacking_words(lacking: Sequence[str]) -> str:
    """What a coach is told to grant where the bot may not post a poll."""
    names = ", ".join(GRANTS[name] for name in lacking)
    return (
        f"Leeward may not post polls in this channel: allow it {names} here, then type the "
        "command again."
        if names
        else "Discord does not let Leeward post a poll in this channel; try another channel."
    )


def closes_in_words(poll: Poll, now: datetime) -> str:
    """A poll in a suggestion, which shows no time stamps: 'in 5 hours · Hole 3: ...'."""
    hours = max(1, round((poll.closes_at - now).total_seconds() / 3600))
    return clipped(f"in {hours_words(hours)} · {poll.question}", limits.CHOICE)


def _ranked(rows: Sequence[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: -row.votes)


def _row(row: Row, outcome: Outcome) -> str:
    said = f"**{row.votes}** {plain(row.label)}"
    if not outcome.on_lines or not outcome.tried:
        return said
    result = row.result
    tried = (
        f"holed {result.holed:g} of {result.tries:g}" if result and result.tries else "not tried"
    )
    return f"{said} · {tried}"
