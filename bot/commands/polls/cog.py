"""/poll, /polls: opening, ending and seeing polls, and Discord's events about them."""

import asyncio

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.coaches import COACHES_SEE, coaches_only
from bot.chat.permissions import POLL, lacking
from bot.chat.respond import Interaction, acknowledge, community_of, respond, suggestions
from bot.commands.polls.cards import (
    closes_in_words,
    ended_words,
    lacking_words,
    opened_words,
    shown_embed,
)
from bot.commands.polls.poll_messages import PollMessages
from bot.commands.polls.watch import PollWatch
from bot.services.book import suggest
from bot.services.polls.service import PollDraft, PollService
from bot.services.roles import Roles
from shared import limits

HOLE = app_commands.Range[int, 1, 18]
Text = list[app_commands.Choice[str]]
TIMES = ("1 hour", "6 hours", "1 day", "2 days", "3 days", "1 week", "2 weeks", "32 days")
NOT_TAKEN = (
    "Discord did not take the poll just now. If it does not stand here in two minutes, please "
    "type the command again."
)
NOT_ENDED = "Discord did not end the poll just now; please try once more."
TIME_TEXT = "how long it is open, such as: 6 hours, 2 days"
SEVERAL_TEXT = "may somebody vote for more than one"


class PollCog(commands.Cog):
    """Discord in and out for polls."""

    poll = app_commands.Group(
        name="poll",
        description="Votes on lines and plans (coaches)",
        guild_only=True,
        default_permissions=COACHES_SEE,
    )

    def __init__(
        self,
        *,
        bot: commands.Bot,
        service: PollService,
        messages: PollMessages,
        watch: PollWatch,
        roles: Roles,
    ) -> None:
        self.bot = bot
        self.service = service
        self.messages = messages
        self.watch = watch
        self.roles = roles
        self._one_look = asyncio.Lock()
        self.missed = Background("looking at polls", self._look_all, every_s=3600.0)
        self.due = Background("closing polls", self._look_due, every_s=60.0)

    async def cog_load(self) -> None:
        """Begin to look for polls whose time has come."""
        self.due.start()

    async def cog_unload(self) -> None:
        """Stop looking."""
        await self.due.stop()

    # Commands ---------------------------------------------------------------------------------

    @poll.command(name="hole", description="Let the group vote on a hole's lines (coaches)")
    @app_commands.describe(
        hole="1 to 18",
        time=TIME_TEXT,
        question="your own question instead of ours",
        several=SEVERAL_TEXT,
        division="on the lines it plays; left out, on those of all",
    )
    @coaches_only
    async def hole(
        self,
        interaction: Interaction,
        hole: HOLE,
        time: str = "1 day",
        question: str = "",
        several: bool = False,
        division: str | None = None,
    ) -> None:
        """Post a poll on the lines of a hole."""
        await acknowledge(interaction)
        draft = await self.service.on_hole(
            community_of(interaction),
            hole,
            time=time,
            question=question,
            several=several,
            division=division,
        )
        await self._post(interaction, draft)

    @poll.command(name="ask", description="Let the group vote on your own question (coaches)")
    @app_commands.describe(
        question="what to ask",
        answers="two to ten, with ; between them",
        time=TIME_TEXT,
        several=SEVERAL_TEXT,
    )
    @coaches_only
    async def ask(
        self,
        interaction: Interaction,
        question: str,
        answers: str,
        time: str = "1 day",
        several: bool = False,
    ) -> None:
        """Post a poll on a coach's own question."""
        await acknowledge(interaction)
        draft = self.service.on_question(question, answers, time=time, several=several)
        await self._post(interaction, draft)

    @poll.command(name="end", description="End a poll now and post its outcome (coaches)")
    @app_commands.describe(poll="which one; leave out where only one is open")
    @coaches_only
    async def end(self, interaction: Interaction, poll: str = "") -> None:
        """End a poll before its time."""
        await acknowledge(interaction)
        found = await self.service.named(community_of(interaction), poll)
        if found is None:
            await respond(interaction, content="No poll is open here.", ephemeral=True)
            return
        try:
            await self.watch.end(found)
        except discord.NotFound:
            await self.watch.look(found)
        except discord.HTTPException:
            await respond(interaction, content=NOT_ENDED, ephemeral=True)
            return
        now = await self.service.polls.get(found.id) or found
        said = ended_words(now, await self.service.outcome(found))
        await respond(interaction, content=said, ephemeral=True)

    @app_commands.command(name="polls", description="The polls that are open")
    @app_commands.guild_only()
    async def polls(self, interaction: Interaction) -> None:
        """Show the open polls to the member who asks."""
        polls = await self.service.standing(community_of(interaction))
        tallies = [await self.service.polls.tally(poll.id) for poll in polls]
        embed = shown_embed(list(zip(polls, tallies, strict=True)))
        await respond(interaction, embed=embed, ephemeral=True)

    @hole.autocomplete("hole")
    async def _holes(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[int]]:
        return suggestions(
            await suggest.holes(self.service.book, community_of(interaction), current)
        )

    @hole.autocomplete("division")
    async def _divisions(self, interaction: Interaction, current: str) -> Text:
        return suggestions(
            await suggest.divisions(self.service.book, community_of(interaction), current)
        )

    @hole.autocomplete("time")
    @ask.autocomplete("time")
    async def _times(self, interaction: Interaction, current: str) -> Text:
        typed = current.strip().casefold()
        return [app_commands.Choice(name=each, value=each) for each in TIMES if typed in each]

    @end.autocomplete("poll")
    async def _open(self, interaction: Interaction, current: str) -> Text:
        word, now = current.strip().casefold(), self.service.now()
        return [
            app_commands.Choice(name=closes_in_words(poll, now), value=str(poll.id))
            for poll in await self.service.standing(community_of(interaction))
            if word in poll.question.casefold()
        ][: limits.CHOICES]

    async def _post(self, interaction: Interaction, draft: PollDraft) -> None:
        in_thread = isinstance(interaction.channel, discord.Thread)
        missing = lacking(interaction.app_permissions, POLL, in_thread=in_thread)
        if missing or interaction.channel_id is None:
            await respond(interaction, content=lacking_words(missing), ephemeral=True)
            return
        poll = await self.service.keep(community_of(interaction), interaction.channel_id, draft)
        try:
            message_id = await self.messages.post(poll, draft)
        except (discord.Forbidden, discord.NotFound):
            await self.service.give_up(poll)
            await respond(interaction, content=lacking_words([]), ephemeral=True)
            return
        except discord.HTTPException:
            # It may stand there all the same: the watch looks for it and adopts it.
            await respond(interaction, content=NOT_TAKEN, ephemeral=True)
            return
        poll = await self.service.opened(poll, message_id)
        said = opened_words(poll, hours=draft.hours, left_out=draft.left_out)
        await respond(interaction, content=said, ephemeral=True)
        await self.watch.tell_note(poll)

    # What Discord tells -----------------------------------------------------------------------

    @commands.Cog.listener()
    async def on_ready(self) -> None:
        """Make good what was missed, also after a new connection."""
        await self.missed.once()

    async def _look_all(self) -> None:
        async with self._one_look:
            await self.watch.look_all()

    async def _look_due(self) -> None:
        """Close what is due."""
        if self.bot.is_ready():
            async with self._one_look:
                await self.watch.look_due()

    @commands.Cog.listener()
    async def on_raw_poll_vote_add(self, event: discord.RawPollVoteActionEvent) -> None:
        """Keep a vote."""
        await self.service.polls.vote(event.message_id, event.user_id, event.answer_id, added=True)

    @commands.Cog.listener()
    async def on_raw_poll_vote_remove(self, event: discord.RawPollVoteActionEvent) -> None:
        """Keep that a vote was taken back."""
        await self.service.polls.vote(event.message_id, event.user_id, event.answer_id, added=False)

    @commands.Cog.listener()
    async def on_raw_message_edit(self, event: discord.RawMessageUpdateEvent) -> None:
        """A poll that has become final changes its message."""
        poll = event.message.poll
        if poll is not None and poll.is_finalised():
            await self.watch.finalised(event.message_id)

    @commands.Cog.listener()
    async def on_message(self, message: discord.Message) -> None:
        """Discord's own word that a poll has closed; it may come beside the changed message."""
        closed = result_of(message)
        if closed is not None:
            await self.watch.finalised(closed)

    @commands.Cog.listener()
    async def on_raw_message_delete(self, event: discord.RawMessageDeleteEvent) -> None:
        """A moderator may delete a poll."""
        await self.watch.deleted(event.message_id)

    @commands.Cog.listener()
    async def on_raw_bulk_message_delete(self, event: discord.RawBulkMessageDeleteEvent) -> None:
        """A moderator may delete many messages at once."""
        for message_id in sorted(event.message_ids):
            await self.watch.deleted(message_id)

    @commands.Cog.listener()
    async def on_guild_channel_delete(self, channel: discord.abc.GuildChannel) -> None:
        """Polls go with their channel."""
        await self.watch.channel_deleted(channel.id)

    @commands.Cog.listener()
    async def on_raw_thread_delete(self, event: discord.RawThreadDeleteEvent) -> None:
        """Polls go with their thread."""
        await self.watch.channel_deleted(event.thread_id)


def result_of(message: discord.Message) -> int | None:
    """The id of the poll whose result a message is; None for any other message."""
    if message.type is not discord.MessageType.poll_result or message.reference is None:
        return None
    return message.reference.message_id
