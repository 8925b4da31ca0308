"""/publish, /hole and /ceiling: the notes going out."""

import asyncio

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.background import Background
from bot.chat.coaches import COACHES_SEE, coaches_only
from bot.chat.message import division_question, plain_embed, view_of
from bot.chat.publisher import Publisher
from bot.chat.respond import Interaction, acknowledge, ask_again, community_of, respond
from bot.chat.router import Router
from bot.commands.notes.card import note_buttons, note_embed
from bot.commands.notes.more import more_pages
from bot.services.actions import AGAIN, AskForMe, ChooseDivision, MoreOfNote
from bot.services.book.events import hole_of
from bot.services.book.words import lines_words
from bot.services.caddie.adapt import Case, adapt, read_line
from bot.services.caddie.ceilings import line_ceilings
from bot.services.members import BagCache
from bot.services.notes.ceiling_words import ceiling_margins, ceiling_sentence, ceiling_table
from bot.services.notes.service import NoteService
from bot.services.roles import Roles
from shared.bag import Bag
from shared.book import Event, Hole, Line
from shared.errors import InputError
from shared.text import plain


class NotesCog(commands.Cog):
    """Discord in and out for the notes."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        router: Router,
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
        self._router = router
        router.on(MoreOfNote.name, self._more)
        router.on(ChooseDivision.name, self._divided)
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
            await self.publisher.deliver(community_id)

    @app_commands.command(name="publish", description="Post hole notes to the notes channel")
    @app_commands.guild_only()
    @app_commands.default_permissions(COACHES_SEE)
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
        await self.notes.prepare(community, numbers)
        fresh = 0
        for done, number in enumerate(numbers, start=1):
            # All wishes are stored before the first is posted: a restart leaves none out.
            fresh += await self.notes.publish(community, number, member_id=interaction.user.id)
            if len(numbers) > 1:
                await interaction.edit_original_response(
                    content=f"Publishing: {done} of {len(numbers)} holes are ready"
                )
        await self.publisher.deliver(community)
        await interaction.edit_original_response(
            content=await self._outcome(community, numbers, fresh),
            allowed_mentions=discord.AllowedMentions.none(),
        )

    @app_commands.command(name="hole", description="Show a hole's notes for your division")
    @app_commands.guild_only()
    @app_commands.describe(hole="1 to 18")
    async def hole(self, interaction: Interaction, hole: app_commands.Range[int, 1, 18]) -> None:
        """Show a hole's notes to the member who asks, with the For me button."""
        event = await self.notes.book.event(community_of(interaction))
        await self._show(interaction, "hole", event.name, hole)

    async def _more(self, interaction: Interaction, custom_id: str) -> None:
        """Show all that the note says to the member's division, with every line in full."""
        asked = MoreOfNote.read(custom_id)
        await self._show(interaction, "more", asked.event, asked.hole, page=asked.page)

    async def _divided(self, interaction: Interaction, custom_id: str) -> None:
        """Remember the division that was pressed, and go on with what was asked."""
        asked = ChooseDivision.read(custom_id)
        community = community_of(interaction)
        event = await self.notes.book.event(community, asked.event)
        if asked.place >= len(event.divisions):
            raise InputError("The event's divisions have changed.", "/me division")
        division = event.divisions[asked.place]
        await self.notes.book.set_division(community, interaction.user.id, division, asked.event)
        if asked.then == AGAIN:
            if not await ask_again(interaction, asked.hole):
                said = f"You play in {plain(division)}. Please type your command once more."
                await respond(interaction, content=said, ephemeral=True)
        elif asked.then == "forme":
            await self._router.route(interaction, AskForMe(asked.hole, asked.event).id)
        else:
            await self._show(interaction, asked.then, asked.event, asked.hole)

    async def _show(
        self, interaction: Interaction, what: str, event: str, number: int, *, page: int = 0
    ) -> None:
        """A hole's note, or a page of all of it, for the member's division; asks which that is."""
        await acknowledge(interaction)
        community, member = community_of(interaction), interaction.user.id
        division = await self.notes.book.division_of(community, member, event)
        if division is None:
            asked = await self.notes.book.event(community, event)
            hole_of(asked, number)
            await self._ask_division(interaction, asked, what, number)
            return
        bag = await self.bags.get(community, member)
        note = await self.notes.note(
            community,
            number,
            event=event,
            division=division,
            units=bag.units,
            computed_anew=what == "hole",
        )
        if what == "hole":
            view = view_of(note_buttons(note))
            await respond(interaction, embed=note_embed(note), view=view, ephemeral=True)
            return
        pages = more_pages(note, await self.notes.details(community, note))
        page = min(page, len(pages) - 1)
        next_ = [MoreOfNote(number, page + 1, event).as_button()] if page + 1 < len(pages) else []
        await respond(interaction, embed=pages[page], view=view_of(next_), ephemeral=True)

    async def _ask_division(
        self, interaction: Interaction, event: Event, then: str, hole: int
    ) -> None:
        buttons = ChooseDivision.each(event.divisions, then=then, hole=hole, event=event.name)
        view = view_of(buttons)
        await respond(interaction, embed=division_question(), view=view, ephemeral=True)

    @app_commands.command(name="ceiling", description="How much wind a line holds, by direction")
    @app_commands.guild_only()
    @app_commands.describe(
        hole="1 to 18",
        line="its letter; the one played first if you don't say it",
        mine="with your own bag, not the tested one",
    )
    async def ceiling(
        self,
        interaction: Interaction,
        hole: app_commands.Range[int, 1, 18],
        line: str = "",
        mine: bool = False,
    ) -> None:
        """Show a line's ceilings as a table."""
        community = community_of(interaction)
        found = await self.notes.book.hole(community, hole)
        division = await self.notes.book.division_of(community, interaction.user.id)
        if division is None:
            event = await self.notes.book.event(community)
            await self._ask_division(interaction, event, "more", hole)
            return
        kept = _line_of(found, division, line.strip().upper())
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


def _line_of(hole: Hole, division: str, letter: str) -> Line:
    """A division's line of that letter, without one the line it plays first.

    Errors: InputError, with an example that this division may type.
    """
    lines = hole.lines_for(division)
    found = hole.line(letter) if letter else next(iter(lines), None)
    if found is None or found not in lines:
        example = f"/ceiling hole:{hole.number} line:{lines[0].variant}" if lines else "/line add"
        raise InputError(lines_words(hole, division), example, letter)
    return found
