"""The For me button under a note, its form, and the buttons of a hole's other lines."""

from discord.ext import commands

from bot.chat.message import division_question, view_of, with_pictures
from bot.chat.respond import Interaction, acknowledge, actor_of, respond, typed
from bot.chat.router import Router
from bot.commands.for_me.card import for_me_embed
from bot.commands.for_me.form import wind_form
from bot.services.actions import (
    AskForMe,
    AskShare,
    ButtonFields,
    ChooseDivision,
    ForMeForm,
    LogTry,
    OtherLine,
)
from bot.services.for_me import ForMe, ForMeService
from bot.services.pictures.service import PictureService
from shared.quantities import Wind

MOST_OTHERS = 20  # buttons for other lines; a message holds 25 in all


class ForMeCog(commands.Cog):
    """Discord in and out for *For me*."""

    def __init__(self, *, router: Router, service: ForMeService, pictures: PictureService) -> None:
        self.service = service
        self._pictures = pictures
        router.on(AskForMe.name, self._asked)
        router.on(ForMeForm.name, self._filled)
        router.on(OtherLine.name, self._other)

    async def _asked(self, interaction: Interaction, custom_id: str) -> None:
        """Show the form, prefilled with the hole's wind."""
        asked = AskForMe.read(custom_id)
        who = actor_of(interaction)
        divisions = await self.service.divisions_to_ask(
            who.community_id, who.member_id, asked.event
        )
        if divisions:
            buttons = ChooseDivision.each(
                divisions, then="forme", hole=asked.hole, event=asked.event
            )
            view = view_of(buttons)
            await respond(interaction, embed=division_question(), view=view, ephemeral=True)
            return
        opening = await self.service.opening(
            community_id=who.community_id,
            member_id=who.member_id,
            event=asked.event,
            hole=asked.hole,
        )
        await interaction.response.send_modal(wind_form(asked, opening))

    async def _filled(self, interaction: Interaction, custom_id: str) -> None:
        form = ForMeForm.read(custom_id)
        fields = typed(interaction)
        variant = form.variant or fields.get("line", "")
        await self._answer(interaction, form.event, form.hole, variant, fields.get("wind", ""))

    async def _other(self, interaction: Interaction, custom_id: str) -> None:
        asked = OtherLine.read(custom_id)
        wind = asked.wind or ""
        await self._answer(interaction, asked.event, asked.hole, asked.variant, wind)

    async def _answer(
        self, interaction: Interaction, event: str, hole: int, variant: str, wind: str | Wind
    ) -> None:
        """Answer with the line for this member."""
        await acknowledge(interaction)
        who = actor_of(interaction)
        found = await self.service.answer(
            community_id=who.community_id,
            member_id=who.member_id,
            event=event,
            hole=hole,
            variant=variant,
            wind=wind,
        )
        pictures = await self._pictures.line(
            who.community_id, found.caddie, found.line, found.units
        )
        embeds, files = with_pictures(for_me_embed(found), pictures)
        view = view_of(_buttons(found))
        await respond(interaction, embeds=embeds, files=files, view=view, ephemeral=True)


def _buttons(found: ForMe) -> list[ButtonFields]:
    """What became of it, then the other lines, the better one first."""
    event, hole = found.event.name, found.hole.number
    own = found.line.line.line.variant
    buttons = LogTry.pair(event=event, hole=hole, variant=own, wind=found.wind)
    buttons.append(AskShare(hole, own, found.wind, event).as_button())
    better = found.better.line.line.variant if found.better else ""
    others = sorted(found.others, key=lambda each: (each != better, each))[:MOST_OTHERS]
    return buttons + [OtherLine(hole, each, found.wind, event).as_button() for each in others]
