"""The buttons that log, correct and take back results. What each does stands in its custom id."""

import re
from typing import Any, Protocol, Self, runtime_checkable

import discord
from discord.ext import commands

from bot.chat.respond import Interaction, answer_error
from bot.services.results.service import Try
from shared.quantities import Speed, Wind

Button = discord.ui.Button[discord.ui.View]
COG = "ResultsCog"
WENT_IN, MISSED = "in", "miss"
LABELS = {WENT_IN: "Went in", MISSED: "Missed"}
STYLES = {WENT_IN: discord.ButtonStyle.success, MISSED: discord.ButtonStyle.secondary}


@runtime_checkable
class PressesResults(Protocol):
    """The cog that knows what a press means."""

    async def pressed(self, interaction: Interaction, act: str, played: Try) -> None:
        """*Went in* or *Missed* of a line; of a hole where the variant is empty."""
        ...

    async def changing(self, interaction: Interaction, act: str, result_id: int) -> None:
        """*Correct* or *Take back* of a result."""
        ...


def _cog(interaction: Interaction) -> PressesResults:
    bot = interaction.client
    cog = bot.get_cog(COG) if isinstance(bot, commands.Bot) else None
    assert isinstance(cog, PressesResults)
    return cog


class LogButton(
    discord.ui.DynamicItem[Button],
    template=r"log\|(?P<act>in|miss)\|(?P<hole>\d+)\|(?P<variant>[A-Z]?)\|(?P<mps>[\d.]*)\|(?P<deg>[\d.]*)\|(?P<event>.+)",
):
    """Logs a try of a line; a form asks for what isn't known."""

    def __init__(self, act: str, played: Try, label: str = "") -> None:
        super().__init__(
            Button(label=label or LABELS[act], style=STYLES[act], custom_id=log_id(act, played))
        )
        self.act, self.played = act, played

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        wind = None
        if match["mps"]:
            speed = Speed(value=float(match["mps"]), unit="m/s")
            wind = Wind(speed=speed, from_deg=float(match["deg"]))
        return cls(match["act"], Try(match["event"], int(match["hole"]), match["variant"], wind))

    async def callback(self, interaction: Interaction) -> Any:
        """Hand the press to the cog; answer what goes wrong."""
        try:
            await _cog(interaction).pressed(interaction, self.act, self.played)
        except Exception as error:
            await answer_error(interaction, error)


class ChangeButton(
    discord.ui.DynamicItem[Button], template=r"result:(?P<act>fix|drop):(?P<result>\d+)"
):
    """Corrects or takes back one's own result."""

    def __init__(self, act: str, result_id: int) -> None:
        label = {"fix": "Correct", "drop": "Take back"}[act]
        super().__init__(Button(label=label, custom_id=f"result:{act}:{result_id}"))
        self.act, self.result_id = act, result_id

    @classmethod
    async def from_custom_id(
        cls, interaction: Interaction, item: discord.ui.Item[Any], match: re.Match[str], /
    ) -> Self:
        """The button again, from a message of any age."""
        return cls(match["act"], int(match["result"]))

    async def callback(self, interaction: Interaction) -> Any:
        """Hand the press to the cog; answer what goes wrong."""
        try:
            await _cog(interaction).changing(interaction, self.act, self.result_id)
        except Exception as error:
            await answer_error(interaction, error)


def log_id(act: str, played: Try) -> str:
    """The custom id of a button that logs; the wind goes with it where the member gave one."""
    wind = played.wind
    said = f"{wind.speed.mps:.3f}|{wind.relative_deg:.1f}" if isinstance(wind, Wind) else "|"
    return f"log|{act}|{played.hole}|{played.variant}|{said}|{played.event}"


def log_buttons(played: Try, *, went_in: str = "") -> list[dict[str, str]]:
    """*Went in* and *Missed* for a message of the outbox."""
    return [
        {
            "label": (went_in if act == WENT_IN else "") or LABELS[act],
            "custom_id": log_id(act, played),
            "style": STYLES[act].name,
        }
        for act in (WENT_IN, MISSED)
    ]


def change_view(result_id: int) -> discord.ui.View:
    """*Correct* and *Take back*."""
    view = discord.ui.View(timeout=None)
    view.add_item(ChangeButton("fix", result_id))
    view.add_item(ChangeButton("drop", result_id))
    return view
