"""/me: a member's division, everything kept about them, and being forgotten."""

import io
from typing import Any, Self

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.embeds import plain_embed
from bot.chat.plain import plain
from bot.chat.publisher import Publisher
from bot.chat.respond import Interaction, answer_error, respond
from bot.commands.book.suggest import Texts, division_choices
from bot.services.book.book import Book
from bot.services.book.changes import BookChange
from bot.services.privacy import Forgotten, PrivacyService
from bot.services.results.refresh import Refreshes
from shared.keys import EventKey
from shared.wording import plural

Button = discord.ui.Button[discord.ui.View]


class ForgetButton(discord.ui.DynamicItem[Button], template=r"me:forget:(?P<member>\d+)"):
    """Says yes to being forgotten; the member's id is that of whom was asked."""

    def __init__(self, member_id: int) -> None:
        super().__init__(
            Button(
                label="Forget me",
                style=discord.ButtonStyle.danger,
                custom_id=f"me:forget:{member_id}",
            )
        )
        self.member_id = member_id

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: Any, /
    ) -> Self:
        """The button again, after a restart too."""
        return cls(int(match["member"]))

    async def callback(self, interaction: Interaction) -> Any:
        """Forget, if it is the member who presses."""
        try:
            bot = interaction.client
            cog = bot.get_cog("MeCog") if isinstance(bot, commands.Bot) else None
            assert isinstance(cog, MeCog)
            if interaction.user.id == self.member_id:
                await cog.forgotten(interaction)
        except Exception as error:
            await answer_error(interaction, error)


class MeCog(commands.Cog):
    """Discord in and out for what is kept about a member."""

    me = app_commands.Group(name="me", description="What Leeward knows of you", guild_only=True)

    def __init__(
        self,
        *,
        bot: commands.Bot,
        service: PrivacyService,
        book: Book,
        presses: tuple[Refreshes, ...],
        publisher: Publisher,
    ) -> None:
        self.bot = bot
        self.service = service
        self.presses = presses
        self.publisher = publisher
        self._book = book

    async def cog_load(self) -> None:
        """Register the button."""
        self.bot.add_dynamic_items(ForgetButton)

    @me.command(name="division", description="Say which division you play in")
    async def division(self, interaction: Interaction, division: str) -> None:
        """Remember a member's division."""
        found = await self._book.set_division(
            interaction.guild_id or 0, interaction.user.id, division
        )
        said = f"You play in {plain(found)}: notes and winds are shown for it."
        await respond(interaction, embed=plain_embed("Set", [said]), ephemeral=True)

    @division.autocomplete("division")
    async def _divisions(self, interaction: Interaction, current: str) -> Texts:
        return await division_choices(self._book, interaction, current)

    @me.command(name="export", description="Everything kept about you, as a file")
    async def export(self, interaction: Interaction) -> None:
        """Hand a member their own data."""
        await interaction.response.defer(ephemeral=True, thinking=True)
        data = await self.service.export(interaction.guild_id or 0, interaction.user.id)
        file = discord.File(io.BytesIO(data), "leeward-me.json")
        lines = ["Bag, results, lines, votes and choices, as they are kept here (JSON)."]
        embed = plain_embed("Everything kept about you", lines)
        await respond(interaction, embed=embed, file=file, ephemeral=True)

    @me.command(name="forget", description="Take your name and your bag out of here; asks once")
    async def forget(self, interaction: Interaction) -> None:
        """Ask once."""
        view = discord.ui.View(timeout=None)
        view.add_item(ForgetButton(interaction.user.id))
        lines = [
            "Your bag, division and unsaved lines are deleted.",
            "Your results, votes and lines stay for the group, without your name.",
            "This can't be undone. Take your data along first: /me export",
        ]
        embed = plain_embed("Shall I forget you?", lines)
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def forgotten(self, interaction: Interaction) -> None:
        """Forget, say so, and take the name off the notes."""
        community = interaction.guild_id or 0
        done = await self.service.forget(community, interaction.user.id)
        embed = plain_embed("Forgotten", _kept_words(done))
        await interaction.response.edit_message(embeds=[embed], view=None)
        fresh = False
        for name in await self._book.names(community):
            numbers = {h.number for h in done.holes if h.event == EventKey.of(name)}
            if numbers:
                change = BookChange(community, name, frozenset(numbers))
                for press in self.presses:
                    fresh |= await press.refresh(change)
        if fresh:
            await self.publisher.deliver()


def _kept_words(done: Forgotten) -> list[str]:
    return [
        "Your name, bag, division and unsaved lines are gone.",
        f"Without a name there stay {plural(done.results, 'result')}, "
        f"{plural(done.votes, 'vote')} and {plural(done.lines, 'line')}.",
    ]
