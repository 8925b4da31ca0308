"""The For me button under a note, its form, and the menus and buttons of a moved line."""

import logging

import discord
from discord.ext import commands

from bot.chat.later import Latest, change_answer
from bot.chat.message import division_question, in_rows, view_of, with_pictures
from bot.chat.respond import (
    Interaction,
    acknowledge,
    acknowledge_change,
    actor_of,
    change_message,
    community_of,
    picked,
    respond,
    typed,
)
from bot.chat.router import Router
from bot.commands.for_me.card import for_me_embed, why_line_embed
from bot.commands.for_me.form import wind_form
from bot.services.actions import (
    AskForMe,
    AskLineForMe,
    AskShare,
    ChooseDivision,
    ForMeForm,
    LogTry,
    OtherLine,
)
from bot.services.answer_actions import DrawLine, PickLineWind, WhyLine
from bot.services.for_me import ForMe, ForMeService
from bot.services.pictures.service import PictureService
from bot.services.wind_menus import changed_wind, wind_menus
from shared.errors import LeewardError
from shared.quantities import Wind

log = logging.getLogger(__name__)

MOST_OTHERS = 10  # buttons for other lines; five and two menus stand above them
UNDER_MENUS, ACROSS = 2, 4  # the first row of buttons; how many stand in one


class ForMeCog(commands.Cog):
    """Discord in and out for *For me*."""

    def __init__(self, *, router: Router, service: ForMeService, pictures: PictureService) -> None:
        self.service = service
        self._pictures = pictures
        self.latest = Latest()
        router.on(AskForMe.name, self._asked)
        router.on(AskLineForMe.name, self._line_asked)
        router.on_form(ForMeForm, self._filled)
        router.on(OtherLine.name, self._other)
        router.on(PickLineWind.name, self._picked)
        router.on(WhyLine.name, self._why)
        router.on(DrawLine.name, self._drawn)

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

    async def _line_asked(self, interaction: Interaction, custom_id: str) -> None:
        """Show the form of the line the button stands under."""
        asked = AskLineForMe.read(custom_id)
        who = actor_of(interaction)
        opening = await self.service.opening(
            community_id=who.community_id,
            member_id=who.member_id,
            event=asked.event,
            hole=asked.hole,
            variant=asked.variant,
        )
        await interaction.response.send_modal(wind_form(AskForMe(asked.hole, asked.event), opening))

    async def _filled(self, interaction: Interaction, custom_id: str) -> None:
        form = ForMeForm.read(custom_id)
        fields = typed(interaction)
        variant = form.variant or fields.get("line", "")
        wind, chosen = fields.get("wind", ""), not form.variant
        await self._answer(interaction, form.event, form.hole, variant, wind, chosen)

    async def _other(self, interaction: Interaction, custom_id: str) -> None:
        asked = OtherLine.read(custom_id)
        wind = asked.wind or ""
        await self._answer(interaction, asked.event, asked.hole, asked.variant, wind)

    async def _picked(self, interaction: Interaction, custom_id: str) -> None:
        """Show the line in another wind, in place."""
        turn = self.latest.begin(interaction)
        await acknowledge_change(interaction)
        asked = PickLineWind.read(custom_id)
        assert asked.wind is not None
        wind = changed_wind(asked.wind, part=asked.part, picked=picked(interaction))
        found = await self._found(interaction, asked.event, asked.hole, asked.variant, wind)
        await change_message(interaction, embeds=[for_me_embed(found)], view=_view(found))
        await self._add_safer(interaction, found, turn)

    async def _why(self, interaction: Interaction, custom_id: str) -> None:
        """Say what stands behind the line."""
        await acknowledge(interaction)
        asked = WhyLine.read(custom_id)
        wind = asked.wind or ""
        found = await self._found(interaction, asked.event, asked.hole, asked.variant, wind)
        found = await self.service.with_safer(community_of(interaction), found)
        await respond(interaction, embed=why_line_embed(found), ephemeral=True)

    async def _drawn(self, interaction: Interaction, custom_id: str) -> None:
        """Draw the line."""
        await acknowledge(interaction)
        asked = DrawLine.read(custom_id)
        wind = asked.wind or ""
        found = await self._found(interaction, asked.event, asked.hole, asked.variant, wind)
        who = actor_of(interaction)
        pictures = await self._pictures.line(
            who.community_id, found.caddie, found.line, found.units
        )
        embeds, files = with_pictures(for_me_embed(found), pictures)
        await respond(interaction, embeds=embeds, files=files, ephemeral=True)

    async def _answer(
        self,
        interaction: Interaction,
        event: str,
        hole: int,
        variant: str,
        wind: str | Wind,
        chosen: bool = False,
    ) -> None:
        """Answer with the line for this member."""
        turn = self.latest.begin(interaction)
        await acknowledge(interaction)
        found = await self._found(interaction, event, hole, variant, wind, chosen)
        await respond(interaction, embed=for_me_embed(found), view=_view(found), ephemeral=True)
        await self._add_safer(interaction, found, turn)

    async def _add_safer(self, interaction: Interaction, found: ForMe, turn: int) -> None:
        """Compute which line is safer once the answer is there, and add it to the answer."""
        if not found.rivals:
            return
        try:
            late = await self.service.with_safer(community_of(interaction), found, hurry=True)
        except LeewardError as error:
            log.warning("an answer goes without the safer line: %s", error)
            return
        if late.safer is not None and self.latest.holds(interaction, turn):
            await change_answer(interaction, embeds=[for_me_embed(late)], view=_view(late))

    async def _found(
        self,
        interaction: Interaction,
        event: str,
        hole: int,
        variant: str,
        wind: str | Wind,
        chosen: bool = False,
    ) -> ForMe:
        who = actor_of(interaction)
        return await self.service.answer(
            community_id=who.community_id,
            member_id=who.member_id,
            event=event,
            hole=hole,
            variant=variant,
            wind=wind,
            chosen=chosen,
        )


def _view(found: ForMe) -> discord.ui.View:
    """The menus of the wind, what became of it, why, then the other lines, the better one first."""
    event, hole, own, wind = found.event.name, found.hole.number, found.line.letter, found.wind
    menus = wind_menus(
        lambda part: PickLineWind(part, hole, own, wind, event).id,
        wind=wind,
        usual=found.usual,
        units=found.units,
    )
    buttons = LogTry.pair(event=event, hole=hole, variant=own, wind=wind)
    buttons.append(WhyLine(hole, own, wind, event).button("Why"))
    buttons.append(DrawLine(hole, own, wind, event).button("Picture"))
    more = [AskShare(hole, own, wind, event).as_button()]
    first = found.first_of_others
    others = sorted(found.others, key=lambda each: (each != first, each))[:MOST_OTHERS]
    more += [OtherLine(hole, each, wind, event).as_button() for each in others]
    rows = [buttons, more[:ACROSS], more[ACROSS:]]  # a phone shows four short ones beside another
    return view_of(in_rows(rows, first=UNDER_MENUS), menus)
