"""Whoever acts, as the book's author."""

from bot.chat.respond import Interaction
from bot.services.book.line_service import Actor
from shared.text import visible

LONGEST_NAME = 60


def actor_of(interaction: Interaction) -> Actor:
    """Who acts and where; a name that shows nothing gives way to the account's."""
    user = interaction.user
    name = " ".join(visible(user.display_name).split())[:LONGEST_NAME]
    if not any(letter.isalnum() for letter in name):
        name = user.name
    return Actor(interaction.guild_id or 0, user.id, name)
