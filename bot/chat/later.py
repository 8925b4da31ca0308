"""What is added to an answer after it was given, unless its member has gone on meanwhile."""

from collections import OrderedDict
from contextlib import suppress
from typing import Final

import discord

from bot.chat.message import fit
from bot.chat.respond import Interaction, community_of

KEPT_MEMBERS: Final = 4096


async def change_answer(
    interaction: Interaction, *, embeds: list[discord.Embed], view: discord.ui.View | None
) -> None:
    """Put something else into what an interaction was answered with, or into the message it
    changed; no mentions. Harmless where its member has put the answer away."""
    with suppress(discord.NotFound):
        await interaction.edit_original_response(
            embeds=fit(embeds), view=view, allowed_mentions=discord.AllowedMentions.none()
        )


class Latest:
    """Which answer is a member's latest: what comes later must not change an older one's."""

    def __init__(self) -> None:
        self._turns: OrderedDict[tuple[int, int], int] = OrderedDict()

    def begin(self, interaction: Interaction) -> int:
        """A new answer begins; its number."""
        member = _member_of(interaction)
        turn = self._turns.get(member, 0) + 1
        self._turns[member] = turn
        self._turns.move_to_end(member)
        while len(self._turns) > KEPT_MEMBERS:
            self._turns.popitem(last=False)
        return turn

    def holds(self, interaction: Interaction, turn: int) -> bool:
        """Whether no other answer has begun since."""
        return self._turns.get(_member_of(interaction)) == turn


def _member_of(interaction: Interaction) -> tuple[int, int]:
    return community_of(interaction), interaction.user.id
