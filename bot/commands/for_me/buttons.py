"""The For me button, its form, and the buttons of the other lines. They outlive restarts."""

import re
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord.ext import commands

from bot.chat.pictures import with_pictures
from bot.chat.respond import Interaction, answer_error, respond
from bot.commands.for_me.card import forme_embed
from bot.commands.results.buttons import MISSED, WENT_IN, LogButton
from bot.commands.share.buttons import ShareButton
from bot.services.for_me import ForMe, ForMeService, Opening
from bot.services.pictures.service import PictureService
from bot.services.results.service import Try
from shared import limits
from shared.quantities import Speed, Wind

LONGEST_WIND = 80
Button = discord.ui.Button[discord.ui.View]


COG = "ForMeCog"


@runtime_checkable
class HasForMe(Protocol):
    """The cog that holds the desk, found again by a button of an earlier life."""

    service: ForMeService
    draw: PictureService


def _cog(interaction: Interaction) -> HasForMe:
    bot = interaction.client
    cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
    assert isinstance(cog, HasForMe)
    return cog


def _service(interaction: Interaction) -> ForMeService:
    return _cog(interaction).service


class ForMeButton(discord.ui.DynamicItem[Button], template=r"forme\|(?P<hole>\d+)\|(?P<event>.+)"):
    """Opens the form that asks for the member's wind."""

    def __init__(self, *, event: str, hole: int) -> None:
        super().__init__(
            Button(
                label="For me",
                style=discord.ButtonStyle.primary,
                custom_id=forme_id(event=event, hole=hole),
            )
        )
        self.event = event
        self.hole = hole

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        return cls(event=match["event"], hole=int(match["hole"]))

    async def callback(self, interaction: Interaction) -> None:
        """Show the form, prefilled with the hole's wind."""
        try:
            opening = await _service(interaction).opening(
                community_id=interaction.guild_id or 0,
                member_id=interaction.user.id,
                event=self.event,
                hole=self.hole,
            )
            await interaction.response.send_modal(WindForm(self.event, self.hole, opening))
        except Exception as error:
            await answer_error(interaction, error)


class OtherLineButton(
    discord.ui.DynamicItem[Button],
    template=r"variant\|(?P<hole>\d+)\|(?P<variant>[A-Z])\|(?P<mps>[\d.]+)\|(?P<deg>[\d.]+)\|(?P<event>.+)",
):
    """Shows another line of the hole in the wind the member has already given."""

    def __init__(self, *, event: str, hole: int, variant: str, wind: Wind) -> None:
        mps, deg = wind.speed.mps, wind.relative_deg
        super().__init__(
            Button(
                label=f"Line {variant}",
                custom_id=f"variant|{hole}|{variant}|{mps:.3f}|{deg:.1f}|{event}",
            )
        )
        self.event, self.hole, self.variant, self.wind = event, hole, variant, wind

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        speed = Speed(value=float(match["mps"]), unit="m/s")
        wind = Wind(speed=speed, from_deg=float(match["deg"]))
        return cls(
            event=match["event"], hole=int(match["hole"]), variant=match["variant"], wind=wind
        )

    async def callback(self, interaction: Interaction) -> None:
        """Answer with the other line."""
        await _answer(interaction, self.event, self.hole, self.variant, self.wind)


class WindForm(discord.ui.Modal):
    """One short form: the wind you have, and the line, both prefilled."""

    def __init__(self, event: str, hole: int, opening: Opening) -> None:
        super().__init__(title=f"Hole {hole} for me")
        self.event, self.hole = event, hole
        self.wind = discord.ui.TextInput[discord.ui.View](
            custom_id="wind",
            default=opening.wind[:LONGEST_WIND],
            placeholder="8.4 mph from 2",
            max_length=LONGEST_WIND,
        )
        self.add_item(discord.ui.Label(text="Your wind", component=self.wind))
        self.variant: discord.ui.TextInput[discord.ui.View] | None = None
        if len(opening.variants) > 1:
            self.variant = discord.ui.TextInput[discord.ui.View](
                custom_id="line", default=opening.variant, max_length=1
            )
            label = f"Line ({', '.join(opening.variants)})"
            self.add_item(discord.ui.Label(text=label[: limits.LABEL], component=self.variant))
        self.only = opening.variant

    async def on_submit(self, interaction: Interaction) -> None:
        """Answer with the line for this member."""
        variant = self.variant.value if self.variant else self.only
        await _answer(interaction, self.event, self.hole, variant, self.wind.value)

    async def on_error(self, interaction: Interaction, error: Exception) -> None:
        """Answer in one sentence, as a command would."""
        await answer_error(interaction, error)


async def _answer(
    interaction: Interaction, event: str, hole: int, variant: str, wind: str | Wind
) -> None:
    cog = _cog(interaction)
    service = cog.service
    community = interaction.guild_id or 0
    try:
        await interaction.response.defer(ephemeral=True, thinking=True)
        found = await service.answer(
            community_id=community,
            member_id=interaction.user.id,
            event=event,
            hole=hole,
            variant=variant,
            wind=wind,
        )
        caddie = await service.kits.caddie(community)
        pictures = await cog.draw.line(community, caddie, found.line, found.units)
        embeds, files = with_pictures(forme_embed(found, caddie), pictures)
        await respond(interaction, embeds=embeds, files=files, view=_others(found), ephemeral=True)
    except Exception as error:
        await answer_error(interaction, error)


def _others(found: ForMe) -> discord.ui.View:
    """What became of it, then the other lines, the better one first; a message holds 25."""
    view = discord.ui.View(timeout=None)
    own = found.line.line.line.variant
    played = Try(found.event.name, found.hole.number, own, found.wind)
    for act in (WENT_IN, MISSED):
        view.add_item(LogButton(act, played))
    view.add_item(
        ShareButton(event=found.event.name, hole=found.hole.number, variant=own, wind=found.wind)
    )
    better = found.better.line.line.variant if found.better else ""
    for variant in sorted(found.others, key=lambda each: (each != better, each))[:20]:
        view.add_item(
            OtherLineButton(
                event=found.event.name,
                hole=found.hole.number,
                variant=variant,
                wind=found.wind,
            )
        )
    return view


def forme_id(*, event: str, hole: int) -> str:
    """The custom id of a hole's For me button."""
    return f"forme|{hole}|{event}"
