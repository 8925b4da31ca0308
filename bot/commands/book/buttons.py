"""The buttons under a line that is being written; they outlive a restart."""

import re
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord.ext import commands

from bot.chat.respond import Interaction, answer_error

LABELS = {"save": "Save", "over": "Save mine over it", "change": "Change", "drop": "Give up"}
STYLES = {"save": discord.ButtonStyle.success, "over": discord.ButtonStyle.danger}
COG = "LineCog"


@runtime_checkable
class PressesLine(Protocol):
    """The cog that knows what a press means."""

    async def pressed(self, interaction: Interaction, act: str, token: str) -> None:
        """Do what the button says with the draft of that token."""
        ...


class LineButton(
    discord.ui.DynamicItem[discord.ui.Button[discord.ui.View]],
    template=r"line:(?P<act>save|over|change|drop):(?P<token>[0-9a-f]+)",
):
    """One button; what it does and to which draft stands in its custom id."""

    def __init__(self, act: str, token: str) -> None:
        style = STYLES.get(act, discord.ButtonStyle.secondary)
        super().__init__(
            discord.ui.Button(label=LABELS[act], style=style, custom_id=f"line:{act}:{token}")
        )
        self.act, self.token = act, token

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        return cls(match["act"], match["token"])

    async def callback(self, interaction: Interaction) -> Any:
        """Hand the press to the cog; answer what goes wrong."""
        try:
            bot = interaction.client
            cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
            assert isinstance(cog, PressesLine)
            await cog.pressed(interaction, self.act, self.token)
        except Exception as error:
            await answer_error(interaction, error)


def buttons(token: str, *acts: str) -> discord.ui.View:
    """A row of buttons for a draft."""
    view = discord.ui.View(timeout=None)
    for act in acts:
        view.add_item(LineButton(act, token))
    return view
