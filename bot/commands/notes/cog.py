"""/publish, /hole and /ceiling: the notes going out."""

import asyncio

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.coaches import coaches_only
from bot.chat.message import plain_embed, view_of
from bot.chat.publisher import Publisher
from bot.chat.respond import Interaction, acknowledge, community_of, respond
from bot.commands.notes.card import note_embed
from bot.services.actions import AskForMe
from bot.services.caddie.adapt import Case, adapt, read_line
from bot.services.caddie.ceilings import line_ceilings
from bot.services.members import BagCache
from bot.services.notes.ceiling_words import ceiling_margins, ceiling_sentence, ceiling_table
from bot.services.notes.service import NoteService
from bot.services.roles import Roles
from shared.bag import Bag
from shared.errors import InputError


class NotesCog(commands.Cog):
    """Discord in and out for the notes."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        notes: NoteService,
        publisher: Publisher,
        bags: BagCache,
        roles: Roles,
    ) -> None:
        self.bot = bot
        self.notes = notes
        self.publisher = publisher
        self.bags = bags
        self.roles = roles
        self.again = Background("posting", self._deliver, every_s=60.0)

    async def cog_load(self) -> None:
        """Begin to look for what could not be brought at once."""
        self.again.start()

    async def cog_unload(self) -> None:
        """Stop looking, once the message under way has been posted."""
        await self.publisher.stop()
        await self.again.stop()

    @commands.Cog.listener()
    async def on_ready(self) -> None:
        """Bring what an earlier life left waiting."""
        await self.again.once()

    async def _deliver(self) -> None:
        """Bring what Discord did not take before, or what a crash left half done."""
        if self.bot.is_ready():
            await self.publisher.catch_up()

    @commands.Cog.listener()
    async def on_raw_message_delete(self, event: discord.RawMessageDeleteEvent) -> None:
        """A note somebody deleted stays away until it is published again."""
        await self.notes.outbox.gone(event.message_id)

    @commands.Cog.listener()
    async def on_raw_bulk_message_delete(self, event: discord.RawBulkMessageDeleteEvent) -> None:
        """So do notes that went with many others."""
        await self.notes.outbox.gone(*sorted(event.message_ids))

    @commands.Cog.listener()
    async def on_guild_channel_delete(self, channel: discord.abc.GuildChannel) -> None:
        """What stood or was to stand in a channel goes with it."""
        await self.notes.outbox.channel_gone(channel.id)

    @commands.Cog.listener()
    async def on_raw_thread_delete(self, event: discord.RawThreadDeleteEvent) -> None:
        """The same for a thread."""
        await self.notes.outbox.channel_gone(event.thread_id)

    @commands.Cog.listener()
    async def on_guild_channel_update(
        self, before: discord.abc.GuildChannel, after: discord.abc.GuildChannel
    ) -> None:
        """What was refused in a channel is tried again once its permissions change."""
        if before.overwrites != after.overwrites:
            await self._retry(after.guild.id, after.id)

    @commands.Cog.listener()
    async def on_guild_role_update(self, before: discord.Role, after: discord.Role) -> None:
        """The same for a whole server."""
        if before.permissions != after.permissions:
            await self._retry(after.guild.id, None)

    async def _retry(self, community_id: int, channel_id: int | None) -> None:
        if await self.notes.outbox.retry(community_id, channel_id=channel_id):
            await self.publisher.deliver()

    @app_commands.command(name="publish", description="Post hole notes to the notes channel")
    @app_commands.guild_only()
    @app_commands.default_permissions(manage_guild=True)
    @app_commands.describe(hole="the hole; leave out for the whole round")
    @coaches_only
    async def publish(
        self, interaction: Interaction, hole: app_commands.Range[int, 1, 18] | None = None
    ) -> None:
        """Post or bring up to date one hole's note, or all, saying how far it is."""
        community = community_of(interaction)
        await acknowledge(interaction)
        event, _ = await self.notes.book.current(community)
        numbers = [hole] if hole else [each.number for each in event.holes]
        fresh = 0
        for done, number in enumerate(numbers, start=1):
            # All wishes are stored before the first is posted: a restart leaves none out.
            fresh += await self.notes.publish(community, number, member_id=interaction.user.id)
            if len(numbers) > 1:
                await interaction.edit_original_response(
                    content=f"Publishing: {done} of {len(numbers)} holes are ready"
                )
        await self.publisher.deliver()
        await interaction.edit_original_response(
            content=await self._outcome(community, numbers, fresh),
            allowed_mentions=discord.AllowedMentions.none(),
        )

    @app_commands.command(name="hole", description="Show a hole's notes for your division")
    @app_commands.guild_only()
    async def hole(self, interaction: Interaction, number: app_commands.Range[int, 1, 18]) -> None:
        """Show a hole's notes to the member who asks, with the For me button."""
        community, member = community_of(interaction), interaction.user.id
        bag = await self.bags.get(community, member)
        division = await self.notes.book.division_of(community, member)
        note = await self.notes.note(community, number, division=division, units=bag.units)
        asked = [AskForMe(number, note.event.name).as_button()] if note.hole.lines else []
        await respond(interaction, embed=note_embed(note), view=view_of(asked), ephemeral=True)

    @app_commands.command(name="ceiling", description="How much wind a line holds, by direction")
    @app_commands.guild_only()
    @app_commands.describe(line="the line's letter", mine="with your own bag, not the tested one")
    async def ceiling(
        self,
        interaction: Interaction,
        hole: app_commands.Range[int, 1, 18],
        line: str = "A",
        mine: bool = False,
    ) -> None:
        """Show a line's ceilings as a table."""
        community = community_of(interaction)
        found = await self.notes.book.hole(community, hole)
        kept = found.line(line.strip().upper())
        if kept is None:
            letters = ", ".join(each.variant for each in found.lines) or "no line yet"
            raise InputError(f"Hole {hole} has {letters}.", "/ceiling hole:1 line:A", line)
        caddie = await self.notes.kits.caddie(community)
        bag = await self.bags.get(community, interaction.user.id)
        read = read_line(line=kept, kit=caddie.kit, bearing_deg=found.bearing_deg)
        case = Case(read, bag if mine else Bag(), own_bag=mine)
        ceilings = await asyncio.to_thread(line_ceilings, caddie=caddie, cases=[case])
        whose = "your bag" if mine else "the bag it was tested with"
        asked = await asyncio.to_thread(adapt, caddie=caddie, cases=[case])
        margins = ceiling_margins(asked[0], caddie, bag.units)
        await respond(
            interaction,
            embed=plain_embed(
                f"Hole {hole}, line {kept.variant}: {ceiling_sentence(ceilings[0], bag.units)}",
                [ceiling_table(ceilings[0], bag.units), f"With {whose}; 12 is into", *margins],
            ),
            ephemeral=True,
        )

    async def _outcome(self, community: int, numbers: list[int], fresh: int) -> str:
        """What became of a publication, naming what to grant where the bot may not post."""
        troubles: set[str] = set()
        event, _ = await self.notes.book.current(community)
        for number in numbers:
            message = await self.notes.message(community, event.name, number)
            if message is not None and message.state != "posted" and message.trouble:
                troubles.add(message.trouble)
        if troubles:
            return f"The notes could not all be posted: {'; '.join(sorted(troubles))}."
        channel = await self.roles.notes_channel(community)
        unchanged = len(numbers) - fresh
        same = f", {unchanged} stood there just so" if unchanged else ""
        return f"Published {fresh} of {len(numbers)} to <#{channel}>{same}."
