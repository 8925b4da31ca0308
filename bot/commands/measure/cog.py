"""/measure: a short designed series that shrinks a club's margin most."""

from discord import app_commands
from discord.ext import commands

from bot.chat.coaches import is_coach, require_coach
from bot.chat.message import plain_embed, view_of
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
from shared.units import MPS_PER, SPEED_UNIT_OF

LABELS = {
    "log": "Log it",
    "chart": "Save as chart",
    "drop": "Begin anew",
    "save": "Save it",
    "undo": "Take it back",
}
Blows = app_commands.Range[float, 1, 60]


class MeasureCog(commands.Cog):
    """Discord in and out for measuring."""

    def __init__(
        self, *, router: Router, service: MeasureService, bags: BagCache, roles: Roles
    ) -> None:
        self.service = service
        self.bags = bags
        self.roles = roles
        router.on(MeasureClub.name, self._pressed)
        router.on_form(MeasureForm, self._logged)

    @app_commands.command(name="measure", description="Measure a club on purpose, shot by shot")
    @app_commands.guild_only()
    @app_commands.describe(
        club="which club",
        into="how strong the wind against is, in your own unit; a usual one if left out",
        helping="how strong the helping wind is",
        across="how strong the wind off the right is",
    )
    async def measure(
        self,
        interaction: Interaction,
        club: str,
        into: Blows | None = None,
        helping: Blows | None = None,
        across: Blows | None = None,
    ) -> None:
        """Begin a series, or take it up again, in the winds that the game offers."""
        await acknowledge(interaction)
        community, member = community_of(interaction), interaction.user.id
        unit = MPS_PER[SPEED_UNIT_OF[(await self.bags.get(community, member)).units]]
        against, behind, side = (each and each * unit for each in (into, helping, across))
        found = await self.service.open(community, member, club, (against, behind, side))
        await self._show(interaction, found)

    @measure.autocomplete("club")
    async def _clubs(
        self, interaction: Interaction, current: str
    ) -> list[app_commands.Choice[str]]:
        caddie = await self.service.kits.caddie(community_of(interaction))
        return choices(clubs_like(caddie.kit, current))

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        """Open the form, show, save or take back the chart, or begin anew."""
        asked, who = MeasureClub.read(custom_id), actor_of(interaction)
        community, member, club = who.community_id, who.member_id, asked.club
        mark = (await self.service.kits.caddie(community)).kit.mark.name
        units = (await self.bags.get(community, member)).units
        if asked.act == "log":
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
        if asked.act == "undo":
            await self.service.undo_chart(community, club=club, author=author)
            lines = ["What stood before is its law again. It stands in /decisions."]
            embed = plain_embed(f"The chart of the {club} is taken back", lines)
            await respond(interaction, embed=embed, ephemeral=True)
            return
        saved = asked.act == "save"
        if saved:
            chart = await self.service.save_chart(community, member, club=club, author=author)
        else:
            chart = await self.service.preview(community, member, club=club)
        act = "undo" if saved else "save"
        button = MeasureClub(act, club).button(LABELS[act], "secondary" if saved else "primary")
        embed = chart_embed(club, chart, units=units, mark=mark, saved=saved)
        await respond(interaction, embed=embed, view=view_of([button]), ephemeral=True)

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
