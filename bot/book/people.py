"""Whoever acts, as the book's author."""

from bot.book.line_desk import Coach
from bot.cards.plain import visible
from bot.chat.respond import Interaction

LONGEST_NAME = 60


def coach_of(interaction: Interaction) -> Coach:
    """Who acts and where; a name that shows nothing gives way to the account's."""
    user = interaction.user
    name = " ".join(visible(user.display_name).split())[:LONGEST_NAME]
    if not any(letter.isalnum() for letter in name):
        name = user.name
    return Coach(interaction.guild_id or 0, user.id, name)
