"""/measure: a short designed series that shrinks a club's margin most."""

import re
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.respond import Interaction, answer_error, choices, respond
from bot.chat.roles import Roles
from bot.commands.measure.cards import chart_embed, measure_embed
from bot.services.bags import BagCache
from bot.services.kits.names import clubs_like
from bot.services.measure.series import Standing
from bot.services.measure.service import LEAST_FOR_CHART, MeasureService
from shared import limits
from shared.units import METRES_PER_YARD, UnitSystem
from shared.wording import length, offset, wind_words
from storage.revisions import Author

COG = "MeasureCog"
Button = discord.ui.Button[discord.ui.View]
LABELS = {"log": "Log it", "chart": "Save as chart", "drop": "Begin anew"}
Field = discord.ui.TextInput[discord.ui.View]


@runtime_checkable
class Measures(Protocol):
    """The cog that knows what a press means."""

    async def pressed(self, interaction: Interaction, act: str, club: str) -> None:
        """Do what the button says with the member's own series of that club."""
        ...

    async def logged(self, interaction: Interaction, form: "ShotForm") -> None:
        """Take in a filled form."""
        ...


def _cog(interaction: Interaction) -> Measures:
    bot = interaction.client
    cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
    assert isinstance(cog, Measures)
    return cog


class MeasureButton(
    discord.ui.DynamicItem[Button], template=r"measure\|(?P<act>log|chart|drop)\|(?P<club>.+)"
):
    """One button of a series; act and club stand in its custom id."""

    def __init__(self, act: str, club: str) -> None:
        style = discord.ButtonStyle.primary if act == "log" else discord.ButtonStyle.secondary
        super().__init__(Button(label=LABELS[act], style=style, custom_id=f"measure|{act}|{club}"))
        self.act, self.club = act, club

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        return cls(match["act"], match["club"])

    async def callback(self, interaction: Interaction) -> None:
        """Hand the press to the cog."""
        try:
            await _cog(interaction).pressed(interaction, self.act, self.club)
        except Exception as error:
            await answer_error(interaction, error)


class ShotForm(discord.ui.Modal):
    """One shot of a series: wind and carry, the aim, where it came down; the first two known."""

    def __init__(self, found: Standing, *, units: UnitSystem, mark: str) -> None:
        super().__init__(title=f"A shot with the {found.series.club}"[: limits.FORM_TITLE])
        self.club = found.series.club
        best = found.proposals[0]
        carry = length(best.carry_m / METRES_PER_YARD, units, 0)
        aim = offset(right=best.right_marks, long=best.long_marks, unit=f"{mark}s")
        self.shot = Field(
            custom_id="shot",
            default=f"{wind_words(best.wind, units)}, {carry}",
            max_length=100,
        )
        self.aim = Field(
            custom_id="aim", default="straight" if aim == "none" else aim, max_length=60
        )
        self.landed = Field(custom_id="landed", placeholder="5 short, 3 right", max_length=60)
        for text, field in (
            ("Wind and carry, as played", self.shot),
            ("Your aim", self.aim),
            ("Came down from the target", self.landed),
        ):
            self.add_item(discord.ui.Label(text=text, component=field))

    async def on_submit(self, interaction: Interaction) -> None:
        """Hand the form to the cog."""
        await _cog(interaction).logged(interaction, self)

    async def on_error(self, interaction: Interaction, error: Exception) -> None:
        """Answer in one sentence, as a command would."""
        await answer_error(interaction, error)


class MeasureCog(commands.Cog):
    """Discord in and out for measuring."""

    def __init__(
        self, *, bot: commands.Bot, service: MeasureService, bags: BagCache, roles: Roles
    ) -> None:
        self.bot = bot
        self.service = service
        self.bags = bags
        self.roles = roles

    async def cog_load(self) -> None:
        """Register the buttons."""
        self.bot.add_dynamic_items(MeasureButton)

    @app_commands.command(name="measure", description="Measure a club on purpose, shot by shot")
    @app_commands.guild_only()
    async def measure(self, interaction: Interaction, club: str) -> None:
        """Begin a series, or take it up again."""
        await interaction.response.defer(ephemeral=True, thinking=True)
        found = await self.service.open(interaction.guild_id or 0, interaction.user.id, club)
        await self._show(interaction, found)

    @measure.autocomplete("club")
    async def _clubs(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(interaction.guild_id or 0)
        return choices(clubs_like(caddie.kit, current))

    async def pressed(self, interaction: Interaction, act: str, club: str) -> None:
        """Open the form, save the chart, or begin anew."""
        community, member = interaction.guild_id or 0, interaction.user.id
        mark = (await self.service.kits.caddie(community)).kit.mark.name
        if act == "log":
            units = (await self.bags.get(community, member)).units
            found = await self.service.open(community, member, club)
            await interaction.response.send_modal(ShotForm(found, units=units, mark=mark))
            return
        await interaction.response.defer(ephemeral=True, thinking=True)
        if act == "drop":
            await self.service.drop(community, member, club)
            await self._show(interaction, await self.service.open(community, member, club))
            return
        await self.roles.require_coach(interaction)
        author = Author(member, interaction.user.display_name)
        points = await self.service.save_chart(community, member, club=club, author=author)
        await respond(interaction, embed=chart_embed(club, points, mark), ephemeral=True)

    async def logged(self, interaction: Interaction, form: ShotForm) -> None:
        """Take in a shot and show what it was worth."""
        await interaction.response.defer(ephemeral=True, thinking=True)
        found = await self.service.log(
            interaction.guild_id or 0,
            interaction.user.id,
            club=form.club,
            shot=form.shot.value,
            aim=form.aim.value,
            landed=form.landed.value,
            author=interaction.user.display_name,
            interaction_id=interaction.id,
        )
        await self._show(interaction, found)

    async def _show(self, interaction: Interaction, found: Standing) -> None:
        community, member = interaction.guild_id or 0, interaction.user.id
        mark = (await self.service.kits.caddie(community)).kit.mark.name
        units = (await self.bags.get(community, member)).units
        view = discord.ui.View(timeout=None)
        club, shots = found.series.club, len(found.series.shots)
        view.add_item(MeasureButton("log", club))
        if shots >= LEAST_FOR_CHART and await self.roles.is_coach(interaction):
            view.add_item(MeasureButton("chart", club))
        if shots:
            view.add_item(MeasureButton("drop", club))
        embed = measure_embed(found, units=units, mark=mark)
        await respond(interaction, embed=embed, view=view, ephemeral=True)
