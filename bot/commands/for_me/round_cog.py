"""/round: a member's round, hole by hole in one private message."""

from discord import app_commands
from discord.ext import commands

from bot.chat.forms import Form
from bot.chat.respond import (
    Interaction,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    picked,
    respond,
    typed,
)
from bot.chat.router import Router, everywhere
from bot.commands.for_me.round_card import round_embed, round_view
from bot.services.answer_actions import InRound, PickRoundWind, RoundForm
from bot.services.results.outcome import EXAMPLE, SEVERAL_EXAMPLE
from bot.services.results.service import Try
from bot.services.round import Page, RoundService
from bot.services.wind_menus import changed_wind

MOST_OUTCOME = 60


class RoundCog(commands.Cog):
    """Discord in and out for a member's round."""

    def __init__(self, *, router: Router, service: RoundService) -> None:
        self.service = service
        router.on(InRound.name, self._pressed)
        router.on(RoundForm.name, self._missed)
        router.on(PickRoundWind.name, self._picked)

    @everywhere
    @app_commands.command(name="round", description="Your round, hole by hole, for you alone")
    async def round(self, interaction: Interaction) -> None:
        """Open the round where the member left it."""
        await acknowledge(interaction)
        page = await self.service.open(actor_of(interaction))
        await respond(interaction, embed=round_embed(page), view=round_view(page), ephemeral=True)

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        asked, who = InRound.read(custom_id), actor_of(interaction)
        if asked.act == "miss":
            await interaction.response.send_modal(_miss_form(asked))
            return
        await acknowledge_change(interaction)
        if asked.act == "in":
            page = await self._logged(interaction, asked, "in")
        elif asked.act == "line":
            page = await self.service.play(who, asked.event, asked.hole, asked.variant)
        else:
            page = await self.service.go(who, asked.event, asked.hole)
        await self._show(interaction, page)

    async def _missed(self, interaction: Interaction, custom_id: str) -> None:
        await acknowledge_change(interaction)
        outcome = typed(interaction).get("outcome", "")
        page = await self._logged(interaction, RoundForm.read(custom_id), outcome)
        await self._show(interaction, page)

    async def _logged(
        self, interaction: Interaction, asked: InRound | RoundForm, outcome: str
    ) -> Page:
        return await self.service.log(
            actor_of(interaction),
            Try(asked.event, asked.hole, asked.variant, asked.wind),
            outcome,
            interaction_id=interaction.id,
            attempt=asked.attempt,
        )

    async def _picked(self, interaction: Interaction, custom_id: str) -> None:
        """Show the hole in another wind."""
        await acknowledge_change(interaction)
        asked = PickRoundWind.read(custom_id)
        assert asked.wind is not None
        wind = changed_wind(asked.wind, part=asked.part, picked=picked(interaction))
        page = await self.service.blow(
            actor_of(interaction), asked.event, asked.hole, asked.variant, wind
        )
        await self._show(interaction, page)

    async def _show(self, interaction: Interaction, page: Page) -> None:
        """Put the page into the round's message, then have what was logged be learned."""
        await change_message(interaction, embeds=[round_embed(page)], view=round_view(page))
        if page.told is not None and page.told.counted:
            await self.service.results.spread(page.told)


def _miss_form(asked: InRound) -> Form:
    """One answer: how far it missed; the wind is the one shown."""
    action = RoundForm(asked.hole, asked.variant, asked.attempt, asked.wind, asked.event)
    form = Form(f"Hole {asked.hole}: it missed", action.id)
    hint = f"{EXAMPLE}; or: a bit left; or nothing"
    about = f"or of several: {SEVERAL_EXAMPLE}"
    label = "How far it missed, if you know"
    form.ask("outcome", label, about=about, hint=hint, most=MOST_OUTCOME)
    return form
