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
from bot.services.answer_actions import (
    InRound,
    MendRound,
    PickRoundWind,
    RoundFixForm,
    RoundForm,
)
from bot.services.results.outcome import typed_words
from bot.services.results.service import Try, wind_of
from bot.services.round import Page, RoundService
from bot.services.wind_menus import changed_wind
from shared.shot_text.write import example_wind_text
from shared.units import UnitSystem
from shared.wording import wind_words
from storage.played import Result

MOST_WIND = 80


class RoundCog(commands.Cog):
    """Discord in and out for a member's round."""

    def __init__(self, *, router: Router, service: RoundService) -> None:
        self.service = service
        router.on(InRound.name, self._pressed)
        router.on_form(RoundForm, self._missed)
        router.on(MendRound.name, self._mended)
        router.on_form(RoundFixForm, self._corrected)
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

    async def _mended(self, interaction: Interaction, custom_id: str) -> None:
        """Open the form that corrects what was logged of a hole, or take it back."""
        asked, who = MendRound.read(custom_id), actor_of(interaction)
        if asked.act == "drop":
            await acknowledge_change(interaction)
            page = await self.service.take_back(who, asked.event, asked.hole, asked.result_id)
            await self._show(interaction, page)
            return
        found = await self.service.results.own(who, asked.result_id)
        units = await self.service.results.units(who)
        await interaction.response.send_modal(_fix_form(asked, found, units))

    async def _corrected(self, interaction: Interaction, custom_id: str) -> None:
        await acknowledge_change(interaction)
        asked, fields = RoundFixForm.read(custom_id), typed(interaction)
        page = await self.service.correct(
            actor_of(interaction),
            asked.event,
            asked.hole,
            asked.result_id,
            outcome=fields.get("outcome", ""),
            wind=fields.get("wind", "").strip(),
            interaction_id=interaction.id,
        )
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
    form = Form(f"Hole {asked.hole}: it missed", action)
    form.ask_outcome(more=", if you know")
    return form


def _fix_form(asked: MendRound, played: Result, units: UnitSystem) -> Form:
    """What was understood, to be mended."""
    action = RoundFixForm(asked.hole, asked.result_id, asked.event)
    form = Form(f"Hole {asked.hole}: correct it", action)
    said = typed_words(played.played, units)
    form.ask_outcome(value=said)
    wind = wind_of(played.played.wind_mmps, units)
    blew = wind_words(wind, units) if wind else ""
    form.ask("wind", value=blew, hint=example_wind_text(units), most=MOST_WIND)
    return form
