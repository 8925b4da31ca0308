"""The buttons and forms of results, and /results. Discord in and out, nothing else."""

import re

import discord
from discord import app_commands
from discord.ext import commands

from bot.chat.actor import actor_of
from bot.chat.publisher import Publisher
from bot.chat.respond import Interaction, answer_error, respond
from bot.commands.results.buttons import WENT_IN, ChangeButton, LogButton, change_view
from bot.commands.results.cards import (
    choice_words,
    mine_embed,
    one_embed,
    taken_back_embed,
    told_embed,
)
from bot.commands.results.forms import FIX, LOG, fix_form, log_form, typed
from bot.services.book.changes import BookChange
from bot.services.results.refresh import Refreshes
from bot.services.results.service import ResultService, Told, Try, wind_of
from bot.services.results.words import outcome_words
from shared import limits
from shared.errors import InputError
from shared.keys import HoleKey
from shared.quantities import Wind
from shared.wording import wind_words

_LOG = re.compile(
    r"logform\|(?P<act>in|miss)\|(?P<hole>\d+)\|(?P<variant>[A-Z]?)\|(?P<attempt>\d+)\|(?P<event>.+)"
)


class ResultsCog(commands.Cog):
    """Discord in and out for results."""

    def __init__(
        self,
        *,
        bot: commands.Bot,
        service: ResultService,
        presses: tuple[Refreshes, ...],
        publisher: Publisher,
    ) -> None:
        self.bot = bot
        self.service = service
        self.presses = presses
        self.publisher = publisher

    async def cog_load(self) -> None:
        """Register the buttons, also for messages of earlier lives."""
        self.bot.add_dynamic_items(LogButton, ChangeButton)

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
        view = change_view(found.id)
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

    async def pressed(self, interaction: Interaction, act: str, played: Try) -> None:
        """Log at once where everything is known, else ask for what is not."""
        who = actor_of(interaction)
        opening = await self.service.opening(
            who, event=played.event, hole=played.hole, variant=played.variant
        )
        asks_line = not played.variant and len(opening.variants) > 1
        wind = played.wind or opening.wind
        if act == WENT_IN and not asks_line and wind:
            known = Try(played.event, played.hole, opening.variant, wind)
            told = await self.service.log(who, known, "in", interaction_id=interaction.id)
            await self._answer(interaction, told)
            return
        units = await self.service.units(who)
        form = log_form(
            act=act,
            event=played.event,
            hole=played.hole,
            variant=opening.variant,
            variants=opening.variants if asks_line else (),
            wind=wind_words(wind, units) if isinstance(wind, Wind) else wind,
            attempt=opening.attempt,
        )
        await interaction.response.send_modal(form)

    async def changing(self, interaction: Interaction, act: str, result_id: int) -> None:
        """Open the form that corrects a result, or take it back."""
        who = actor_of(interaction)
        if act == "drop":
            told = await self.service.remove(who, result_id)
            await interaction.response.edit_message(embeds=[taken_back_embed(told)], view=None)
            await self._spread(who.community_id, told)
            return
        units = await self.service.units(who)
        found = await self.service.own(who, result_id)
        said = outcome_words(found.played, units).removeprefix("missed: ")
        wind = wind_of(found.played.wind_mmps, units)
        form = fix_form(
            result_id=result_id,
            hole=HoleKey.parse(found.played.hole_key).number,
            variant=found.played.variant,
            outcome="in" if found.played.holed else said,
            wind=wind_words(wind, units) if wind else "",
        )
        await interaction.response.send_modal(form)

    @commands.Cog.listener()
    async def on_interaction(self, interaction: Interaction) -> None:
        """Take in the forms, those of earlier lives too."""
        if interaction.type is not discord.InteractionType.modal_submit:
            return
        custom_id = str((interaction.data or {}).get("custom_id", ""))
        try:
            if custom_id.startswith(LOG):
                await self._logged(interaction, custom_id)
            elif custom_id.startswith(FIX):
                await self._corrected(interaction, int(custom_id.removeprefix(FIX)))
        except Exception as error:
            await answer_error(interaction, error)

    async def _logged(self, interaction: Interaction, custom_id: str) -> None:
        match = _LOG.fullmatch(custom_id)
        if match is None:
            raise InputError("This form is not from here any more.", "/results")
        fields = typed(interaction)
        variant = (match["variant"] or fields.get("line", "")).strip().upper()
        played = Try(match["event"], int(match["hole"]), variant, fields.get("wind", "").strip())
        outcome = "in" if match["act"] == WENT_IN else fields.get("outcome", "")
        told = await self.service.log(
            actor_of(interaction),
            played,
            outcome,
            interaction_id=interaction.id,
            attempt=int(match["attempt"]),
        )
        await self._answer(interaction, told)

    async def _corrected(self, interaction: Interaction, result_id: int) -> None:
        fields = typed(interaction)
        told = await self.service.correct(
            actor_of(interaction),
            result_id,
            outcome=fields.get("outcome", ""),
            wind=fields.get("wind", "").strip(),
            interaction_id=interaction.id,
        )
        await self._answer(interaction, told)

    async def _answer(self, interaction: Interaction, told: Told) -> None:
        view = change_view(told.result.id)
        await respond(interaction, embed=told_embed(told), view=view, ephemeral=True)
        if told.counted:
            await self._spread(interaction.guild_id or 0, told)

    async def _spread(self, community_id: int, told: Told) -> None:
        """Learn from what was kept, and have the notes show it."""
        await self.service.learn(community_id)
        change = BookChange(community_id, told.event, frozenset({told.hole}))
        fresh = [await press.refresh(change) for press in self.presses]
        if any(fresh):
            await self.publisher.deliver()
