"""/me: a member's division, everything kept about them, and being forgotten."""

import io

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.message import plain_embed, view_of
from bot.chat.publisher import Publisher
from bot.chat.respond import (
    Interaction,
    acknowledge,
    actor_of,
    change_message,
    community_of,
    respond,
    suggestions,
)
from bot.chat.router import Router
from bot.services.actions import ForgetMember
from bot.services.book import suggest
from bot.services.book.book import Book
from bot.services.homes import HomeService
from bot.services.privacy import Forgotten, PrivacyService
from shared.book import BookChange
from shared.keys import EventKey
from shared.text import plain
from shared.wording import plural


class MeCog(commands.Cog):
    """Discord in and out for what is kept about a member."""

    me = app_commands.Group(name="me", description="What Leeward knows of you", guild_only=True)

    def __init__(
        self,
        *,
        router: Router,
        service: PrivacyService,
        book: Book,
        publisher: Publisher,
        homes: HomeService,
    ) -> None:
        self.service = service
        self._publisher = publisher
        self._book = book
        self._homes = homes
        router.on("me", self._forgotten)

    @me.command(name="division", description="Say which division you play in")
    @app_commands.describe(division="one of the current event's")
    async def division(self, interaction: Interaction, division: str) -> None:
        """Remember a member's division."""
        found = await self._book.set_division(
            community_of(interaction), interaction.user.id, division
        )
        said = f"You play in {plain(found)}: notes and winds are shown for it."
        await respond(interaction, embed=plain_embed("Set", [said]), ephemeral=True)

    @division.autocomplete("division")
    async def _divisions(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        place = community_of(interaction)
        return suggestions(await suggest.divisions(self._book, place, current))

    @me.command(name="home", description="Have this server's bag answer your direct messages")
    async def home(self, interaction: Interaction) -> None:
        """Keep this community as the one that answers a member elsewhere."""
        await self._homes.choose(community_of(interaction), interaction.user.id)
        said = "Direct messages to me are answered with your bag and the kit of this server."
        await respond(interaction, embed=plain_embed("Set", [said]), ephemeral=True)

    @me.command(name="export", description="Everything kept about you, as a file")
    async def export(self, interaction: Interaction) -> None:
        """Hand a member their own data."""
        await acknowledge(interaction)
        data = await self.service.export(community_of(interaction), interaction.user.id)
        files = [
            discord.File(io.BytesIO(data.page), "leeward-me.txt"),
            discord.File(io.BytesIO(data.whole), "leeward-me.json"),
        ]
        lines = [
            "leeward-me.txt is for you to read: bag, results, votes, lines and choices.",
            "leeward-me.json holds every field of it as it is kept here.",
        ]
        embed = plain_embed("Everything kept about you", lines)
        await respond(interaction, embed=embed, files=files, ephemeral=True)

    @me.command(name="forget", description="Take your name and your bag out of here; asks once")
    async def forget(self, interaction: Interaction) -> None:
        """Ask once."""
        view = view_of([ForgetMember(interaction.user.id).button("Forget me", "danger")])
        lines = [
            "Your bag, division and unsaved lines are deleted.",
            "Your results, votes and lines stay for the group, without your name.",
            "This can't be undone. Take your data along first: /me export",
        ]
        embed = plain_embed("Shall I forget you?", lines)
        await respond(interaction, embed=embed, view=view, ephemeral=True)

    async def _forgotten(self, interaction: Interaction, custom_id: str) -> None:
        """Forget who was asked, if it is they who press; take the name off the notes."""
        who = actor_of(interaction)
        if ForgetMember.read(custom_id).member_id != who.member_id:
            return
        done = await self.service.forget(who.community_id, who.member_id)
        embed = plain_embed("Forgotten", _kept_words(done))
        await change_message(interaction, embeds=[embed], view=None)
        for name in await self._book.names(who.community_id):
            numbers = {hole.number for hole in done.holes if hole.event == EventKey.of(name)}
            if numbers:
                change = BookChange(who.community_id, name, frozenset(numbers))
                await self._publisher.refresh(change)


def _kept_words(done: Forgotten) -> list[str]:
    return [
        "Your name, bag, division and unsaved lines are gone.",
        f"Without a name there stay {plural(done.results, 'result')}, "
        f"{plural(done.votes, 'vote')} and {plural(done.lines, 'line')}.",
    ]
