"""Lines as Discord embeds that a phone shows whole."""

import discord

from shared.answer_text import AnswerLines

SEA = discord.Colour(0x1F6F78)
SAND = discord.Colour(0xC98B2B)


def answer_embed(lines: AnswerLines) -> discord.Embed:
    """An answer: what to do first, the rest as one short line each."""
    body = [lines.asked, "", *(f"**{label}** {text}" for label, text in lines.rows)]
    body += [f"*{note}*" for note in lines.notes]
    embed = discord.Embed(title=lines.headline, description="\n".join(body), colour=SEA)
    embed.set_footer(text=lines.footer)
    return embed


def plain_embed(title: str, lines: list[str], footer: str = "") -> discord.Embed:
    """A title over lines."""
    embed = discord.Embed(title=title, description="\n".join(lines), colour=SEA)
    if footer:
        embed.set_footer(text=footer)
    return embed
