"""The buttons and forms of results, and /results. Discord in and out, nothing else."""

from collections import OrderedDict
from typing import Final

from discord import app_commands
from discord.ext import commands

from bot.chat.message import view_of
from bot.chat.respond import Interaction, actor_of, change_message, respond, typed
from bot.chat.router import Router
from bot.commands.results.cards import (
    choice_words,
    mine_embed,
    one_embed,
    taken_back_embed,
    told_embed,
    where_words,
)
from bot.commands.results.forms import fix_form, log_form
from bot.services.actions import IN, ChangeResult, FixForm, LogForm, LogTry
from bot.services.results.outcome import typed_words
from bot.services.results.service import ResultService, Told, Try, wind_of
from shared import limits
from shared.quantities import Wind
from shared.wording import wind_words

MOST_UNHEARD: Final = 1000  # presses whose answer did not arrive


class ResultsCog(commands.Cog):
    """Discord in and out for results."""

    def __init__(self, *, router: Router, service: ResultService) -> None:
        self.service = service
        self._unheard: OrderedDict[tuple[int, str], int] = OrderedDict()
        router.on(LogTry.name, self._pressed)
        router.on_form(LogForm, self._logged)
        router.on(ChangeResult.name, self._changing)
        router.on_form(FixForm, self._corrected)

    @app_commands.command(name="results", description="Your last results; correct or take back one")
    @app_commands.guild_only()
    @app_commands.describe(result="the one to correct or take back")
    async def results(self, interaction: Interaction, result: int | None = None) -> None:
        """Show the member's own results, or one with its buttons."""
        who = actor_of(interaction)
        units = await self.service.units(who)
        if result is None:
            embed = mine_embed(await self.service.mine(who), units)
            await respond(interaction, embed=embed, ephemeral=True)
            return
        found = await self.service.own(who, result)
        view = view_of(ChangeResult.pair(found.id))
        await respond(interaction, embed=one_embed(found, units), view=view, ephemeral=True)

    @results.autocomplete("result")
    async def _mine(self, interaction: Interaction, current: str) -> list[app_commands.Choice[int]]:
        who = actor_of(interaction)
        units = await self.service.units(who)
        return [
            app_commands.Choice(name=choice_words(each, units), value=each.id)
            for each in await self.service.mine(who, limit=limits.CHOICES)
        ]

    # Buttons and forms ------------------------------------------------------------------------

    async def _log_pressed(self, interaction: Interaction, custom_id: str, known: Try) -> None:
        """Log that it went in. Whose answer did not arrive presses once more, and means the same
        try."""
        pressed = interaction.user.id, custom_id
        meant = self._unheard.pop(pressed, interaction.id)
        told = await self.service.log(actor_of(interaction), known, "in", interaction_id=meant)
        try:
            await self._answer(interaction, told)
        except Exception:  # refused, too late, or the network is away
            self._unheard[pressed] = meant
            while len(self._unheard) > MOST_UNHEARD:
                self._unheard.popitem(last=False)
            raise

    async def _pressed(self, interaction: Interaction, custom_id: str) -> None:
        """Log at once where everything is known, else ask for what is not."""
        who, asked = actor_of(interaction), LogTry.read(custom_id)
        opening = await self.service.opening(
            who, event=asked.event, hole=asked.hole, variant=asked.variant
        )
        asks_line = not asked.variant and len(opening.variants) > 1
        wind = asked.wind or opening.wind
        if asked.act == IN and not asks_line and wind and not opening.past:
            known = Try(asked.event, asked.hole, opening.variant, wind)
            await self._log_pressed(interaction, custom_id, known)
            return
        units = await self.service.units(who)
        form = log_form(
            LogForm(
                asked.act,
                asked.hole,
                "" if asks_line else opening.variant,
                opening.attempt,
                asked.event,
            ),
            first=opening.variant,
            variants=opening.variants,
            wind=wind_words(wind, units) if isinstance(wind, Wind) else wind,
            units=units,
            past=opening.past,
        )
        await interaction.response.send_modal(form)

    async def _changing(self, interaction: Interaction, custom_id: str) -> None:
        """Open the form that corrects a result, or take it back."""
        who, asked = actor_of(interaction), ChangeResult.read(custom_id)
        if asked.act == "drop":
            told = await self.service.remove(who, asked.result_id)
            await change_message(interaction, embeds=[taken_back_embed(told)], view=None)
            await self.service.spread(told)
            return
        units = await self.service.units(who)
        found = await self.service.own(who, asked.result_id)
        said = typed_words(found.played, units)
        wind = wind_of(found.played.wind_mmps, units)
        form = fix_form(
            result_id=asked.result_id,
            of=where_words(found),
            outcome=said,
            wind=wind_words(wind, units) if wind else "",
            units=units,
        )
        await interaction.response.send_modal(form)

    async def _logged(self, interaction: Interaction, custom_id: str) -> None:
        form, fields = LogForm.read(custom_id), typed(interaction)
        variant = (form.variant or fields.get("line", "")).strip().upper()
        played = Try(form.event, form.hole, variant, fields.get("wind", "").strip())
        told = await self.service.log(
            actor_of(interaction),
            played,
            "in" if form.act == IN else fields.get("outcome", ""),
            interaction_id=interaction.id,
            attempt=form.attempt,
        )
        await self._answer(interaction, told)

    async def _corrected(self, interaction: Interaction, custom_id: str) -> None:
        fields = typed(interaction)
        told = await self.service.correct(
            actor_of(interaction),
            FixForm.read(custom_id).result_id,
            outcome=fields.get("outcome", ""),
            wind=fields.get("wind", "").strip(),
            interaction_id=interaction.id,
        )
        await self._answer(interaction, told)

    async def _answer(self, interaction: Interaction, told: Told) -> None:
        view = view_of(ChangeResult.pair(told.result.id))
        await respond(interaction, embed=told_embed(told), view=view, ephemeral=True)
        if told.counted:
            await self.service.spread(told)
