"""Who acts, and in which community."""

import discord

from shared.actor import Actor
from shared.text import visible

Interaction = discord.Interaction[discord.Client]

LONGEST_NAME = 60
NOWHERE = 0  # the community of what is said outside a server


def community_of(interaction: Interaction) -> int:
    """The community an interaction comes from."""
    return interaction.guild_id or NOWHERE


def actor_of(interaction: Interaction) -> Actor:
    """Who acts and where; a name that shows nothing gives way to the account's."""
    user = interaction.user
    name = " ".join(visible(user.display_name).split())[:LONGEST_NAME]
    if not any(letter.isalnum() for letter in name):
        name = user.name
    return Actor(community_of(interaction), user.id, name)
