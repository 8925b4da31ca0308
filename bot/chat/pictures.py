"""Pictures as parts of a message: an embed with the picture in it, and its file with alt text."""

import io

import discord

from bot.chat.embeds import SEA
from shared.picture import Picture

MOST_ALT = 1024


def picture_file(picture: Picture, name: str) -> discord.File:
    """A picture as an attachment; screen readers get its words."""
    return discord.File(io.BytesIO(picture.png), filename=name, description=picture.alt[:MOST_ALT])


def with_pictures(
    embed: discord.Embed, pictures: list[Picture]
) -> tuple[list[discord.Embed], list[discord.File]]:
    """The embed with the first picture in it, and one more embed for each other picture."""
    embeds, files = (
        [embed],
        [picture_file(each, f"shot{number}.png") for number, each in enumerate(pictures, start=1)],
    )
    for number, file in enumerate(files):
        holder = embed
        if number:
            holder = discord.Embed(title=f"Shot {number + 1}", colour=SEA)
            embeds.append(holder)
        holder.set_image(url=f"attachment://{file.filename}")
    return embeds, files
