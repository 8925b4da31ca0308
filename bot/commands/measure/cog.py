"""/measure: a short designed series that shrinks a club's margin most."""

from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import is_coach, require_coach
from bot.chat.message import view_of
from bot.chat.respond import (
    Interaction,
    acknowledge,
    actor_of,
    choices,
    community_of,
    respond,
    typed,
)
from bot.chat.router import Router
from bot.commands.measure.cards import chart_embed, measure_embed
from bot.commands.measure.form import shot_form
from bot.services.actions import MeasureClub, MeasureForm
from bot.services.kits.names import clubs_like
from bot.services.measure.series import Standing
from bot.services.measure.service import LEAST_FOR_CHART, MeasureService
from bot.services.members import BagCache
from bot.services.roles import Roles
from shared.actor import Author

LABELS = {"log": "Log it", "chart": "Save as chart", "drop": "Begin anew"}


class MeasureCog(commands.Cog):
    """Discord in and out for measuring."""

    def __init__(
        self, *, router: Router, service: MeasureService, bags: BagCache, roles: Roles
    ) -> None:
        self.service = service
        self.bags = bags
        self.roles = roles
        router.on(MeasureClub.name, self._pressed)
        router.on(MeasureForm.name, self._logged)

    @app_commands.command(name="measure", description="Measure a club on purpose, shot by shot")
    @app_commands.guild_only()
    async def measure(self, interaction: Interaction, club: str) -> None:
        """Begin a series, or take it up again."""
        await acknowledge(interaction)
        found = await self.service.open(community_of(interaction), interaction.user.id, club)
        await self._show(interaction, found)

    @measure.autocomplete("club")
    async def _clubs(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        """Open the form, save the chart, or begin anew."""
        asked, who = MeasureClub.read(custom_id), actor_of(interaction)
        community, member, club = who.community_id, who.member_id, asked.club
        mark = (await self.service.kits.caddie(community)).kit.mark.name
        if asked.act == "log":
            units = (await self.bags.get(community, member)).units
            found = await self.service.open(community, member, club)
            await interaction.response.send_modal(shot_form(found, units=units, mark=mark))
            return
        await acknowledge(interaction)
        if asked.act == "drop":
            await self.service.drop(community, member, club)
            await self._show(interaction, await self.service.open(community, member, club))
            return
        await require_coach(self.roles, interaction)
        author = Author(member, interaction.user.display_name)
        points = await self.service.save_chart(community, member, club=club, author=author)
        await respond(interaction, embed=chart_embed(club, points, mark), ephemeral=True)

    async def _logged(self, interaction: Interaction, custom_id: str) -> None:
        """Take in a shot and show what it was worth."""
        await acknowledge(interaction)
        who, fields = actor_of(interaction), typed(interaction)
        found = await self.service.log(
            who.community_id,
            who.member_id,
            club=MeasureForm.read(custom_id).club,
            shot=fields.get("shot", ""),
            aim=fields.get("aim", ""),
            landed=fields.get("landed", ""),
            author=interaction.user.display_name,
            interaction_id=interaction.id,
        )
        await self._show(interaction, found)

    async def _show(self, interaction: Interaction, found: Standing) -> None:
        community, member = community_of(interaction), interaction.user.id
        mark = (await self.service.kits.caddie(community)).kit.mark.name
        units = (await self.bags.get(community, member)).units
        club, shots = found.series.club, len(found.series.shots)
        buttons = [MeasureClub("log", club).button(LABELS["log"], "primary")]
        if shots >= LEAST_FOR_CHART and await is_coach(self.roles, interaction):
            buttons.append(MeasureClub("chart", club).button(LABELS["chart"]))
        if shots:
            buttons.append(MeasureClub("drop", club).button(LABELS["drop"]))
        embed = measure_embed(found, units=units, mark=mark)
        await respond(interaction, embed=embed, view=view_of(buttons), ephemeral=True)
