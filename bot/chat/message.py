"""What a message is made of: embeds a phone shows whole, pictures with their words, buttons."""

import io
import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord.ui.select import BaseSelect

from bot.chat.written import Interaction
from shared import limits
from shared.answer_text import AnswerLines
from shared.menu import MenuFields
from shared.picture import Picture
from shared.text import clipped, size

Button = discord.ui.Button[discord.ui.View]
Select = discord.ui.Select[discord.ui.View]
RoleSelect = discord.ui.RoleSelect[discord.ui.View]
ChannelSelect = discord.ui.ChannelSelect[discord.ui.View]
AnySelect = BaseSelect[discord.ui.View]
TALK = (discord.ChannelType.text, discord.ChannelType.public_thread)
SEA = discord.Colour(0x1F6F78)
SAND = discord.Colour(0xC98B2B)
MORE = "… the rest does not fit here"
LEAST_DESCRIPTION = 600  # characters a description keeps, however many fields there are


def answer_embed(lines: AnswerLines) -> discord.Embed:
    """An answer as a phone shows it whole with its menus: what to do, and in what."""
    ground = [lines.ground] if lines.ground else []
    body = [lines.inside, *ground, lines.more, lines.source, *(f"*{note}*" for note in lines.notes)]
    return plain_embed(lines.headline, body, lines.footer)


def why_embed(lines: AnswerLines) -> discord.Embed:
    """What stands behind an answer, one short line each."""
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


def division_question() -> discord.Embed:
    """Which division a member plays in; the buttons under it are its answers."""
    return plain_embed(
        "Which division do you play in?",
        ["Winds and lines are those of your division.", "/me division changes it later."],
    )


def picture_file(picture: Picture, name: str) -> discord.File:
    """A picture as an attachment; screen readers get its words."""
    return discord.File(
        io.BytesIO(picture.png), filename=name, description=picture.alt[: limits.ALT]
    )


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


class Routes(Protocol):
    """Whatever hands a press to its handler."""

    async def route(self, interaction: Interaction, custom_id: str) -> None:
        """Answer the press of the button with this custom id."""
        ...


@runtime_checkable
class HasRouter(Protocol):
    """A client whose buttons are routed."""

    router: Routes


class RoutedButton(discord.ui.DynamicItem[Button], template=r"(?!pick)[a-z]+[|:].+"):
    """A button that does what its custom id says, in a message of any age."""

    def __init__(
        self, label: str, custom_id: str, style: str = "secondary", *, row: int | None = None
    ) -> None:
        look = discord.ButtonStyle[style]
        super().__init__(Button(label=label, style=look, custom_id=custom_id), row=row)

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again."""
        return cls(getattr(item, "label", None) or "", match[0])

    async def callback(self, interaction: Interaction) -> None:
        """Have the press answered."""
        client = interaction.client
        assert isinstance(client, HasRouter)
        await client.router.route(interaction, self.custom_id)


class RoutedMenu(discord.ui.DynamicItem[AnySelect], template=r"pick[a-z]*\|.+"):
    """A menu of one choice that does what its custom id says, in a message of any age."""

    def __init__(self, menu: AnySelect) -> None:
        super().__init__(menu)

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The menu again."""
        assert isinstance(item, BaseSelect)
        return cls(item)

    async def callback(self, interaction: Interaction) -> None:
        """Have the choice answered."""
        client = interaction.client
        assert isinstance(client, HasRouter)
        await client.router.route(interaction, self.custom_id)


def view_of(
    buttons: Sequence[Mapping[str, str]], menus: Sequence[MenuFields] = ()
) -> discord.ui.View:
    """Menus, and under them buttons (``label``, ``custom_id``, ``style``); outlives restarts.

    A button may name its ``row``; others fill what is free, five a row.
    """
    view = discord.ui.View(timeout=None)
    for menu in menus:
        view.add_item(RoutedMenu(_select(menu)))
    for button in buttons:
        style = button.get("style", "secondary")
        row = int(button["row"]) if "row" in button else None
        view.add_item(RoutedButton(button["label"], button["custom_id"], style, row=row))
    return view


def in_rows(rows: Sequence[Sequence[Mapping[str, str]]], *, first: int) -> list[dict[str, str]]:
    """Buttons with the rows of a message they stand in, from ``first`` on; what a row can't hold
    goes to the end of the one before."""
    held = [list(row) for row in rows]
    for number in range(len(held) - 1, 0, -1):
        over = max(len(held[number]) - limits.ROW, 0)
        held[number - 1] += held[number][:over]
        del held[number][:over]
    return [{**each, "row": str(first + n)} for n, row in enumerate(held) for each in row]


def _select(menu: MenuFields) -> AnySelect:
    hint = menu.hint[: limits.PLACEHOLDER]
    if menu.of == "roles":
        role = [discord.Object(menu.chosen, type=discord.Role)] if menu.chosen else []
        return RoleSelect(custom_id=menu.custom_id, placeholder=hint, default_values=role)
    if menu.of != "options":
        kinds = [*TALK, *([discord.ChannelType.forum] if menu.of == "notes channels" else [])]
        kind = discord.SelectDefaultValueType.channel
        chosen = [discord.SelectDefaultValue(id=menu.chosen, type=kind)] if menu.chosen else []
        return ChannelSelect(
            custom_id=menu.custom_id,
            placeholder=hint,
            channel_types=kinds,
            default_values=chosen,
        )
    options = [
        discord.SelectOption(label=label, value=value, default=chosen)
        for label, value, chosen in menu.options[: limits.CHOICES]
    ]
    return Select(custom_id=menu.custom_id, placeholder=hint, options=options)


# The budget of a message ---------------------------------------------------------------------
# What stands first is kept: a description gives way to its fields, later fields to earlier ones,
# and what is left out is said. Lengths are ``shared.text.size``.


def fit(embeds: Sequence[discord.Embed]) -> list[discord.Embed]:
    """The embeds, each held to its limits and all to theirs; changed in place where too long."""
    kept = list(embeds)[: limits.EMBEDS]
    for embed in kept:
        _hold(embed)
    left = limits.EMBED
    for embed in kept:
        _shrink(embed, left)
        left -= length_of(embed)
    return kept


def fit_content(content: str) -> str:
    """The text of a message, held to its limit."""
    return clipped(content, limits.CONTENT)


def length_of(embed: discord.Embed) -> int:
    """What an embed takes of the budget of its message."""
    texts = [embed.title, embed.description, embed.footer.text, embed.author.name]
    texts += [text for field in embed.fields for text in (field.name, field.value)]
    return sum(size(text) for text in texts if text)


def _hold(embed: discord.Embed) -> None:
    """Each part within its own limit."""
    if embed.title:
        embed.title = clipped(embed.title, limits.TITLE)
    if embed.description:
        embed.description = _lines_within(embed.description, limits.DESCRIPTION)
    if embed.footer.text:
        embed.set_footer(
            text=clipped(embed.footer.text, limits.FOOTER), icon_url=embed.footer.icon_url
        )
    for place, field in enumerate(embed.fields):
        name = clipped(field.name or "", limits.FIELD_NAME) or "\u200b"
        value = _lines_within(field.value or "", limits.FIELD) or "\u200b"
        if (name, value) != (field.name, field.value):
            embed.set_field_at(place, name=name, value=value, inline=field.inline)


def _shrink(embed: discord.Embed, most: int) -> None:
    """The whole within ``most``: fields from the last on, then the description."""
    over = length_of(embed) - most
    if over > 0 and embed.description and size(embed.description) > LEAST_DESCRIPTION:
        keep = max(LEAST_DESCRIPTION, size(embed.description) - over)
        embed.description = _lines_within(embed.description, keep)
    # One field says how many are left out.
    dropped = len(embed.fields) - limits.FIELDS + 1 if len(embed.fields) > limits.FIELDS else 0
    for _ in range(dropped):
        embed.remove_field(len(embed.fields) - 1)
    while embed.fields and length_of(embed) + _note_size(dropped) > most:
        embed.remove_field(len(embed.fields) - 1)
        dropped += 1
    if dropped and most >= _note_size(dropped):
        embed.add_field(name=MORE, value=f"{dropped} more", inline=False)
    over = length_of(embed) - most
    if over > 0 and embed.description:
        embed.description = _lines_within(embed.description, max(0, size(embed.description) - over))
    if length_of(embed) > most:
        embed.title = None
        embed.remove_footer()


def _note_size(dropped: int) -> int:
    return size(MORE) + size(f"{dropped} more") if dropped else 0


def _lines_within(text: str, most: int) -> str:
    """Whole lines as far as they fit, then that there were more; one long line is cut."""
    if size(text) <= most:
        return text
    if most <= size(MORE):
        return ""
    lines, left = text.split("\n"), most - size(MORE) - 1
    kept: list[str] = []
    for line in lines:
        if size(line) + 1 > left:
            break
        kept.append(line)
        left -= size(line) + 1
    if not kept:
        return clipped(text, most)
    if "\n".join(kept).count("```") % 2:
        kept.append("```") if left >= 4 else kept.pop()
    return "\n".join([*kept, MORE])
