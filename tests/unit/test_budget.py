"""Messages are held to Discord's limits before they are sent, the first things kept."""

import random

import discord

from bot.chat.message import MORE, fit, fit_content, length_of
from shared import limits
from tests.chat.limits import check_body


def broken(embeds: list[discord.Embed]) -> list[str]:
    """What Discord would refuse of a message of these embeds."""
    body = {"embeds": [each.to_dict() for each in embeds], "allowed_mentions": {"parse": []}}
    return check_body("POST", "/channels/1/messages", body)


def long_line(shots: int) -> discord.Embed:
    embed = discord.Embed(title="Hole 4, line A: aim 5 marks right", description="Your wind\n" * 9)
    for number in range(1, shots + 1):
        embed.add_field(name=f"{number} · driver, 228 yd", value="Aim so far off\n" * 55)
    embed.set_footer(text="For video and simulator golf")
    return embed


def test_eight_long_shots_keep_the_first_and_say_how_many_are_missing() -> None:
    embed = long_line(8)
    assert broken([embed])
    (kept,) = fit([embed])
    assert broken([kept]) == []
    names = [field.name for field in kept.fields]
    assert names[0] == "1 · driver, 228 yd" and kept.title == "Hole 4, line A: aim 5 marks right"
    assert kept.fields[-1].value == f"{8 - len(names) + 1} more" and len(names) > 5


def test_more_fields_than_there_may_be_are_counted() -> None:
    embed = discord.Embed(title="26 lines")
    for number in range(26):
        embed.add_field(name=f"line {number}", value="went in")
    (kept,) = fit([embed])
    assert broken([kept]) == []
    assert [field.name for field in kept.fields[-2:]] == ["line 23", MORE]
    assert kept.fields[-1].value == "2 more"


def test_a_long_list_keeps_whole_lines_from_its_beginning() -> None:
    lines = [f"decision {number} " + "x" * 90 for number in range(100)]
    (kept,) = fit([discord.Embed(title="Decisions", description="\n".join(lines))])
    assert kept.description is not None
    *shown, last = kept.description.split("\n")
    assert shown == lines[: len(shown)] and len(shown) > 30 and "rest" in last


def test_what_fits_is_not_touched() -> None:
    embed = long_line(2)
    before = embed.to_dict()
    assert fit([embed])[0].to_dict() == before
    assert fit_content("short") == "short" and len(fit_content("y" * 2100)) <= limits.CONTENT


def test_whatever_comes_is_taken() -> None:
    dice = random.Random(7)
    for _ in range(300):
        embeds: list[discord.Embed] = []
        for _ in range(dice.choice((1, 2, 12))):
            size = dice.choice((1, 300, 5000))
            embed = discord.Embed(title="t" * size, description="ä🏌 d\n" * size)
            for _ in range(dice.choice((0, 3, 30))):
                embed.add_field(
                    name="n" * dice.choice((1, 400)), value="v\n" * dice.choice((1, 900))
                )
            embeds.append(embed.set_footer(text="f" * dice.choice((1, 2500))))
        kept = fit(embeds)
        assert broken(kept) == []
        assert sum(map(length_of, kept)) <= limits.EMBED


def test_an_open_code_block_is_closed() -> None:
    rows = "```\n" + "row of a table\n" * 400 + "```"
    (kept,) = fit([discord.Embed(description=rows)])
    assert kept.description is not None and kept.description.count("```") == 2
