"""Wind questions without the slash: a mention of Leeward, or a direct message to it.

Discord hands over the text of just these; everything else comes without and stays unread.
"""

import logging
import re
from collections.abc import Awaitable, Callable
from typing import Protocol

import discord
from discord.ext import commands

from bot.chat.message import plain_embed, view_of
from bot.chat.respond import Interaction, change_message, respond
from bot.chat.router import Router
from bot.chat.written import error_text, you_wrote
from bot.commands.wind.cog import answer_of
from bot.services.answer_actions import ChooseHome
from bot.services.homes import Home, HomeService
from bot.services.wind.service import WindService
from shared import limits
from shared.errors import InputError, LeewardError

MENTION = re.compile(r"<@!?(\d+)>")
CHOOSE = "Whose bag shall answer you here?"
MOST_HOMES = 20

log = logging.getLogger(__name__)

Run = Callable[[Interaction, dict[str, str]], Awaitable[None]]


class Offers(Protocol):
    """Whoever gives a refused text back with buttons."""

    def offer_text(
        self, token: int, *, member_id: int, text: str, run: Run, error: LeewardError
    ) -> discord.ui.View | None:
        """Buttons to go with the refusal of ``text``, which ``run`` answers when it is changed."""
        ...


class MessagesCog(commands.Cog):
    """Discord in and out for questions typed as messages."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        router: Router,
        service: WindService,
        homes: HomeService,
        retries: Offers,
    ) -> None:
        self.bot = bot
        self.service = service
        self._homes = homes
        self._retries = retries
        router.on(ChooseHome.name, self._chosen)
        router.homeless.add(ChooseHome.name)

    @commands.Cog.listener()
    async def on_message(self, message: discord.Message) -> None:
        """Answer a message that is meant for Leeward."""
        text = self._asked(message)
        if text is None:
            return
        try:
            await self._answer(message, text)
        except discord.HTTPException as error:
            log.warning("a message could not be answered: %s", error)

    def _asked(self, message: discord.Message) -> str | None:
        """What a message asks of Leeward; None where it is not meant."""
        me = self.bot.user
        if me is None or message.author.bot:
            return None
        direct = message.guild is None
        if not direct and str(me.id) not in MENTION.findall(message.content):
            return None
        mine = re.compile(rf"<@!?{me.id}>")
        return mine.sub("", message.content).strip()

    async def _answer(self, message: discord.Message, text: str) -> None:
        member = message.author.id
        if message.guild is not None:
            community = message.guild.id
        else:
            home = await self._homes.of(member)
            if home.community_id is None:
                await message.reply(
                    embed=plain_embed(CHOOSE, ["Asked once; /me home on a server changes it."]),
                    view=home_view(self.bot, home, text),
                    mention_author=False,
                )
                return
            community = home.community_id
        try:
            reply = await self.service.reply(community_id=community, member_id=member, text=text)
        except LeewardError as error:
            await self._refuse(message, community, text, error)
            return
        embed, view = answer_of(reply, member)
        if message.guild is not None and reply.private:
            await _in_private(message, embed, view)
        else:
            await message.reply(embed=embed, view=view, mention_author=False)

    async def _refuse(
        self, message: discord.Message, community: int, text: str, error: LeewardError
    ) -> None:
        """One sentence with a right example, and the text back with one press."""
        units = (await self.service.bags.get(community, message.author.id)).units
        view = self._retries.offer_text(
            message.id, member_id=message.author.id, text=text, run=self._again, error=error
        )
        said = error_text(error, you_wrote(text.strip()), units)
        if view is None:
            await message.reply(said, mention_author=False)
        else:
            await message.reply(said, view=view, mention_author=False)

    async def _again(self, interaction: Interaction, fields: dict[str, str]) -> None:
        await self._respond(interaction, fields["question"])

    async def _chosen(self, interaction: Interaction, custom_id: str) -> None:
        """Keep whose bag answers, then answer what was asked."""
        asked, member = ChooseHome.read(custom_id), interaction.user.id
        home = await self._homes.of(member)
        if asked.community_id not in (*home.several, home.community_id):
            raise InputError("You are not known there.", "/me home on its server")
        await self._homes.choose(asked.community_id, member)
        name = _name_of(self.bot, asked.community_id)
        said: list[str] = []
        if not asked.text:
            example = await self.service.example(asked.community_id, member)
            said.append(f"Now ask: {example}")
        embed = plain_embed(f"Your bag of {name} answers here", said)
        await change_message(interaction, embeds=[embed], view=None)
        if asked.text:
            reply = await self.service.reply(
                community_id=asked.community_id, member_id=member, text=asked.text
            )
            answer, view = answer_of(reply, member)
            await respond(interaction, embed=answer, view=view)

    async def _respond(self, interaction: Interaction, text: str) -> None:
        member = interaction.user.id
        home = await self._homes.of(member) if interaction.guild_id is None else None
        community = (home.community_id if home else interaction.guild_id) or 0
        reply = await self.service.reply(community_id=community, member_id=member, text=text)
        embed, view = answer_of(reply, member)
        await respond(interaction, embed=embed, view=view)


def home_view(bot: commands.Bot, home: Home, text: str = "") -> discord.ui.View:
    """A button for each community that knows the member; the question goes along if it fits."""
    asked = " ".join(text.split())
    if any(len(ChooseHome(each, asked).id) > limits.CUSTOM_ID for each in home.several):
        asked = ""
    return view_of(
        [
            ChooseHome(each, asked).button(_name_of(bot, each)[: limits.BUTTON], "primary")
            for each in home.several[:MOST_HOMES]
        ]
    )


def _name_of(bot: commands.Bot, community_id: int) -> str:
    guild = bot.get_guild(community_id)
    return guild.name if guild is not None else f"server {community_id}"


async def _in_private(
    message: discord.Message, embed: discord.Embed, view: discord.ui.View
) -> None:
    """Answer who wants answers alone by a direct message, or here where that is not taken."""
    try:
        await message.author.send(embed=embed, view=view)
    except discord.Forbidden:
        await message.reply(embed=embed, view=view, mention_author=False)
